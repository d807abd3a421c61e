"""What pages show of water tests: rows against limits, charts of results over time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.models import Place, Qualifier, Result, WaterTest
from customers.water_tests.queries import ACUTE, JudgedRow, judged
from service.installs.seasons import day_of_year
from sizing.drawing.chart_values import ChartLimit, History, HistoryPoint, ResultKind
from sizing.engine.display import show, to_display
from sizing.engine.limits import Limit, Verdict, judge, limit_set
from sizing.engine.water import ANALYTES

MOST_CHARTS = 3
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


@dataclass(frozen=True)
class ChartLine:
    """One line of the table under a chart."""

    day: date
    text: str
    unit: str
    verdict: str
    over: bool


@dataclass(frozen=True)
class Chart:
    """A chart with the table that stands under it."""

    ident: str
    history: History
    lines: tuple[ChartLine, ...]


def charts_of(site: Site, results: Iterable[Result], today: date, most: int = MOST_CHARTS) -> list[Chart]:
    """The parameters most worth looking at: of the water that is drunk before raw water, past a limit before kept,
    acute ones before others, then the longest histories. One result alone makes no chart.

    ``results`` newest first, as ``rows_of`` gives them. A place is never mixed with another in one chart.
    """
    limits = {limit.analyte: limit for limit in reversed(limit_set(site.dealer.jurisdiction))}
    series: dict[tuple[str, str], list[Result]] = defaultdict(list)
    for row in results:
        series[row.analyte, row.test.place].append(row)

    def rank(key: tuple[str, str]) -> tuple[bool, bool, bool, int, str]:
        analyte, place = key
        over = _verdict(series[key][0], limits.get(analyte)) is Verdict.NOT_MET
        drunk = place in (Place.TAP, Place.ENTRY)
        return (not drunk, not over, analyte not in ACUTE, -len(series[key]), analyte)

    chosen: dict[str, tuple[str, str]] = {}
    for key in sorted(series, key=rank):
        if key[0] in limits and len(series[key]) > 1:
            chosen.setdefault(key[0], key)
    picked = list(chosen.values())[:most]
    return [
        _chart(f"chart-{n}", site, key, list(reversed(series[key])), limits.get(key[0]), today)
        for n, key in enumerate(picked)
    ]


def _verdict(result: Result, limit: Limit | None) -> Verdict | None:
    return judge(result.qualifier, result.value, limit).verdict if limit else None


def _chart(
    ident: str, site: Site, key: tuple[str, str], rows: Sequence[Result], limit: Limit | None, today: date
) -> Chart:
    analyte, place = key
    system = site.unit_system
    title = _("%(name)s, %(place)s") % {"name": ANALYTES[analyte].name, "place": _short(place)}
    points, lines = [], []
    for row in rows:
        verdict = _verdict(row, limit)
        points.append(_point(row, verdict, system))
        over = verdict is Verdict.NOT_MET
        lines.append(ChartLine(row.test.sampled_on, row.text, written_unit(row), verdict_words(verdict), over))
    drawn = None
    if limit is not None:
        label = _("limit: %(limit)s") % {"limit": limit_words(limit, system)}
        drawn = ChartLimit(shown_value(analyte, limit.value, system), label, limit.sense)
    seasons = _seasons(site, rows[0].test.sampled_on.year, today)
    history = History(title, unit_of_analyte(analyte, system), tuple(points), today, drawn, seasons)
    return Chart(ident, history, tuple(lines))


def _short(place: str) -> str:
    return {
        Place.RAW.value: _("raw water"),
        Place.BETWEEN.value: _("between stages"),
        Place.ENTRY.value: _("treated water"),
        Place.TAP.value: _("drinking tap"),
    }[place]


def _point(row: Result, verdict: Verdict | None, system: str) -> HistoryPoint:
    past = verdict is Verdict.NOT_MET
    if row.value is None:
        kind = ResultKind.PRESENT if row.qualifier in ("present", "above") else ResultKind.ABSENT
        return HistoryPoint(row.test.sampled_on, kind, row.text, past=past)
    kind = ResultKind.BELOW if row.qualifier == Qualifier.BELOW else ResultKind.VALUE
    return HistoryPoint(row.test.sampled_on, kind, row.text, shown_value(row.analyte, row.value, system), past)


def _seasons(site: Site, first_year: int, today: date) -> tuple[tuple[date, date], ...]:
    """When the place was open, by its usual season, from the year of the first result on."""
    if not site.seasonal:
        return ()
    spans = []
    for year in range(first_year - 1, today.year + 1):
        opened = day_of_year(year, site.opens_month or 1, site.opens_day or 1)
        closed = day_of_year(year, site.closes_month or 1, site.closes_day or 1)
        if closed < opened:
            closed = day_of_year(year + 1, site.closes_month or 1, site.closes_day or 1)
        if closed.year >= first_year and opened <= today:
            spans.append((max(opened, date(first_year, 1, 1)), min(closed, today)))
    return tuple(spans)


def judged_typed(results: Sequence[Result], site: Site, today: date) -> list[EvidenceRow]:
    """Unsaved results (while they are typed) against the limits; only what was typed."""
    by_analyte = {row.analyte: row for row in results}
    rows = judged(by_analyte, site.dealer.jurisdiction, today)
    return [evidence_row(row, site.unit_system) for row in rows if row.result is not None]
