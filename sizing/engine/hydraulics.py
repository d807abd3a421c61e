"""Pressure along the path at a flow: tank at cut-in, stages with dirty filters, pipe, rise, worst fixture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from sizing.engine.design import Margin, SupplySide
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.measures import KPA_PER_M, KPA_PER_PSI, L_PER_GAL, M_PER_FT
from sizing.engine.pipes import (
    PIPES,
    bore_m,
    bores,
    fitting_length_m,
    friction_factor,
    hazen_williams_kpa,
    pipe_loss_kpa,
    screwed_fitting,
    smallest_size,
    velocity_m_s,
)
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step

__all__ = [
    "PathPressure",
    "RatedLoss",
    "bore_m",
    "bores",
    "elevation_kpa",
    "fitting_length_m",
    "friction_factor",
    "hazen_williams_kpa",
    "outlet_needs",
    "path_pressure",
    "pipe_loss_kpa",
    "pipe_run_loss_kpa",
    "required_cut_in_kpa",
    "screwed_fitting",
    "smallest_size",
    "stage_loss_kpa",
    "velocity_m_s",
    "worst_fixture_kpa",
]


def elevation_kpa(rise_m: Number) -> Any:
    """Pressure lost to a rise (negative = gained going down).

    Why: a bathroom upstairs or a cabin above its lake pump starts with less.
    Units: m, float or array; returns kPa.
    Range: -500 to 500 m.
    Raises: ``OutsideValidRange`` outside.
    Source: 9.80665 kPa per metre of water, 0.4335 psi per ft (computed; codes print 0.433).

    >>> round(elevation_kpa(20 * 0.3048) / 6.894757293168, 2)
    8.67
    """
    return within("rise", rise_m, low=-500.0, high=500.0, unit="m") * KPA_PER_M


@dataclass(frozen=True)
class RatedLoss:
    """Loss = linear q + square q^2 through a stage's rated points."""

    linear: float
    square: float

    def at(self, flow_l_min: Number) -> Any:
        """Loss in kPa at a flow in L/min, float or array."""
        return self.linear * flow_l_min + self.square * flow_l_min * flow_l_min


@lru_cache(maxsize=1024)
def _rated(points: tuple[tuple[float, float], ...], linear_share: float) -> RatedLoss:
    within("share of linear loss", linear_share, low=0.0, high=1.0)
    if not points:
        raise OutsideValidRange("rated points", "none", source="at least one flow with its pressure loss")
    flows = np.array([p[0] for p in points], dtype=float)
    losses = np.array([p[1] for p in points], dtype=float)
    within("rated flow", flows, low=0.0, high=10_000.0, unit="L/min", low_open=True)
    within("rated loss", losses, low=0.0, high=2000.0, unit="kPa")
    if len(points) == 1:
        q, loss = float(flows[0]), float(losses[0])
        return RatedLoss(loss * linear_share / q, loss * (1 - linear_share) / q**2)
    weights = 1.0 / np.maximum(losses, 1e-6)  # equal relative error at every point
    rows = np.stack([flows, flows**2], axis=1) * weights[:, None]
    (a, b), *_ = np.linalg.lstsq(rows, losses * weights, rcond=None)
    if a < 0:
        a, b = 0.0, float((losses * flows**2 * weights**2).sum() / (flows**4 * weights**2).sum())
    elif b < 0:
        a, b = float((losses * flows * weights**2).sum() / (flows**2 * weights**2).sum()), 0.0
    return RatedLoss(float(a), float(b))


def stage_loss_kpa(flow_l_min: Number, points: Sequence[tuple[float, float]], *, linear_share: float = 0.0) -> Any:
    """Pressure lost in a stage at any flow, from its rated points.

    Why: papers rate a stage at one or two flows; the house asks for another.
    Units: flow L/min, float or array; points (L/min, kPa); returns kPa.
    Equation: a q + b q^2 with a, b >= 0, least squares of the relative error; through the point itself when there
    is one (``linear_share`` of it linear: 0 for valves and open chambers, towards 1 for a bed or cartridge).
    Range: flow 0 to 10,000 L/min; beyond the last rated point the curve goes on as computed.
    Raises: ``OutsideValidRange`` without points, or for impossible ones.
    Source: laminar and turbulent parts of a porous body, as Ergun (published form); fitted to the catalogue
    (computed).

    >>> round(stage_loss_kpa(10.0, [(20.0, 40.0)]), 2)
    10.0
    """
    flow = within("flow", flow_l_min, low=0.0, high=10_000.0, unit="L/min")
    return _rated(tuple((float(q), float(p)) for q, p in points), float(linear_share)).at(flow)


def outlet_needs(outlet: str) -> tuple[float, float]:
    """Flow and flowing pressure an outlet needs.

    Why: the worst fixture must still work with filters dirty and the pump about to start.
    Units: returns (L/min, kPa); names as printed ("shower, plain", "shower, balanced/thermostatic valve", ...).
    Range: the outlets of the table.
    Raises: ``OutsideValidRange`` naming the outlets.
    Source: IPC 2018 Table 604.3 (published; IRC P2903.1 agrees for dwellings).

    >>> round(outlet_needs("shower, plain")[1] / 6.894757293168, 1)
    8.0
    """
    table = figure("icc-ipc-2018", "outlet").value
    if outlet not in table:
        raise OutsideValidRange("outlet", outlet, source=f"one of {', '.join(table)}")
    gpm, psi = table[outlet]
    return gpm * L_PER_GAL, psi * KPA_PER_PSI


def pipe_run_loss_kpa(supply: SupplySide, flow_l_min: Number, *, temperature_c: Number = 10.0) -> Any:
    """Friction of the run from the tank to the worst fixture, fittings included.

    Why: a share of the pressure that no stage can give back.
    Units: L/min and degC, floats or arrays; returns kPa.
    Equation: Darcy-Weisbach on the run and half its length again for fittings.
    Range: as ``pipe_loss_kpa``.
    Raises: ``OutsideValidRange`` for an unknown pipe or impossible values.
    Source: Darcy-Weisbach (published); half again for fittings (common practice); roughness from memory.

    >>> from sizing.engine.design import Measured, SupplySide
    >>> supply = SupplySide(Measured(30.0), 207.0, 345.0, 80.0)
    >>> 20 < pipe_run_loss_kpa(supply, 30.0) < 40
    True
    """
    length = supply.pipe_run_m * (1.0 + figure("fittings", "house_run_share").value)
    rough = figure(PIPES, "roughness").value.get(supply.pipe_material, 0.0015) / 1000.0
    bore = bore_m(supply.pipe_material, supply.pipe_nominal)
    return pipe_loss_kpa(flow_l_min, bore, length, temperature_c=temperature_c, roughness_m=rough)


def worst_fixture_kpa(
    supply: SupplySide, flow_l_min: Number, stage_losses_kpa: Sequence[Number], *, temperature_c: Number = 10.0
) -> Any:
    """Pressure left at the worst fixture at cut-in.

    Why: checked at the lowest tank pressure, peak flow and dirty filters; anything else is luck.
    Units: L/min, kPa, degC, floats or arrays of draws; returns kPa gauge (negative = the flow cannot be had).
    Equation: cut-in - sum of stage losses - pipe - 9.80665 x rise.
    Range: as ``pipe_loss_kpa`` and ``elevation_kpa``.
    Raises: ``OutsideValidRange`` outside.
    Source: energy along the path (computed).

    >>> from sizing.engine.design import Measured, SupplySide
    >>> supply = SupplySide(Measured(30.0), 207.0, 345.0, 80.0, pipe_run_m=0.0, worst_fixture_height_m=0.0)
    >>> round(worst_fixture_kpa(supply, 30.0, [20.0, 30.0]), 6)
    157.0
    """
    stages: Any = sum(stage_losses_kpa, 0.0) if stage_losses_kpa else 0.0
    run = pipe_run_loss_kpa(supply, flow_l_min, temperature_c=temperature_c)
    return supply.cut_in_kpa - stages - run - elevation_kpa(supply.worst_fixture_height_m)


def required_cut_in_kpa(
    supply: SupplySide, flow_l_min: Number, stage_losses_kpa: Sequence[Number], *, temperature_c: Number = 10.0
) -> Any:
    """Cut-in pressure at which the worst fixture just has what it needs.

    Why: turning a 30/50 switch to 40/60 may be all that is wanted.
    Units: L/min, kPa, degC, floats or arrays; returns kPa gauge.
    Range: as ``worst_fixture_kpa``.
    Raises: ``OutsideValidRange`` outside.
    Source: energy along the path (computed).

    >>> from sizing.engine.design import Measured, SupplySide
    >>> supply = SupplySide(Measured(30.0), 207.0, 345.0, 80.0, pipe_run_m=0.0, worst_fixture_height_m=0.0)
    >>> round(required_cut_in_kpa(supply, 30.0, [50.0]), 6)
    188.0
    """
    left = worst_fixture_kpa(supply, flow_l_min, stage_losses_kpa, temperature_c=temperature_c)
    return supply.cut_in_kpa - left + supply.worst_fixture_min_kpa


@dataclass(frozen=True)
class PathPressure:
    """``pressures_kpa``: at the tank (cut-in), then after each stage; ``at_fixture_kpa`` at the worst fixture."""

    pressures_kpa: tuple[float, ...]
    at_fixture_kpa: float
    pipe_kpa: float
    rise_kpa: float
    margin: Margin
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def path_pressure(
    supply: SupplySide,
    flow_l_min: float,
    stages: Sequence[tuple[str, float]],
    *,
    temperature_c: float = 10.0,
) -> PathPressure:
    """Pressure along the path at peak flow, with the worksheet.

    Why: shows where the pressure goes and whether the worst fixture keeps its minimum.
    Units: L/min; ``stages`` (name, loss in kPa with filters dirty) in order; degC; returns kPa gauge.
    Range: as ``worst_fixture_kpa``.
    Raises: ``OutsideValidRange`` outside.
    Source: Darcy-Weisbach, with Hazen-Williams beside it (published); minimum of IPC 604.3 or the site's own.

    >>> from sizing.engine.design import Measured, SupplySide
    >>> supply = SupplySide(Measured(30.0), 207.0, 345.0, 80.0)
    >>> [round(p) for p in path_pressure(supply, 30.0, [("softener", 40.0), ("UV", 10.0)]).pressures_kpa]
    [207, 167, 157]
    """
    pressures = [float(supply.cut_in_kpa)]
    for _, loss in stages:
        pressures.append(pressures[-1] - float(loss))
    pipe = float(pipe_run_loss_kpa(supply, flow_l_min, temperature_c=temperature_c))
    rise = float(elevation_kpa(supply.worst_fixture_height_m))
    left = pressures[-1] - pipe - rise
    margin = Margin(
        "worst_fixture",
        "Pressure at the worst fixture",
        left,
        supply.worst_fixture_min_kpa,
        "kPa",
        "min",
        "pressure",
    )
    steps = _path_steps(supply, flow_l_min, stages, pipe, rise, left)
    return PathPressure(tuple(pressures), left, pipe, rise, margin, steps, _path_findings(supply, flow_l_min, left))


def _path_steps(
    supply: SupplySide,
    flow: float,
    stages: Sequence[tuple[str, float]],
    pipe: float,
    rise: float,
    left: float,
) -> tuple[Step, ...]:
    bore = bore_m(supply.pipe_material, supply.pipe_nominal)
    length = supply.pipe_run_m * (1.0 + figure("fittings", "house_run_share").value)
    c = figure(PIPES, "hazen_williams_c").value[supply.pipe_material]
    second = float(hazen_williams_kpa(flow, bore, length, c=c))
    run = f"{length:.1f} m with fittings, bore {bore * 1000:.1f} mm"
    lost = sum(loss for _, loss in stages)
    return (
        Step("p0", "tank pressure at cut-in", supply.cut_in_kpa, "kPa", quantity="pressure", status="given"),
        *(
            Step(
                f"dp{i}", f"lost in {name}, loaded" if loss >= 0 else f"added by {name}", abs(loss), "kPa",
                quantity="pressure",
            )
            for i, (name, loss) in enumerate(stages, start=1)
        ),
        Step("dpf", "lost in the pipe", pipe, "kPa", run, "Darcy-Weisbach, Colebrook", "computed", "pressure"),
        Step(
            "dpH",
            f"the same by Hazen-Williams, C {c:g} (second method)",
            second,
            "kPa",
            run,
            "Hazen-Williams, EPANET form",
            "from memory",
            "pressure",
        ),
        Step(
            "dpz", "lost to the rise", rise, "kPa", f"{supply.worst_fixture_height_m:g} m x 9.807",
            "weight of water", "computed", "pressure",
        ),
        Step(
            "p", "left at the worst fixture", left, "kPa",
            f"{supply.cut_in_kpa:.0f} - {lost:.0f} - {pipe:.0f} - {rise:.0f}", "", "computed", "pressure",
        ),
    )  # fmt: skip


def _path_findings(supply: SupplySide, flow: float, left: float) -> tuple[Finding, ...]:
    found = []
    static = figure("icc-ipc-2018", "static_maximum").value * KPA_PER_PSI
    if supply.cut_out_kpa > static:
        found.append(
            Finding(
                "static_pressure_high",
                Severity.EQUIPMENT,
                f"Cut-out ({supply.cut_out_kpa:.0f} kPa) is above the {static:.0f} kPa that codes allow.",
                "Lower the switch or fit a reducing valve; a closed system then needs thermal expansion control.",
                "pressure",
                figure("icc-ipc-2018", "static_maximum").citation,
            )
        )
    speed = float(velocity_m_s(flow, bore_m(supply.pipe_material, supply.pipe_nominal)))
    cap = figure(PIPES, "velocity_cap").value[0] * M_PER_FT
    if speed > cap:
        found.append(
            Finding(
                "velocity_high",
                Severity.EQUIPMENT,
                f"Water would run at {speed:.1f} m/s in the {supply.pipe_nominal} in pipe ({cap:.1f} is the cap).",
                "A larger main.",
                "pipe",
                figure(PIPES, "velocity_cap").citation,
            )
        )
    if left < supply.worst_fixture_min_kpa:
        found.append(
            Finding(
                "fixture_pressure_low",
                Severity.COMFORT,
                f"Only {left:.0f} kPa would be left at the worst fixture, "
                f"{supply.worst_fixture_min_kpa:.0f} kPa wanted.",
                "A higher switch setting, stages of less loss, a larger pipe or a booster.",
                "pressure",
                figure("icc-ipc-2018", "outlet").citation,
            )
        )
    return tuple(found)
