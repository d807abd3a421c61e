"""Lines of a workbook: guarded before it is unpacked, every cell as the text a person would see or type."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from itertools import zip_longest
from typing import Any
from xml.etree.ElementTree import ParseError

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from customers.sheets.cells import plain_cell
from customers.sheets.table import Limits, SheetRefused

MOST_PARTS = 2_000
MOST_CELLS = 2_000  # of one row, empty ones too
BLANK_ROWS = 1_000  # so many empty rows in a row, and the rest is formatting
_BROKEN = (
    zipfile.BadZipFile, InvalidFileException, ParseError, KeyError, ValueError, OSError, SyntaxError, TypeError,
    AttributeError, IndexError, EOFError, NotImplementedError, RuntimeError, OverflowError,
)  # fmt: skip


def check_package(data: bytes, limits: Limits) -> None:
    """Refuses what is no workbook, and what would unpack to more than the limit, before anything is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts = package.infolist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as bad:
        raise SheetRefused("file", str(bad), "a whole XLSX file, or CSV") from None
    names = {part.filename for part in parts}
    if "xl/workbook.xml" not in names:
        raise SheetRefused("file", "a zip file that is no XLSX workbook", "an XLSX file, or CSV")
    if any(part.flag_bits & 0x1 for part in parts):
        raise SheetRefused("file", "a locked workbook", "the workbook saved without a password")
    size = sum(part.file_size for part in parts)
    if size > limits.unpacked or len(parts) > MOST_PARTS:
        told = f"{size / 1e6:.0f} MB in {len(parts)} parts when unpacked"
        raise SheetRefused("file", told, f"at most {limits.unpacked / 1e6:.0f} MB in {MOST_PARTS} parts")


def xlsx_lines(
    data: bytes, limits: Limits, sheet: str | None = None
) -> tuple[list[tuple[int, list[str], str]], str, tuple[str, ...]]:
    """Numbered lines of a sheet (the first that is shown and holds something), its name, and the names of all."""
    check_package(data, limits)
    try:
        shown = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        typed = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
        names = tuple(s.title for s in shown.worksheets if s.sheet_state == "visible")
        if sheet is not None and sheet not in names:
            raise SheetRefused("sheet", sheet, "one of " + ", ".join(names))
        for name in (sheet,) if sheet is not None else names:
            lines = list(_lines(shown[name], typed[name], limits))
            if lines or name == sheet:
                return lines, name, names
    except SheetRefused:
        raise
    except _BROKEN as bad:
        raise SheetRefused("file", f"{type(bad).__name__}: {bad}", "a whole XLSX file, or CSV") from None
    return [], "", names


def _lines(shown: Any, typed: Any, limits: Limits) -> Iterator[tuple[int, list[str], str]]:
    for each in (shown, typed):
        each.reset_dimensions()  # what the file says of its own size is not to be trusted
    blank = held = 0
    rows = zip_longest(shown.iter_rows(), typed.iter_rows(), fillvalue=())
    for number, (values, formulas) in enumerate(rows, start=1):
        if len(values) > MOST_CELLS:
            told = f"a row that reaches column {_letters(len(values) - 1)}"
            raise SheetRefused("columns", told, f"at most {limits.columns} columns", number)
        cells, problem = _row(values, formulas)
        if not any(cells) and not problem:
            blank += 1
            if blank > BLANK_ROWS:
                return
            continue
        blank, held = 0, held + 1
        if held > limits.rows + 1:
            raise SheetRefused(
                "rows", f"more than {limits.rows}", f"at most {limits.rows} rows; cut the file in parts"
            )
        yield number, cells, problem


def _row(values: tuple[Any, ...], formulas: tuple[Any, ...]) -> tuple[list[str], str]:
    cells, problem = [], ""
    for at, (cell, formula) in enumerate(zip_longest(values, formulas)):
        value = None if cell is None else cell.value
        written = None if formula is None else formula.value
        runs = getattr(formula, "data_type", "") == "f" and written is not None
        if runs and value is None and not problem:
            problem = (
                f"cell {_letters(at)}: a formula without its result; save the file once in a spreadsheet program"
            )
        if getattr(cell, "data_type", "") == "e" and not problem:
            problem = f"cell {_letters(at)}: {value} instead of a value"
        cells.append(plain_cell(_text(value, getattr(cell, "number_format", None) or "").strip()))
    return cells, problem


def _text(value: Any, shape: str) -> str:
    """A cell's value as text: dates as 2026-05-31, shares shown as per cent with their sign, numbers unrounded."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(" ", "minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.isoformat("minutes")
    if isinstance(value, timedelta):
        return str(value)
    if isinstance(value, int | float):
        return f"{_number(value * 100)}%" if "%" in shape else _number(value)
    return str(value)


def _number(value: float) -> str:
    """Fifteen digits, as many as a spreadsheet keeps: 0.1 + 0.2 is 0.3 there, and so it is here."""
    text = f"{value:.15g}"
    return text if "e" not in text else f"{value:f}".rstrip("0").rstrip(".") if 1e-4 <= abs(value) < 1e15 else text


def _letters(at: int) -> str:
    name = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        name = chr(65 + rest) + name
    return name
