"""A file of items read row by row: each new, changed, the same, or refused with its reason."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from customers.sheets import Limits, Row, SheetRefused, Table, read_table
from sizing.catalogue.adapters import product_of
from sizing.catalogue.changes import changes
from sizing.catalogue.checking import ItemRefused, check_product
from sizing.catalogue.columns import COLUMNS
from sizing.catalogue.item_rows import RowReader
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.queries import items, prices_on
from sizing.engine.design import Product
from sizing.engine.errors import EngineError
from sizing.engine.stages.ratings import SOURCE
from sizing.engine.storage import to_data

LIMITS = Limits(rows=3_000)


class Verdict(StrEnum):
    """What becomes of a row."""

    NEW = "new"
    CHANGED = "changed"
    SAME = "same"
    REFUSED = "refused"


@dataclass(frozen=True)
class ReadRow:
    """One row: what it means for its item, before and after, as data that can be kept."""

    number: int
    code: str
    name: str
    verdict: Verdict
    message: str = ""
    changes: tuple[Mapping[str, str], ...] = ()
    before: Mapping[str, Any] | None = None
    after: Mapping[str, Any] | None = None


def state_data(product: Product, active: bool) -> dict[str, Any]:
    """An item's state as data."""
    return {"product": to_data(product), "active": active}


def read_items(data: bytes, filename: str, today: date) -> tuple[Table, list[ReadRow]]:
    """Every row of a file against the catalogue at today's prices.

    Raises ``SheetRefused`` for a file that cannot be read, lacks the column of codes or has one nobody knows.
    """
    table = read_table(data, filename, limits=LIMITS)
    names = _columns(table)
    known = {row.code: row for row in items()}
    prices = prices_on(today)
    at = names.index("code")
    counted = Counter(row.cells[at] for row in table.rows)
    reader = RowReader(table.decimal)
    found = []
    for row in table.rows:
        cells = {name: cell for name, cell in zip(names, row.cells, strict=True) if name}
        item = known.get(cells["code"])
        before = product_of(item, prices.get(item.pk)) if item else None
        found.append(_read(row, cells, reader, item, before, counted[cells["code"]]))
    return table, found


def kept(rows: list[ReadRow]) -> list[dict[str, Any]]:
    """Rows as plain data, those that change nothing without their states."""
    return [asdict(row) for row in rows]


def _columns(table: Table) -> list[str]:
    """The file's headings as columns; "" for one without a heading, which must be empty."""
    names = ["_".join(heading.lower().split()) for heading in table.headers]
    unknown = [heading for heading, name in zip(table.headers, names, strict=True) if name and name not in COLUMNS]
    if "code" not in names:
        raise SheetRefused("headings", ", ".join(table.headers)[:120], "a row of headings, “code” among them")
    if unknown:
        raise SheetRefused("heading", unknown[0], "the headings of an exported file, with or without some of them")
    if table.repeated_headers() or len([n for n in names if n]) != len({n for n in names if n}):
        twice = next(name for name in names if name and names.count(name) > 1)
        raise SheetRefused("heading", twice, "each heading once")
    for place, name in enumerate(names):
        full = next((row.number for row in table.rows if not name and row.cells[place]), None)
        if full is not None:
            raise SheetRefused("heading", f"none over column {place + 1}", "a heading over every filled column", full)
    return names


def _read(
    row: Row,
    cells: Mapping[str, str],
    reader: RowReader,
    item: CatalogueItem | None,
    before: Product | None,
    times: int,
) -> ReadRow:
    code, name = cells["code"], cells.get("name") or (item.name if item else "")

    def refused(why: str) -> ReadRow:
        return ReadRow(row.number, code[:40], name[:120], Verdict.REFUSED, why)

    for why in _doubts(row, code, times):
        return refused(why)
    try:
        product, active = reader.product(cells, before, item.active if item else True)
        product = check_product(product)
    except (ItemRefused, EngineError) as bad:
        return refused(str(bad).removesuffix(f" ({SOURCE})"))
    after = state_data(product, active)
    if before is None or item is None:
        return ReadRow(row.number, code, product.name, Verdict.NEW, after=after)
    differing = changes(before, product, was_active=item.active, is_active=active)
    if not differing:
        return ReadRow(row.number, code, product.name, Verdict.SAME)
    told = tuple(asdict(change) for change in differing)
    was = state_data(before, item.active)
    return ReadRow(row.number, code, product.name, Verdict.CHANGED, changes=told, before=was, after=after)


def _doubts(row: Row, code: str, times: int) -> Iterator[str]:
    if row.problem:
        yield row.problem
    if not code:
        yield "code is empty, accepted is the item's code"
    if times > 1:
        yield f"code is {code!r} in {times} rows, accepted is one row for each item"
