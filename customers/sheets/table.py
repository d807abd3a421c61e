"""What a file of rows becomes, the caps on its size, and the refusal of one that cannot be read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from customers.sheets.cells import looks_like_a_number
from sizing.engine.errors import UnreadableValue


class SheetRefused(UnreadableValue):
    """The file as a whole cannot be read; ``row`` is the line it was found on, as a spreadsheet numbers it."""

    def __init__(self, field: str, text: str, accepted: str, row: int | None = None) -> None:
        super().__init__(field if row is None else f"row {row}, {field}", text, accepted)
        self.row = row


@dataclass(frozen=True)
class Limits:
    """How much is read. ``unpacked`` caps what a zipped workbook may swell to, in bytes like ``size``."""

    size: int = 2_000_000
    unpacked: int = 40_000_000
    rows: int = 5_000
    columns: int = 200
    cell: int = 4_000


USUAL = Limits()


@dataclass(frozen=True)
class Row:
    """A row that holds something. ``number`` as a spreadsheet numbers it; ``problem`` says why not to use it."""

    number: int
    cells: tuple[str, ...]
    problem: str = ""


@dataclass(frozen=True)
class Table:
    """Headers and rows, every row as wide as the headers.

    ``decimal`` is the mark the file writes its fractions with; ``encoding``, ``delimiter`` and ``sheet`` say how it
    was read, ``sheets`` which others there are. ``above`` holds the lines before the headers: a letterhead, a client.
    """

    headers: tuple[str, ...]
    rows: tuple[Row, ...]
    header_row: int = 1
    above: tuple[Row, ...] = ()
    decimal: str = "."
    encoding: str = ""
    delimiter: str = ""
    sheet: str = ""
    sheets: tuple[str, ...] = ()

    def repeated_headers(self) -> tuple[str, ...]:
        """Headers that stand over more than one column."""
        named = [header for header in self.headers if header]
        return tuple(dict.fromkeys(header for header in named if named.count(header) > 1))


def table_of(
    lines: Iterable[tuple[int, list[str], str]], limits: Limits, header_row: int | None = None, **told: object
) -> Table:
    """The table in numbered lines: the headers found (or taken from ``header_row``), rows trimmed to their width.

    Raises ``SheetRefused`` for too many rows or columns, for no row at all, and for a ``header_row`` that is empty.
    """
    held = [Row(number, _trimmed(cells), problem) for number, cells, problem in lines]
    held = [row for row in held if row.cells or row.problem]
    if not held:
        raise SheetRefused("file", "no rows", "a table with a row of headings and one row for each entry")
    if len(held) > limits.rows + 1:
        raise SheetRefused("rows", f"more than {limits.rows}", f"at most {limits.rows} rows; cut the file in parts")
    widest = max(held, key=lambda row: len(row.cells))
    if len(widest.cells) > limits.columns:
        told_wide = f"{len(widest.cells)} columns"
        raise SheetRefused("columns", told_wide, f"at most {limits.columns} columns", widest.number)
    at = _header_index(held, header_row)
    headers = tuple(" ".join(cell.split()) for cell in held[at].cells)
    rows = tuple(_fitted(row, len(headers), limits) for row in held[at + 1 :])
    return Table(headers, rows, held[at].number, tuple(held[:at]), **told)  # type: ignore[arg-type]


def _trimmed(cells: list[str]) -> tuple[str, ...]:
    kept = list(cells)
    while kept and not kept[-1]:
        kept.pop()
    return tuple(kept)


def _header_index(rows: list[Row], wanted: int | None) -> int:
    """The row of headings: as asked, or the first that is half as wide as the widest and holds no number."""
    if wanted is not None:
        for at, row in enumerate(rows):
            if row.number == wanted:
                return at
        raise SheetRefused("headings", f"row {wanted} is empty", "the number of the row that holds the headings")
    widest = max(len(row.cells) for row in rows)
    for at, row in enumerate(rows):
        filled = [cell for cell in row.cells if cell]
        if 2 * len(filled) >= widest and not any(looks_like_a_number(cell) for cell in filled):
            return at
    return 0


def _fitted(row: Row, width: int, limits: Limits) -> Row:
    problem = row.problem
    if not problem and len(row.cells) > width:
        problem = f"{len(row.cells)} cells under {width} headings: a separator inside a cell, or a heading missing"
    long = next((cell for cell in row.cells if len(cell) > limits.cell), None)
    if not problem and long is not None:
        problem = f"a cell of {len(long)} letters; accepted is at most {limits.cell}"
    cells = (*row.cells, *("",) * (width - len(row.cells)))[:width]
    return Row(row.number, tuple(cell[: limits.cell] for cell in cells), problem)
