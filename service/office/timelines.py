"""Results over time: one chart a parameter, raw and treated side by side, with the table that stands beside it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.models import Place, Qualifier, Result, WaterTest
from customers.water_tests.queries import ACUTE
from service.installs.seasons import day_of_year
from service.office.evidence import limit_words, shown_value, unit_of_analyte, verdict_words, written_unit
from sizing.drawing.chart_values import ChartLimit, HistoryPoint, ResultKind
from sizing.drawing.timeline import Timeline, TimeSeries
from sizing.engine.limits import KINDS, Limit, Verdict, judge, limit_set
from sizing.engine.water import ANALYTES

MOST_CHARTS = 3
MOST_LIMITS = 2
#: The same mark for a place in every chart, in the order of the water.
MARKS = {Place.RAW: "square", Place.BETWEEN: "triangle", Place.ENTRY: "diamond", Place.TAP: "circle"}


@dataclass(frozen=True)
class TimeRow:
    """One line of the table beside a chart."""

    test: WaterTest
    place: str
    text: str
    unit: str
    verdict: str
    over: bool
    means: str = ""  # in the chart's unit, where the paper printed another one


@dataclass(frozen=True)
class TimeChart:
    """A chart with its table, newest result first."""

    ident: str
    analyte: str
    timeline: Timeline
    rows: tuple[TimeRow, ...]


def timelines_of(
    site: Site,
    results: Iterable[Result],
    today: date,
    *,
    most: int | None = MOST_CHARTS,
    only: Collection[str] | None = None,
) -> list[TimeChart]:
    """The parameters most worth looking at: past a limit before kept, acute ones before others, then the longest
    histories. One result alone makes no chart. ``results`` newest first, as ``rows_of`` gives them.
    """
    limits: dict[str, list[Limit]] = defaultdict(list)
    for limit in limit_set(site.dealer.jurisdiction):
        limits[limit.analyte].append(limit)
    held: dict[str, list[Result]] = defaultdict(list)
    for row in results:
        if only is None or row.analyte in only:
            held[row.analyte].append(row)

    def rank(analyte: str) -> tuple[bool, bool, bool, int, int]:
        rows = held[analyte]
        over = any(_past(row, limits[analyte]) for row in _newest_of_each_place(rows))
        return (not over, not limits[analyte], analyte not in ACUTE, -len(rows), list(ANALYTES).index(analyte))

    chosen = sorted((code for code, rows in held.items() if len(rows) > 1), key=rank)[:most]
    return [_chart(f"over-time-{n}", site, code, held[code], limits[code], today) for n, code in enumerate(chosen)]


def _newest_of_each_place(rows: Sequence[Result]) -> list[Result]:
    found: dict[str, Result] = {}
    for row in rows:
        found.setdefault(row.test.place, row)
    return list(found.values())


def _verdict(result: Result, limits: Sequence[Limit]) -> Verdict | None:
    """Against every limit of the parameter: not met by any, cannot tell by any, else met; ``None`` without one."""
    found = [judge(result.qualifier, result.value, limit).verdict for limit in limits]
    worst = (Verdict.NOT_MET, Verdict.CANNOT_TELL, Verdict.MET)
    return next((verdict for verdict in worst if verdict in found), None)


def _past(result: Result, limits: Sequence[Limit]) -> bool:
    return _verdict(result, limits) is Verdict.NOT_MET


def _chart(
    ident: str, site: Site, analyte: str, rows: Sequence[Result], limits: Sequence[Limit], today: date
) -> TimeChart:
    system = site.unit_system
    series = []
    for place, mark in MARKS.items():
        own = [row for row in reversed(rows) if row.test.place == place]
        if own:
            points = tuple(_point(row, _past(row, limits), system) for row in own)
            series.append(TimeSeries(place_words(place), mark, points))
    first = min(row.test.sampled_on for row in rows)
    timeline = Timeline(
        title=_(ANALYTES[analyte].name),
        unit=unit_of_analyte(analyte, system),
        series=tuple(series),
        until=max(today, max(row.test.sampled_on for row in rows)),
        limits=tuple(_drawn_limits(analyte, limits, system)),
        seasons=_seasons(site, first.year, today),
    )
    lines = tuple(_row(row, limits, system) for row in rows)
    return TimeChart(ident, analyte, timeline, lines)


def _drawn_limits(analyte: str, limits: Sequence[Limit], system: str) -> Iterable[ChartLimit]:
    """The limits as lines: the health limit first, none twice at one height."""
    seen: set[float] = set()
    for limit in sorted(limits, key=lambda one: (KINDS.index(one.kind), one.value)):
        if limit.value in seen or len(seen) >= MOST_LIMITS:
            continue
        seen.add(limit.value)
        label = _("%(kind)s limit: %(limit)s") % {"kind": _(limit.kind), "limit": limit_words(limit, system)}
        yield ChartLimit(shown_value(analyte, limit.value, system), label, limit.sense)


def place_words(place: str) -> str:
    """A place in two words."""
    return {
        Place.RAW.value: _("raw water"),
        Place.BETWEEN.value: _("between stages"),
        Place.ENTRY.value: _("treated water"),
        Place.TAP.value: _("drinking tap"),
    }[place]


def _point(row: Result, past: bool, system: str) -> HistoryPoint:
    day = row.test.sampled_on
    if row.value is None:
        kind = ResultKind.PRESENT if row.qualifier in ("present", "above") else ResultKind.ABSENT
        return HistoryPoint(day, kind, row.text, past=past)
    kind = ResultKind.BELOW if row.qualifier == Qualifier.BELOW else ResultKind.VALUE
    value = shown_value(row.analyte, row.value, system)
    return HistoryPoint(day, kind, means_words(row, system) or row.text, value, past)


def means_words(row: Result, system: str) -> str:
    """A result in the unit of its chart, where the paper printed another one: "<0.02" for "<20 ug/L"; else ""."""
    unit = unit_of_analyte(row.analyte, system)
    if row.value is None or written_unit(row) in (unit, "") or not unit:
        return ""
    sign = {Qualifier.BELOW: "<", Qualifier.ABOVE: ">"}.get(Qualifier(row.qualifier), "")
    return f"{sign}{shown_value(row.analyte, row.value, system):.3g}"


def _row(row: Result, limits: Sequence[Limit], system: str) -> TimeRow:
    verdict = _verdict(row, limits)
    over = verdict is Verdict.NOT_MET
    words = means_words(row, system)
    means = f"{words} {unit_of_analyte(row.analyte, system)}" if words else ""
    place, unit = place_words(row.test.place), written_unit(row)
    return TimeRow(row.test, place, row.text, unit, verdict_words(verdict), over, means)


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
