"""What the demo's dealers did to their catalogue: items of their own, prices for next year."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from customers.dealers.models import Dealer
from sizing.catalogue.actions import add_item
from sizing.catalogue.adapters import product_of
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.price_actions import keep_raise
from sizing.catalogue.queries import items
from sizing.catalogue.raising import mark_of, raised


def fill_shelf(dealer: Dealer, told: dict[str, Any], today: date, now: datetime) -> None:
    """Add the scenario's own items and raise its prices from the first day of next year."""
    owner = next(person["name"] for person in told["staff"] if person["role"] == "owner")
    for own in told.get("own_item", ()):
        source = product_of(CatalogueItem.objects.get(code=own["like"]))
        product = replace(
            source,
            code=own["code"],
            name=own["name"],
            size_label=own.get("size_label", source.size_label),
            price=Decimal(own["price"]),
            ratings={**source.ratings, **own.get("ratings", {})},
        )
        add_item(dealer=dealer, product=product, actor_name=owner, now=now, how=f"added like {own['like']}")
    for listed in told.get("raise", ()):
        year = date(today.year + 1, 1, 1)
        wanted = items().filter(kind__in=listed["kinds"]) if "kinds" in listed else items()
        rows = raised(wanted, percent=Decimal(listed["percent"]), step=Decimal(listed["step"]), on=year)
        mark = mark_of(rows)
        keep_raise(
            dealer=dealer,
            name=listed["name"].format(year=year.year),
            on=year,
            today=today,
            rows=rows,
            agreed=mark,
            mark=mark,
            actor_name=owner,
            now=now,
        )
