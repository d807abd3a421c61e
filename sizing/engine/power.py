"""The 12 V budget: load, battery for days without sun, panel by month, cable for the voltage drop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.measures import M_PER_FT
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step

PRACTICE = "off-grid-practice"
DEPTH: float = figure(PRACTICE, "depth_of_discharge").value["lead_acid"]
VOLTS: float = figure(PRACTICE, "voltage").value["lead_acid"]
SYSTEM: float = figure(PRACTICE, "system_factor").value
DROP: float = figure(PRACTICE, "voltage_drop").value
SIZES = (18, 16, 14, 12, 10, 8, 6, 4, 2)


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


@dataclass(frozen=True)
class Load:
    """Something that draws power: watts while on, hours a day."""

    name: str
    watts: float
    hours_day: float


def daily_wh(loads: Sequence[Load]) -> float:
    """Energy all loads take in a day.

    Why: a lamp that burns day and night dominates everything: 40 W is 960 Wh.
    Units: W, h; returns Wh a day.
    Range: watts 0 to 10,000; hours 0 to 24.
    Raises: ``OutsideValidRange`` outside.
    Source: sum of power x time (computed).

    >>> daily_wh([Load("UV lamp", 40.0, 24.0)])
    960.0
    """
    total = 0.0
    for load in loads:
        watts = within(f"power of {load.name}", load.watts, low=0.0, high=10_000.0, unit="W")
        total += watts * within(f"hours of {load.name}", load.hours_day, low=0.0, high=24.0, unit="h")
    return float(total)


def battery_temperature_factor(temperature_c: Number, *, chemistry: str = "lead_acid") -> Any:
    """How much larger a battery must be in the cold.

    Why: a lead-acid battery at 0 degC holds well under three quarters of its rating.
    Units: degC, float or array; returns a factor of 1 or more.
    Range: -6.7 degC (20 degF) to 60 degC; 1 above 27 degC; lithium: 1, but no charging below 0 degC.
    Raises: ``OutsideValidRange`` below the table or for another chemistry.
    Source: multiplier table repeated on off-grid pages (common practice), straight lines between its points.

    >>> round(battery_temperature_factor(4.444), 3)
    1.3
    """
    if chemistry not in figure(PRACTICE, "depth_of_discharge").value:
        raise OutsideValidRange("battery chemistry", chemistry, source="lead_acid or lithium")
    celsius = within(
        "battery temperature",
        temperature_c,
        low=-6.7,
        high=60.0,
        unit="degC",
        source=figure(PRACTICE, "battery_temperature").citation,
    )
    x, y = zip(*figure(PRACTICE, "battery_temperature").value, strict=True)
    factor = np.interp(np.asarray(celsius) * 1.8 + 32.0, x, y)
    return _out(factor if chemistry == "lead_acid" else np.ones_like(factor))


def battery_ah(
    wh_day: Number,
    days: Number,
    *,
    volts: float = VOLTS,
    depth_of_discharge: float = DEPTH,
    temperature_factor: Number = 1.0,
    inverter_share: float = 1.0,
    cable_share: float = 1.0,
) -> Any:
    """Battery for so many days without sun.

    Why: grey days in a row decide, not the average.
    Units: Wh a day, days, V, shares; floats or arrays; returns Ah.
    Equation: Wh x days x temperature factor / (depth x V x inverter x cable).
    Range: 6 to 60 V; days more than 0 to 30; depth more than 0 to 1; shares more than 0 to 1; factor 1 to 3.
    Raises: ``OutsideValidRange`` outside.
    Source: sizing guide formulas (common practice).

    >>> battery_ah(960.0, 3.0)
    480.0
    """
    energy = within("daily energy", wh_day, low=0.0, unit="Wh")
    span = within("days without sun", days, low=0.0, high=30.0, unit="d", low_open=True)
    voltage = within("battery voltage", volts, low=6.0, high=60.0, unit="V")
    depth = within("depth of discharge", depth_of_discharge, low=0.0, high=1.0, low_open=True)
    cold = within("temperature factor", temperature_factor, low=1.0, high=3.0)
    inverter = within("inverter efficiency", inverter_share, low=0.0, high=1.0, low_open=True)
    cable = within("cable efficiency", cable_share, low=0.0, high=1.0, low_open=True)
    return _out(energy * span * cold / (depth * voltage * inverter * cable))


def array_w(wh_day: Number, sun_kwh_m2: Number, *, system_factor: float = SYSTEM) -> Any:
    """Panel that makes a day's energy in a day's sun.

    Why: the worst month in use decides.
    Units: Wh a day, kWh/m2 a day (= peak-sun hours), share; returns W of rated panel.
    Equation: W = E / (G K).
    Range: sun more than 0 to 15; factor more than 0 to 1.
    Raises: ``OutsideValidRange`` outside.
    Source: sizing guide formulas, K = 0.7 (common practice).

    >>> round(array_w(960.0, 3.5), 1)
    391.8
    """
    energy = within("daily energy", wh_day, low=0.0, unit="Wh")
    sun = within("sun", sun_kwh_m2, low=0.0, high=15.0, unit="kWh/m2 a day", low_open=True)
    return _out(energy / (sun * within("system factor", system_factor, low=0.0, high=1.0, low_open=True)))


def days_to_refill(wh_day: Number, days_without_sun: Number, made_wh: Number) -> Any:
    """Days of usual sun that fill the battery again after a dark spell.

    Why: a panel that makes only a little more than the day takes leaves the battery low for weeks.
    Units: Wh a day taken, days dark, Wh a day made; floats or arrays; returns days (infinite where nothing is left).
    Equation: E d / (M - E).
    Range: energies 0 or more; days more than 0 to 30.
    Raises: ``OutsideValidRange`` outside.
    Source: energy balance (computed).

    >>> days_to_refill(480.0, 3.0, 960.0)
    3.0
    """
    energy = within("daily energy", wh_day, low=0.0, unit="Wh")
    span = within("days without sun", days_without_sun, low=0.0, high=30.0, unit="d", low_open=True)
    spare = within("energy made", made_wh, low=0.0, unit="Wh") - energy
    return _out(np.where(spare > 1e-9, energy * span / np.maximum(spare, 1e-9), np.inf))


def awg_area_mm2(awg: Number) -> Any:
    """Copper area of a wire gauge.

    Why: cable on boats and cabins is sold by gauge or by area.
    Units: gauge number (solid); returns mm2.
    Range: 0 to 30 AWG.
    Raises: ``OutsideValidRange`` outside.
    Source: d = 0.127 x 92^((36 - n)/39) mm, ASTM B258 (published formula).

    >>> round(awg_area_mm2(16), 3)
    1.309
    """
    gauge = within("wire gauge", awg, low=0, high=30, unit="AWG")
    smallest, ratio, thinnest, steps = figure(PRACTICE, "awg").value
    return _out(np.pi / 4.0 * (smallest * ratio ** ((thinnest - np.asarray(gauge)) / steps)) ** 2)


def wire_ohm_per_m(awg: Number, *, temperature_c: float = 20.0) -> Any:
    """Resistance of solid copper wire.

    Why: published tables stand for different temperatures and builds, up to 25 % apart: fix it and say which.
    Units: gauge, degC; returns ohm/m.
    Range: 0 to 30 AWG; -40 to 105 degC.
    Raises: ``OutsideValidRange`` outside.
    Source: geometry and annealed copper, 0.017241 ohm mm2/m, 0.00393 per degC (from memory).

    >>> round(wire_ohm_per_m(12) * 304.8, 3)
    1.588
    """
    warm = within("wire temperature", temperature_c, low=-40.0, high=105.0, unit="degC")
    rho, slope = figure(PRACTICE, "copper").value
    return _out(rho * (1.0 + slope * (warm - 20.0)) / np.asarray(awg_area_mm2(awg)))


def voltage_drop_v(amps: Number, one_way_m: Number, ohm_per_m: Number) -> Any:
    """Voltage lost in a two-wire cable.

    Why: at 12 V, 3 % is only 0.36 V; a long thin cable starves a lamp ballast.
    Units: A, m one way (marine tables print the round trip), ohm/m of one wire; returns V.
    Equation: 2 L I R.
    Range: 0 to 1,000 A, 0 to 2,000 m; resistance 0 or more.
    Raises: ``OutsideValidRange`` outside.
    Source: Ohm's law (computed).

    >>> round(voltage_drop_v(3.5, 25 * 0.3048, 1.93 / 304.8), 4)
    0.3377
    """
    current = within("current", amps, low=0.0, high=1000.0, unit="A")
    length = within("cable length", one_way_m, low=0.0, high=2000.0, unit="m")
    return _out(2.0 * length * current * within("resistance", ohm_per_m, low=0.0, unit="ohm/m"))


def smallest_awg(
    amps: float, one_way_m: float, *, volts: float = VOLTS, drop_percent: float = DROP, temperature_c: float = 20.0
) -> int:
    """Thinnest even gauge that keeps the voltage drop.

    Why: what to pull from the battery to the lamp. Also keep the code's ampacity, which is not checked here.
    Units: A, m one way, V, %, degC of the wire; returns AWG.
    Range: 18 to 2 AWG; drop 0.1 to 20 %.
    Raises: ``OutsideValidRange`` where even 2 AWG loses more.
    Source: Ohm's law (computed); 3 % (common practice).

    >>> smallest_awg(5.0, 25 * 0.3048)
    10
    """
    most = volts * within("voltage drop", drop_percent, low=0.1, high=20.0, unit="%") / 100.0
    for gauge in SIZES:
        if voltage_drop_v(amps, one_way_m, wire_ohm_per_m(gauge, temperature_c=temperature_c)) <= most:
            return gauge
    raise OutsideValidRange(
        "current over this length", amps, unit="A", source=f"2 AWG loses more than {drop_percent:g} % at {volts:g} V"
    )


def wire_index(amps: float, one_way_m: float, volts: float, drop_percent: float) -> float:
    """Wire index of printed charts: A x ft / (V x %).

    Why: second method, for those who use the charts.
    Units: A, m one way, V, %; returns the index.
    Range: all more than 0; drop at most 20 %.
    Raises: ``OutsideValidRange`` outside.
    Source: chart formula (common practice).

    >>> round(wire_index(10.0, 30.48, 24.0, 2.0), 2)
    20.83
    """
    volt = within("voltage", volts, low=0.0, unit="V", low_open=True)
    share = within("voltage drop", drop_percent, low=0.0, high=20.0, unit="%", low_open=True)
    return float(amps * one_way_m / M_PER_FT / (volt * share))


@dataclass(frozen=True)
class PowerBudget:
    """Load, battery and panel; ``spare_wh`` by month (1-12) in use, ``worst_month`` the one that decides."""

    wh_day: float
    battery_ah: float
    array_w: float
    worst_month: int
    made_wh: tuple[float, ...]
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def power_budget(
    loads: Sequence[Load],
    sun_kwh_m2: Sequence[float],
    months_open: Sequence[int],
    *,
    days_without_sun: float = 3.0,
    chemistry: str = "lead_acid",
    coldest_c: float = 10.0,
    panel_w: float | None = None,
) -> PowerBudget:
    """Battery and panel of a 12 V site for the months it is in use.

    Why: decides whether a UV lamp can run at a cabin at all, and on what.
    Units: loads W and h; twelve kWh/m2 a day (see ``sun.monthly_sun_kwh_m2``); months 1-12; days; degC of the
    battery; ``panel_w`` = one already there; returns Wh, Ah, W.
    Range: as the functions used.
    Raises: ``OutsideValidRange`` outside, without months or without twelve values.
    Source: sizing guide formulas (common practice); clear-sky sun x stated clearness (computed).

    >>> sun = [2.0, 3.0, 4.0, 5.0, 6.0, 6.5, 6.0, 5.5, 4.5, 3.0, 2.0, 1.5]
    >>> budget = power_budget([Load("UV lamp", 20.0, 24.0)], sun, [5, 6, 7, 8, 9])
    >>> budget.worst_month, round(budget.array_w)
    (9, 152)
    """
    if len(sun_kwh_m2) != 12:
        raise OutsideValidRange("sun by month", len(sun_kwh_m2), low=12, high=12, unit="values")
    if not months_open or not set(months_open) <= set(range(1, 13)):
        raise OutsideValidRange("months in use", list(months_open), source="numbers 1 to 12, at least one")
    energy = daily_wh(loads)
    factor = float(battery_temperature_factor(coldest_c, chemistry=chemistry))
    depth = figure(PRACTICE, "depth_of_discharge").value[chemistry]
    volts = figure(PRACTICE, "voltage").value[chemistry]
    battery = float(
        battery_ah(energy, days_without_sun, volts=volts, depth_of_discharge=depth, temperature_factor=factor)
    )
    worst = min(months_open, key=lambda month: sun_kwh_m2[month - 1])
    panel = float(array_w(energy, sun_kwh_m2[worst - 1]))
    system = figure(PRACTICE, "system_factor")
    made = tuple(float(sun) * (panel if panel_w is None else panel_w) * system.value for sun in sun_kwh_m2)
    steps = (
        Step(
            "E",
            "energy a day",
            energy,
            "Wh",
            " + ".join(f"{load.watts:g} W x {load.hours_day:g} h" for load in loads),
            "",
            "computed",
        ),
        Step(
            "C",
            f"battery for {days_without_sun:g} days",
            battery,
            "Ah",
            f"{energy:g} x {days_without_sun:g} x {factor:.2f} / ({depth:g} x {volts:g})",
            "sizing guide formulas",
            "common practice",
        ),
        Step(
            "W",
            f"panel for the worst month in use ({worst})",
            panel,
            "W",
            f"{energy:g} / ({sun_kwh_m2[worst - 1]:.2f} x {system.value:g})",
            system.citation,
            "common practice",
        ),
    )
    return PowerBudget(
        energy, battery, panel, worst, made, steps, _findings(energy, made, months_open, chemistry, coldest_c)
    )


def _findings(
    energy: float, made: Sequence[float], months: Sequence[int], chemistry: str, coldest: float
) -> tuple[Finding, ...]:
    found = []
    short = [month for month in months if made[month - 1] < energy - 1e-9]
    if short:
        found.append(
            Finding(
                "panel_short",
                Severity.EQUIPMENT,
                f"The panel does not make the day's energy in month {', '.join(str(m) for m in sorted(short))}.",
                "A larger panel, a lamp of less power, or a generator for those weeks.",
                "power",
                figure(PRACTICE, "system_factor").citation,
            )
        )
    if chemistry == "lithium" and coldest < figure(PRACTICE, "lithium_no_charge_below").value:
        found.append(
            Finding(
                "lithium_cold",
                Severity.EQUIPMENT,
                f"Lithium cells must not be charged at {coldest:g} degC.",
                "A heated battery box or a charger that cuts off below 0 degC.",
                "battery",
                "from memory",
            )
        )
    return tuple(found)
