"""Writing prices: one item from a day on, a whole kind by a percentage, lists named and withdrawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from customers.dealers.models import Dealer
from sizing.catalogue.adapters import Price
from sizing.catalogue.models import CatalogueItem, ItemLog, ListPrice, PriceList
from sizing.catalogue.queries import price_of
from sizing.catalogue.raising import Raised


class PriceRefused(ValueError):
    """A price or a list that cannot be written; names the field, the value and what is accepted."""


class ListFixed(ValueError):
    """The list's day has come: what was sold at its prices stays true."""


class PricesMoved(ValueError):
    """Prices changed between looking and agreeing; nothing was written."""


@transaction.atomic
def set_price(
    *,
    item: CatalogueItem,
    price: Decimal,
    parts: Mapping[str, Decimal],
    on: date,
    today: date,
    actor_name: str,
    now: datetime,
    silent: bool = False,
) -> None:
    """Set what an item and its parts cost from a day on: today or later. Raises ``PriceRefused``.

    Until a list names the item, today's price is simply its own; from then on every price belongs to a day.
    """
    _not_past(on, today)
    _possible(price, parts)
    now_is = price_of(item, on)
    if now_is.price == price and all(now_is.parts.get(code) == amount for code, amount in parts.items()):
        return
    if on == today and not item.list_prices.filter(price_list__valid_from__lte=on).exists():
        item.price = price
        item.wear = [part | {"price": str(parts.get(part["code"], part["price"]))} for part in item.wear]
        item.save(update_fields=["price", "wear"])
    else:
        price_list = _list_of(item.dealer, on, f"Prices set for {on:%-d %b %Y}", actor_name, now)
        _put(price_list, item, Price(price, parts))
    if not silent:
        what = f"price {now_is.price} → {price} from {on:%-d %b %Y}"
        ItemLog.objects.create(dealer_id=item.dealer_id, item=item, who=actor_name, what=what, at=now)


@transaction.atomic
def keep_raise(
    *,
    dealer: Dealer,
    name: str,
    on: date,
    today: date,
    rows: Sequence[Raised],
    agreed: str,
    mark: str,
    actor_name: str,
    now: datetime,
) -> PriceList:
    """Write the raised prices into the list of a day. ``agreed`` is the mark of the rows somebody looked at.

    Raises ``PricesMoved`` where ``mark``, that of the rows now, is another; ``PriceRefused`` for a day that is past
    or when nothing changes.
    """
    _not_past(on, today)
    if agreed != mark:
        raise PricesMoved("prices changed since they were shown; look at them again")
    changed = [row for row in rows if row.changes]
    if not changed:
        raise PriceRefused("percentage changes no price; accepted is one that does after rounding")
    price_list = _list_of(dealer, on, name, actor_name, now)
    if price_list.name != name:
        price_list.name = name
        price_list.save(update_fields=["name"])
    for row in changed:
        _possible(row.new.price, row.new.parts)
    price_list.prices.filter(item__in=[row.item.pk for row in changed]).delete()
    ListPrice.objects.bulk_create(
        ListPrice(
            dealer=dealer, price_list=price_list, item=row.item, price=row.new.price, parts=_written(row.new.parts)
        )
        for row in changed
    )
    ItemLog.objects.bulk_create(
        ItemLog(
            dealer=dealer,
            item=row.item,
            who=actor_name,
            what=f"price {row.old.price} → {row.new.price} from {on:%-d %b %Y}, {name}",
            at=now,
        )
        for row in changed
    )
    return price_list


@transaction.atomic
def rename_list(*, price_list: PriceList, name: str) -> PriceList:
    """Give a list another name."""
    price_list.name = name
    price_list.full_clean()
    price_list.save(update_fields=["name"])
    return price_list


@transaction.atomic
def withdraw_list(*, price_list: PriceList, today: date, actor_name: str, now: datetime) -> None:
    """Take back a list whose day has not come. Raises ``ListFixed`` for one in force."""
    if price_list.valid_from <= today:
        raise ListFixed(
            f"{price_list.name} is in force since {price_list.valid_from:%-d %b %Y}; set new prices instead"
        )
    what = f"{price_list.name}, from {price_list.valid_from:%-d %b %Y}, withdrawn"
    ItemLog.objects.bulk_create(
        ItemLog(dealer_id=price_list.dealer_id, item_id=row.item_id, who=actor_name, what=what[:400], at=now)
        for row in price_list.prices.all()
    )
    price_list.delete()


def _put(price_list: PriceList, item: CatalogueItem, price: Price) -> None:
    parts = _written(price.parts)
    row, _new = ListPrice.objects.update_or_create(
        dealer_id=item.dealer_id, price_list=price_list, item=item, defaults={"price": price.price, "parts": parts}
    )
    row.full_clean()


def _written(parts: Mapping[str, Decimal]) -> dict[str, str]:
    return {code: str(amount) for code, amount in parts.items()}


def _list_of(dealer: Dealer, on: date, name: str, actor_name: str, now: datetime) -> PriceList:
    told = {"name": name, "made_by": actor_name, "made_at": now}
    price_list, new = PriceList.objects.get_or_create(dealer=dealer, valid_from=on, defaults=told)
    if new:
        price_list.full_clean()
    return price_list


def _not_past(on: date, today: date) -> None:
    if on < today:
        raise PriceRefused(f"day is {on:%-d %b %Y}, accepted is today, {today:%-d %b %Y}, or later")


def _possible(price: Decimal, parts: Mapping[str, Decimal]) -> None:
    for name, amount in (("price", price), *parts.items()):
        if amount < 0 or amount >= Decimal(10) ** 8:
            raise PriceRefused(f"{name} is {amount}, accepted is an amount from 0 to 99,999,999.99")
