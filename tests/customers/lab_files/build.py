"""Files as laboratories send them, built by the tests: CSV in many hands, workbooks, and worse."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import openpyxl
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900

Truth = dict[str, dict[str, tuple[str, float | None]]]

LONG = ("Sample ID", "Date Sampled", "Analyte", "Result", "Units")
DAY = "2026-06-02"


def csv(
    *rows: Sequence[str], sep: str = ",", encoding: str = "utf-8", name: str = "results.csv"
) -> tuple[str, bytes]:
    """Rows as text; a cell with the separator in it is quoted."""

    def cell(text: str) -> str:
        return f'"{text}"' if sep in text or '"' in text else text

    lines = [sep.join(cell(text) for text in row) for row in rows]
    return name, ("\r\n".join(lines) + "\r\n").encode(encoding)


def long(*rows: tuple[str, ...], head: tuple[str, ...] = LONG, **kwargs: Any) -> tuple[str, bytes]:
    """A file of one result a row: sample and day are filled in where a row gives only test, result and unit."""
    full = [row if len(row) == len(head) else ("4711", DAY, *row) for row in rows]
    return csv(head, *full, **kwargs)


def book(
    *rows: Sequence[Any],
    epoch_1904: bool = False,
    formats: dict[str, str] | None = None,
    sheets: dict[str, list[Sequence[Any]]] | None = None,
    name: str = "results.xlsx",
) -> tuple[str, bytes]:
    """A workbook; ``formats`` by cell, other ``sheets`` in front."""
    work = openpyxl.Workbook()
    work.epoch = CALENDAR_MAC_1904 if epoch_1904 else CALENDAR_WINDOWS_1900
    sheet = work.active
    for title, held in (sheets or {}).items():
        sheet.title = title
        for row in held:
            sheet.append(list(row))
        sheet = work.create_sheet("Results")
    for row in rows:
        sheet.append(list(row))
    for cell, shape in (formats or {}).items():
        sheet[cell].number_format = shape
    out = io.BytesIO()
    work.save(out)
    return name, out.getvalue()


def bomb() -> tuple[str, bytes]:
    """A workbook that would unpack to 200 MB."""
    _name, whole = book(("Analyte", "Result"), ("Iron", 1))
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as package, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as bad:
        for part in package.namelist():
            bad.writestr(part, package.read(part))
        bad.writestr("xl/worksheets/sheet2.xml", b"0" * 200_000_000)
    return "bomb.xlsx", out.getvalue()


def no_workbook() -> tuple[str, bytes]:
    """A zip file with another name."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        package.writestr("word/document.xml", "<w/>")
    return "results.xlsx", out.getvalue()


@dataclass(frozen=True)
class Case:
    """One file and what must come of it.

    ``truth``: what the laboratory means, by sample and analyte, in canonical units. ``says``: sentences that must
    stand in the way at first reading. ``shows``: steps that must be visible. ``answers``: what a person then says.
    ``refused``: the file is never taken in, and this is said. ``sure``: doubts are looked at and confirmed.
    """

    name: str
    make: Callable[[], tuple[str, bytes]]
    truth: Truth = field(default_factory=dict)
    says: tuple[str, ...] = ()
    shows: tuple[str, ...] = ()
    answers: dict[str, Any] = field(default_factory=dict)
    left: tuple[str, ...] = ()
    sure: bool = False
    refused: str = ""
    day: str = ""  # the day told by hand, where the file has none
    drop: tuple[str, ...] = ()  # samples left out


def noon(year: int, month: int, day: int) -> datetime:
    """A moment as a workbook keeps a day."""
    return datetime(year, month, day)


def below(value: float | None) -> tuple[str, float | None]:
    """Not detected, under a reporting limit (or one not stated)."""
    return "below", value


def is_(value: float) -> tuple[str, float | None]:
    """A number."""
    return "equal", value


ABSENT: tuple[str, None] = ("absent", None)
PRESENT: tuple[str, None] = ("present", None)
