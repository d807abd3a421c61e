"""Writing a dealer's catalogue."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.db import transaction

from customers.dealers.models import Dealer
from sizing.catalogue.adapters import item_from, product_of
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import Product, StageKind
from sizing.engine.stages.registry import stage_for, validate_ratings


class CodeTaken(ValueError):
    """The dealer already has an item of this code."""


@transaction.atomic
def load_starter(*, dealer: Dealer, products: tuple[Product, ...]) -> int:
    """Copy the starter catalogue into the dealer's own; items already there are left as they are.

    Returns how many were added. Each product is checked by its kind's schema first.
    """
    have = set(CatalogueItem.objects.values_list("code", flat=True))
    new = [item_from(dealer, product) for product in products if product.code not in have]
    for item in new:
        item.ratings = validate_ratings(StageKind(item.kind), item.ratings)
    CatalogueItem.objects.bulk_create(new)
    return len(new)


@transaction.atomic
def change_item(
    *, item: CatalogueItem, name: str, price: Decimal, install_hours: float, active: bool, ratings: dict[str, Any]
) -> CatalogueItem:
    """Change what a dealer may change of an item. Raises the schema's error naming field, value and what would do.

    Designs and quotes made before keep their own copy of the figures.
    """
    item.name = name
    item.price = price
    item.install_hours = install_hours
    item.active = active
    item.ratings = validate_ratings(StageKind(item.kind), ratings)
    stage_for(product_of(item))
    item.full_clean()
    item.save()
    return item


@transaction.atomic
def add_item(*, dealer: Dealer, product: Product) -> CatalogueItem:
    """Add an item of the dealer's own. Raises ``CodeTaken`` or the schema's error."""
    if CatalogueItem.objects.filter(code=product.code).exists():
        raise CodeTaken(f"code is {product.code!r}, accepted is one that is not in the catalogue yet")
    item = item_from(dealer, product, own=True)
    item.ratings = validate_ratings(product.kind, item.ratings)
    stage_for(product_of(item))
    item.full_clean()
    item.save()
    return item
