"""Reading a dealer's catalogue, and what its items cost on a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Count, Exists, ForeignObjectRel, OuterRef, Q, QuerySet

from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from sizing.catalogue.adapters import Price, product_of
from sizing.catalogue.models import CatalogueFile, CatalogueItem, ListPrice, PriceList
from sizing.engine.design import Product


def items() -> QuerySet[CatalogueItem]:
    """All rows of the dealer in scope."""
    return CatalogueItem.objects.all()


def item_for(actor: Actor, public_id: UUID) -> CatalogueItem:
    """One row by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("catalogue.read")
    return get_public(items(), public_id)


def found_items(
    *, words: str = "", kind: str = "", own: bool = False, retired: bool = False
) -> QuerySet[CatalogueItem]:
    """Rows that have every word in code, name, size, kind or claims; retired ones only when asked for."""
    rows = items().filter(active=not retired)
    if kind:
        rows = rows.filter(kind=kind)
    if own:
        rows = rows.filter(own=True)
    for word in words.split():
        told = word.replace(" ", "_")
        rows = rows.filter(
            Q(code__icontains=word)
            | Q(name__icontains=word)
            | Q(size_label__icontains=word)
            | Q(kind__icontains=told)
            | Q(certified_for__icontains=word)
        )
    return rows.order_by("kind", "price", "code")


def prices_on(on: date, rows: Iterable[CatalogueItem] | None = None) -> dict[int, Price]:
    """What the lists in force on a day say, by item; items that no list names yet are left out."""
    dated = ListPrice.objects.filter(price_list__valid_from__lte=on).order_by("price_list__valid_from")
    if rows is not None:
        dated = dated.filter(item__in=[row.pk for row in rows])
    told = dated.values_list("item_id", "price", "parts", "price_list__name")
    return {pk: Price(price, {c: Decimal(p) for c, p in parts.items()}, name) for pk, price, parts, name in told}


def price_of(item: CatalogueItem, on: date) -> Price:
    """What one item costs on a day, its parts with it."""
    listed = prices_on(on, [item]).get(item.pk)
    product = product_of(item, listed)
    return Price(product.price, {part.code: part.price for part in product.wear}, listed.source if listed else "")


def priced(rows: Iterable[CatalogueItem], on: date) -> list[Product]:
    """Rows as products at the prices of a day."""
    kept = list(rows)
    known = prices_on(on, kept if len(kept) < 100 else None)
    return [product_of(row, known.get(row.pk)) for row in kept]


def prices_of_day(rows: Mapping[str, CatalogueItem], on: date) -> dict[str, Decimal]:
    """What rows by their code cost on a day."""
    known = prices_on(on, rows.values())
    return {code: known[row.pk].price if row.pk in known else row.price for code, row in rows.items()}


def active_products(on: date) -> tuple[Product, ...]:
    """What can be designed with: every active item at the prices of a day, in a fixed order."""
    return tuple(priced(items().filter(active=True).order_by("kind", "price", "code"), on))


def items_by_code(codes: set[str]) -> dict[str, CatalogueItem]:
    """Rows of these codes, by code."""
    return {item.code: item for item in items().filter(code__in=codes)}


def price_lists() -> QuerySet[PriceList]:
    """All lists, the newest day first, with how many items each names."""
    return PriceList.objects.annotate(named=Count("prices")).order_by("-valid_from")


def list_for(actor: Actor, public_id: UUID) -> PriceList:
    """One list by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("catalogue.read")
    return get_public(price_lists(), public_id)


def list_rows(price_list: PriceList) -> list[tuple[CatalogueItem, Decimal, Decimal]]:
    """Each item of a list with what it cost the day before and what it costs in the list."""
    rows = list(price_list.prices.select_related("item").order_by("item__kind", "item__price", "item__code"))
    before = prices_on(price_list.valid_from - timedelta(days=1))
    return [
        (row.item, before[row.item_id].price if row.item_id in before else row.item.price, row.price) for row in rows
    ]


def dated_prices(item: CatalogueItem) -> list[ListPrice]:
    """Every dated price of an item, the newest day first."""
    return list(item.list_prices.select_related("price_list").order_by("-price_list__valid_from"))


def coming_prices(today: date) -> dict[int, ListPrice]:
    """The next price of each item that a list to come names."""
    dated = ListPrice.objects.filter(price_list__valid_from__gt=today).select_related("price_list")
    return {row.item_id: row for row in dated.order_by("-price_list__valid_from")}


def file_for(actor: Actor, public_id: UUID) -> CatalogueFile:
    """One file of items by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("catalogue.write")
    return get_public(CatalogueFile.objects.all(), public_id)


def files() -> QuerySet[CatalogueFile]:
    """Files of items, the newest first, without their rows."""
    return CatalogueFile.objects.defer("rows")


def last_taken() -> CatalogueFile | None:
    """The newest file that was taken over and not undone: the one that can be undone."""
    return CatalogueFile.objects.filter(taken_at__isnull=False, undone_at__isnull=True).order_by("-taken_at").first()


def unused(rows: QuerySet[CatalogueItem]) -> QuerySet[CatalogueItem]:
    """Rows that no design, quote or job has ever named, so that they may be deleted."""
    for relation in CatalogueItem._meta.get_fields(include_hidden=True):
        if isinstance(relation, ForeignObjectRel) and relation.related_model._meta.label not in (
            "sizing.ItemLog",
            "sizing.ListPrice",
        ):
            rows = rows.filter(~Exists(_pointing(relation)))
    return rows


def _pointing(relation: Any) -> QuerySet[Any]:
    rows: QuerySet[Any] = relation.related_model.objects.filter(**{relation.field.name: OuterRef("pk")})
    return rows
