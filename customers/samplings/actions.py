"""Writes about samplings. The state moves forward only, by conditional update, so a replay changes nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from customers.dealers.actions import next_number
from customers.dealers.queries import id_from, today_at, zone_of
from customers.households.log import add_log
from customers.households.models import Site
from customers.laboratories.models import Laboratory
from customers.samplings.hours import earliest
from customers.samplings.models import (
    OPEN,
    DrawAnswer,
    DrawMode,
    Purpose,
    Sampling,
    SamplingDraw,
    SamplingState,
)
from customers.samplings.queries import deadlines_of, missing_of
from customers.water_tests.models import Place, WaterTest
from sizing.engine.errors import OutsideValidRange
from sizing.engine.sampling import drawn_in, known_analytes
from sizing.engine.water import ANALYTES

FURTHEST_DAYS = 400
OLDEST_DRAW_DAYS = 60
MOST_DRAWS = 8
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # as in the water path: no I, no O


class SamplingRefused(ValueError):
    """A sampling was not kept or moved; ``errors`` names each field and what would do."""

    def __init__(self, errors: Mapping[str, str] | str) -> None:
        self.errors = {"": errors} if isinstance(errors, str) else dict(errors)
        super().__init__(" ".join(self.errors.values()))


@dataclass(frozen=True)
class DrawIn:
    """One tap to draw at."""

    place: str
    analytes: tuple[str, ...]
    mode: str = "flushed"
    point: str = ""
    where: str = ""


@dataclass(frozen=True)
class PlanIn:
    """What a plan says. ``results_due_on`` only where it was set by hand."""

    laboratory: Laboratory
    planned_on: date
    planned_at: time
    draws: tuple[DrawIn, ...]
    purpose: str = "evidence"
    drawer: str = ""
    note: str = ""
    results_due_on: date | None = None


@transaction.atomic
def plan_sampling(
    *, site: Site, plan: PlanIn, actor_name: str, now: datetime, form_token: UUID | str | None = None
) -> Sampling:
    """A new plan with its draws, numbered. The same ``form_token`` twice gives the plan made first.

    Raises ``SamplingRefused`` naming every field; nothing is kept then.
    """
    made_id = id_from(site.dealer, form_token) if form_token else uuid4()
    if form_token and (earlier := Sampling.objects.filter(public_id=made_id, site=site).first()):
        return earlier
    draws = _checked(site, plan, now)
    sampling = Sampling.objects.create(
        public_id=made_id,
        dealer_id=site.dealer_id,
        site=site,
        number=next_number(dealer=site.dealer, kind="sampling"),
        made_by=actor_name,
        made_at=now,
        **_columns(plan),
    )
    _store_draws(sampling, draws)
    told = _("sampling %(number)s planned for %(day)s, %(lab)s")
    words = {"number": sampling.label, "day": _day(plan.planned_on), "lab": plan.laboratory.name}
    add_log(site=site, who=actor_name, what=told % words, at=now)
    return sampling


@transaction.atomic
def change_plan(*, sampling: Sampling, plan: PlanIn, actor_name: str, now: datetime) -> Sampling:
    """Another plan in place of one that was not drawn yet; its number stays.

    Raises ``SamplingRefused`` naming every field, or where the bottles are filled already.
    """
    draws = _checked(sampling.site, plan, now)
    _claim(sampling, (SamplingState.PLANNED,), SamplingState.PLANNED, **_columns(plan))
    sampling.draws.all().delete()
    _store_draws(sampling, draws)
    told = _("sampling %(number)s planned anew, for %(day)s")
    words = {"number": sampling.label, "day": _day(plan.planned_on)}
    add_log(site=sampling.site, who=actor_name, what=told % words, at=now)
    return sampling


def _columns(plan: PlanIn) -> dict[str, Any]:
    due = plan.results_due_on or plan.planned_on + timedelta(days=plan.laboratory.result_days)
    return {
        "laboratory": plan.laboratory,
        "purpose": plan.purpose,
        "planned_on": plan.planned_on,
        "planned_at": plan.planned_at,
        "drawer": plan.drawer.strip(),
        "note": plan.note.strip(),
        "results_due_on": due,
        "due_by_hand": plan.results_due_on is not None,
    }


def _store_draws(sampling: Sampling, draws: Sequence[DrawIn]) -> None:
    SamplingDraw.objects.bulk_create(
        SamplingDraw(
            dealer_id=sampling.dealer_id,
            sampling=sampling,
            position=at,
            place=draw.place,
            point=draw.point,
            mode=draw.mode,
            where=draw.where.strip(),
            analytes=list(draw.analytes),
        )
        for at, draw in enumerate(draws, start=1)
    )


def _checked(site: Site, plan: PlanIn, now: datetime) -> list[DrawIn]:
    """The draws in the order of the work, first draw before all; refusals named by field."""
    errors: dict[str, str] = {}
    today = today_at(site.dealer, now)
    last = today + timedelta(days=FURTHEST_DAYS)
    first = today - timedelta(days=OLDEST_DRAW_DAYS)
    if not first <= plan.planned_on <= last:
        told = {"day": plan.planned_on.isoformat(), "first": first.isoformat(), "last": last.isoformat()}
        errors["planned_on"] = _("%(day)s given; accepted is a day from %(first)s to %(last)s") % told
    elif plan.results_due_on is not None and plan.results_due_on < plan.planned_on:
        told = {"day": plan.results_due_on.isoformat(), "first": plan.planned_on.isoformat()}
        errors["results_due_on"] = _("%(day)s given; accepted is a day from %(first)s on") % told
    if plan.purpose not in Purpose.values:
        errors["purpose"] = _("“%(text)s” is not a purpose") % {"text": plan.purpose}
    if not 1 <= len(plan.draws) <= MOST_DRAWS:
        errors["draws"] = _("%(n)s places chosen; accepted is 1 to %(most)s") % {
            "n": len(plan.draws),
            "most": MOST_DRAWS,
        }
    draws = []
    for draw in plan.draws:
        if wrong := _draw_error(draw):
            errors.setdefault("draws", wrong)
        else:
            draws.append(replace(draw, analytes=drawn_in(draw.analytes, draw.mode)))
    if errors:
        raise SamplingRefused(errors)
    return sorted(draws, key=lambda draw: draw.mode != DrawMode.FIRST_DRAW)


def _draw_error(draw: DrawIn) -> str:
    """What is wrong with one draw, in a sentence; empty where nothing is."""
    if draw.place not in Place.values or draw.mode not in DrawMode.values:
        return _("“%(text)s” is not a place to draw at") % {"text": f"{draw.place} {draw.mode}".strip()}
    if draw.point and draw.point not in LETTERS:
        return _("point “%(text)s” typed; accepted is one letter from A, without I and O") % {"text": draw.point}
    if len(draw.where) > 120:
        return _("the tap's name has %(n)s characters; accepted is at most 120") % {"n": len(draw.where)}
    try:
        known_analytes(draw.analytes)
    except OutsideValidRange as refused:
        return str(refused)
    if not draw.analytes:
        return _("no test chosen; accepted is at least one")
    if draw.mode == DrawMode.FIRST_DRAW and not drawn_in(draw.analytes, "first_draw"):
        names = ", ".join(ANALYTES[code].name for code in drawn_in(ANALYTES, "first_draw"))
        return _("a first draw tells of the pipes: choose one of %(names)s, or draw flushed only") % {"names": names}
    return ""


def _claim(sampling: Sampling, out_of: Sequence[str], to: str, **columns: Any) -> None:
    """Move on, only from where it stands; raises where somebody else was first."""
    won = Sampling.objects.filter(pk=sampling.pk, state__in=out_of).update(state=to, **columns)
    sampling.refresh_from_db()
    if not won:
        words = {"number": sampling.label, "state": sampling.get_state_display()}
        raise SamplingRefused(_("%(number)s is %(state)s; this step is no longer open") % words)


def _day(day: date) -> str:
    return date_format(day, "j M Y")


@transaction.atomic
def mark_drawn(
    *, sampling: Sampling, times: Mapping[int, datetime], drawer: str, actor_name: str, now: datetime
) -> Sampling:
    """The bottles are filled: when at each draw (by position). Sets by when they must be at the laboratory.

    Raises ``SamplingRefused`` for a draw without an hour, an hour to come or long past, or a sampling that
    is no longer planned.
    """
    draws = list(sampling.draws.all())
    errors: dict[str, str] = {}
    oldest = now - timedelta(days=OLDEST_DRAW_DAYS)
    zone = zone_of(sampling.site.dealer)
    for draw in draws:
        at = times.get(draw.position)
        name = f"drawn-{draw.position}"
        if at is None:
            errors[name] = _("%(number)s: no hour given; accepted is day and hour of the draw") % {
                "number": draw.sample_number
            }
        elif not oldest <= at <= now + timedelta(minutes=5):
            told = {"number": draw.sample_number, "at": f"{at.astimezone(zone):%Y-%m-%d %H:%M}"}
            errors[name] = _("%(number)s: %(at)s given; accepted is a moment of the last 60 days, not to come") % told
    if errors:
        raise SamplingRefused(errors)
    for draw in draws:
        draw.drawn_at = times[draw.position]
        draw.save(update_fields=["drawn_at"])
    last = max(times[draw.position] for draw in draws)
    by = min(
        (at for draw in draws if (at := earliest(deadlines_of(draw, sampling.laboratory, last))) is not None),
        default=None,
    )
    columns: dict[str, Any] = {"deliver_by": by, "drawer": drawer.strip() or sampling.drawer}
    if not sampling.due_by_hand:
        columns["results_due_on"] = last.astimezone(zone).date() + timedelta(days=sampling.laboratory.result_days)
    _claim(sampling, (SamplingState.PLANNED,), SamplingState.DRAWN, **columns)
    told_by = _("sampling %(number)s drawn") % {"number": sampling.label}
    add_log(site=sampling.site, who=actor_name, what=told_by, at=now)
    return sampling


@transaction.atomic
def mark_received(*, sampling: Sampling, at: datetime, actor_name: str, now: datetime) -> Sampling:
    """The laboratory has the bottles. Late arrival is kept and said, not refused: the laboratory decides.

    Raises ``SamplingRefused`` for a moment before the draws or to come, or a sampling that is not on its way.
    """
    zone = zone_of(sampling.site.dealer)
    last = max((draw.drawn_at for draw in sampling.draws.all() if draw.drawn_at), default=None)
    if at > now + timedelta(minutes=5) or (last is not None and at < last):
        first = f"{last.astimezone(zone):%Y-%m-%d %H:%M}" if last else "–"
        told = {"at": f"{at.astimezone(zone):%Y-%m-%d %H:%M}", "first": first}
        raise SamplingRefused({"received_at": _("%(at)s given; accepted is a moment from %(first)s to now") % told})
    columns: dict[str, Any] = {"received_at": at}
    if not sampling.due_by_hand:
        columns["results_due_on"] = at.astimezone(zone).date() + timedelta(days=sampling.laboratory.result_days)
    _claim(sampling, (SamplingState.DRAWN,), SamplingState.AT_LAB, **columns)
    told_by = _("sampling %(number)s is at %(lab)s") % {"number": sampling.label, "lab": sampling.laboratory.name}
    if sampling.deliver_by and at > sampling.deliver_by:
        told_by += _(", after its hour")
    add_log(site=sampling.site, who=actor_name, what=told_by, at=now)
    return sampling


@transaction.atomic
def answer_draw(*, draw: SamplingDraw, test: WaterTest, actor_name: str, now: datetime) -> DrawAnswer:
    """A water test answers a draw, whole or in part; with the last of it the sampling is answered.

    Twice is once. Raises ``SamplingRefused`` for a test of another household, place or day of drawing, or a
    sampling that was called off.
    """
    sampling = draw.sampling
    if test.site_id != sampling.site_id or test.place != draw.place:
        told = {"number": draw.sample_number, "place": draw.get_place_display()}
        raise SamplingRefused(
            _("%(number)s was drawn at another household or place; accepted is a test of its own, %(place)s") % told
        )
    drawn_on = draw.drawn_at.astimezone(zone_of(sampling.site.dealer)).date() if draw.drawn_at else None
    if drawn_on and drawn_on != test.sampled_on:
        told = {"number": draw.sample_number, "on": drawn_on.isoformat(), "test": test.sampled_on.isoformat()}
        raise SamplingRefused({"sampled_on": _("%(number)s was drawn on %(on)s; the test says %(test)s") % told})
    if sampling.state == SamplingState.CALLED_OFF:
        raise SamplingRefused(_("%(number)s was called off") % {"number": sampling.label})
    answer, _made = DrawAnswer.objects.get_or_create(dealer_id=draw.dealer_id, draw=draw, test=test)
    draws = sampling.draws.prefetch_related("answers__test__results")
    if sampling.is_open and not any(missing_of(one) for one in draws):
        _claim(sampling, OPEN, SamplingState.ANSWERED, answered_at=now)
        told_by = _("sampling %(number)s: results in") % {"number": sampling.label}
        add_log(site=sampling.site, who=actor_name, what=told_by, at=now)
    return answer


@transaction.atomic
def take_back_answer(*, test: WaterTest, actor_name: str, now: datetime) -> None:
    """Undo ``answer_draw`` for a test that is being taken back: its samplings wait again, and are said to."""
    for answer in DrawAnswer.objects.filter(test=test).select_related("draw__sampling__site"):
        sampling = answer.draw.sampling
        answer.delete()
        if sampling.state == SamplingState.ANSWERED:
            drawn = sampling.draws.filter(drawn_at__isnull=False).exists()
            back = SamplingState.AT_LAB if sampling.received_at else SamplingState.DRAWN
            state = back if drawn else SamplingState.PLANNED
            Sampling.objects.filter(pk=sampling.pk).update(state=state, answered_at=None, closed_because="")
            what = _("sampling %(number)s waits again: its results were taken back") % {"number": sampling.label}
            add_log(site=sampling.site, who=actor_name, what=what, at=now)


@transaction.atomic
def call_off(*, sampling: Sampling, reason: str, actor_name: str, now: datetime) -> Sampling:
    """Give a sampling up, with the reason. Raises ``SamplingRefused`` without one, or where it is done."""
    if not reason.strip():
        raise SamplingRefused({"reason": _("nothing typed; accepted is why, in words")})
    _claim(sampling, OPEN, SamplingState.CALLED_OFF, closed_because=reason.strip()[:240])
    words = {"number": sampling.label, "reason": reason.strip()}
    add_log(site=sampling.site, who=actor_name, what=_("sampling %(number)s called off: %(reason)s") % words, at=now)
    return sampling


@transaction.atomic
def close_short(*, sampling: Sampling, reason: str, actor_name: str, now: datetime) -> Sampling:
    """Take what came as all that will come, with the reason. Raises ``SamplingRefused`` without a reason, where
    nothing came at all, or where it is done."""
    if not reason.strip():
        raise SamplingRefused({"reason": _("nothing typed; accepted is why, in words")})
    if not DrawAnswer.objects.filter(draw__sampling=sampling).exists():
        raise SamplingRefused({"reason": _("no result is in; call the sampling off instead")})
    _claim(sampling, OPEN, SamplingState.ANSWERED, answered_at=now, closed_because=reason.strip()[:240])
    words = {"number": sampling.label, "reason": reason.strip()}
    what = _("sampling %(number)s: no more results will come, %(reason)s") % words
    add_log(site=sampling.site, who=actor_name, what=what, at=now)
    return sampling


@transaction.atomic
def chase(*, sampling: Sampling, due_on: date, actor_name: str, now: datetime) -> Sampling:
    """The laboratory was asked, and named another day. Raises ``SamplingRefused`` for a day already gone, or a
    sampling that is not waiting for results."""
    today = today_at(sampling.site.dealer, now)
    if not today <= due_on <= today + timedelta(days=FURTHEST_DAYS):
        told = {"day": due_on.isoformat(), "first": today.isoformat()}
        raise SamplingRefused({"due_on": _("%(day)s given; accepted is a day from %(first)s on") % told})
    waiting = (SamplingState.DRAWN, SamplingState.AT_LAB)
    _claim(sampling, waiting, sampling.state, results_due_on=due_on, due_by_hand=True, chased_on=today)
    words = {"number": sampling.label, "lab": sampling.laboratory.name, "day": _day(due_on)}
    what = _("sampling %(number)s: asked %(lab)s, results now due %(day)s") % words
    add_log(site=sampling.site, who=actor_name, what=what, at=now)
    return sampling
