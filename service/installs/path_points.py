"""The waters of a water path: what was measured where, what is expected elsewhere, against which limit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from customers.households.models import Site
from customers.water_tests.models import Place, Qualifier, Result
from service.installs.path_limits import PathLimit, limits_for
from service.installs.words import day_words, number_words, short_day, unit_words
from sizing.drawing.values import LedgerRow, PathPoint, Reading, Standing, point_letter
from sizing.engine.display import to_display, unit_of
from sizing.engine.water import ANALYTES, Water

MICROBES = ("total_coliform", "e_coli")
MOST_ROWS = 6
CHANGED = 0.05  # an expected value that moves by less than this share along the path is no news
TAP = -1  # the gap after the polishing unit


@dataclass
class Gap:
    """What is known of the water in one gap: results by analyte, expected values, pressure at peak (kPa)."""

    measured: dict[str, Result] = field(default_factory=dict)
    days: dict[str, date] = field(default_factory=dict)
    expected: Mapping[str, float] = field(default_factory=dict)
    pressure: float | None = None


@dataclass(frozen=True)
class Waters:
    """Predicted waters of a train: one a main gap, the tap's, and the pressures."""

    main: tuple[Water, ...] = ()
    tap: Water | None = None
    pressures: tuple[float, ...] = ()


def gaps_of(
    site: Site,
    main_stages: int,
    *,
    polished: bool,
    waters: Waters,
    since: date | None,
    results: Sequence[Result] | None = None,
) -> dict[int, Gap]:
    """Every gap with its newest results (treated water only from ``since`` on) and expected values.

    ``results`` are all of the household's, newest first, where they were read before.
    """
    gaps = {number: Gap() for number in range(main_stages + 1)}
    if polished:
        gaps[TAP] = Gap()
    fits = len(waters.main) == main_stages + 1
    for number, gap in gaps.items():
        if number == TAP:
            gap.expected = _plain(waters.tap)
        elif fits:
            gap.expected = _plain(waters.main[number])
            gap.pressure = waters.pressures[number] if number < len(waters.pressures) else None
        elif number == 0 and waters.main:
            gap.expected = _plain(waters.main[0])
    letters = {point_letter(number): number for number in gaps if number != TAP}
    if polished:
        letters[point_letter(main_stages + 1)] = TAP
    for result in _results(site) if results is None else results:
        place = _gap_of(result, letters, main_stages, polished)
        if place is None or (place != 0 and since is not None and result.test.sampled_on < since):
            continue
        gap = gaps[place]
        if result.analyte not in gap.measured:
            gap.measured[result.analyte] = result
            gap.days[result.analyte] = result.test.sampled_on
    return gaps


def _results(site: Site) -> Sequence[Result]:
    return list(
        Result.objects.filter(test__site=site).select_related("test").order_by("-test__sampled_on", "-test__pk", "pk")
    )


def _gap_of(result: Result, letters: Mapping[str, int], main_stages: int, polished: bool) -> int | None:
    test = result.test
    if test.point:
        return letters.get(test.point)
    if test.place == Place.RAW:
        return 0
    if test.place == Place.TAP:
        return TAP if polished else main_stages
    return main_stages if test.place == Place.ENTRY else None


def _plain(water: Water | None) -> Mapping[str, float]:
    """Scalar values only: a water of draws has no one number to print."""
    if water is None:
        return {}
    return {code: float(value) for code, value in water.values.items() if isinstance(value, int | float)}


def ledger_of(
    site: Site, gaps: Mapping[int, Gap], feed: Sequence[PathLimit], *, most: int = MOST_ROWS
) -> tuple[tuple[LedgerRow, ...], tuple[PathPoint, ...], PathPoint | None]:
    """The rows worth showing, the points of the main line, and the point at the tap."""
    system, limits = site.unit_system, {line.code: line for line in limits_for(site)}
    for line in feed:
        limits.setdefault(line.code, line)
    codes = _chosen(gaps, limits, most)
    rows = [
        LedgerRow(
            code,
            ANALYTES[code].name,
            unit_words(code, system),
            limits[code].words(system) if code in limits else "",
        )
        for code in codes
    ]
    if any(gap.pressure is not None for gap in gaps.values()):
        rows.append(LedgerRow("pressure", "Pressure", f"{unit_of('pressure', system)} at peak flow"))
    points = {
        number: _point(number, gap, codes, limits, system, len(gaps) - (TAP in gaps)) for number, gap in gaps.items()
    }
    return tuple(rows), tuple(points[n] for n in sorted(points) if n != TAP), points.get(TAP)


def _point(
    number: int,
    gap: Gap,
    codes: Sequence[str],
    limits: Mapping[str, PathLimit],
    system: str,
    main_points: int,
) -> PathPoint:
    readings = [reading for code in codes if (reading := _reading(code, gap, limits.get(code), system)) is not None]
    if gap.pressure is not None:
        shown, _unit = to_display(gap.pressure, "pressure", system)
        readings.append(Reading("pressure", f"{shown:.0f}", measured=False))
    shown_days = [gap.days[r.row] for r in readings if r.measured]
    newest = max(shown_days) if shown_days else None
    return PathPoint(
        point_letter(main_points if number == TAP else number),
        tuple(readings),
        date=short_day(newest) if newest else "",
        day=day_words(newest) if newest else "",
    )


def _reading(code: str, gap: Gap, limit: PathLimit | None, system: str) -> Reading | None:
    result = gap.measured.get(code)
    if result is not None:
        standing = limit.standing(result.value, result.qualifier) if limit else Standing.NONE
        return Reading(code, _measured_words(result, system), measured=True, standing=standing)
    if code not in gap.expected:
        return None
    value = gap.expected[code]
    standing = limit.standing(value, Qualifier.EQUAL) if limit else Standing.NONE
    absent = code in MICROBES and value <= 0
    words = "absent" if absent else number_words(value, code, system, figures=2)
    return Reading(code, words, measured=False, standing=standing)


def _measured_words(result: Result, system: str) -> str:
    if result.qualifier in (Qualifier.ABSENT, Qualifier.PRESENT):
        return str(result.get_qualifier_display())
    if result.value is None:
        return result.text
    sign = {"below": "<", "above": ">"}.get(result.qualifier, "")
    return f"{sign}{number_words(result.value, result.analyte, system)}"


def _chosen(gaps: Mapping[int, Gap], limits: Mapping[str, PathLimit], most: int) -> list[str]:
    """The analytes that matter here, in the table's order: past a limit, germs, then what treatment changes."""
    ranks: dict[str, int] = {}
    for code in {code for gap in gaps.values() for code in (*gap.measured, *gap.expected)}:
        rank = _rank(code, gaps, limits.get(code))
        if rank is not None:
            ranks[code] = rank
    order = list(ANALYTES)
    best = sorted(ranks, key=lambda code: (ranks[code], order.index(code)))[:most]
    return sorted(best, key=order.index)


def _rank(code: str, gaps: Mapping[int, Gap], limit: PathLimit | None) -> int | None:
    readings = [r for gap in gaps.values() if (r := _reading(code, gap, limit, "metric")) is not None]
    if any(r.standing is Standing.HEALTH for r in readings):
        return 0
    if code in MICROBES and any(r.measured for r in readings):
        return 1
    if any(r.standing.past for r in readings):
        return 2
    if limit is None:
        return None
    expected = [gap.expected[code] for gap in gaps.values() if code in gap.expected]
    if expected and max(expected) - min(expected) > CHANGED * max(abs(max(expected)), 1e-9):
        return 3
    return 4 if any(r.measured for r in readings) else None
