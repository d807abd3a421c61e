"""The lines of a job's checklist, from the stages that are really there. Pure: rows and values in, lines out.

The order of work and the cautions are common practice; local codes and licensed trades decide.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _

from customers.households.models import Site
from service.installs.branches import branch_words
from service.installs.models import InstalledStage
from service.installs.words import in_sentence, pressure_range
from service.jobs.lines import Line, Place, planned
from service.jobs.models import JobKind, TaskKind
from sizing.engine.design import LifeKind
from sizing.engine.display import show
from sizing.engine.stages.practice_text import commissioning_rows, install_notes, season_checklist

TICK, READING, SERIAL, RENEW = TaskKind.TICK, TaskKind.READING, TaskKind.SERIAL, TaskKind.RENEW
FLOW_TEST, LEAK_TEST, BOTTLE = "flow_test", "leak_pressure", "bottle"


def checklist(kind: str, place: Place) -> list[Line]:
    """Every line of a job of ``kind`` at ``place``, in order of work."""
    makers = {
        JobKind.SURVEY: _survey,
        JobKind.INSTALL: _install,
        JobKind.SERVICE: _service,
        JobKind.OPENING: _opening,
        JobKind.CLOSING: _closing,
        JobKind.REMEDY: _remedy,
        JobKind.SAMPLE: _sample_only,
    }
    looked = _read_off(place) if kind in (JobKind.SURVEY, JobKind.SERVICE, JobKind.OPENING) else ()
    return [*_arrive(place), *looked, *makers[JobKind(kind)](place), *_sign_off(kind)]


def _arrive(place: Place) -> list[Line]:
    group = _("Arrive")
    lines = []
    if place.under_notice:
        lines.append(Line(group, _("Do-not-drink notice read and shown to whoever is there"), code="notice"))
    lines.append(Line(group, _("Way in, drain and power found as the file says"), code="arrived"))
    return lines


def _read_off(place: Place) -> Iterable[Line]:
    """What nobody knows yet of stages that were found: read off, photographed; parts of unknown age renewed."""
    for stage in place.stages:
        aged = [in_sentence(part.name) for part in stage.parts.all() if part.renewed_on is None]
        unknowns = [*stage.unknowns, *(_("age of: %(part)s") % {"part": part} for part in aged)]
        if stage.found_on is not None and unknowns:
            text = place.step(stage, _("read off and photographed: %(what)s") % {"what": ", ".join(unknowns)})
            yield Line(_("Not known yet"), text, stage=stage, code="read_off", required=False)


def _isolate() -> list[Line]:
    group = _("Isolate")
    return [
        Line(group, _("Pump power off and locked; taps opened until the gauge reads zero"), code="isolated"),
        Line(group, _("Water heater off: power or gas first, before its water is shut"), code="heater_off"),
    ]


def _install(place: Place) -> list[Line]:
    return [
        *_isolate(),
        *_fit(place),
        *_electrical(place),
        *_set_to_work(place),
        *_leak_check(place.site),
        *_set_up(place),
        _flow_line(),
        *(_disinfect() if place.has_uv or place.germs_found else ()),
        *_serials(place),
        *_lab_sample(),
    ]


def _fit(place: Place) -> Iterable[Line]:
    group = _("Fit in order")
    for stage in place.stages:
        notes = install_notes(stage.kind)
        words = _("placed, flow arrow checked. Joints: %(joins)s. Bypass: %(bypass)s")
        text = place.step(stage, words % {"joins": notes.joins, "bypass": notes.bypass})
        yield Line(group, text, stage=stage, code="placed")
    for branch in branch_words(place.branches, place.site.unit_system):
        yield Line(group, f"{branch.name}. {branch.where} {branch.todo}", code=f"branch_{branch.code}")
    yield Line(group, _("Sample taps fitted before the first stage and after the last"), code="sample_taps")
    for stage in place.stages:
        if (sized := planned(stage)) and sized.needs.drain:
            text = place.step(stage, install_notes(stage.kind).drain)
            yield Line(_("Drain and air gap"), text, stage=stage, code="air_gap")


def _electrical(place: Place) -> Iterable[Line]:
    for stage in place.stages:
        sized = planned(stage)
        if sized is None or sized.needs.power_w <= 0:
            continue
        words = _("%(notes)s. New wiring by a licensed trade")
        text = place.step(stage, words % {"notes": install_notes(stage.kind).electrical})
        yield Line(_("Electrical"), text, stage=stage, code="electrical")


def _set_to_work(place: Place) -> Iterable[Line]:
    """What each stage is put through; what only the laboratory can say has its own lines."""
    yield Line(_("Fill"), _("Filled slowly with a tap open, air let out, flushed until clear"), code="filled")
    for stage in place.stages:
        for row in commissioning_rows(stage.kind):
            if "laboratory" in row.step + row.expect:
                continue
            text = place.step(stage, f"{row.step}: {row.expect}")
            yield Line(_("Set to work"), text, stage=stage, code="set_to_work")


def _leak_check(site: Site) -> list[Line]:
    group, span = _("Leak check"), pressure_range(site, site.unit_system)
    at = _(" (switch %(span)s)") % {"span": span} if span else ""
    return [
        Line(group, _("Pressure at the gauge with the pump off") + at, READING, quantity="pressure", code=LEAK_TEST),
        Line(group, _("Every joint dry after ten minutes at cut-out"), code="dry"),
    ]


def _set_up(place: Place) -> Iterable[Line]:
    group, system = _("Set-up values"), place.site.unit_system
    for stage in place.stages:
        sized = planned(stage)
        for number, setting in enumerate(sized.settings if sized else (), start=1):
            code = f"setting_{number}"
            if isinstance(setting.value, str):
                yield Line(group, place.step(stage, f"{setting.name}: {setting.value}"), stage=stage, code=code)
                continue
            value = show(setting.value, setting.quantity, system) if setting.quantity else ""
            value = value or f"{setting.value:g} {setting.unit}".strip()
            text = place.step(stage, _("%(name)s, designed %(value)s") % {"name": setting.name, "value": value})
            yield Line(group, text, READING, stage=stage, quantity=setting.quantity, code=code)


def _flow_line(*, required: bool = True) -> Line:
    return Line(
        _("Flow"),
        _("Flow test at the pressure tank, taps shut, refill timed"),
        READING,
        quantity="flow",
        code=FLOW_TEST,
        required=required,
    )


def _disinfect() -> list[Line]:
    group = _("Shock chlorination")
    return [
        Line(group, _("Softener, carbon and membrane bypassed; lamp lit before the line after it is dosed")),
        Line(group, _("Chlorine smelled at every tap, hot and cold, then left to stand; never with acid")),
        Line(group, _("Flushed to waste, not to the septic tank, until no chlorine is left"), code="flushed_out"),
    ]


def _serials(place: Place) -> Iterable[Line]:
    for stage in place.stages:
        text = place.step(stage, _("serial number"))
        yield Line(_("Serial numbers"), text, SERIAL, stage=stage, code="serial", required=False)


def _lab_sample() -> list[Line]:
    group = _("Sample for the laboratory")
    return [
        Line(group, _("Tap after the last stage flamed or wiped, run two minutes, bottle filled to its mark")),
        Line(group, _("Bottle number; not proven until the laboratory says so"), SERIAL, code=BOTTLE),
    ]


def _renew(place: Place) -> Iterable[Line]:
    for part in place.parts:
        words = _("renew %(part)s") if part.life_kind != LifeKind.CONDITION else _("look at %(part)s, renew if worn")
        spec = f" ({part.specification})" if part.specification else ""
        text = place.step(part.stage, words % {"part": in_sentence(part.name)} + spec)
        yield Line(_("Parts"), text, RENEW, stage=part.stage, part=part, code=part.code)


def _survey(place: Place) -> list[Line]:
    return [
        Line(_("See"), _("Source, pump, tank, pipe and everything fitted looked at and noted"), code="seen"),
        *_leak_check(place.site)[:1],
        _flow_line(),
        Line(_("Sample"), _("Raw sample before any treatment: bottle number"), SERIAL, code=BOTTLE),
    ]


def _service(place: Place) -> list[Line]:
    group = _("Look over")
    looks = [
        Line(
            group,
            place.step(stage, _("no leak, no alarm, bypass and shut-offs turned")),
            stage=stage,
        )
        for stage in place.stages
    ]
    return [
        *_leak_check(place.site)[:1],
        *looks,
        *(_isolate()[:1] if place.parts else ()),
        *_renew(place),
        *_leak_check(place.site)[1:],
        _flow_line(required=False),
    ]


def _season(place: Place, season: str) -> list[Line]:
    """The place, each stage that is there, the place again; numbered as in the drawing."""
    kinds = [stage.kind for stage in place.stages]
    by_kind: dict[str, list[InstalledStage]] = {}
    for stage in place.stages:
        by_kind.setdefault(stage.kind, []).append(stage)
    lines: list[Line] = []
    for step in season_checklist(dict.fromkeys(kinds), season):
        if step.kind == "place":
            lines.append(Line(_("The place"), step.text, code=f"{season}_place"))
        for stage in by_kind.get(step.kind, ()):
            text = place.step(stage, step.text)
            lines.append(Line(_("Stages"), text, stage=stage, code=f"{season}_stage"))
    return lines


def _opening(place: Place) -> list[Line]:
    steps = _season(place, "opening")
    before = next((at for at, line in enumerate(steps) if line.stage is not None), len(steps))
    return [*steps[:before], *_renew(place), *steps[before:], *_leak_check(place.site), *_lab_sample()]


def _closing(place: Place) -> list[Line]:
    return [
        *_season(place, "closing"),
        Line(_("Leave"), _("What travels home packed and labelled; power off at the panel"), code="packed"),
    ]


def _remedy(place: Place) -> list[Line]:
    return [*_isolate()[:1], *_renew(place), *_disinfect(), *_leak_check(place.site)[1:], *_lab_sample()]


def _sample_only(place: Place) -> list[Line]:
    return _lab_sample()


def _sign_off(kind: str) -> list[Line]:
    words = {
        JobKind.INSTALL: _("Shown to the household: bypass, salt, alarm, and that the water is not yet proven"),
        JobKind.CLOSING: _("Household told what is off and what not to turn on"),
    }
    told = words.get(JobKind(kind), _("Household told what was done and what comes next"))
    return [Line(_("Sign off"), told, code="told")]
