"""What falls due at one household, grouped into visits. Pure: rows in, values out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _

from customers.households.models import Site
from service.installs.models import FittedPart
from service.installs.seasons import next_closing_on, next_opening_on
from service.installs.words import day_words, in_sentence
from sizing.engine.visits import Task, group_visits

WINDOW_DAYS = 30  # common practice: work due within a month of a trip is done on it


@dataclass(frozen=True)
class Visit:
    """One trip to one household: the day it is due, why, and the parts it renews (earliest due first).

    ``booked_on`` is the day of a booked job that will do it, if there is one; ``about`` says in words what that
    job does when no part asked for it.
    """

    site: Site
    on: date
    reason: str  # "opening", "closing" or "service"
    parts: tuple[FittedPart, ...] = ()
    booked_on: date | None = None
    about: str = ""

    @property
    def day(self) -> date:
        """The day to tell people: the booked one, else the day it is due."""
        return self.booked_on or self.on

    def overdue(self, today: date) -> bool:
        """Whether its day has passed and nobody is booked."""
        return self.booked_on is None and self.on < today

    @property
    def words(self) -> str:
        """What the visit is for, in words: "opening; cartridge, lamp"."""
        heads = {"opening": _("opening"), "closing": _("closing"), "service": ""}
        names = ", ".join(dict.fromkeys(in_sentence(part.name) for part in self.parts))
        return "; ".join(word for word in (str(heads[self.reason]), names, self.about) if word)

    @property
    def when(self) -> str:
        """The day in words: "booked 10 Jun 2026" or "due 9 Dec 2026"."""
        if self.booked_on:
            return _("booked %(day)s") % {"day": day_words(self.booked_on)}
        return _("due %(day)s") % {"day": day_words(self.on)}


def visits_of(site: Site, parts: Sequence[FittedPart], today: date, booked: Sequence[date] = ()) -> tuple[Visit, ...]:
    """Every visit the parts of one household ask for, with its next opening and closing, earliest first.

    What the household does itself (salt) asks for no visit of ours. ``booked`` are the days of its booked
    jobs; each serves the visit whose due day is nearest.
    """
    opening, closing = next_opening_on(site, today), next_closing_on(site, today)
    ours = {str(part.pk): part for part in parts if part.next_due_on and not part.by_customer}
    tasks = _tasks(ours, today)
    planned = group_visits(tasks, opening=opening, closing=closing, window_days=WINDOW_DAYS)
    found = {(p.on, p.reason): tuple(ours[key] for key in p.keys) for p in planned}
    if parts:
        for day, reason in ((opening, "opening"), (closing, "closing")):
            if day is not None:
                found.setdefault((day, reason), ())
    serves = _serving(sorted(found), sorted(booked))
    return tuple(
        Visit(site, on, reason, found[(on, reason)], serves.get((on, reason))) for on, reason in sorted(found)
    )


def _tasks(parts: dict[str, FittedPart], today: date) -> list[Task]:
    """The parts as tasks. Once something is overdue, what is due within the window joins it: one trip does all."""
    days = {key: part.next_due_on for key, part in parts.items() if part.next_due_on}
    overdue = min((day for day in days.values() if day < today), default=None)
    near = today + timedelta(days=WINDOW_DAYS)
    return [Task(key, overdue if overdue and day <= near else day) for key, day in days.items()]


def _serving(keys: Sequence[tuple[date, str]], booked: Sequence[date]) -> dict[tuple[date, str], date]:
    """Which booked day serves which visit: the nearest within the window, else the first one overdue by then."""
    serves: dict[tuple[date, str], date] = {}
    for day in booked:
        free = [key for key in keys if key not in serves]
        near = [key for key in free if abs((key[0] - day).days) <= WINDOW_DAYS]
        late = [key for key in free if key[0] < day]
        if near or late:
            serves[min(near, key=lambda key: abs((key[0] - day).days)) if near else late[0]] = day
    return serves
