"""Days as files write them; an order of day and month that cannot be told is asked about."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

DAY_FIRST, MONTH_FIRST = "dmy", "mdy"
_ISO = re.compile(r"^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?$")
_THREE = re.compile(r"^(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{2}|\d{4})(?:[T ,].*)?$")
_NAMED_FIRST = re.compile(r"^([A-Za-z]{3,9})\.? (\d{1,2}),? (\d{4})(?:[T ,].*)?$")
_NAMED_SECOND = re.compile(r"^(\d{1,2})[ \-]([A-Za-z]{3,9})\.?[ \-,]+(\d{2}|\d{4})(?:[T ,].*)?$")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


class NotADay(ValueError):
    """The text is no day, or two days; the sentence says what would do."""


@dataclass(frozen=True)
class DayOrder:
    """How a file writes day and month: as answered, as its own days show, or not known. ``shown_by`` is the day
    that shows it; ``open`` whether some day could be two."""

    order: str
    shown_by: str = ""
    open: bool = False


def order_of(texts: Iterable[str], answered: str = "") -> DayOrder:
    """The order that the days of a file show by themselves; an answer goes first.

    >>> order_of(["03/04/2026", "25/03/2026"]).order, order_of(["03/04/2026"]).open
    ('dmy', True)
    """
    texts = list(texts)
    pairs = [(text, int(m[1]), int(m[2])) for text in texts if (m := _THREE.match(text.strip()))]
    doubtful = any(a <= 12 and b <= 12 and a != b for _text, a, b in pairs)
    if answered in (DAY_FIRST, MONTH_FIRST):
        return DayOrder(answered, open=doubtful)
    day_first = next((text for text, a, b in pairs if a > 12 and b <= 12), "")
    month_first = next((text for text, a, b in pairs if b > 12 and a <= 12), "")
    if day_first and not month_first:
        return DayOrder(DAY_FIRST, day_first, open=doubtful)
    if month_first and not day_first:
        return DayOrder(MONTH_FIRST, month_first, open=doubtful)
    return DayOrder("", open=doubtful)


def read_day(text: str, order: str = "") -> date:
    """A day. Raises ``NotADay`` for what is none, and for one that could be two while ``order`` is not known.

    >>> read_day("2 Jun 2026"), read_day("06/02/2026", "mdy")
    (datetime.date(2026, 6, 2), datetime.date(2026, 6, 2))
    """
    clean = " ".join(text.split())
    if found := _ISO.match(clean):
        return _made(int(found[1]), int(found[2]), int(found[3]), clean)
    if found := _NAMED_FIRST.match(clean):
        return _made(int(found[3]), _month(found[1], clean), int(found[2]), clean)
    if found := _NAMED_SECOND.match(clean):
        return _made(_year(found[3]), _month(found[2], clean), int(found[1]), clean)
    if found := _THREE.match(clean):
        first, second, year = int(found[1]), int(found[2]), _year(found[3])
        if first == second:
            return _made(year, first, second, clean)
        if not order:
            order = DAY_FIRST if first > 12 else MONTH_FIRST if second > 12 else ""
        if not order:
            raise NotADay(_("“%(text)s” could be two days; say below which comes first") % {"text": clean})
        day, month = (first, second) if order == DAY_FIRST else (second, first)
        return _made(year, month, day, clean)
    if re.fullmatch(r"\d{4,6}(\.\d+)?", clean):
        told = _("“%(text)s” is a number; accepted is the cell formatted as a day, such as 2026-06-02")
        raise NotADay(told % {"text": clean})
    raise NotADay(_("“%(text)s” is no day; accepted is one such as 2026-06-02") % {"text": clean})


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)


def _month(text: str, whole: str) -> int:
    try:
        return _MONTHS.index(text[:3].lower()) + 1
    except ValueError:
        raise NotADay(_("“%(text)s” is no day; accepted is one such as 2026-06-02") % {"text": whole}) from None


def _made(year: int, month: int, day: int, text: str) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise NotADay(_("“%(text)s” is no day of the calendar") % {"text": text}) from None
