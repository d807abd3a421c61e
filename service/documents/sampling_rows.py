"""What pages and papers show of a sampling: its draws, bottles, hours and what is still out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from customers.laboratories.models import Laboratory
from customers.laboratories.queries import own_bottles
from customers.samplings.actions import DrawIn
from customers.samplings.hours import Deadline, better_day, deadlines, earliest
from customers.samplings.models import Sampling, SamplingDraw
from customers.samplings.queries import (
    bottles_of,
    linkable_tests,
    missing_of,
    planned_moment,
    reception_of,
    stand_of,
)
from customers.water_tests.models import Place, WaterTest
from sizing.engine.sampling import AT_TAP, Bottle, bottles_for, drawn_in, hold_words, sent
from sizing.engine.water import ANALYTES

MONTH_H = 720.0
STATE_MARKS = {"planned": "proposed", "drawn": "soon", "at_lab": "soon", "answered": "service", "called_off": "laid"}


@dataclass(frozen=True)
class BottleLine:
    """One bottle of a draw, ready to read."""

    name: str
    count: int
    container: str
    volume: str
    preservation: str
    fill: str
    tests: str
    keeps: str
    source: str
    deadline: Deadline | None
    hazard: str = ""

    @property
    def arrive(self) -> str:
        """By when it must be at the laboratory; empty where that is shut all the while."""
        return self._words(self.deadline.arrive) if self.deadline and self.deadline.arrive else ""

    @property
    def until(self) -> str:
        """When its hours end."""
        return self._words(self.deadline.keeps_until) if self.deadline else ""

    def _words(self, moment: datetime) -> str:
        """A moment with its hour; of a bottle that keeps for months, the day alone."""
        long = self.deadline is not None and self.deadline.bottle.hold_h > MONTH_H
        return date_format(moment, "j M Y" if long else "D j M, H:i")


@dataclass(frozen=True)
class DrawView:
    """One draw with its bottles; ``row`` is ``None`` while it is only being planned."""

    title: str
    where: str
    number: str
    row: SamplingDraw | None
    bottles: tuple[BottleLine, ...]
    at_tap: str
    first_draw: bool
    missing: tuple[str, ...] = ()
    answers: tuple[WaterTest, ...] = ()
    linkable: tuple[WaterTest, ...] = ()

    @property
    def missing_words(self) -> str:
        """Names of what is still out."""
        return names_of(self.missing)


def names_of(codes: Iterable[str]) -> str:
    """Names of tests in one line."""
    return ", ".join(_(ANALYTES[code].name) for code in codes)


def draw_title(place: str, mode: str, point: str) -> str:
    """A draw in words: "raw water, point A, flushed"."""
    words = [str(Place(place).label)]
    if point:
        words.append(_("point %(letter)s") % {"letter": point})
    if place == Place.TAP or mode == "first_draw":
        words.append(_("first draw") if mode == "first_draw" else _("flushed"))
    return ", ".join(words)


def bottle_lines(bottles: Sequence[Bottle], rows: Sequence[Deadline]) -> tuple[BottleLine, ...]:
    """The bottles in the order of filling, each with its deadline."""
    by_code = {row.bottle.kind.code: row for row in rows}
    return tuple(
        BottleLine(
            name=_(bottle.name),
            count=bottle.count,
            container=_(bottle.container),
            volume=f"{bottle.volume_ml} mL",
            preservation=_(bottle.preservation),
            fill=_(bottle.kind.fill),
            tests=names_of(bottle.analytes),
            keeps=hold_words(bottle.hold_h),
            source=bottle.hold_source,
            deadline=by_code.get(bottle.kind.code),
            hazard=bottle.kind.hazard,
        )
        for bottle in sent(bottles)
    )


def _at_tap(bottles: Sequence[Bottle]) -> str:
    return next((names_of(bottle.analytes) for bottle in bottles if bottle.kind.code == AT_TAP), "")


def draw_views(sampling: Sampling, tests: Iterable[WaterTest] = ()) -> list[DrawView]:
    """Every draw of a sampling; ``tests`` are the household's, to offer those that may belong to a draw."""
    planned, reception = planned_moment(sampling), reception_of(sampling.laboratory)
    known = list(tests)
    views = []
    for draw in sampling.draws.all():
        draw.sampling = sampling
        bottles = bottles_of(draw, sampling.laboratory)
        rows = deadlines(draw.drawn_at or planned, bottles, reception)
        missing = missing_of(draw)
        views.append(
            DrawView(
                title=draw_title(draw.place, draw.mode, draw.point),
                where=draw.where,
                number=draw.sample_number,
                row=draw,
                bottles=bottle_lines(bottles, rows),
                at_tap=_at_tap(bottles),
                first_draw=draw.mode == "first_draw",
                missing=missing,
                answers=tuple(answer.test for answer in draw.answers.all()),
                linkable=tuple(linkable_tests(draw, known)) if missing and sampling.is_open else (),
            )
        )
    return views


@dataclass(frozen=True)
class Needs:
    """What a plan would need, before it is kept."""

    draws: tuple[DrawView, ...]
    deliver_by: datetime | None
    too_late: tuple[str, ...]
    better: date | None


def needs_of(laboratory: Laboratory, draws: Sequence[DrawIn], moment: datetime) -> Needs:
    """Bottles and hours of a plan that is still being filled in."""
    own, reception = own_bottles(laboratory), reception_of(laboratory)
    views: list[DrawView] = []
    every: list[Deadline] = []
    for at, draw in enumerate(sorted(draws, key=lambda one: one.mode != "first_draw"), start=1):
        bottles = bottles_for(drawn_in(draw.analytes, draw.mode), draw.mode, own)
        rows = deadlines(moment, bottles, reception)
        every += rows
        views.append(
            DrawView(
                title=draw_title(draw.place, draw.mode, draw.point),
                where=draw.where,
                number=str(at),
                row=None,
                bottles=bottle_lines(bottles, rows),
                at_tap=_at_tap(bottles),
                first_draw=draw.mode == "first_draw",
            )
        )
    shut = [row for row in every if row.arrive is None]
    shortest = min((row.bottle.hold_h for row in shut), default=None)
    return Needs(
        draws=tuple(views),
        deliver_by=earliest(every),
        too_late=tuple(dict.fromkeys(_(row.bottle.name) for row in shut)),
        better=better_day(moment, shortest, reception) if shortest is not None else None,
    )


@dataclass(frozen=True)
class SamplingLine:
    """One line of a list of samplings."""

    sampling: Sampling
    word: str
    mark: str
    about: str


def lines_of(samplings: Iterable[Sampling], today: date, now: datetime) -> list[SamplingLine]:
    """Samplings with where they stand today."""
    lines = []
    for row in samplings:
        stand = stand_of(row, today, now)
        mark = "overdue" if stand.late else STATE_MARKS[row.state]
        lines.append(SamplingLine(row, stand.word, mark, stand.about))
    return lines


def packing_list(views: Iterable[DrawView]) -> list[tuple[str, int, Any]]:
    """Bottles to take along, summed over the draws: name, how many, the line."""
    summed: dict[tuple[str, str, str], tuple[int, BottleLine]] = {}
    for view in views:
        for line in view.bottles:
            key = (line.name, line.container, line.volume)
            had = summed.get(key, (0, line))[0]
            summed[key] = (had + line.count, line)
    return [(name, count, line) for (name, _c, _v), (count, line) in summed.items()]
