"""Rows of work and things on papers: stages, checklists, wearing parts, cost, worksheet steps with their sources."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.contrib.humanize.templatetags.humanize import intcomma
from django.template.defaultfilters import floatformat
from django.utils.translation import gettext as _

from service.documents.words import for_form, nothing, typeset
from service.installs.models import InstalledStage
from service.jobs.models import Job, JobTask
from sizing.drawing.chart_values import ChartLimit, CostBar, PressureProfile, PressureStep
from sizing.drawing.values import WaterPath
from sizing.engine.design import LifeKind, LifeRule, PlacedStage, Train
from sizing.engine.display import NO_BREAK, show, to_display, unit_of
from sizing.engine.stages.practice_text import CommissionRow, commissioning_rows, install_notes
from sizing.engine.storage import from_data
from sizing.engine.worksheet import Section, Step

SYMBOLS = {"USD": "$", "CAD": "$", "EUR": "€", "GBP": "£"}


@dataclass(frozen=True)
class SheetStage:
    """One stage of a sheet: the row, what it was sized as, how it is joined ("" = nothing), what is checked."""

    number: int
    stage: InstalledStage
    planned: PlacedStage | None
    notes: dict[str, str]
    checks: tuple[CommissionRow, ...]


def sheet_stages(stages: Sequence[InstalledStage]) -> list[SheetStage]:
    """Stages with their practice words, numbered as drawn."""
    ordered = sorted(stages, key=lambda stage: (stage.at != "main", stage.position))
    return [_sheet_stage(number, stage) for number, stage in enumerate(ordered, start=1)]


def _sheet_stage(number: int, stage: InstalledStage) -> SheetStage:
    planned = from_data(PlacedStage, stage.planned) if stage.planned else None
    form = str(planned.product.ratings.get("form", "")) if planned else ""
    notes = {key: for_form(text, form) for key, text in vars(install_notes(stage.kind)).items()}
    notes = {key: "" if nothing(text) else typeset(text) for key, text in notes.items()}
    return SheetStage(number, stage, planned, notes, commissioning_rows(stage.kind))


def terse(path: WaterPath) -> WaterPath:
    """The path with proposed stages named by the first part of their name, where the size stands under them."""
    stages = tuple(
        replace(stage, name=typeset(stage.name.split(",")[0]), size=tuple(typeset(line) for line in stage.size))
        if stage.size
        else stage
        for stage in path.stages
    )
    return replace(path, stages=stages)


@dataclass(frozen=True)
class TaskRow:
    """One line of a checklist: its stage's number ("" = the place), its words without the stage's name."""

    number: str
    text: str
    task: JobTask


def task_groups(job: Job) -> list[tuple[str, list[TaskRow]]]:
    """A job's checklist by its groups, in order."""
    groups: dict[str, list[TaskRow]] = {}
    for task in job.tasks.select_related("stage", "part"):
        number, text = "", task.text
        if task.stage is not None:
            found = re.match(rf"(\d+)\. {re.escape(task.stage.name)}: (.*)", task.text, re.S)
            if found:
                number, text = found[1], found[2][:1].upper() + found[2][1:]
        groups.setdefault(task.group, []).append(TaskRow(number, typeset(text), task))
    return list(groups.items())


@dataclass(frozen=True)
class WearRow:
    """One wearing part of a proposed stage: how long it lasts, and its price."""

    number: int
    name: str
    every: str
    price: Decimal
    by_customer: bool


def wear_rows(train: Train, system: str) -> tuple[list[WearRow], list[str]]:
    """What is renewed by the calendar or by use, by stage; and the names of what is renewed as it is found."""
    rows: list[WearRow] = []
    found: dict[str, None] = {}
    for number, stage in enumerate(sorted(train.stages, key=lambda stage: stage.at != "main"), start=1):
        for part in stage.wear:
            if part.life.kind is LifeKind.CONDITION and not part.by_customer:
                found.setdefault(lowered(typeset(part.name)))
                continue
            every = life_words(part.life, system)
            rows.append(WearRow(number, typeset(part.name), every, part.price * stage.count, part.by_customer))
    return rows, list(found)


def lowered(name: str) -> str:
    """A name inside a sentence: "Lamp" is a lamp, "UV lamp" and "O-ring" stay."""
    return name if name[:2].isupper() or name[1:2] == "-" else name[:1].lower() + name[1:]


def life_words(life: LifeRule, system: str = "metric") -> str:
    """How often a part is renewed or looked at, in words."""
    count = round(life.amount)
    months = _("month") if count <= 1 else _("%(n)s months") % {"n": count}
    if life.kind is LifeKind.LITRES:
        shown, unit = to_display(life.amount, "volume", system)
        words = _("every %(amount)s") % {"amount": f"{float(f'{shown:.2g}'):,.0f}{NO_BREAK}{unit}"}
    elif life.kind is LifeKind.OPERATING:
        words = _("every %(months)s of operation") % {"months": months}
    elif life.kind is LifeKind.OPENING:
        words = _("each opening, or every %(months)s") % {"months": months}
    elif life.kind is LifeKind.CONDITION:
        words = _("as used, about every %(months)s") % {"months": months}
    else:
        words = _("every %(months)s") % {"months": months}
    if life.cap_months and life.kind not in (LifeKind.CALENDAR, LifeKind.CONDITION):
        words += _(", at most %(n)s months") % {"n": f"{life.cap_months:g}"}
    return words.replace(" months", f"{NO_BREAK}months")


def cost_bar(train: Train, currency: str) -> CostBar:
    """Whole-life cost of the train as one bar."""
    cost, symbol = train.cost, SYMBOLS.get(currency, "")
    parts = (cost.bought, cost.salt, cost.parts, cost.power, cost.visits)
    texts = tuple(intcomma(floatformat(part, 0)) for part in parts)
    total = f"{symbol}{intcomma(floatformat(cost.total, 0))}"
    return CostBar("", tuple(float(p) for p in parts), texts, total)  # type: ignore[arg-type]


def cost_rows(train: Train, currency: str) -> list[tuple[str, str]]:
    """Whole-life cost by its parts, those that are nothing left out."""
    names = (_("Bought and fitted"), _("Salt"), _("Cartridges, lamps, media"), _("Power and water"), _("Our visits"))
    bar = cost_bar(train, currency)
    return [(name, text) for name, text, part in zip(names, bar.texts, bar.parts, strict=True) if part >= 1]


def pressure_of(path: WaterPath, least_kpa: float | None, system: str) -> PressureProfile | None:
    """Expected pressure along the path at peak flow; ``None`` where it is known at fewer than two points."""
    found = [(point.letter, point.reading("pressure")) for point in path.points]
    steps = tuple(PressureStep(letter, float(row.text), row.text, row.measured) for letter, row in found if row)
    if len(steps) < 2:
        return None
    least = None
    if least_kpa:
        value = float(to_display(least_kpa, "pressure", system)[0])
        least = ChartLimit(value, _("least wanted: %(v)s") % {"v": show(least_kpa, "pressure", system, 0)}, "min")
    return PressureProfile(_("Expected pressure at peak flow"), unit_of("pressure", system), steps, least)


@dataclass(frozen=True)
class SourcedStep:
    """A worksheet step with the number its source has in the list at the end."""

    step: Step
    source: int | None


def sourced(sections: Iterable[Section]) -> tuple[list[tuple[Section, list[SourcedStep]]], list[tuple[int, str]]]:
    """Sections with numbered sources, and the sources in the order of first use."""
    numbers: dict[str, int] = {}
    out = []
    for section in sections:
        steps = []
        for step in section.steps:
            number = numbers.setdefault(step.source, len(numbers) + 1) if step.source else None
            steps.append(SourcedStep(step, number))
        out.append((section, steps))
    return out, [(number, source) for source, number in numbers.items()]


@dataclass(frozen=True)
class BringRow:
    """One thing to take along; ``specification`` is "" where the name says it all."""

    number: int | None
    name: str
    specification: str
    quantity: Decimal


def bring_rows(job: Job | None) -> list[BringRow]:
    """What a job takes along, stages first."""
    parts = (
        sorted(job.bring.all(), key=lambda part: (part.stage_number is None, part.stage_number or 0)) if job else []
    )
    return [
        BringRow(part.stage_number, typeset(part.name), unsaid(part.specification, part.name), part.quantity)
        for part in parts
    ]


def unsaid(size: str, name: str) -> str:
    """A size, or "" where the name has every part of it already."""
    return "" if set(re.split(r"[, ]+", size)) <= set(re.split(r"[, ]+", name)) else typeset(size)
