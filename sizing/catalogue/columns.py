"""The file of items: its columns, and an item written into them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sizing.catalogue.adapters import product_of
from sizing.catalogue.changes import written
from sizing.catalogue.checking import MOST_PARTS
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.queries import prices_on
from sizing.engine.design import Product, StageKind
from sizing.engine.stages.registry import SCHEMAS

PLAIN = ("code", "kind", "name", "size_label", "price", "install_hours", "offered", "certified_for")
PART = ("code", "name", "specification", "price", "life", "amount", "cap_months", "minutes", "by_customer")
RATINGS = tuple(dict.fromkeys(field.name for schema in SCHEMAS.values() for field in schema))
PARTS = tuple(f"part{number}_{name}" for number in range(1, MOST_PARTS + 1) for name in PART)
COLUMNS = (*PLAIN, *RATINGS, *PARTS)


def export(rows: Sequence[CatalogueItem], on: date) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and rows of the items at the prices of a day; only the columns that some item fills.

    Numbers stand in the unit their heading ends with (L/min, kPa, L, m, W), with all their digits.
    """
    known = prices_on(on)
    products = [(product_of(row, known.get(row.pk)), row.active) for row in rows]
    kinds = {product.kind for product, _active in products}
    parts = max((len(product.wear) for product, _active in products), default=1)
    ratings = [name for name in RATINGS if any(name == field.name for kind in kinds for field in SCHEMAS[kind])]
    headings = (*PLAIN, *ratings, *PARTS[: parts * len(PART)])
    cells = [cells_of(product, active) for product, active in products]
    return headings, [tuple(row.get(name, "") for name in headings) for row in cells]


def template(kind: StageKind) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings alone, for somebody who begins a list of a kind from nothing."""
    return (*PLAIN, *(field.name for field in SCHEMAS[kind]), *PARTS[: 2 * len(PART)]), []


def cells_of(product: Product, active: bool) -> dict[str, str]:
    """Every cell of an item by its column."""
    cells = {
        "code": product.code,
        "kind": product.kind.value,
        "name": product.name,
        "size_label": product.size_label,
        "price": f"{product.price:.2f}",
        "install_hours": written(float(product.install_hours)),
        "offered": written(active),
        "certified_for": " ".join(product.certified_for),
    }
    cells |= {name: written(value) for name, value in product.ratings.items()}
    for number, part in enumerate(product.wear, start=1):
        values = (
            part.code,
            part.name,
            part.specification,
            f"{part.price:.2f}",
            part.life.kind.value,
            written(float(part.life.amount)),
            written(part.life.cap_months),
            written(float(part.minutes)),
            written(part.by_customer),
        )
        cells |= {f"part{number}_{name}": value for name, value in zip(PART, values, strict=True)}
    return cells
