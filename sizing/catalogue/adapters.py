"""Catalogue rows to engine products and back."""

from __future__ import annotations

from typing import Any

from customers.dealers.models import Dealer
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import Product, StageKind, WearPart
from sizing.engine.storage import from_data, to_data


def product_of(item: CatalogueItem) -> Product:
    """The engine's view of a row. Prices stay ``Decimal``."""
    return Product(
        code=item.code,
        kind=StageKind(item.kind),
        name=item.name,
        ratings=dict(item.ratings),
        price=item.price,
        install_hours=item.install_hours,
        size_label=item.size_label,
        certified_for=tuple(item.certified_for),
        wear=tuple(from_data(WearPart, part) for part in item.wear),
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
