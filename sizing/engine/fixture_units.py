"""Peak flow by the plumbing code: water supply fixture units, read on the curve of the same code."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from sizing.engine.design import Fixture
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding
from sizing.engine.fixtures import CODE, KIND_BY_CODE, counted
from sizing.engine.measures import L_PER_GAL
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step


@dataclass(frozen=True)
class FixtureUnitDemand:
    """Peak flow by fixture units: ``wsfu`` summed and read on the same code's curve."""

    flow_l_min: float
    wsfu: float
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


@lru_cache(maxsize=8)
def _curve(column: str) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    points = [*figure(CODE, f"demand_{column}").value, *figure(CODE, f"demand_{column}_recalled").value]
    points.sort()
    x, y = zip(*points, strict=True)
    return np.array(x, dtype=float), np.array(y, dtype=float)


def code_curve_l_min(wsfu: Number, column: str = "flush_tank") -> Any:
    """Flow read on the code's demand curve.

    Why: inspectors and engineers know this number, so it stands beside the probability answer.
    Units: ``wsfu`` water supply fixture units, float or array; returns L/min. ``column`` "flush_tank" or
    "flush_valve".
    Range: 1 to 5,000 wsfu (flush valves from 5); the table is silent outside.
    Raises: ``OutsideValidRange`` outside, or for another column.
    Source: IPC 2018 Appendix E Table E103.3(3) (published; some rows between from memory), straight lines between
    points.

    >>> round(code_curve_l_min(10.0) / 3.785411784, 1)
    14.6
    """
    if column not in ("flush_tank", "flush_valve"):
        raise OutsideValidRange("column", column, source="flush_tank or flush_valve")
    x, y = _curve(column)
    load = within(
        "fixture units",
        wsfu,
        low=x[0],
        high=x[-1],
        unit="wsfu",
        source=figure(CODE, f"demand_{column}").citation,
    )
    flow = np.interp(load, x, y) * L_PER_GAL
    return flow if np.ndim(flow) else float(flow)


def fixture_units(fixtures: Iterable[Fixture], *, group_bathrooms: bool = True) -> tuple[float, str]:
    """Water supply fixture units of a list, and the sum written out.

    Why: the load that the code's curve is read at.
    Units: wsfu (cold and hot together, the Total column).
    Range: ``group_bathrooms`` counts a toilet, a washbasin and a bath or shower together as one bathroom group,
    which is less than its parts; never both.
    Raises: ``OutsideValidRange`` for an unknown fixture or an impossible count.
    Source: IPC 2018 Appendix E Table E103.3(2) (published). A bar sink counts as a kitchen sink (common practice).

    >>> fixture_units([Fixture("toilet", 1), Fixture("lavatory", 1), Fixture("bath_shower", 1)])
    (3.6, '1 bathroom group x 3.6')
    """
    left = dict(counted(fixtures))
    parts: list[tuple[str, int, float]] = []
    if group_bathrooms:
        groups = min(
            left.get("toilet", 0),
            left.get("lavatory", 0),
            sum(left.get(c, 0) for c in ("bath_shower", "bath", "shower")),
        )
        if groups:
            parts.append(
                (
                    "bathroom group",
                    groups,
                    figure(CODE, "wsfu").value["bathroom group, private, flush tank"][2],
                )
            )
            left["toilet"] -= groups
            left["lavatory"] -= groups
            for code in ("bath_shower", "bath", "shower"):
                taken = min(groups, left.get(code, 0))
                left[code] = left.get(code, 0) - taken
                groups -= taken
    parts += [
        (KIND_BY_CODE[c].name.lower(), n, KIND_BY_CODE[c].wsfu) for c, n in left.items() if n and KIND_BY_CODE[c].wsfu
    ]
    total = round(sum(n * units for _, n, units in parts), 9)
    return total, " + ".join(f"{n} {name} x {units:g}" for name, n, units in parts)


def fixture_unit_flow(
    fixtures: Iterable[Fixture], *, column: str = "flush_tank", group_bathrooms: bool = True
) -> FixtureUnitDemand:
    """Peak flow by the plumbing code's fixture units, shown beside the probability answer.

    Why: the code method is the one most people have seen; for a house it answers half as much again or more.
    Units: returns L/min. Outdoor taps are added as continuous flow after the curve.
    Range: 1 to 5,000 wsfu; less than 1 wsfu is read at 1.
    Raises: ``OutsideValidRange`` for unknown fixtures, an empty list, or loads outside the table.
    Source: IPC 2018 Appendix E Tables E103.3(2) and E103.3(3) (published).

    >>> round(fixture_unit_flow([Fixture("kitchen_faucet", 1), Fixture("bath_shower", 1)]).wsfu, 1)
    2.8
    """
    listed = tuple(fixtures)
    wsfu, formula = fixture_units(listed, group_bathrooms=group_bathrooms)
    steady = (
        sum(KIND_BY_CODE[c].flow_gpm * n for c, n in counted(listed) if KIND_BY_CODE[c].probability is None)
        * L_PER_GAL
    )
    if not wsfu and not steady:
        raise OutsideValidRange("fixtures", "none", source="a peak flow needs at least one fixture")
    curve = float(code_curve_l_min(max(wsfu, 1.0), column)) if wsfu else 0.0
    steps = (
        Step("WSFU", "water supply fixture units", wsfu, "", formula, figure(CODE, "wsfu").citation, "published"),
        Step(
            "Qc",
            "peak flow on the code's curve",
            curve + steady,
            "L/min",
            f"{wsfu:g} wsfu on the {column.replace('_', '-')} column, straight lines between printed points",
            figure(CODE, f"demand_{column}").citation,
            "published",
            "flow",
        ),
    )
    return FixtureUnitDemand(curve + steady, wsfu, steps, ())


def allowance_flow(fixtures: Iterable[Fixture]) -> float:
    """Peak flow by the handbook's allowance, a quarter of each fixture's flow: a third opinion.

    Why: quick to check in the head; it lies between the probability answer and the code's.
    Units: returns L/min.
    Range: fixtures of the handbook; several houses: half the total.
    Raises: ``OutsideValidRange`` for a fixture the handbook does not list.
    Source: Private Water Systems handbook, EPA-hosted archive (published; the tub line from its printed total).

    >>> round(allowance_flow([Fixture("toilet", 2)]) / 3.785411784, 2)
    1.5
    """
    table = figure("household-use", "allowance").value
    tub = figure("household-use", "allowance_bath").value
    rows = {**table, "bath_shower": tub, "bath": tub}
    total = 0.0
    for code, count in counted(fixtures):
        if code not in rows:
            raise OutsideValidRange("fixture", code, source=f"the handbook lists {', '.join(rows)}")
        total += count * rows[code]
    return total * L_PER_GAL
