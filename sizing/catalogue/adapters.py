"""Catalogue rows to engine products and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from customers.dealers.models import Dealer
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import Product, StageKind, WearPart
from sizing.engine.storage import from_data, to_data


@dataclass(frozen=True)
class Price:
    """What an item costs on a day; ``parts`` where its list names parts, ``source`` the list's name ("" = none)."""

    price: Decimal
    parts: Mapping[str, Decimal] = field(default_factory=dict)
    source: str = ""


def product_of(item: CatalogueItem, price: Price | None = None) -> Product:
    """The engine's view of a row, at a list's price where one is given. Prices stay ``Decimal``."""
    wear = tuple(from_data(WearPart, part) for part in item.wear)
    if price is not None and price.parts:
        wear = tuple(replace(part, price=price.parts.get(part.code, part.price)) for part in wear)
    return Product(
        code=item.code,
        kind=StageKind(item.kind),
        name=item.name,
        ratings=dict(item.ratings),
        price=item.price if price is None else price.price,
        install_hours=item.install_hours,
        size_label=item.size_label,
        certified_for=tuple(item.certified_for),
        wear=wear,
    )


def fields_of(product: Product) -> dict[str, Any]:
    """Column values of a product, for creating or updating a row."""
    return {
        "code": product.code,
        "kind": product.kind.value,
        "name": product.name,
        "size_label": product.size_label,
        "ratings": to_data(product.ratings),
        "certified_for": list(product.certified_for),
        "wear": [to_data(part) for part in product.wear],
        "price": product.price,
        "install_hours": product.install_hours,
    }


def item_from(dealer: Dealer, product: Product, *, own: bool = False) -> CatalogueItem:
    """An unsaved row for the dealer."""
    return CatalogueItem(dealer=dealer, own=own, **fields_of(product))
