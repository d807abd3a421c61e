"""Lines of a CSV file: its encoding, its separator and its decimal mark found out, never guessed past a doubt."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator

from customers.sheets.cells import plain_cell
from customers.sheets.table import Limits, SheetRefused

DELIMITERS = (",", ";", "\t", "|")
LOOKED_AT = 60
# A fraction as it is written, thousands marked or not, a limit's sign before and a unit after it.
_COMMA_FRACTION = re.compile(r"[<>≤≥]?\s*[+-]?(?:\d{1,3}(?:[.\s'’]\d{3})+|\d*),\d+(?:\s*[^\d\s.,;].*)?")
_POINT_FRACTION = re.compile(r"[<>≤≥]?\s*[+-]?(?:\d{1,3}(?:[,\s'’]\d{3})+|\d*)\.\d+(?:\s*[^\d\s.,;].*)?")


def decoded(data: bytes) -> tuple[str, str]:
    """The text and its encoding: UTF-8 with or without its mark, UTF-16 with its mark, or else cp1252."""
    for mark, encoding in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if data.startswith(mark):
            try:
                return data.decode(encoding), encoding.removesuffix("-sig")
            except UnicodeDecodeError as bad:
                raise _unreadable(bad) from None
    if b"\x00" in data:
        raise SheetRefused("file", "bytes that are no text", "a CSV or XLSX file")
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        try:
            return data.decode("cp1252"), "cp1252"
        except UnicodeDecodeError as bad:
            raise _unreadable(bad) from None


def csv_lines(text: str, limits: Limits) -> tuple[list[tuple[int, list[str], str]], str, str]:
    """Numbered lines, the separator, and the decimal mark."""
    named = re.match(r"sep=(.)\r?\n", text)
    delimiter = named[1] if named else _delimiter(text)
    begin = named.end() if named else 0
    first = 2 if named else 1
    lines = list(_parsed(text[begin:], delimiter, first, limits))
    return lines, delimiter, _decimal([cells for _, cells, _ in lines], delimiter)


def _parsed(text: str, delimiter: str, first: int, limits: Limits) -> Iterator[tuple[int, list[str], str]]:
    """Records, each numbered by its place among the rows: a cell with line ends inside is still one row."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    number = first - 1
    while True:
        number += 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as bad:
            at = reader.line_num + first - 1
            raise SheetRefused(
                "quotes", str(bad), 'cells with quotes closed, a quote inside written ""', at
            ) from None
        if number > limits.rows + 200 + first:
            raise SheetRefused(
                "rows", f"more than {limits.rows}", f"at most {limits.rows} rows; cut the file in parts"
            )
        yield number, [plain_cell(cell.strip()) for cell in cells], ""


def _delimiter(text: str) -> str:
    """The separator with which most rows have the same number of cells, and then the most cells."""
    best, best_score = ",", (0.0, 0)
    for delimiter in DELIMITERS:
        counts = _widths(text, delimiter)
        wide = Counter(count for count in counts if count > 1)
        if not wide:
            continue
        width, rows = max(wide.items(), key=lambda pair: (pair[1], pair[0]))
        score = (rows / len(counts), width)
        if score > best_score:
            best, best_score = delimiter, score
    return best


def _widths(text: str, delimiter: str) -> list[int]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    counts: list[int] = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                counts.append(len(cells))
            if len(counts) >= LOOKED_AT:
                break
    except csv.Error:
        return []
    return counts


def _decimal(rows: list[list[str]], delimiter: str) -> str:
    """Comma where fractions are written with it and none with a point; a comma file has points."""
    if delimiter == ",":
        return "."
    cells = [cell for row in rows for cell in row]
    commas = sum(_COMMA_FRACTION.fullmatch(cell) is not None for cell in cells)
    points = sum(_POINT_FRACTION.fullmatch(cell) is not None for cell in cells)
    return "," if commas > points else "."


def _unreadable(bad: UnicodeDecodeError) -> SheetRefused:
    line = bad.object[: bad.start].count(b"\n") + 1
    return SheetRefused("letters", f"byte {bad.object[bad.start]:#04x}", "text saved as UTF-8 or Windows-1252", line)
