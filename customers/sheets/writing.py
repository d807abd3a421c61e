"""Rows written as CSV that any spreadsheet opens and none runs."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterable, Sequence

from customers.sheets.cells import looks_like_a_number, safe_cell


def write_csv(headers: Sequence[str], rows: Iterable[Sequence[str]], *, decimal: str = ".") -> bytes:
    """UTF-8 with its mark; commas and points, or with ``decimal`` "," semicolons and commas.

    ``read_table`` gives back the same text, cell by cell (numbers with the file's own decimal mark).
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=";" if decimal == "," else ",", lineterminator="\r\n")
    writer.writerow([safe_cell(header) for header in headers])
    for row in rows:
        writer.writerow([_cell(cell, decimal) for cell in row])
    return codecs.BOM_UTF8 + out.getvalue().encode()


def _cell(text: str, decimal: str) -> str:
    if decimal == "," and looks_like_a_number(text):
        return text.replace(".", ",")
    return safe_cell(text)
