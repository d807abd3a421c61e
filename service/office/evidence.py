"""What pages show of water tests: rows against limits, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.models import Qualifier, Result, WaterTest
from customers.water_tests.queries import JudgedRow, judged
from sizing.engine.display import show, to_display
from sizing.engine.limits import Limit, Verdict
from sizing.engine.water import ANALYTES

#: Shown as "not tested" in the table itself; the rest of what was not tested is named under it.
ASKED_ALWAYS = ("e_coli", "total_coliform", "nitrate", "arsenic", "lead", "uranium", "manganese")
SHOWN_AS = {"hardness": "hardness", "temperature": "temperature"}
UNITS = {"degC": "°C", "uS/cm": "µS/cm", "ug/L": "µg/L"}


def verdict_words(verdict: Verdict | None) -> str:
    """A verdict in the reader's language; "no limit set" where nothing judges."""
    return _(verdict.value) if verdict else _("no limit set")


def unit_of_analyte(code: str, system: str = "metric") -> str:
    """The unit in which an analyte is drawn in a chart."""
    analyte = ANALYTES[code]
    if code in SHOWN_AS:
        return str(to_display(0.0, SHOWN_AS[code], system)[1])
    return " ".join(part for part in (UNITS.get(analyte.unit, analyte.unit), analyte.basis) if part)


def shown_value(code: str, value: float, system: str) -> float:
    """A canonical value in the unit of ``unit_of_analyte``."""
    return float(to_display(value, SHOWN_AS[code], system)[0]) if code in SHOWN_AS else value


def limit_words(limit: Limit | None, system: str = "metric") -> str:
    """A limit as its authority prints it (hardness in the reader's unit); "none" where nothing may be found."""
    if limit is None:
        return "–"
    if limit.sense == "max" and limit.value == 0:
        return _("none")
    words = limit.printed
    if system == "us" and limit.analyte in SHOWN_AS:
        words = show(limit.value, SHOWN_AS[limit.analyte], system)
    for plain, written in UNITS.items():
        words = words.replace(plain, written)
    return _("at least %(limit)s") % {"limit": words} if limit.sense == "min" else words


def kind_words(limit: Limit) -> str:
    """What kind of limit it is, with the authority's own name for it: "health, MAC"."""
    return ", ".join((_(limit.kind), _(limit.name)))


@dataclass(frozen=True)
class EvidenceRow:
    """One line of the table of results, ready to read."""

    name: str
    result: str
    unit: str
    point: str
    place: str
    test: WaterTest | None
    limit: str
    kind: str
    verdict: str
    over: bool
    quiet: bool
    words: str


def evidence_row(row: JudgedRow, system: str = "metric") -> EvidenceRow:
    """A judged row as text. The result stands exactly as it was typed."""
    result = row.result
    verdict = row.standing.verdict if row.standing else None
    return EvidenceRow(
        name=row.name,
        result=result.text if result else "–",
        unit=written_unit(result) if result else "",
        point=result.test.point if result else "",
        place=str(result.test.get_place_display()) if result else "",
        test=result.test if result else None,
        limit=limit_words(row.limit, system),
        kind=kind_words(row.limit) if row.limit else "",
        verdict=verdict_words(verdict),
        over=verdict is Verdict.NOT_MET,
        quiet=verdict in (None, Verdict.NOT_TESTED, Verdict.OUT_OF_DATE),
        words=row.standing.words if row.standing else "",
    )


def written_unit(result: Result) -> str:
    """The unit as on the paper; the usual one where the paper's text needs none."""
    if result.unit_text:
        return UNITS.get(result.unit_text, result.unit_text)
    if result.qualifier in (Qualifier.ABSENT, Qualifier.PRESENT) and not any(c.isdigit() for c in result.text):
        return _("in 100 mL") if result.analyte in ("e_coli", "total_coliform") else ""
    return "" if any(c.isalpha() for c in result.text) else unit_of_analyte(result.analyte)


def table_of(rows: Sequence[JudgedRow], system: str = "metric") -> tuple[list[EvidenceRow], list[str]]:
    """Lines of the table, and the names of what else was not tested."""
    shown, others = [], []
    for row in rows:
        if row.result is not None or (row.analyte in ASKED_ALWAYS and row.limit and row.limit.kind == "health"):
            shown.append(evidence_row(row, system))
        elif row.name not in others:
            others.append(row.name)
    return shown, others


def judged_typed(results: Sequence[Result], site: Site, today: date) -> list[EvidenceRow]:
    """Unsaved results (while they are typed) against the limits; only what was typed."""
    by_analyte = {row.analyte: row for row in results}
    rows = judged(by_analyte, site.dealer.jurisdiction, today)
    return [evidence_row(row, site.unit_system) for row in rows if row.result is not None]
