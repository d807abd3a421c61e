"""Grouping what falls due into visits: with the opening, with the closing, or together in one trip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sizing.engine.errors import OutsideValidRange


@dataclass(frozen=True)
class Task:
    """Work that falls due on a day. ``key`` is the caller's own name for it."""

    key: str
    due: date


@dataclass(frozen=True)
class PlannedVisit:
    """One trip: ``reason`` is "opening", "closing" or "service"; ``keys`` the work, earliest due first."""

    on: date
    reason: str
    keys: tuple[str, ...]


def group_visits(
    tasks: Sequence[Task], *, opening: date | None, closing: date | None, window_days: int
) -> tuple[PlannedVisit, ...]:
    """Work grouped into trips; no task is done more than the window early, and none late while the place is
    in use.

    ``opening`` and ``closing`` are the next planned ones (``None`` = none planned; an opening without a
    closing before it means the place is laid up now). Work that falls due while the place is laid up waits
    for the opening: nothing wears meanwhile. Work due up to ``window_days`` after the opening is done with
    it, and so with the closing where no opening is planned yet. What remains goes in trips on the day of the
    earliest due task of each group. Units: dates; days. Range: window 0 or more. Raises:
    ``OutsideValidRange`` for a negative window. Source: common practice.

    >>> tasks = [Task("lamp", date(2027, 5, 10)), Task("ro", date(2027, 7, 1)), Task("tap", date(2027, 7, 20))]
    >>> visits = group_visits(tasks, opening=date(2027, 5, 1), closing=None, window_days=30)
    >>> [(v.reason, v.keys) for v in visits]
    [('opening', ('lamp',)), ('service', ('ro', 'tap'))]
    """
    if window_days < 0:
        raise OutsideValidRange("window", window_days, low=0, unit="days")
    window = timedelta(days=window_days)
    at_opening, at_closing, alone = [], [], []
    for task in sorted(tasks, key=lambda t: (t.due, t.key)):
        if opening and _with_opening(task.due, opening, closing, window):
            at_opening.append(task)
        elif closing and closing <= task.due <= closing + window:
            at_closing.append(task)
        else:
            alone.append(task)
    visits = _trips(alone, window)
    if at_opening and opening:
        visits.append(PlannedVisit(opening, "opening", tuple(t.key for t in at_opening)))
    if at_closing and closing:
        visits.append(PlannedVisit(closing, "closing", tuple(t.key for t in at_closing)))
    return tuple(sorted(visits, key=lambda v: (v.on, v.reason)))


def _with_opening(due: date, opening: date, closing: date | None, window: timedelta) -> bool:
    if opening <= due <= opening + window:
        return True
    laid_up_now = closing is None or closing > opening
    if laid_up_now:
        return due < opening
    return closing is not None and closing < due < opening


def _trips(tasks: Sequence[Task], window: timedelta) -> list[PlannedVisit]:
    """Trips on the day of the earliest task left, each taking what falls due within the window after it."""
    trips: list[PlannedVisit] = []
    rest = list(tasks)
    while rest:
        first = rest[0].due
        taken = [t for t in rest if t.due <= first + window]
        rest = rest[len(taken) :]
        trips.append(PlannedVisit(first, "service", tuple(t.key for t in taken)))
    return trips
