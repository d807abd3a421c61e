"""When a seasonal place opens and closes next, from the days its household named. Pure."""

from __future__ import annotations

import calendar
from datetime import date

from customers.households.models import Site


def day_of_year(year: int, month: int, day: int) -> date:
    """The day in that year; 29 February is the 28th in a common year.

    >>> day_of_year(2027, 2, 29)
    datetime.date(2027, 2, 28)
    """
    return date(year, month, min(day, calendar.monthrange(year, month)[1]))


def _next(month: int | None, day: int | None, today: date) -> date | None:
    if month is None or day is None:
        return None
    this_year = day_of_year(today.year, month, day)
    return this_year if this_year >= today else day_of_year(today.year + 1, month, day)


def next_opening_on(site: Site, today: date) -> date | None:
    """The next opening, today included; ``None`` for a place used all year."""
    return _next(site.opens_month, site.opens_day, today)


def next_closing_on(site: Site, today: date) -> date | None:
    """The next closing, today included; ``None`` for a place used all year."""
    return _next(site.closes_month, site.closes_day, today)
