"""What a job finds at its place, and what has to be brought there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from customers.water_tests.models import Qualifier, Result
from service.installs.branches import OUTSIDE, branches_in
from service.installs.models import StageState
from service.installs.queries import current_stages
from service.installs.water_path import under_notice
from service.jobs.lines import Place, planned
from service.jobs.models import Job, JobKind
from service.upkeep.queries import parts_at_work
from service.upkeep.visits import WINDOW_DAYS
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import LifeKind

RENEWING = (JobKind.SERVICE, JobKind.OPENING, JobKind.REMEDY)
GERMS = ("total_coliform", "e_coli")


@dataclass(frozen=True)
class Need:
    """A part to bring, by a specification anybody can buy by."""

    name: str
    specification: str = ""
    quantity: Decimal = Decimal(1)
    stage_number: int | None = None
    item: CatalogueItem | None = None


def place_for(job: Job, today: date) -> Place:
    """The place of a job: the stages it is about, the parts due by then, and whether germs were found."""
    rows = current_stages(job.site).select_related("site", "item", "install__quote__train").prefetch_related("parts")
    stages = (
        [row for row in rows if row.install_id == job.install_id]
        if job.kind == JobKind.INSTALL
        else [row for row in rows if row.state != StageState.FITTED or row.found_on is not None]
    )
    stages.sort(key=lambda stage: (stage.at != "main", stage.position))
    parts = []
    if job.kind in RENEWING:
        until = today + timedelta(days=WINDOW_DAYS)
        due = parts_at_work().filter(stage__site=job.site)
        parts = [
            part
            for part in due
            if (part.next_due_on and part.next_due_on <= until)
            or (job.kind == JobKind.OPENING and part.life_kind == LifeKind.OPENING)
            or (job.kind == JobKind.REMEDY and part.code in ("lamp", "sleeve"))
        ]
    found = Result.objects.filter(test__site=job.site, analyte__in=GERMS)
    positive = found.filter(qualifier__in=[Qualifier.PRESENT, Qualifier.ABOVE]) | found.filter(
        qualifier=Qualifier.EQUAL, value__gt=0
    )
    return Place(job.site, stages, parts, under_notice(job.site), positive.exists(), branches_in(stages))


def parts_to_bring(job: Job, place: Place) -> Iterator[Need]:
    """What has to be in the van: for an installation the stages and their fittings, else the parts to renew."""
    if job.kind == JobKind.INSTALL:
        yield from _for_install(place)
    for part in place.parts:
        if part.life_kind == LifeKind.CONDITION and not part.specification:
            continue
        yield Need(part.name, part.specification, Decimal(1), place.number(part.stage))
    if any(part.code in ("lamp", "sleeve") for part in place.parts):
        yield Need(_("Clean cotton gloves, O-rings for the sleeve"), quantity=Decimal(1))
    if job.kind in (JobKind.INSTALL, JobKind.SURVEY, JobKind.OPENING, JobKind.REMEDY, JobKind.SAMPLE):
        yield Need(_("Sample bottles from the laboratory"), _("bacteria bottle with thiosulphate"))


def _for_install(place: Place) -> Iterator[Need]:
    pipe = place.site.get_pipe_size_display()
    for stage in place.stages:
        number = place.number(stage)
        yield Need(stage.name, stage.size_label, Decimal(stage.count), number, stage.item)
    main = [stage for stage in place.stages if stage.at != "tap"]
    drained = [stage for stage in place.stages if (sized := planned(stage)) and sized.needs.drain]
    tap_units = len(place.stages) - len(main)
    if main:
        yield Need(_("Three-valve bypass with unions"), pipe, Decimal(len(main)))
        yield Need(_("Sample tap, flame-proof, no aerator"), pipe, Decimal(len(main) + 1))
    for branch in place.branches:
        if branch.code == OUTSIDE:
            yield Need(_("Tee ahead of the treatment"), pipe, Decimal(1))
            yield Need(_("Hose vacuum breaker and tag, not treated"), quantity=Decimal(branch.taps))
    if drained:
        yield Need(_("Air gap fitting and drain line"), _("gap at least twice the pipe bore"), Decimal(len(drained)))
    if tap_units:
        yield Need(_("Drinking tap with feed valve and tubing"), _("1/4 in tubing"), Decimal(tap_units))
