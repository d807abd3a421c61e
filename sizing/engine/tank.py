"""The pressure tank: water between cut-out and cut-in, air charge, run time and starts of the pump."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.liquid import atmosphere_kpa
from sizing.engine.measures import KPA_PER_PSI, L_PER_GAL
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step

PRACTICE = "private-water-systems"


@dataclass(frozen=True)
class TankDrawdown:
    """Water between cut-out and cut-in. ``factor`` is its share of the tank, ``acceptance`` the share between
    cut-out and precharge, ``starts_per_hour`` the worst case when ``pump_flow_l_min`` was given."""

    litres: float
    factor: float
    acceptance: float
    precharge_kpa: float
    run_min: float | None
    starts_per_hour: float | None
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def default_precharge_kpa(cut_in_kpa: Number) -> Any:
    """The air charge a pressure tank should have, empty of water.

    Why: 2 psi under cut-in keeps a little water in the tank when the pump starts.
    Units: kPa gauge, float or array.
    Range: cut-in 14 to 1,000 kPa.
    Raises: ``OutsideValidRange`` outside.
    Source: cut-in less 2 psi (common practice).

    >>> round(default_precharge_kpa(206.8427) / 6.894757, 1)
    28.0
    """
    less = figure(PRACTICE, "precharge_below_cut_in").value * KPA_PER_PSI
    return within("cut-in pressure", cut_in_kpa, low=less, high=1000.0, unit="kPa") - less


def drawdown_factor(
    cut_in_kpa: Number, cut_out_kpa: Number, precharge_kpa: Number, atmosphere: Number = 101.325
) -> Any:
    """Share of a precharged tank's volume given between cut-out and cut-in.

    Why: how long the pump runs and how much water stands by. Gauge pressures alone give 27 % too much.
    Units: kPa gauge, ``atmosphere`` kPa absolute; floats or arrays; returns a fraction of the tank volume.
    Equation: (P1+Pa)/(P2+Pa) - (P1+Pa)/(P3+Pa), P1 precharge, P2 cut-in, P3 cut-out.
    Range: 0 <= precharge <= cut-in < cut-out <= 1,000 kPa; 50 to 110 kPa atmosphere.
    Raises: ``OutsideValidRange`` with precharge above cut-in (the tank is empty before the pump starts), or
    outside.
    Source: Boyle's law with absolute pressures (computed).

    >>> psi = 6.894757293168
    >>> round(drawdown_factor(30 * psi, 50 * psi, 28 * psi, 14.7 * psi), 3)
    0.295
    """
    low, high, charge = _switch(cut_in_kpa, cut_out_kpa, precharge_kpa)
    air = within("atmospheric pressure", atmosphere, low=50.0, high=110.0, unit="kPa")
    factor = (charge + air) / (low + air) - (charge + air) / (high + air)
    return factor if np.ndim(factor) else float(factor)


def _switch(cut_in_kpa: Number, cut_out_kpa: Number, precharge_kpa: Number) -> tuple[Any, Any, Any]:
    low = within("cut-in pressure", cut_in_kpa, low=0.0, high=1000.0, unit="kPa", low_open=True)
    high = within("cut-out pressure", cut_out_kpa, low=0.0, high=1000.0, unit="kPa", low_open=True)
    charge = within("precharge", precharge_kpa, low=0.0, high=1000.0, unit="kPa")
    if np.any(np.asarray(high) <= np.asarray(low)):
        raise OutsideValidRange(
            "cut-out pressure", high, low=float(np.max(low)), unit="kPa", low_open=True, source="above cut-in"
        )
    if np.any(np.asarray(charge) > np.asarray(low)):
        raise OutsideValidRange(
            "precharge",
            charge,
            low=0.0,
            high=float(np.min(low)),
            unit="kPa",
            source="above cut-in the tank is empty before the pump starts",
        )
    return low, high, charge


def tank_drawdown(
    tank_volume_l: float,
    cut_in_kpa: float,
    cut_out_kpa: float,
    *,
    precharge_kpa: float | None = None,
    altitude_m: float = 0.0,
    pump_flow_l_min: float | None = None,
) -> TankDrawdown:
    """Water a precharged pressure tank gives between cut-out and cut-in, and what it means for the pump.

    Why: a small tank makes the pump start too often; a mis-set air charge loses a third of the water.
    Units: L, kPa gauge, ``altitude_m`` m, ``pump_flow_l_min`` L/min; returns litres and the steps.
    Equation: V [(P1+Pa)/(P2+Pa) - (P1+Pa)/(P3+Pa)]; run = litres / pump flow; most starts an hour = 60 q / (4
    litres), when half the pump flow is drawn.
    Range: as ``drawdown_factor``; a precharge above cut-in is not refused here but flagged: the tank empties, then
    no water flows until the pump starts; litres are then those above the precharge.
    Raises: ``OutsideValidRange`` for impossible pressures or volumes.
    Source: Boyle's law (computed); precharge 2 psi under cut-in, one minute of run, starts an hour (common
    practice).

    >>> psi, gal = 6.894757293168, 3.785411784
    >>> round(tank_drawdown(20 * gal, 40 * psi, 60 * psi).litres / gal, 2)
    5.16
    """
    volume = float(within("tank volume", tank_volume_l, low=0.0, high=20_000.0, unit="L", low_open=True))
    air = float(atmosphere_kpa(altitude_m))
    charge = float(default_precharge_kpa(cut_in_kpa)) if precharge_kpa is None else float(precharge_kpa)
    gap = charge > cut_in_kpa
    effective_low = min(charge, cut_out_kpa * 0.999) if gap else cut_in_kpa
    factor = float(drawdown_factor(effective_low, cut_out_kpa, min(charge, effective_low), air))
    acceptance = 1.0 - (min(charge, cut_out_kpa) + air) / (cut_out_kpa + air)
    litres = volume * factor
    run = starts = None
    if pump_flow_l_min is not None:
        pump = float(within("pump flow", pump_flow_l_min, low=0.0, high=2000.0, unit="L/min", low_open=True))
        run, starts = litres / pump, 60.0 * pump / (4.0 * litres)
    formula = _drawdown_formula(volume, charge, effective_low, cut_out_kpa, air)
    steps = _tank_steps(charge, precharge_kpa is not None, litres, formula, pump_flow_l_min, run, starts)
    return TankDrawdown(
        litres,
        factor,
        acceptance,
        charge,
        run,
        starts,
        steps,
        _tank_findings(gap, acceptance, run, starts, charge, cut_in_kpa),
    )


def _drawdown_formula(volume: float, charge: float, low: float, high: float, air: float) -> str:
    top = f"({charge:.0f}+{air:.1f})"
    return f"{volume:g} [{top}/({low:.0f}+{air:.1f}) - {top}/({high:.0f}+{air:.1f})]"


def _tank_steps(
    charge: float,
    measured: bool,
    litres: float,
    formula: str,
    pump_flow_l_min: float | None,
    run: float | None,
    starts: float | None,
) -> tuple[Step, ...]:
    steps = [
        Step(
            "P1",
            "air charge",
            charge,
            "kPa",
            "" if measured else "cut-in less 2 psi",
            figure(PRACTICE, "precharge_below_cut_in").citation,
            "given" if measured else "common practice",
            "pressure",
        ),
        Step(
            "Vd",
            "water between cut-out and cut-in",
            litres,
            "L",
            formula,
            "Boyle's law, absolute pressures",
            "computed",
            "volume",
        ),
    ]
    if run is not None and starts is not None:
        steps.append(
            Step(
                "t",
                "shortest run of the pump",
                run,
                "min",
                f"{litres:.1f} / {pump_flow_l_min:g}",
                "drawdown over pump flow",
                "computed",
            )
        )
        steps.append(
            Step(
                "N",
                "most starts an hour",
                starts,
                "1/h",
                f"60 x {pump_flow_l_min:g} / (4 x {litres:.1f})",
                "half the pump flow drawn",
                "computed",
            )
        )
    return tuple(steps)


def _tank_findings(
    gap: bool, acceptance: float, run: float | None, starts: float | None, charge: float, cut_in: float
) -> tuple[Finding, ...]:
    found = []
    if gap:
        found.append(
            Finding(
                "precharge_above_cut_in",
                Severity.EQUIPMENT,
                f"The air charge ({charge:.0f} kPa) is above cut-in ({cut_in:.0f} kPa): "
                "the tank runs empty before the pump starts.",
                "Set the charge 2 psi under cut-in with the tank empty of water.",
                "pressure tank",
                "Boyle's law",
            )
        )
    elif charge < cut_in - 4 * figure(PRACTICE, "precharge_below_cut_in").value * KPA_PER_PSI:
        found.append(
            Finding(
                "precharge_too_low",
                Severity.EQUIPMENT,
                f"The air charge ({charge:.0f} kPa) is far below cut-in ({cut_in:.0f} kPa): "
                "the tank gives less water than it could.",
                "Set the charge 2 psi under cut-in with the tank empty of water.",
                "pressure tank",
                "common practice",
            )
        )
    if acceptance > figure(PRACTICE, "acceptance_limit").value:
        found.append(
            Finding(
                "acceptance_above_limit",
                Severity.NOTE,
                f"The tank would have to accept {acceptance:.0%} of its volume; diaphragm tanks often stop at 40 %.",
                "Check the tank's printed acceptance.",
                "pressure tank",
                "common practice",
            )
        )
    return (*found, *_pump_findings(run, starts))


def _pump_findings(run: float | None, starts: float | None) -> tuple[Finding, ...]:
    found = []
    if run is not None and run < figure(PRACTICE, "minimum_run").value:
        found.append(
            Finding(
                "pump_run_short",
                Severity.EQUIPMENT,
                f"The pump may run only {run * 60:.0f} s before it stops.",
                "At least one minute is wanted: a larger tank.",
                "pressure tank",
                "common practice",
            )
        )
    if starts is not None and starts > figure(PRACTICE, "starts_per_hour").value[0]:
        found.append(
            Finding(
                "pump_starts_often",
                Severity.EQUIPMENT,
                f"The pump may start {starts:.0f} times an hour.",
                "Small motors are allowed about 15 starts an hour; the motor's papers govern.",
                "pressure tank",
                "common practice",
            )
        )
    return tuple(found)


def tank_for_run_l(pump_flow_l_min: Number, run_min: Number, factor: Number) -> Any:
    """Tank volume that lets the pump run so long.

    Why: chooses the tank where the one found is too small.
    Units: L/min, min, drawdown factor (fraction); returns L; floats or arrays.
    Equation: V = q t / factor.
    Range: all more than 0; run at most 60 min, factor at most 1.
    Raises: ``OutsideValidRange`` outside.
    Source: gpm x minutes / factor (common practice).

    >>> round(tank_for_run_l(15 * 3.785411784, 2.0, 0.27) / 3.785411784)
    111
    """
    flow = within("pump flow", pump_flow_l_min, low=0.0, unit="L/min", low_open=True)
    run = within("run time", run_min, low=0.0, high=60.0, unit="min", low_open=True)
    share = within("drawdown factor", factor, low=0.0, high=1.0, low_open=True)
    return flow * run / share


def plain_tank_l(pump_flow_l_min: float, switch: str) -> float:
    """Volume of a plain (air-over-water) tank from the handbook chart.

    Why: plain tanks need three to five times the volume of a precharged one.
    Units: L/min; ``switch`` "20-40", "30-50" or "40-60" (psi); returns L.
    Range: 4 to 24 US gpm, straight lines between the printed pump sizes.
    Raises: ``OutsideValidRange`` outside or for another switch setting.
    Source: Private Water Systems handbook (published; read in a stored copy with digits run together).

    >>> round(plain_tank_l(4 * 3.785411784, "20-40") / 3.785411784)
    42
    """
    rows = figure(PRACTICE, "plain_tank").value
    if switch not in rows:
        raise OutsideValidRange("switch setting", switch, source=f"one of {', '.join(rows)} psi")
    flows, gallons = zip(*rows[switch], strict=True)
    gpm = within(
        "pump flow",
        pump_flow_l_min,
        low=flows[0] * L_PER_GAL - 1e-9,
        high=flows[-1] * L_PER_GAL + 1e-9,
        unit="L/min",
    )
    return float(np.interp(gpm / L_PER_GAL, flows, gallons)) * L_PER_GAL
