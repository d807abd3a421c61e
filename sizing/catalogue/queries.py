"""Reading a dealer's catalogue."""

from __future__ import annotations

from uuid import UUID

from django.db.models import QuerySet

from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from sizing.catalogue.adapters import product_of
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import Product


def items() -> QuerySet[CatalogueItem]:
    """All rows of the dealer in scope."""
    return CatalogueItem.objects.all()


def item_for(actor: Actor, public_id: UUID) -> CatalogueItem:
    """One row by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("catalogue.read")
    return get_public(items(), public_id)


def active_products() -> tuple[Product, ...]:
    """What can be designed with: every active item as the engine sees it, in a fixed order."""
    return tuple(product_of(item) for item in items().filter(active=True).order_by("kind", "price", "code"))


def items_by_code(codes: set[str]) -> dict[str, CatalogueItem]:
    """Rows of these codes, by code."""
    return {item.code: item for item in items().filter(code__in=codes)}
