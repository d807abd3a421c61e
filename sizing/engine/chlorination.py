"""Feeding chlorine and shock-chlorinating: strengths, doses, pump settings, and what to keep in mind.

Contact and credit are in ``contact``, demand in ``oxidation``, boiling in ``boiling``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.oxidation import chlorine_demand
from sizing.engine.quantities import L_PER_GALLON
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import molar_mass
from sizing.engine.water import Number


@dataclass(frozen=True)
class ShockDose:
    """What a shock chlorination takes. ``bleach_l`` and ``granules_kg`` are alternatives, not a sum."""

    volume_l: float
    dose_mg_l: float
    chlorine_g: float
    bleach_l: float
    granules_kg: float
    findings: tuple[Finding, ...]


def strength_from_trade(trade_percent: Number) -> Any:
    """Available chlorine of a bleach sold by trade or weight-per-volume percent.

    Why: labels give trade %, calculations need g/L; weight % is another scale (``strength_from_weight``).
    Units: trade % in, g Cl2 per L out; float or array.
    Range: more than 0 and at most 20 %.
    Raises: ``OutsideValidRange`` outside that.
    Source: 12 trade % = 120 g/L, Indiana 327 IAC 8-3.4-24 (published).

    >>> strength_from_trade(12.0), strength_from_trade(5.25)
    (120.0, 52.5)
    """
    percent = within("trade percent", trade_percent, low=0.0, high=20.0, unit="%", low_open=True)
    return percent * figure("hypochlorite-practice", "trade_percent").value


def strength_from_weight(weight_percent: Number, density_kg_l: Number) -> Any:
    """Available chlorine of a bleach labelled in weight % of sodium hypochlorite.

    Why: 12 % by weight and 12 trade % are different bottles.
    Units: weight % NaOCl, kg/L in; g Cl2 per L out; floats or arrays.
    Range: more than 0 and at most 20 %; density 0.95 to 1.4 kg/L.
    Raises: ``OutsideValidRange`` outside that.
    Source: one mole of NaOCl counts as one of Cl2, 70.90 / 74.44 (computed).

    >>> round(strength_from_weight(12.0, 1.17), 1)
    133.7
    """
    percent = within("weight percent", weight_percent, low=0.0, high=20.0, unit="%", low_open=True)
    density = within("density", density_kg_l, low=0.95, high=1.4, unit="kg/L")
    return percent / 100.0 * density * 1000.0 * molar_mass("Cl2") / molar_mass("NaOCl")


def strength_left(strength_g_l: Number, days: Number, temperature_c: Number = 20.0) -> Any:
    """Available chlorine left in a bleach after standing.

    Why: a bottle from last season is weaker than its label; dose by what is left, or buy fresh.
    Units: g/L, days, degC in; g/L out; floats or arrays.
    Range: 1 to 160 g/L, days 0 to 1,000, 0 to 40 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: half-lives of 500 days at 5.25 % and 180 at 12.5 %, 3.5 times faster per 10 degC (from memory): a rough
    guide only, test the feed.

    >>> round(strength_left(125.0, 180.0), 1)
    62.5
    """
    strength = within("strength", strength_g_l, low=1.0, high=160.0, unit="g/L")
    days = within("days", days, low=0.0, high=1000.0, unit="d")
    temperature = within("temperature", temperature_c, low=0.0, high=40.0, unit="degC")
    rows = figure("hypochlorite-practice", "half_life").value
    per_percent = figure("hypochlorite-practice", "trade_percent").value
    log_life = np.interp(
        np.asarray(strength) / per_percent, [row[0] for row in rows], [np.log(row[1]) for row in rows]
    )
    faster = figure("hypochlorite-practice", "decay_per_10_degc").value ** ((temperature - 20.0) / 10.0)
    result = strength * 0.5 ** (days * faster / np.exp(log_life))
    return result if np.ndim(result) else float(result)


def chlorine_dose(
    iron: Number = 0.0,
    manganese: Number = 0.0,
    sulphide: Number = 0.0,
    *,
    residual: Number = 0.5,
    ammonia: Number = 0.0,
) -> Any:
    """Chlorine to feed: the demand first, then the residual wanted.

    Why: the residual only begins when iron, manganese, sulphide and ammonia are satisfied.
    Units: mg/L (sulphide as S, ammonia as N) in, mg/L Cl2 out; floats or arrays.
    Range: 0 and more; residual 0 to 4 mg/L. Ammonia is carried to breakpoint, else chlorine stays combined.
    Raises: ``OutsideValidRange`` outside that.
    Source: oxidation demand (computed); breakpoint 7.6 mg Cl2 per mg N, 3 Cl2 per 2 N (computed).

    >>> round(chlorine_dose(1.0, 0.2, 0.0, residual=0.5), 2)
    1.39
    """
    residual = within("residual", residual, low=0.0, high=4.0, unit="mg/L", source="MRDL, US EPA")
    per_nitrogen = 1.5 * molar_mass("Cl2") / molar_mass("N")
    breakpoint_need = within("ammonia", ammonia, low=0.0, unit="mg/L as N") * per_nitrogen
    return chlorine_demand(iron, manganese, sulphide) + breakpoint_need + residual


def feed_rate(flow_l_min: Number, dose_mg_l: Number, solution_g_l: Number) -> Any:
    """Setting of a feed pump that runs with the well pump.

    Why: the installer sets it, and the service visit checks it.
    Units: well-pump flow L/min, dose mg/L, solution g/L in; mL/min out; floats or arrays.
    Range: flow and solution more than 0, dose 0 and more.
    Raises: ``OutsideValidRange`` outside that.
    Source: flow x dose / strength (computed).

    >>> round(feed_rate(30.0, 2.0, 12.0), 2)
    5.0
    """
    flow = within("flow", flow_l_min, low=0.0, unit="L/min", low_open=True)
    dose = within("dose", dose_mg_l, low=0.0, unit="mg/L")
    return flow * dose / within("solution", solution_g_l, low=0.0, unit="g/L", low_open=True)


def solution_days(tank_l: Number, daily_l: Number, dose_mg_l: Number, solution_g_l: Number) -> Any:
    """Days a solution tank lasts.

    Why: it must be refilled before it is empty, and before it has lost its strength.
    Units: L, L/d, mg/L, g/L in; days out; floats or arrays.
    Range: all more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: mass balance (computed).

    >>> round(solution_days(60.0, 900.0, 2.0, 12.0))
    400
    """
    tank = within("tank", tank_l, low=0.0, unit="L", low_open=True)
    daily = within("daily volume", daily_l, low=0.0, unit="L/d", low_open=True)
    dose = within("dose", dose_mg_l, low=0.0, unit="mg/L", low_open=True)
    solution = within("solution", solution_g_l, low=0.0, unit="g/L", low_open=True)
    return tank * solution * 1000.0 / (daily * dose)


def emergency_drops(percent: float, litres: float, *, cloudy: bool = False) -> int:
    """Drops of plain bleach to a small volume of water in an emergency.

    Why: belongs on the sheet for a supply that is out; a stopgap, not a treatment.
    Units: bleach % (6 or 8.25, as labelled), L in; drops out. Leave 30 min; a slight chlorine smell should remain.
    Range: 5 to 9 % (below 7.5 % the row of 6 % is taken), 0.5 to 40 L; ``cloudy`` doubles it, as for coloured or very
    cold water.
    Raises: ``OutsideValidRange`` outside that.
    Source: US EPA emergency disinfection table: 8 drops of 6 % or 6 drops of 8.25 % to a US gallon (published).

    >>> emergency_drops(8.25, 3.785411784), emergency_drops(6.0, 3.785411784)
    (6, 8)
    """
    strength = within("bleach", percent, low=5.0, high=9.0, unit="%")
    volume = within("volume", litres, low=0.5, high=40.0, unit="L")
    rows = figure("shock-chlorination", "emergency_drops").value
    per_gallon = rows[1][1] if strength >= 7.5 else rows[0][1]
    drops = per_gallon * volume / L_PER_GALLON * (2.0 if cloudy else 1.0)
    return int(np.ceil(drops - 1e-9))


def water_in_casing(diameter_m: Number, water_column_m: Number) -> Any:
    """Water standing in a well casing.

    Why: shock dose goes by the water column, not by the depth of the well, and by geometry, as printed tables
    of gallons per foot contain misprints.
    Units: m in, L out; floats or arrays.
    Range: diameter 0.02 to 3 m, column 0 to 500 m.
    Raises: ``OutsideValidRange`` outside that.
    Source: pi/4 d2 h (computed).

    >>> round(water_in_casing(6 * 0.0254, 100 * 0.3048), 1)
    556.0
    """
    diameter = within("casing diameter", diameter_m, low=0.02, high=3.0, unit="m")
    column = within("water column", water_column_m, low=0.0, high=500.0, unit="m")
    return np.pi / 4.0 * diameter**2 * column * 1000.0


def shock_dose(
    volume_l: float,
    *,
    dose_mg_l: float | None = None,
    bleach_g_l: float | None = None,
    granules_share: float | None = None,
) -> ShockDose:
    """Bleach or granules to shock-chlorinate a volume of water.

    Why: tables of different agencies imply anything from 50 to 490 mg/L; compute it, show the volume, and say
    the cautions.
    Units: L (well column plus plumbing plus tanks), mg/L, g/L, mass share in; see ``ShockDose``.
    Range: volume more than 0; dose 1 to 500 mg/L (100 unless told; a remark outside 50 to 200), bleach 10 to
    160 g/L (52.5 unless told: plain 5.25 %), granules 0.2 to 0.8 (0.65 unless told).
    Raises: ``OutsideValidRange`` outside that.
    Source: volume x dose / strength (computed); 100 mg/L US CDC (published); band common practice.

    >>> round(shock_dose(556.1).bleach_l, 3)
    1.059
    """
    volume = float(within("volume", volume_l, low=0.0, unit="L", low_open=True))
    usual = figure("shock-chlorination", "usual").value if dose_mg_l is None else dose_mg_l
    dose = float(within("dose", usual, low=1.0, high=500.0, unit="mg/L"))
    bleach = strength_from_trade(5.25) if bleach_g_l is None else bleach_g_l
    bleach = float(within("bleach", bleach, low=10.0, high=160.0, unit="g/L"))
    share = figure("hypochlorite-practice", "granules").value[0] if granules_share is None else granules_share
    share = float(within("available chlorine of granules", share, low=0.2, high=0.8))
    chlorine_g = volume * dose / 1000.0
    low, high = figure("shock-chlorination", "band").value
    found = list(shock_cautions())
    if not low <= dose <= high:
        found.insert(
            0,
            Finding(
                "shock.dose",
                Severity.EQUIPMENT,
                f"{dose:g} mg/L is outside the planning band of {low:g} to {high:g} mg/L.",
                "Stronger attacks metal and is hard to flush; weaker may not reach all of the slime.",
                "free_chlorine",
                f"{figure('shock-chlorination', 'band').citation}, common practice",
            ),
        )
    return ShockDose(volume, dose, chlorine_g, chlorine_g / bleach, chlorine_g / 1000.0 / share, tuple(found))


_CAUTIONS = (
    (
        "mixing",
        Severity.HEALTH,
        "Never mix bleach with acid or ammonia cleaners: toxic gas.",
        "Plain unscented bleach only.",
    ),
    (
        "drinking",
        Severity.HEALTH,
        "Do not drink or bathe in the water while chlorine is above 4 mg/L.",
        "Use another supply until it is flushed.",
    ),
    (
        "bypass",
        Severity.EQUIPMENT,
        "Softener resin, carbon and membranes are harmed by strong chlorine.",
        "Bypass them first.",
    ),
    (
        "flush",
        Severity.EQUIPMENT,
        "The bulk of the flush does not go to the septic system, a lawn or surface water.",
        "Lead it where local rules allow.",
    ),
    (
        "sample",
        Severity.HEALTH,
        "A sample taken while chlorine is present proves nothing.",
        "Sample after 3 to 5 days of normal use, and again.",
    ),
    ("contact", Severity.NOTE, "Leave it 12 to 24 hours; local codes and licensed practice come first.", ""),
)


def shock_cautions() -> tuple[Finding, ...]:
    """The cautions that belong on every shock-chlorination sheet.

    Why: the chemistry is easy, the accidents are not.
    Units: none.
    Range: none.
    Raises: nothing.
    Source: Maine CDC, Mesa County, Alberta Agdex 716, US CDC (published); bypass common practice.

    >>> shock_cautions()[0].code
    'shock.mixing'
    """
    source = figure("shock-chlorination", "usual").citation
    return tuple(
        Finding(f"shock.{code}", severity, message, what, "free_chlorine", source)
        for code, severity, message, what in _CAUTIONS
    )
