"""Reads of samplings: what is planned, what is late, what a draw still waits for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _

from customers.dealers.queries import zone_of
from customers.households.models import Site
from customers.households.queries import sites_for
from customers.laboratories.models import Laboratory
from customers.laboratories.queries import own_bottles
from customers.people.actors import Actor
from customers.samplings.hours import Deadline, Reception, deadlines
from customers.samplings.models import OPEN, DrawAnswer, Sampling, SamplingDraw, SamplingState
from customers.tenancy.getters import get_public
from customers.water_tests.models import WaterTest
from sizing.engine.sampling import AT_TAP, Bottle, bottles_for, sent

WITH_DRAWS = ("draws__answers__test__results",)


def samplings_for(actor: Actor) -> QuerySet[Sampling]:
    """Samplings of the households the actor may see, newest first."""
    return Sampling.objects.filter(site__in=sites_for(actor)).select_related("site__customer", "laboratory")


def sampling_for(actor: Actor, public_id: UUID | str) -> Sampling:
    """One sampling with its draws and their answers; else 404."""
    rows = samplings_for(actor).select_related("site__customer", "site__dealer", "laboratory")
    found: Sampling = get_public(rows.prefetch_related("laboratory__bottles", *WITH_DRAWS), public_id)
    return found


def sampling_with_draws(sampling: Sampling) -> Sampling:
    """The same sampling, with everything its papers and pages read."""
    rows = Sampling.objects.select_related("site__customer", "site__dealer", "laboratory__dealer")
    found: Sampling = rows.prefetch_related("laboratory__bottles", *WITH_DRAWS).get(pk=sampling.pk)
    return found


def draw_for(actor: Actor, public_id: UUID | str) -> SamplingDraw:
    """One draw, with its sampling; else 404."""
    rows = SamplingDraw.objects.filter(sampling__site__in=sites_for(actor))
    found: SamplingDraw = get_public(rows.select_related("sampling__site__dealer", "sampling__laboratory"), public_id)
    return found


def samplings_of(site: Site) -> QuerySet[Sampling]:
    """A household's samplings, newest first."""
    return Sampling.objects.filter(site=site).select_related("laboratory").order_by("-planned_on", "-pk")


def reception_of(laboratory: Laboratory) -> Reception:
    """When the laboratory takes samples in. Its clock is taken to be the dealer's."""
    return Reception(
        laboratory.receives_on, laboratory.receives_from, laboratory.receives_until, zone_of(laboratory.dealer)
    )


def bottles_of(draw: SamplingDraw, laboratory: Laboratory) -> tuple[Bottle, ...]:
    """The bottles of one draw, as this laboratory asks for them."""
    return bottles_for(draw.analytes, draw.mode, own_bottles(laboratory))


def deadlines_of(draw: SamplingDraw, laboratory: Laboratory, planned: datetime) -> tuple[Deadline, ...]:
    """Deadlines of one draw, from when it was drawn, else from when that is planned."""
    return deadlines(draw.drawn_at or planned, bottles_of(draw, laboratory), reception_of(laboratory))


def planned_moment(sampling: Sampling) -> datetime:
    """Day and hour planned, at the dealer's."""
    return datetime.combine(sampling.planned_on, sampling.planned_at, tzinfo=zone_of(sampling.site.dealer))


def asked_of_lab(draw: SamplingDraw) -> tuple[str, ...]:
    """Tests the laboratory is asked for: all but what is measured at the tap."""
    return tuple(code for bottle in sent(bottles_for(draw.analytes, draw.mode)) for code in bottle.analytes)


def measured_at_tap(draw: SamplingDraw) -> tuple[str, ...]:
    """Tests that are read at the tap."""
    found = bottles_for(draw.analytes, draw.mode)
    return next((bottle.analytes for bottle in found if bottle.kind.code == AT_TAP), ())


def missing_of(draw: SamplingDraw) -> tuple[str, ...]:
    """Tests asked of the laboratory that no test entered for the draw reports yet."""
    reported = {row.analyte for answer in draw.answers.all() for row in answer.test.results.all()}
    return tuple(code for code in asked_of_lab(draw) if code not in reported)


@dataclass(frozen=True)
class Stand:
    """Where a sampling stands today: the word, whether it is late, and what is due when."""

    word: str
    late: bool
    about: str


def stand_of(sampling: Sampling, today: date, now: datetime) -> Stand:
    """The state in words; late where its own day or hour has passed."""
    word = str(sampling.get_state_display())
    if sampling.state == SamplingState.PLANNED and sampling.planned_on < today:
        return Stand(_("overdue"), True, _("was to be drawn"))
    if sampling.state == SamplingState.DRAWN and sampling.deliver_by and sampling.deliver_by < now:
        return Stand(_("overdue"), True, _("past the laboratory's hour, receipt not noted"))
    if sampling.state in (SamplingState.DRAWN, SamplingState.AT_LAB) and sampling.results_due_on < today:
        return Stand(_("overdue"), True, _("results were due"))
    return Stand(word, False, "")


def late_samplings(today: date, now: datetime) -> QuerySet[Sampling]:
    """Open samplings past their day or hour, longest first; site, customer and laboratory with them."""
    waiting = Q(state__in=[SamplingState.DRAWN, SamplingState.AT_LAB], results_due_on__lt=today)
    undrawn = Q(state=SamplingState.PLANNED, planned_on__lt=today)
    stale = Q(state=SamplingState.DRAWN, deliver_by__lt=now)
    rows = Sampling.objects.filter(waiting | undrawn | stale).select_related("site__customer", "laboratory")
    return rows.order_by("results_due_on", "pk")


def open_draws(actor: Actor) -> list[SamplingDraw]:
    """Draws that still wait for an answer, of the households the actor may see; newest sampling first."""
    rows = SamplingDraw.objects.filter(sampling__state__in=OPEN, sampling__site__in=sites_for(actor))
    rows = rows.select_related("sampling__site__customer", "sampling__laboratory")
    return list(rows.order_by("-sampling__planned_on", "-sampling__pk", "position"))


def answers_of(test: WaterTest) -> list[DrawAnswer]:
    """The draws a test answers."""
    return list(DrawAnswer.objects.filter(test=test).select_related("draw__sampling"))


def has_open_sampling(purpose: str | None = None) -> Exists:
    """A condition on rows with a ``site_id``: whether a sampling (of a purpose) is open there."""
    rows = Sampling.objects.filter(site_id=OuterRef("site_id"), state__in=OPEN)
    return Exists(rows.filter(purpose=purpose) if purpose else rows)


def linkable_tests(draw: SamplingDraw, tests: Iterable[WaterTest]) -> list[WaterTest]:
    """Tests entered without naming the draw that may well be its answer: same place, drawn about then."""
    near = draw.drawn_at.astimezone(zone_of(draw.sampling.site.dealer)).date() if draw.drawn_at else None
    taken = {answer.test_id for answer in draw.answers.all()}
    return [
        test
        for test in tests
        if test.pk not in taken
        and test.place == draw.place
        and (test.sampled_on == near if near else test.sampled_on >= draw.sampling.planned_on)
    ]
