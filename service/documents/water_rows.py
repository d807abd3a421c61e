"""Rows of water on papers: results against limits, and what a design rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.households.models import Site
from customers.water_tests.models import Place, Result, WaterTest
from customers.water_tests.queries import WORST, JudgedRow, judged, newest, rows_of, standings
from service.documents.words import typeset
from service.installs.words import day_words, number_words, unit_words
from sizing.engine.design import Train
from sizing.engine.limits import Limit, Verdict
from sizing.engine.water import ANALYTES, Water

KIND_WORDS = {
    "health": gettext_lazy("health"),
    "aesthetic": gettext_lazy("taste, stains and scale"),
    "operational": gettext_lazy("operation"),
}


@dataclass(frozen=True)
class WaterRow:
    """One analyte against its limits of one kind. ``expected`` after treatment; ``sample`` names its sample."""

    name: str
    result: str
    limit: str
    whose: str
    kind: str
    verdict: str
    past: bool
    sampled: str = ""
    sample: str = ""
    expected: str = ""


def result_words(result: Result) -> str:
    """A result as the laboratory wrote it, with its unit."""
    return typeset(f"{result.text} {result.unit_text}".strip())


def limit_words(limits: Sequence[Limit]) -> str:
    """Limits of one kind on one analyte as their authority prints them."""
    if len(limits) == 2 and {limit.sense for limit in limits} == {"min", "max"}:
        low, high = sorted(limits, key=lambda limit: limit.value)
        number = low.printed.split(" ")[0]
        return typeset(_("%(low)s to %(high)s") % {"low": number, "high": high.printed})
    if len(limits) == 1:
        return _("none") if not limits[0].value else typeset(limits[0].printed)
    number, unit = limits[-1].printed.split(" ", 1)
    names = [f"{limit.name} {limit.printed.removesuffix(unit).strip()}" for limit in limits[:-1]]
    return typeset(", ".join((*names, f"{limits[-1].name} {number} {unit}")))


def whose_words(limits: Sequence[Limit]) -> str:
    """Whose limits they are, of what name and of what year."""
    names = list(dict.fromkeys(limit.name for limit in limits)) if len(limits) == 1 else []
    years = list(dict.fromkeys(limit.date[:4] for limit in limits if limit.date))
    return ", ".join((" ".join((limits[0].authority, *names)), *years))


def _row(rows: Sequence[JudgedRow], sample: str, expected: str = "") -> WaterRow:
    limits = [row.limit for row in rows if row.limit]
    verdicts = [row.standing.verdict for row in rows if row.standing]
    worst = min(verdicts, key=WORST.index) if verdicts else None
    result = rows[0].result
    return WaterRow(
        name=rows[0].name,
        result=result_words(result) if result else "",
        limit=limit_words(limits) if limits else "–",
        whose=whose_words(limits) if limits else _("no limit set"),
        kind=str(KIND_WORDS.get(limits[0].kind, limits[0].kind)) if limits else "",
        verdict=str(worst.value) if worst else "",
        past=worst is Verdict.NOT_MET,
        sampled=day_words(result.test.sampled_on) if result else "",
        sample=sample,
        expected=expected,
    )


def _grouped(rows: Sequence[JudgedRow]) -> list[list[JudgedRow]]:
    """Rows of one analyte and kind together, in the order their first one has."""
    found: dict[tuple[str, str], list[JudgedRow]] = {}
    for row in rows:
        found.setdefault((row.analyte, row.limit.kind if row.limit else ""), []).append(row)
    return list(found.values())


@dataclass(frozen=True)
class Report:
    """A water report: rows by kind of limit, what nobody tested, and the samples by their letters."""

    groups: list[tuple[str, list[WaterRow]]]
    untested: list[str]
    samples: list[tuple[str, WaterTest]]


def report_of(site: Site, today: date) -> Report:
    """The household's water against the dealer's limits, each result once and with its sample."""
    rows = standings(site, today)
    tested = [row for row in rows if row.result is not None]
    tests = sorted(
        {row.result.test for row in tested if row.result}, key=lambda test: (test.sampled_on, test.pk), reverse=True
    )
    letters = {test.pk: f"S{number}" for number, test in enumerate(tests, start=1)}
    lines = [_row(group, letters[group[0].result.test_id]) for group in _grouped(tested) if group[0].result]
    groups = [(kind, list(found)) for kind, found in groupby(lines, key=lambda line: line.kind)]
    untested = list(dict.fromkeys(row.name for row in rows if row.result is None))
    return Report(groups, untested, [(letters[test.pk], test) for test in tests])


def evidence_of(site: Site, train: Train | None, today: date, most: int = 14) -> list[WaterRow]:
    """What a quote rests on: raw water as measured, what is expected after treatment, and the limit between."""
    raw = newest(rows_of(site), [Place.RAW])
    rows = [row for row in judged(raw, site.dealer.jurisdiction, today) if row.result is not None and row.limit]
    after = (train.tap_water or train.waters[-1]) if train and train.waters else None
    lines = []
    for group in _grouped(rows)[:most]:
        lines.append(_row(group, "", _expected(after, group[0].analyte, site.unit_system)))
    return lines


def _expected(water: Water | None, code: str, system: str) -> str:
    """The value expected after treatment; germs are the laboratory's to say."""
    if ANALYTES[code].group == "microbes":
        return _("by laboratory test")
    if water is None or code not in water:
        return "–"
    unit, own = unit_words(code, system), ANALYTES[code]
    if unit == own.unit and own.basis:
        unit = f"{unit} {own.basis}"
    return typeset(f"{number_words(float(water[code]), code, system, figures=2)} {unit}".strip())
