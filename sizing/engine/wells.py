"""The pump and the well: pump curve and operating point, water stored in the casing, recovery, suction lift."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.measures import KPA_PER_M, M_PER_FT
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step

PRACTICE = "private-water-systems"


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


@dataclass(frozen=True)
class PumpCurve:
    """Head = ``shut_off_m`` - ``fall`` q^2, m and L/min, least squares through the printed points."""

    shut_off_m: float
    fall: float
    most_l_min: float

    def head_m(self, flow_l_min: Number) -> Any:
        """Head in m at a flow in L/min, float or array."""
        return self.shut_off_m - self.fall * flow_l_min * flow_l_min


def fit_pump_curve(points: Sequence[tuple[float, float]]) -> PumpCurve:
    """Curve through a pump's printed points.

    Why: gives the flow at any pressure, so the flow test can be checked against the pump.
    Units: points (L/min, m of head).
    Equation: H = H0 - k q^2, least squares.
    Range: two points or more, 0 to 2,000 L/min and 0 to 1,000 m, heads falling as flow grows.
    Raises: ``OutsideValidRange`` with fewer points or a curve that rises.
    Source: parabola of a centrifugal pump (common practice).

    >>> round(fit_pump_curve([(0.0, 60.0), (40.0, 44.0)]).head_m(20.0), 6)
    56.0
    """
    if len(points) < 2:
        raise OutsideValidRange("pump curve points", len(points), low=2)
    flow = np.array([p[0] for p in points], dtype=float)
    head = np.array([p[1] for p in points], dtype=float)
    within("pump flow", flow, low=0.0, high=2000.0, unit="L/min")
    within("pump head", head, low=0.0, high=1000.0, unit="m")
    rows = np.stack([np.ones_like(flow), -(flow**2)], axis=1)
    (top, fall), *_ = np.linalg.lstsq(rows, head, rcond=None)
    if fall <= 0:
        raise OutsideValidRange(
            "pump curve", float(fall), low=0.0, low_open=True, source="head must fall as flow grows"
        )
    return PumpCurve(float(top), float(fall), float(flow.max()))


def operating_flow_l_min(
    curve: PumpCurve, lift_m: float, tank_kpa: float, pipe_loss_kpa: Callable[[float], float] | None = None
) -> float:
    """Flow at which the pump meets lift, tank pressure and friction.

    Why: pump flow falls from cut-in to cut-out; UV is sized on the larger, backwash on the smaller.
    Units: m, kPa gauge, function of L/min giving kPa; returns L/min (0 where the pump cannot reach the pressure).
    Equation: H(q) = lift + p / (rho g) + loss(q), by bisection to 1e-9.
    Range: lift -50 to 500 m; tank 0 to 1,000 kPa.
    Raises: ``OutsideValidRange`` outside.
    Source: energy balance (computed).

    >>> round(operating_flow_l_min(fit_pump_curve([(0.0, 60.0), (40.0, 44.0)]), 20.0, 300.0), 1)
    30.7
    """
    lift = within("lift", lift_m, low=-50.0, high=500.0, unit="m")
    tank = within("tank pressure", tank_kpa, low=0.0, high=1000.0, unit="kPa")

    def spare(flow: float) -> float:
        lost = pipe_loss_kpa(flow) if pipe_loss_kpa else 0.0
        return float(curve.head_m(flow) - lift - (tank + lost) / KPA_PER_M)

    if spare(0.0) <= 0.0:
        return 0.0
    low, high = 0.0, (curve.shut_off_m / curve.fall) ** 0.5 + 1.0
    while spare(high) > 0.0:
        high *= 2.0
    while high - low > 1e-9:
        middle = (low + high) / 2.0
        low, high = (middle, high) if spare(middle) > 0.0 else (low, middle)
    return float((low + high) / 2.0)


def casing_l_per_m(diameter_m: Number) -> Any:
    """Water in a metre of well casing or dug well.

    Why: the well is a tank too, and shock dosing needs its volume.
    Units: m, float or array; returns L/m.
    Range: 0.02 to 10 m.
    Raises: ``OutsideValidRange`` outside.
    Source: pi/4 d^2 (computed); printed tables contain misprints, geometry does not.

    >>> round(casing_l_per_m(6 * 0.0254) / 3.785411784 * 0.3048, 3)
    1.469
    """
    return _out(np.pi / 4 * within("casing diameter", diameter_m, low=0.02, high=10.0, unit="m") ** 2 * 1000.0)


def well_storage_l(diameter_m: Number, depth_m: Number, static_level_m: Number) -> Any:
    """Water standing in a well.

    Why: carries a low-yield well through the morning.
    Units: m, well depth m, depth to standing water m; returns L.
    Range: depth 0 to 1,000 m; standing level at most the depth.
    Raises: ``OutsideValidRange`` outside.
    Source: (depth - static level) x volume per metre (computed).

    >>> round(well_storage_l(0.152, 10.0, 0.0), 1)
    181.5
    """
    depth = within("well depth", depth_m, low=0.0, high=1000.0, unit="m")
    level = within(
        "standing water level",
        static_level_m,
        low=0.0,
        high=float(np.min(depth)),
        unit="m",
        source="not below the bottom",
    )
    return _out((depth - level) * casing_l_per_m(diameter_m))


def minutes_to_empty(stored_l: Number, draw_l_min: Number, yield_l_min: Number) -> Any:
    """Time until the stored water is gone.

    Why: says how long a shower and a washer can run on a weak well.
    Units: L, L/min, L/min; floats or arrays; returns min (infinite where the yield keeps up).
    Equation: stored / (draw - yield).
    Range: 0 or more.
    Raises: ``OutsideValidRange`` outside.
    Source: balance (computed).

    >>> round(minutes_to_empty(150.0, 14.0, 1.0), 2), minutes_to_empty(150.0, 1.0, 2.0)
    (11.54, inf)
    """
    stored = within("stored water", stored_l, low=0.0, unit="L")
    net = np.asarray(within("draw", draw_l_min, low=0.0, unit="L/min")) - within(
        "well yield", yield_l_min, low=0.0, unit="L/min"
    )
    return _out(np.where(net > 0, stored / np.where(net > 0, net, 1.0), np.inf))


def recovery_min(stored_l: Number, yield_l_min: Number) -> Any:
    """Time for an emptied well to fill again.

    Why: how long to wait before the next laundry.
    Units: L, L/min; returns min.
    Range: yield more than 0.
    Raises: ``OutsideValidRange`` outside.
    Source: stored / yield (computed).

    >>> recovery_min(150.0, 1.0)
    150.0
    """
    stored = within("stored water", stored_l, low=0.0, unit="L")
    return _out(stored / within("well yield", yield_l_min, low=0.0, unit="L/min", low_open=True))


@dataclass(frozen=True)
class WellCheck:
    """Water the well gives within the busy hours against the day's use."""

    available_l: float
    daily_yield_l: float
    enough: bool
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def check_well(stored_l: float, yield_l_min: float, daily_l: float, *, peak_hours: float = 2.0) -> WellCheck:
    """Whether storage and yield carry a day's water wanted within the busy hours.

    Why: a 4 L/min well makes 5,450 L a day and still fails on a busy evening.
    Units: L, L/min, L/d, h; returns L.
    Equation: stored + 60 h yield >= day's use; and 1,440 yield >= day's use.
    Range: 0 or more; busy hours 0.25 to 24.
    Raises: ``OutsideValidRange`` outside.
    Source: whole day within two hours (Penn State Extension, published planning rule).

    >>> check_well(181.5, 9.0, 1200.0).available_l
    1261.5
    """
    stored = within("stored water", stored_l, low=0.0, unit="L")
    rate = within("well yield", yield_l_min, low=0.0, unit="L/min")
    hours = within("busy hours", peak_hours, low=0.25, high=24.0, unit="h")
    use = within("daily use", daily_l, low=0.0, unit="L/d")
    available, day = stored + 60.0 * hours * rate, 1440.0 * rate
    rule = figure(PRACTICE, "peak_hours")
    steps = (
        Step("Vw", f"well storage and {hours:g} h of its yield", available, "L",
             f"{stored:g} + 60 x {hours:g} x {rate:g}", rule.citation, "computed", "volume"),
        Step("Vy", "yield of a day", day, "L/d", f"1440 x {rate:g}", "", "computed", "volume"),
    )  # fmt: skip
    findings: tuple[Finding, ...] = ()
    enough = available >= use and day >= use
    if not enough:
        findings = (
            Finding(
                "well_short",
                Severity.EQUIPMENT,
                f"The well gives {available:.0f} L within the busy hours, {use:.0f} L may be wanted.",
                "A storage tank filled slowly with a second pump, or less use at once.",
                "well",
                rule.citation,
            ),
        )
    return WellCheck(available, day, enough, steps, findings)


def suction_head_available_m(atmosphere_kpa: Number, vapour_kpa: Number, static_m: Number, friction_m: Number) -> Any:
    """Net positive suction head available to a surface pump.

    Why: a shallow-well pump above its water stops priming when too little is left.
    Units: kPa absolute, kPa absolute, m (positive = water above the pump, negative = lift), m; returns m.
    Equation: (pa - pv) / (rho g) + static - friction.
    Range: atmosphere 50 to 110 kPa; vapour 0 to 20 kPa; static head -30 to 200 m; friction 0 to 100 m.
    Raises: ``OutsideValidRange`` outside.
    Source: definition (published in pump handbooks).

    >>> round(suction_head_available_m(101.325, 1.23, -5.0, 1.0), 2)
    4.21
    """
    air = within("atmospheric pressure", atmosphere_kpa, low=50.0, high=110.0, unit="kPa")
    vapour = within("vapour pressure", vapour_kpa, low=0.0, high=20.0, unit="kPa")
    static = within("static head", static_m, low=-30.0, high=200.0, unit="m")
    friction = within("suction friction", friction_m, low=0.0, high=100.0, unit="m")
    return _out((air - vapour) / KPA_PER_M + static - friction)


def practical_lift_m(elevation_m: Number) -> Any:
    """Practical suction lift of a shallow-well pump.

    Why: no pump sucks water from more than about 6.7 m at the sea.
    Units: m above sea level, float or array; returns m.
    Range: 0 to 1,609 m (the printed table).
    Raises: ``OutsideValidRange`` outside.
    Source: general engineering table (common practice), straight lines between printed points.

    >>> round(practical_lift_m(0.0) / 0.3048, 1)
    22.0
    """
    x, y = zip(*figure(PRACTICE, "suction_lift").value, strict=True)
    height = within("elevation", elevation_m, low=0.0, high=x[-1] * M_PER_FT + 1e-9, unit="m")
    return _out(np.interp(np.asarray(height) / M_PER_FT, x, y) * M_PER_FT)
