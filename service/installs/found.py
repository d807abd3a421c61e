"""Stages that were there before the dealer came: put on file as found, checked, then kept like any other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from customers.dealers.queries import id_from, today_at
from customers.households.actions import add_log
from customers.households.models import Site
from customers.households.queries import season_of
from service.installs.actions import InstallRefused
from service.installs.lives import due_day, part_fields
from service.installs.models import FittedPart, InstalledStage, StageState
from service.installs.queries import current_stages
from sizing.engine.design import LifeKind, StageKind
from sizing.engine.found import found_parts, unknown_words
from sizing.engine.stages.order import order_rules

EARLIEST = date(1970, 1, 1)
PLACES = ("main", "tap")


@transaction.atomic
def record_found_stage(
    *,
    site: Site,
    kind: str,
    name: str,
    actor_name: str,
    now: datetime,
    found_on: date,
    at: str = "main",
    form: str = "",
    before: InstalledStage | None = None,
    unknowns: Sequence[str] = (),
    renewed: Mapping[str, date] | None = None,
    serial: str = "",
    note: str = "",
    form_token: UUID | str | None = None,
) -> InstalledStage:
    """Put a stage on file that was found at the place: fitted, nothing counted on it, its unknowns named.

    ``renewed``: part code to the day it was last renewed, where somebody knows it; lives of other parts begin once
    the stage is checked. ``before``: the stage it stands ahead of, else the end of its line. The same ``form_token``
    twice gives the stage recorded first. Raises ``InstallRefused`` naming the field, its value and what would do.
    """
    made_id = id_from(site.dealer, form_token) if form_token else uuid4()
    earlier: InstalledStage | None = InstalledStage.objects.filter(public_id=made_id, site=site).first()
    if earlier is not None:
        return earlier
    stage_kind = _kind(kind)
    known = dict(renewed or {})
    _check(site, stage_kind, form, name, at, found_on, known, now)
    stage = InstalledStage.objects.create(
        public_id=made_id,
        dealer_id=site.dealer_id,
        site=site,
        position=_make_room(site, before),
        kind=stage_kind.value,
        name=name.strip()[:120],
        at=at,
        serial=serial.strip()[:60],
        state=StageState.FITTED,
        found_on=found_on,
        unknowns=list(unknown_words(unknowns)),
        note=note.strip()[:240],
    )
    for wear in found_parts(stage_kind, form):
        FittedPart.objects.create(
            dealer_id=site.dealer_id, stage=stage, renewed_on=known.get(wear.code), **part_fields(wear)
        )
    what = _("found at the place: %(name)s; not known: %(unknowns)s")
    told = {"name": stage.name, "unknowns": ", ".join(stage.unknowns) or _("nothing")}
    add_log(site=site, who=actor_name, what=what % told, at=now)
    return stage


def _kind(kind: str) -> StageKind:
    try:
        return StageKind(kind)
    except ValueError:
        known = ", ".join(one.value for one in StageKind)
        raise InstallRefused(_("kind is %(kind)s, accepted is %(all)s") % {"kind": kind, "all": known}) from None


def _check(
    site: Site,
    kind: StageKind,
    form: str,
    name: str,
    at: str,
    found_on: date,
    renewed: Mapping[str, date],
    now: datetime,
) -> None:
    today = today_at(site.dealer, now)
    if not name.strip():
        raise InstallRefused(_("name is empty; say what it is, as it is called at the place"))
    if at not in PLACES:
        raise InstallRefused(_("at is %(at)s, accepted is %(all)s") % {"at": at, "all": ", ".join(PLACES)})
    if not EARLIEST <= found_on <= today:
        raise InstallRefused(_not_a_day(_("found on"), found_on, today))
    codes = {wear.code for wear in found_parts(kind, form)}
    for code, day in renewed.items():
        if code not in codes:
            told = {"code": code, "all": ", ".join(sorted(codes))}
            raise InstallRefused(_("part is %(code)s, accepted is %(all)s") % told)
        if not EARLIEST <= day <= today:
            raise InstallRefused(_not_a_day(code, day, today))


def _not_a_day(field: str, day: date, today: date) -> str:
    told = {"field": field, "day": day.isoformat(), "first": EARLIEST.isoformat(), "last": today.isoformat()}
    return _("%(field)s is %(day)s, accepted is a day from %(first)s to %(last)s") % told


def _make_room(site: Site, before: InstalledStage | None) -> int:
    """The place of a new stage; those behind it move one on, last first, so that no two ever share a place."""
    rows = list(current_stages(site).order_by("-position"))
    if before is None:
        return rows[0].position + 1 if rows else 1
    if before.pk not in {row.pk for row in rows}:
        raise InstallRefused(_("%(name)s does not stand at this place any more") % {"name": before.name})
    for row in rows:
        if row.position >= before.position:
            InstalledStage.objects.filter(pk=row.pk).update(position=F("position") + 1)
    return before.position


def usual_successor(site: Site, kind: StageKind) -> InstalledStage | None:
    """The first stage of the main line that usually stands behind one of this kind; ``None``: it comes last."""
    behind = {rule.after for rule in order_rules() if rule.before == kind.value and rule.strength in ("hard", "soft")}
    for stage in current_stages(site).filter(at="main"):
        if stage.kind in behind:
            return stage
    return None


@transaction.atomic
def check_found_stage(
    *, stage: InstalledStage, on: date, actor_name: str, now: datetime, still_unknown: Sequence[str] = ()
) -> InstalledStage:
    """A person has looked at a found stage and it does its work: in service, its parts' lives run from the day each
    was last renewed. Looks at a part's condition run from this day; a part that wears by time and whose age nobody
    knows begins its life when it is renewed. ``still_unknown``: what of its unknowns was not found out.

    A barrier counts as one only while nothing about it is unknown. Checking again only shortens the list. Raises
    ``InstallRefused`` for a stage that was not found, is retired, or a day before it was found.
    """
    if stage.found_on is None or stage.state == StageState.RETIRED:
        raise InstallRefused(_("%(name)s is no stage that was found and still stands") % {"name": stage.name})
    today = today_at(stage.dealer, now)
    if not stage.found_on <= on <= today:
        told = {"on": on.isoformat(), "first": stage.found_on.isoformat(), "last": today.isoformat()}
        raise InstallRefused(_("checked on is %(on)s, accepted is a day from %(first)s to %(last)s") % told)
    stage.unknowns = [words for words in stage.unknowns if words in set(still_unknown)]
    if stage.state == StageState.FITTED:
        stage.state = StageState.IN_SERVICE
    stage.save(update_fields=["unknowns", "state"])
    use = season_of(stage.site)
    for part in stage.parts.all():
        if part.renewed_on is None and part.life_kind == LifeKind.CONDITION:
            part.renewed_on = on
        part.next_due_on = due_day(part, stage.site, use, today)
        part.save(update_fields=["renewed_on", "next_due_on"])
    what = _("%(name)s looked at, in service; still not known: %(unknowns)s")
    told = {"name": stage.name, "unknowns": ", ".join(stage.unknowns) or _("nothing")}
    add_log(site=stage.site, who=actor_name, what=what % told, at=now)
    return stage
