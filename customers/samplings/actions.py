"""Writes about samplings. The state moves forward only, by conditional update, so a replay changes nothing."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from customers.dealers.queries import today_at, zone_of
from customers.households.log import add_log
from customers.samplings.hours import earliest
from customers.samplings.models import OPEN, DrawAnswer, Sampling, SamplingDraw, SamplingState
from customers.samplings.planning import (
    FURTHEST_DAYS,
    OLDEST_DRAW_DAYS,
    DrawIn,
    PlanIn,
    SamplingRefused,
    change_plan,
    claim,
    day_words,
    plan_sampling,
)
from customers.samplings.queries import deadlines_of, missing_of
from customers.water_tests.models import WaterTest

__all__ = [
    "DrawIn",
    "PlanIn",
    "SamplingRefused",
    "answer_draw",
    "call_off",
    "change_plan",
    "chase",
    "close_short",
    "mark_drawn",
    "mark_received",
    "plan_sampling",
    "take_back_answer",
]


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
    claim(sampling, (SamplingState.PLANNED,), SamplingState.DRAWN, **columns)
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
    claim(sampling, (SamplingState.DRAWN,), SamplingState.AT_LAB, **columns)
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
        claim(sampling, OPEN, SamplingState.ANSWERED, answered_at=now)
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
    claim(sampling, OPEN, SamplingState.CALLED_OFF, closed_because=reason.strip()[:240])
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
    claim(sampling, OPEN, SamplingState.ANSWERED, answered_at=now, closed_because=reason.strip()[:240])
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
    claim(sampling, waiting, sampling.state, results_due_on=due_on, due_by_hand=True, chased_on=today)
    words = {"number": sampling.label, "lab": sampling.laboratory.name, "day": day_words(due_on)}
    what = _("sampling %(number)s: asked %(lab)s, results now due %(day)s") % words
    add_log(site=sampling.site, who=actor_name, what=what, at=now)
    return sampling
