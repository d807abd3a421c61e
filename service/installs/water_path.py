"""The water path of a household: the one value every screen and paper draws from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.models import DrinkNotice, Result
from service.installs.branches import branches_in, is_outside
from service.installs.models import FittedPart, Install, InstalledStage, StageState
from service.installs.path_limits import feed_limits
from service.installs.path_points import Waters, gaps_of, ledger_of
from service.installs.queries import standing_stages
from service.installs.seasons import next_opening_on
from service.installs.words import day_words, in_sentence, pressure_range, source_detail, source_name
from sizing.drawing.cells import glued
from sizing.drawing.values import (
    PathBranch,
    PathPoint,
    PathSource,
    PathStage,
    PathTank,
    PathTaps,
    WaterPath,
)
from sizing.drawing.values import (
    StageState as Shown,
)
from sizing.engine.design import PlacedStage, SourceType, StageKind, Train
from sizing.engine.display import show
from sizing.engine.errors import UnreadableValue
from sizing.engine.stages.registry import stage_class
from sizing.engine.storage import from_data
from sizing.proposals.models import ProposedTrain

HOT_FIXTURES = (
    ("kitchen", "kitchen"),
    ("shower", "bath"),
    ("bath", "bath"),
    ("lavatory", "bath"),
    ("washer", "laundry"),
)


def path_of_site(site: Site, today: date, *, most_rows: int = 6) -> WaterPath:
    """What stands at the site now (or, before anything does, what is agreed), with its waters.

    Treated water counts as measured from the day of commissioning on; raw water whenever it was sampled.
    """
    return _path_of_stages(site, standing_stages(site), today, most_rows)


def path_of_install(install: Install, today: date, *, most_rows: int = 6) -> WaterPath:
    """One install's own stages, also while an older one still stands: what an install sheet shows."""
    rows = install.stages.exclude(state=StageState.RETIRED).select_related("install__quote__train")
    return _path_of_stages(install.site, list(rows.prefetch_related("parts")), today, most_rows)


def _path_of_stages(site: Site, stages: list[InstalledStage], today: date, most_rows: int) -> WaterPath:
    stages.sort(key=lambda stage: (stage.at != "main", stage.position))
    installs = {stage.install for stage in stages if stage.install and stage.install.commissioned_on}
    since = max((i.commissioned_on for i in installs if i.commissioned_on), default=None)
    drawn = tuple(_installed(number, stage, today) for number, stage in enumerate(stages, start=1))
    planned = [from_data(PlacedStage, stage.planned) for stage in stages if stage.planned]
    outside = is_outside(branches_in(stages))
    return _path(site, drawn, _waters_of(stages), since=since, planned=planned, most_rows=most_rows, outside=outside)


@dataclass(frozen=True)
class Known:
    """What every drawing of one household asks for, read once where several are drawn."""

    results: tuple[Result, ...]
    notice: bool


def path_of_train(
    site: Site, train: Train | ProposedTrain, today: date, *, most_rows: int = 6, known: Known | None = None
) -> WaterPath:
    """A proposed train drawn the same way: sizes instead of dates, expected water instead of measured."""
    value: Train = from_data(Train, train.data) if isinstance(train, ProposedTrain) else train
    ordered = sorted(value.stages, key=lambda stage: stage.at != "main")
    drawn = tuple(_proposed(number, stage) for number, stage in enumerate(ordered, start=1))
    waters = Waters(value.waters, value.tap_water, value.pressures_kpa)
    after = today + timedelta(days=1)  # what was measured of today's treated water is not this train's
    return _path(
        site,
        drawn,
        waters,
        since=after,
        planned=ordered,
        most_rows=most_rows,
        known=known,
        outside=is_outside(value.branches),
    )


def _path(
    site: Site,
    drawn: tuple[PathStage, ...],
    waters: Waters,
    *,
    since: date | None,
    planned: Sequence[PlacedStage],
    most_rows: int,
    known: Known | None = None,
    outside: bool = False,
) -> WaterPath:
    system = site.unit_system
    main = sum(not stage.tap and not stage.hot for stage in drawn)
    polished = any(stage.tap for stage in drawn)
    results = known.results if known else None
    gaps = gaps_of(site, main, polished=polished, waters=waters, since=since, results=results)
    rows, points, tap_point = ledger_of(site, gaps, feed_limits(planned), most=most_rows)
    tank = PathTank(
        pressure_range(site, system),
        _("%(volume)s tank") % {"volume": show(site.tank_volume_l, "volume", system, 0)}
        if site.tank_volume_l
        else "",
    )
    return WaterPath(
        title=_("Water path, %(name)s") % {"name": site.name},
        source=PathSource(
            SourceType(site.source),
            source_name(site),
            source_detail(site, system),
            solar=site.power == "12v",
        ),
        stages=drawn,
        points=points or (PathPoint("A"),),
        rows=rows,
        tank=tank if tank.pressure or tank.volume else None,
        branch=PathBranch(_("Outside tap"), _("not treated")) if site.untreated_tap or outside else None,
        taps=_taps(site, polished, soft_hot=any(stage.hot for stage in drawn)),
        tap_point=tap_point,
        notice=_("Do not drink the water") if (known.notice if known else under_notice(site)) else "",
    )


def under_notice(site: Site) -> bool:
    """Whether a do-not-drink notice stands."""
    return DrinkNotice.objects.filter(site=site, lifted_on=None).exists()


def _waters_of(stages: Sequence[InstalledStage]) -> Waters:
    """Predicted waters of the train the stages were installed from, where all of them come from one."""
    installs = {stage.install for stage in stages}
    if len(installs) != 1:
        return Waters()
    install = installs.pop()
    if install is None or install.quote is None or install.quote.train is None:
        return Waters()
    train: Train = from_data(Train, install.quote.train.data)
    return Waters(train.waters, train.tap_water, train.pressures_kpa)


def first_due(stage: InstalledStage) -> FittedPart | None:
    """The part of the stage that falls due first; ``None`` where nothing in it wears."""
    dated = [part for part in stage.parts.all() if part.next_due_on]
    return min(dated, key=lambda part: (part.next_due_on, part.pk), default=None)


def state_of(stage: InstalledStage, today: date) -> Shown:
    """Where a stage stands: laid up, overdue, not yet proven (also found and not looked at), due soon, in service;
    proposed before it is fitted.

    Due soon looks as far ahead as the dealer's reminders do.
    """
    if stage.state == StageState.FITTED:
        return Shown.UNPROVEN if stage.found_on is not None else Shown.PROPOSED
    if stage.state == StageState.LAID_UP:
        return Shown.LAID
    part = first_due(stage)
    if part is not None and part.next_due_on is not None and part.next_due_on <= today:
        return Shown.OVERDUE
    if stage.install is not None and stage.install.commissioned_on and not stage.install.proven_on:
        return Shown.UNPROVEN
    soon = today + timedelta(days=stage.dealer.remind_days_ahead)
    if part is not None and part.next_due_on is not None and part.next_due_on <= soon:
        return Shown.SOON
    return Shown.SERVICE


def _installed(number: int, stage: InstalledStage, today: date) -> PathStage:
    kind, state = StageKind(stage.kind), state_of(stage, today)
    part = first_due(stage)
    day, words = (
        (day_words(part.next_due_on), in_sentence(glued(part.name))) if part and part.next_due_on else ("", "")
    )
    if state is Shown.LAID:
        opening = next_opening_on(stage.site, today)
        day, words = (day_words(opening), _("refit at opening")) if opening else ("", "")
    planned = stage.planned.get("product", {}).get("ratings", {}) if stage.planned else {}
    return PathStage(
        number=number,
        kind=kind,
        name=stage.name,
        state=state,
        date=day,
        part=words,
        size=(glued(stage.size_label),) if state is Shown.PROPOSED and stage.size_label else (),
        purpose=purpose_of(kind),
        count=stage.count,
        tap=stage.at == "tap",
        hot=stage.at == "hot",
        form=str(planned.get("form", "")),
    )


def _proposed(number: int, stage: PlacedStage) -> PathStage:
    return PathStage(
        number=number,
        kind=stage.kind,
        name=stage.product.name,
        state=Shown.PROPOSED,
        size=(glued(stage.product.size_label),) if stage.product.size_label else (),
        purpose=purpose_of(stage.kind),
        count=stage.count,
        tap=stage.at == "tap",
        hot=stage.at == "hot",
        form=str(stage.product.ratings.get("form", "")),
    )


def purpose_of(kind: StageKind) -> str:
    """What a kind of stage does, in plain words; "" for a kind the engine cannot place yet."""
    try:
        return stage_class(kind).purpose
    except UnreadableValue:
        return ""


def _taps(site: Site, polished: bool, *, soft_hot: bool) -> PathTaps:
    codes = [row.code for row in site.fixtures.all()]
    rooms = dict.fromkeys(room for part, room in HOT_FIXTURES if any(part in code for code in codes))
    return PathTaps(
        cold=_("house, not softened") if soft_hot else _("house"),
        hot=", ".join(rooms) or (_("house") if soft_hot else ""),
        drinking=_("kitchen") if polished else "",
    )
