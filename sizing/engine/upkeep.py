"""When wearing parts fall due: pure date arithmetic from an anchor date, never chained from one due date to
the next.

Life rules and intervals are common practice unless a product states its own; the arithmetic is ordinary
calendar arithmetic.
"""

from __future__ import annotations

import calendar
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache

from sizing.engine.design import LifeKind, LifeRule, WearPart
from sizing.engine.errors import MissingEvidence, OutsideValidRange

ALL_MONTHS = tuple(range(1, 13))
DAYS_PER_MONTH = 365.25 / 12.0
FITTED_FOR_OPENING_DAYS = 45  # a cartridge fitted this little before an opening is that opening's cartridge
HORIZON_MONTHS = 1200  # give up after a century


@dataclass(frozen=True)
class OpenSpell:
    """Days in use: from ``opened`` up to, not including, ``closed``; ``None`` = still open."""

    opened: date
    closed: date | None = None


@dataclass(frozen=True)
class Use:
    """How a place is used.

    ``months_open`` 1-12 is the pattern. ``spells`` are the openings and closings that really happened; they
    count for every day before ``known_until``, the pattern from then on. ``litres_per_day`` is the mean draw
    on an open day; ``litres_so_far`` was metered since the part was fitted, up to ``metered_on``. Raises
    ``OutsideValidRange`` for months outside 1-12, none at all, or negative litres.
    """

    months_open: tuple[int, ...] = ALL_MONTHS
    spells: tuple[OpenSpell, ...] = field(default_factory=tuple)
    known_until: date | None = None
    litres_per_day: float = 0.0
    litres_so_far: float = 0.0
    metered_on: date | None = None

    def __post_init__(self) -> None:
        if not self.months_open:
            raise OutsideValidRange("months open", "none", low=1, high=12, unit="months")
        for month in self.months_open:
            if month not in ALL_MONTHS:
                raise OutsideValidRange("month open", month, low=1, high=12)
        for name, value in (("litres per day", self.litres_per_day), ("litres so far", self.litres_so_far)):
            if not math.isfinite(value) or value < 0:
                raise OutsideValidRange(name, value, low=0.0, unit="L")

    @property
    def year_round(self) -> bool:
        """Whether every month is open and no closing is on record."""
        return set(self.months_open) == set(ALL_MONTHS) and not self.spells

    def opening_months(self) -> tuple[int, ...]:
        """Months that are open while the month before is not; empty for a place open all year."""
        months = set(self.months_open)
        return tuple(m for m in sorted(months) if (m - 2) % 12 + 1 not in months)


@dataclass(frozen=True)
class Due:
    """When a part falls due. ``on`` is ``None`` where its use never reaches its life; ``used`` is the share
    spent (0 new, 1 due, above 1 overdue) on the day asked; ``words`` say why."""

    on: date | None
    used: float
    words: str
    life: LifeKind

    def overdue(self, today: date) -> bool:
        """Whether the day has come."""
        return self.on is not None and self.on <= today


def add_months(anchor: date, months: float) -> date:
    """A date plus calendar months; the day is kept where the month has it, else the month's last day.

    Units: months; fractions of a month count 30.44 days each. Range: any date the calendar has. Always reckon
    from the anchor: 31 January + 2 is 31 March although + 1 is 28 February. Raises: ``OverflowError`` or
    ``ValueError`` beyond the calendar. Source: ordinary calendar arithmetic (computed).

    >>> add_months(date(2024, 2, 29), 12), add_months(date(2024, 2, 29), 48)
    (datetime.date(2025, 2, 28), datetime.date(2028, 2, 29))
    """
    whole = math.floor(months)
    index = anchor.year * 12 + anchor.month - 1 + whole
    year, month = divmod(index, 12)
    day = min(anchor.day, calendar.monthrange(year, month + 1)[1])
    return date(year, month + 1, day) + timedelta(days=round((months - whole) * DAYS_PER_MONTH))


def occurrences(anchor: date, every_months: float) -> Iterator[date]:
    """The first, second, third... date after the anchor, each reckoned from the anchor itself.

    Units: months.
    Range: interval more than 0.
    Raises: ``OutsideValidRange`` for an interval of 0 or less.
    Source: ordinary calendar arithmetic (computed).

    >>> from itertools import islice
    >>> [d.day for d in islice(occurrences(date(2025, 1, 31), 1), 3)]
    [28, 31, 30]
    """
    if every_months <= 0:
        raise OutsideValidRange("interval", every_months, low=0.0, unit="months", low_open=True)
    n = 1
    while True:
        yield add_months(anchor, n * every_months)
        n += 1


def next_opening(after: date, use: Use) -> date | None:
    """First day, later than ``after``, of a month that opens the place; ``None`` where it never closes.

    Units: dates.
    Range: any.
    Raises: nothing.
    Source: the place's pattern of months (given).

    >>> next_opening(date(2026, 10, 15), Use(months_open=(5, 6, 7, 8, 9, 10)))
    datetime.date(2027, 5, 1)
    """
    opening = use.opening_months()
    if not opening:
        return None
    candidates = (date(year, month, 1) for year in (after.year, after.year + 1) for month in opening)
    return min(day for day in candidates if day > after)


def open_days(start: date, end: date, use: Use) -> int:
    """Days in use between two days: spells where known, the pattern after.

    Units: days, from ``start`` up to, not including, ``end``.
    Range: any dates; 0 where ``end`` is not after ``start``.
    Raises: nothing.
    Source: counting (computed).

    >>> open_days(date(2026, 4, 1), date(2026, 7, 1), Use(months_open=(5, 6)))
    61
    """
    edge = min(max(use.known_until or start, start), end)
    known = sum(max((min(spell.closed or edge, edge) - max(spell.opened, start)).days, 0) for spell in use.spells)
    return known + sum(
        (until - since).days for since, until in _month_parts(edge, end) if since.month in use.months_open
    )


def operating_months(start: date, end: date, use: Use) -> float:
    """Months in operation between two days: each calendar month counts by the share of its days in use.

    Units: months.
    Range: any dates.
    Raises: nothing.
    Source: counting (computed).

    >>> operating_months(date(2026, 1, 1), date(2027, 1, 1), Use(months_open=(5, 6, 7)))
    3.0
    """
    return sum(
        open_days(since, until, use) / calendar.monthrange(since.year, since.month)[1]
        for since, until in _month_parts(start, end)
    )


def next_due(life: LifeRule, anchor: date, use: Use, today: date) -> Due:
    """When a part fitted (or last looked at) on ``anchor`` falls due, for a place used as ``use`` says.

    Calendar parts run on the calendar; a lamp counts months in operation only, and moves to the next opening
    when its life ends with the season; litres follow the draw on open days; opening parts are new at each
    opening and after ``amount`` months at most; condition is the next look. ``cap_months`` bounds all of them
    from the anchor. Units: months, or litres for ``LITRES``. Range: life more than 0. Raises:
    ``OutsideValidRange`` for a life of zero or less, ``MissingEvidence`` for litres without any draw known.
    Source: common practice (12 months of operation make two seasons at a six-month place).

    >>> lamp = LifeRule(LifeKind.OPERATING, 12, cap_months=24)
    >>> next_due(lamp, date(2026, 5, 1), Use(months_open=(5, 6, 7, 8, 9, 10)), date(2026, 6, 1)).on
    datetime.date(2028, 5, 1)
    """
    if life.amount <= 0:
        raise OutsideValidRange("life", life.amount, low=0.0, low_open=True)
    on, used, words = _RULES[life.kind](life, anchor, use, today)
    if life.cap_months is not None:
        cap = add_months(anchor, life.cap_months)
        used = max(used, _share(anchor, cap, today))
        if on is None or cap < on:
            on, words = cap, f"{life.cap_months:g} months at most, whatever the use"
    return Due(on, used, words, life.kind)


def _calendar(life: LifeRule, anchor: date, use: Use, today: date) -> tuple[date | None, float, str]:
    on = add_months(anchor, life.amount)
    return on, _share(anchor, on, today), f"every {life.amount:g} months on the calendar"


def _condition(life: LifeRule, anchor: date, use: Use, today: date) -> tuple[date | None, float, str]:
    on = add_months(anchor, life.amount)
    return on, _share(anchor, on, today), f"looked at every {life.amount:g} months, renewed when worn"


def _opening(life: LifeRule, anchor: date, use: Use, today: date) -> tuple[date | None, float, str]:
    yearly = add_months(anchor, life.amount)
    opening = next_opening(anchor + timedelta(days=FITTED_FOR_OPENING_DAYS), use)
    if opening is None or yearly < opening:
        return yearly, _share(anchor, yearly, today), f"every {life.amount:g} months at most"
    return opening, _share(anchor, opening, today), "new at each opening"


def _operating(life: LifeRule, anchor: date, use: Use, today: date) -> tuple[date | None, float, str]:
    used = operating_months(anchor, max(today, anchor), use) / life.amount
    words = f"after {life.amount:g} months in operation"
    if use.year_round:
        return add_months(anchor, life.amount), used, words
    return _season_edge(_reach(anchor, life.amount, use), use), used, words


def _litres(life: LifeRule, anchor: date, use: Use, today: date) -> tuple[date | None, float, str]:
    words = f"after {life.amount:.0f} L"
    start = use.metered_on or anchor
    used = (use.litres_so_far + use.litres_per_day * open_days(start, max(today, start), use)) / life.amount
    left = life.amount - use.litres_so_far
    if left <= 0:
        return start, used, words
    if use.litres_per_day <= 0:
        if life.cap_months is None:
            raise MissingEvidence(["litres per day"], "a part that wears by litres needs the daily draw or a meter")
        return None, used, words
    days = left / use.litres_per_day
    return _season_edge(_reach_days(start, days, use), use), used, words


_RULES: dict[LifeKind, Callable[[LifeRule, date, Use, date], tuple[date | None, float, str]]] = {
    LifeKind.CALENDAR: _calendar,
    LifeKind.CONDITION: _condition,
    LifeKind.OPENING: _opening,
    LifeKind.OPERATING: _operating,
    LifeKind.LITRES: _litres,
}


def _share(anchor: date, on: date, today: date) -> float:
    return max((today - anchor).days, 0) / max((on - anchor).days, 1)


def _month_parts(start: date, end: date) -> Iterator[tuple[date, date]]:
    """The stretch cut at month boundaries."""
    since = start
    while since < end:
        until = min(end, add_months(since.replace(day=1), 1))
        yield since, until
        since = until


def _reach(start: date, months: float, use: Use) -> date:
    """First day on which ``months`` of operation are complete."""
    return _first_day(start, months, lambda since, until: operating_months(since, until, use))


def _reach_days(start: date, days: float, use: Use) -> date:
    """First day on which ``days`` open days are complete."""
    return _first_day(start, days, lambda since, until: float(open_days(since, until, use)))


def _first_day(start: date, wanted: float, spent: Callable[[date, date], float]) -> date:
    """Walk whole months, then days, until ``spent`` reaches ``wanted``."""
    total, slack = 0.0, 1e-9
    far = add_months(start, HORIZON_MONTHS)
    for since, until in _month_parts(start, far):
        step = spent(since, until)
        if total + step < wanted - slack:
            total += step
            continue
        day = since
        while day < until:
            total += spent(day, day + timedelta(days=1))
            day += timedelta(days=1)
            if total >= wanted - slack:
                return day
    return far


def _season_edge(day: date, use: Use) -> date:
    """A life that ends when the season ends is renewed at the next opening: nothing wears in between."""
    if day.month in use.months_open or (use.known_until is not None and day <= use.known_until):
        return day
    return next_opening(day, use) or day


def renewals_per_year(life: LifeRule, months_open: Sequence[int], litres_per_day: float) -> float:
    """How often a part is renewed in a mean year, for cost and upkeep hours; a look counts as one renewal's
    time.

    Units: times a year; litres on an open day.
    Range: life more than 0, months 1 to 12.
    Raises: ``OutsideValidRange`` as ``Use``.
    Source: the life rule (common practice).

    >>> renewals_per_year(LifeRule(LifeKind.OPERATING, 12), (5, 6, 7, 8, 9, 10), 600)
    0.5
    """
    months, openings = _season(tuple(months_open), float(litres_per_day))
    rate = 12.0 / life.amount
    if life.kind is LifeKind.OPERATING:
        rate = months / life.amount
    elif life.kind is LifeKind.LITRES:
        rate = litres_per_day * months * 365.0 / 12.0 / life.amount
    elif life.kind is LifeKind.OPENING:
        rate = max(rate, openings)
    return max(rate, 12.0 / life.cap_months) if life.cap_months else rate


@lru_cache(maxsize=256)
def _season(months_open: tuple[int, ...], litres_per_day: float) -> tuple[int, float]:
    """Months open and openings a year; both checked as a ``Use`` is."""
    use = Use(months_open=months_open, litres_per_day=litres_per_day)
    return len(set(months_open)), float(len(use.opening_months()))


def hours_per_year(wear: Sequence[WearPart], months_open: Sequence[int], litres_per_day: float) -> float:
    """Hands-on hours a year of renewing (or looking at) the parts.

    Units: hours; litres on an open day.
    Range: as ``renewals_per_year``.
    Raises: as ``renewals_per_year``.
    Source: minutes of the parts (common practice).

    >>> lamp = WearPart("lamp", "Lamp", LifeRule(LifeKind.OPERATING, 12), minutes=30)
    >>> hours_per_year([lamp], range(1, 13), 600)
    0.5
    """
    months = tuple(months_open)
    return sum(renewals_per_year(part.life, months, litres_per_day) * part.minutes / 60.0 for part in wear)
