"""One door for every file of rows."""

from __future__ import annotations

from customers.sheets.csv_lines import csv_lines, decoded
from customers.sheets.table import USUAL, Limits, SheetRefused, Table, table_of
from customers.sheets.xlsx_lines import xlsx_lines

ACCEPTED = "a CSV or XLSX file"
_OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def read_table(
    data: bytes,
    filename: str = "",
    *,
    header_row: int | None = None,
    sheet: str | None = None,
    limits: Limits = USUAL,
) -> Table:
    """The table in a file, told apart by its first bytes, not by its name.

    Cells are text, trimmed; a workbook's dates come as 2026-05-31. A row that must not be trusted carries its
    ``problem``. Raises ``SheetRefused`` naming what was found and what is accepted.
    """
    name = filename or "file"
    if not data:
        raise SheetRefused(name, "an empty file", ACCEPTED)
    if len(data) > limits.size:
        raise SheetRefused(name, f"{len(data) / 1e6:.1f} MB", f"at most {limits.size / 1e6:g} MB")
    if data.startswith(_OLD_OFFICE):
        raise SheetRefused(name, "an old or locked workbook", "the workbook saved as XLSX without a password, or CSV")
    if data.startswith(b"%PDF"):
        raise SheetRefused(name, "a PDF", ACCEPTED)
    if data.startswith(b"PK\x03\x04"):
        lines, title, titles = xlsx_lines(data, limits, sheet)
        return table_of(lines, limits, header_row, sheet=title, sheets=titles, encoding="xlsx")
    text, encoding = decoded(data)
    lines, delimiter, decimal = csv_lines(text, limits)
    return table_of(lines, limits, header_row, encoding=encoding, delimiter=delimiter, decimal=decimal)
