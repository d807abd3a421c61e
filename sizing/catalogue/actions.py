"""Writing a dealer's catalogue: items added, changed, retired."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime

from django.db import transaction

from customers.dealers.models import Dealer
from sizing.catalogue.adapters import Price, fields_of, item_from, product_of
from sizing.catalogue.changes import told
from sizing.catalogue.checking import check_product
from sizing.catalogue.models import CatalogueItem, ItemLog
from sizing.catalogue.price_actions import set_price
from sizing.catalogue.queries import prices_on
from sizing.engine.design import Product, StageKind
from sizing.engine.stages.registry import validate_ratings


class CodeTaken(ValueError):
    """The dealer already has an item of this code."""


class KindFixed(ValueError):
    """An item keeps its kind and its code: designs and quotes name it by them."""


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
def add_item(
    *, dealer: Dealer, product: Product, active: bool = True, actor_name: str, now: datetime, how: str = "added"
) -> CatalogueItem:
    """Add an item of the dealer's own. Raises ``CodeTaken``, ``ItemRefused`` or the schema's error."""
    checked = check_product(product)
    if CatalogueItem.objects.filter(code=product.code).exists():
        raise CodeTaken(f"code is {product.code!r}, accepted is one that is not in the catalogue yet")
    item = item_from(dealer, checked, own=True)
    item.active = active
    item.full_clean()
    item.save()
    note(item=item, who=actor_name, what=how, at=now)
    return item


@transaction.atomic
def change_item(
    *,
    item: CatalogueItem,
    product: Product,
    active: bool,
    actor_name: str,
    now: datetime,
    today: date,
    how: str = "",
    prices: Mapping[int, Price] | None = None,
) -> CatalogueItem:
    """Make an item what ``product`` says; its prices hold from today on.

    Designs and quotes made before keep their own copy of the figures. ``prices`` are those of the lists in force
    today, where they were read before. Raises ``KindFixed``, ``ItemRefused`` or the schema's error. What is the same
    already is left alone and not noted.
    """
    if (product.code, product.kind.value) != (item.code, item.kind):
        raise KindFixed(f"{product.code}: {product.kind.value}; accepted is {item.code}: {item.kind}, as it was made")
    checked = check_product(product)
    listed = (prices_on(today, [item]) if prices is None else prices).get(item.pk)
    before = product_of(item, listed)
    changes = told(before, checked, was_active=item.active, is_active=active)
    if not changes:
        return item
    for name, value in fields_of(_under_list(item, checked) if listed else checked).items():
        setattr(item, name, value)
    item.active = active
    item.full_clean(validate_unique=False, validate_constraints=False)
    item.save()
    if listed:
        parts = {part.code: part.price for part in checked.wear}
        set_price(
            item=item,
            price=checked.price,
            parts=parts,
            on=today,
            today=today,
            actor_name=actor_name,
            now=now,
            silent=True,
        )
    note(item=item, who=actor_name, what=": ".join(filter(None, (how, "; ".join(changes)))), at=now)
    return item


def _under_list(item: CatalogueItem, product: Product) -> Product:
    """The product with the prices the item had before any list: today's belong into a list."""
    kept = {part.code: part.price for part in product_of(item).wear}
    wear = tuple(replace(part, price=kept.get(part.code, part.price)) for part in product.wear)
    return replace(product, price=item.price, wear=wear)


@transaction.atomic
def offer_item(*, item: CatalogueItem, active: bool, actor_name: str, now: datetime) -> CatalogueItem:
    """Retire an item from new designs, or offer it again. What stands on it stays."""
    if item.active != active:
        item.active = active
        item.save(update_fields=["active"])
        note(item=item, who=actor_name, what="offered again" if active else "retired from new designs", at=now)
    return item


def note(*, item: CatalogueItem, who: str, what: str, at: datetime) -> ItemLog:
    """One line in the item's log."""
    line = what if len(what) <= 400 else what[:397] + "..."
    return ItemLog.objects.create(dealer_id=item.dealer_id, item=item, who=who, what=line, at=at)
