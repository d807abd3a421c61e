"""Planning a sampling: which tests, drawn where, for which laboratory, when; and anew until it is drawn."""

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
from customers.dealers.queries import id_from, today_at
from customers.households.log import add_log
from customers.households.models import Site
from customers.laboratories.models import Laboratory
from customers.samplings.models import DrawMode, Purpose, Sampling, SamplingDraw, SamplingState
from customers.water_tests.models import Place
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
    words = {"number": sampling.label, "day": day_words(plan.planned_on), "lab": plan.laboratory.name}
    add_log(site=site, who=actor_name, what=told % words, at=now)
    return sampling


@transaction.atomic
def change_plan(*, sampling: Sampling, plan: PlanIn, actor_name: str, now: datetime) -> Sampling:
    """Another plan in place of one that was not drawn yet; its number stays.

    Raises ``SamplingRefused`` naming every field, or where the bottles are filled already.
    """
    draws = _checked(sampling.site, plan, now)
    claim(sampling, (SamplingState.PLANNED,), SamplingState.PLANNED, **_columns(plan))
    sampling.draws.all().delete()
    _store_draws(sampling, draws)
    told = _("sampling %(number)s planned anew, for %(day)s")
    words = {"number": sampling.label, "day": day_words(plan.planned_on)}
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


def claim(sampling: Sampling, out_of: Sequence[str], to: str, **columns: Any) -> None:
    """Move on, only from where it stands; raises where somebody else was first."""
    won = Sampling.objects.filter(pk=sampling.pk, state__in=out_of).update(state=to, **columns)
    sampling.refresh_from_db()
    if not won:
        words = {"number": sampling.label, "state": sampling.get_state_display()}
        raise SamplingRefused(_("%(number)s is %(state)s; this step is no longer open") % words)


def day_words(day: date) -> str:
    """A day written out."""
    return date_format(day, "j M Y")
