"""Granular beds: clean loss, fluidisation, expansion and backwash flow against water temperature, tank areas."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.liquid import density_and_viscosity
from sizing.engine.measures import GRAVITY, M_H_PER_GPM_FT2, M_PER_IN
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step

BOOK = "media-hydraulics"
PRACTICE = "media-practice"


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


@dataclass(frozen=True)
class Medium:
    """A bed medium. Rates are m/h at ``reference_c``; grain data illustrate the effect of temperature."""

    code: str
    name: str
    service_low_m_h: float
    service_high_m_h: float
    backwash_low_m_h: float
    backwash_high_m_h: float
    d60_mm: float
    grain_kg_m3: float
    porosity: float
    expansion: float
    reference_c: float


@cache
def medium(code: str) -> Medium:
    """A bed medium by its code.

    Why: service and backwash rate decide tank size; on a small pump the backwash does.
    Units: rates m/h, grain mm, density kg/m3 (wet grain).
    Range: the codes of the table.
    Raises: ``OutsideValidRange`` naming them.
    Source: trade practice (common practice); grain data illustrative.

    >>> round(medium("carbon").backwash_high_m_h / 2.44475, 1)
    10.0
    """
    rows = figure(PRACTICE, "media").value
    if code not in rows:
        raise OutsideValidRange("medium", code, source=f"one of {', '.join(rows)}")
    row = rows[code]
    low, high, wash_low, wash_high = (rate * M_H_PER_GPM_FT2 for rate in row["gpm_ft2"])
    reference = figure(PRACTICE, "reference_temperature").value
    d60, heavy, voids = row["grain"]
    return Medium(code, row["name"], low, high, wash_low, wash_high, d60, heavy, voids, row["expansion"], reference)


def tank_area_m2(diameter_in: Number) -> Any:
    """Cross-section of a tank from its nominal diameter.

    Why: all bed rates are per area; a fibreglass tank is some per cent smaller inside.
    Units: nominal inches, float or array; returns m2.
    Range: 4 to 72 in.
    Raises: ``OutsideValidRange`` outside.
    Source: pi/4 d^2 (computed).

    >>> round(tank_area_m2(10.0) / 0.09290304, 4)
    0.5454
    """
    return _out(np.pi / 4 * (within("tank diameter", diameter_in, low=4.0, high=72.0, unit="in") * M_PER_IN) ** 2)


def rate_m_h(flow_l_min: Number, area_m2: Number) -> Any:
    """Rate over a bed, flow per area.

    Why: compares a flow with the rate a medium bears.
    Units: L/min, m2; returns m/h.
    Range: flow 0 to 10,000 L/min; area more than 0.
    Raises: ``OutsideValidRange`` outside.
    Source: Q / A (computed); 1 US gpm/ft2 is 2.44475 m/h.

    >>> round(rate_m_h(3.785411784, 0.09290304), 5)
    2.44475
    """
    flow = within("flow", flow_l_min, low=0.0, high=10_000.0, unit="L/min")
    return _out(flow * 0.06 / within("area", area_m2, low=0.0, unit="m2", low_open=True))


def flow_at_rate_l_min(rate: Number, area_m2: Number) -> Any:
    """Flow that gives a rate over an area: backwash or service flow.

    Why: a 12 in tank at 15 gpm/ft2 asks for 45 L/min, more than many well pumps have.
    Units: m/h, m2; returns L/min.
    Range: rate 0 to 500 m/h; area more than 0.
    Raises: ``OutsideValidRange`` outside.
    Source: Q = v A (computed).

    >>> round(flow_at_rate_l_min(10 * 2.44475, tank_area_m2(10.0)) / 3.785411784, 2)
    5.45
    """
    speed = within("rate", rate, low=0.0, high=500.0, unit="m/h")
    return _out(speed * within("area", area_m2, low=0.0, unit="m2", low_open=True) / 0.06)


def ergun_kpa(
    rate: Number,
    depth_m: Number,
    grain_mm: float,
    porosity: float,
    *,
    temperature_c: Number = 10.0,
    shape: float = 1.0,
    liquid: tuple[float, float] | None = None,
) -> Any:
    """Pressure lost in a clean bed.

    Why: the part of a tank's loss that the bed itself takes.
    Units: m/h, m, mm, share of voids, degC, shape factor, ``liquid`` (kg/m3, Pa s) where not water; floats or
    arrays of rate, depth, temperature; returns kPa.
    Equation: dp/L = 150 mu (1-e)^2 v / (e^3 d^2) + 1.75 rho (1-e) v^2 / (e^3 d), d = grain x shape.
    Range: rate 0 to 500 m/h; depth 0 to 5 m; grain 0.05 to 20 mm; shape 0.3 to 1; porosity 0.2 to 0.8; 1 < Re_Erg <
    700 (below, the first term alone rules; above it over-predicts).
    Raises: ``OutsideValidRange`` outside.
    Source: Ergun (published); checked against the fluids library.

    >>> round(ergun_kpa(0.00339549 * 3600, 0.6096, 0.55, 0.42) / 6.894757, 3)
    0.908
    """
    speed = within("rate", rate, low=0.0, high=500.0, unit="m/h") / 3600.0
    depth = within("bed depth", depth_m, low=0.0, high=5.0, unit="m")
    e = within("porosity", porosity, low=0.2, high=0.8)
    d = (
        within("grain size", grain_mm, low=0.05, high=20.0, unit="mm")
        / 1000.0
        * within("shape factor", shape, low=0.3, high=1.0)
    )
    rho, mu = liquid or density_and_viscosity(temperature_c)
    laminar, turbulent = figure(BOOK, "ergun").value
    loss = laminar * mu * (1 - e) ** 2 * speed / (e**3 * d**2) + turbulent * rho * (1 - e) * speed**2 / (e**3 * d)
    return _out(loss * depth / 1000.0)


def _galileo(grain_mm: Number, grain_kg_m3: Number, temperature_c: Number) -> tuple[Any, Any, Any]:
    d = within("grain size", grain_mm, low=0.05, high=20.0, unit="mm") / 1000.0
    heavy = within("wet grain density", grain_kg_m3, low=1005.0, high=8000.0, unit="kg/m3",
                   source="wet, pore-filled grain, never the bulk density")  # fmt: skip
    rho, mu = density_and_viscosity(temperature_c)
    return d**3 * rho * (heavy - rho) * GRAVITY / mu**2, d, mu / rho


def fluidisation_m_h(grain_mm: Number, grain_kg_m3: Number, *, temperature_c: Number = 10.0) -> Any:
    """Rate at which a bed begins to lift.

    Why: below it a backwash cleans nothing.
    Units: mm (the 90th-percentile grain), kg/m3 of the wet grain, degC; returns m/h.
    Equation: Re = sqrt(33.7^2 + 0.0408 Ga) - 33.7, Ga = d^3 rho (rho_s - rho) g / mu^2.
    Range: 0.05 to 20 mm; density above water; 0 to 100 degC. Measured values differ up to 26 %.
    Raises: ``OutsideValidRange`` outside.
    Source: Wen and Yu, as Hendricks equation 12.56 (published).

    >>> round(fluidisation_m_h(2.0, 2650.0, temperature_c=25.0), 1)
    87.7
    """
    a, b = figure(BOOK, "wen_yu").value
    ga, d, nu = _galileo(grain_mm, grain_kg_m3, temperature_c)
    return _out((np.sqrt(a**2 + b * ga) - a) * nu / d * 3600.0)


def expansion_share(
    rate: Number, grain_mm: Number, grain_kg_m3: Number, porosity: float, *, temperature_c: Number = 10.0
) -> Any:
    """Rise of a bed in backwash as a share of its depth at rest.

    Why: too little does not clean, too much carries the medium out; cold water lifts more at the same flow.
    Units: m/h, mm (60th-percentile grain), kg/m3 wet, voids at rest, degC; returns a fraction (0.3 = 30 %).
    Equation: Ga e^4.7 = 18 R + 2.7 R^1.687; (h - h0)/h0 = (e - e0)/(1 - e); less than 0 is 0.
    Range: rate 0 to 500 m/h; porosity 0.2 to 0.8; e below 1; at and above it grains are carried out: infinity is
    returned.
    Raises: ``OutsideValidRange`` outside the grain and temperature range.
    Source: Hendricks Example 12.9 (published; all nine rows reproduced at 15 degC).

    >>> round(expansion_share(30.0, 0.736, 2655.0, 0.407, temperature_c=15.0), 2)
    0.12
    """
    rest = within("porosity", porosity, low=0.2, high=0.8)
    speed = within("rate", rate, low=0.0, high=500.0, unit="m/h") / 3600.0
    power, a, b, exponent = figure(BOOK, "expansion").value
    ga, d, nu = _galileo(grain_mm, grain_kg_m3, temperature_c)
    reynolds = speed * d / nu
    e = ((a * reynolds + b * reynolds**exponent) / ga) ** (1.0 / power)
    safe = np.minimum(e, 1.0 - 1e-9)
    return _out(np.where(np.asarray(e) >= 1.0, np.inf, np.maximum((safe - rest) / (1.0 - safe), 0.0)))


def backwash_rate_m_h(
    expansion: Number, grain_mm: Number, grain_kg_m3: Number, porosity: float, *, temperature_c: Number = 10.0
) -> Any:
    """Backwash rate for a wanted expansion.

    Why: the drain-line flow control is chosen for the water of the season: a summer setting washes media out in
    spring.
    Units: share (0.3 = 30 %), mm, kg/m3 wet, voids at rest, degC; floats or arrays; returns m/h.
    Equation: e = (x + e0)/(1 + x), then 18 R + 2.7 R^1.687 = Ga e^4.7 solved for R.
    Range: expansion more than 0 to 3; porosity 0.2 to 0.8.
    Raises: ``OutsideValidRange`` outside.
    Source: Hendricks Example 12.9 (published); over-predicts for angular carbon.

    >>> round(backwash_rate_m_h(0.3, 0.55, 2650.0, 0.42, temperature_c=10.0) / 2.44475, 1)
    13.8
    """
    rise = within("expansion", expansion, low=0.0, high=3.0, low_open=True)
    rest = within("porosity", porosity, low=0.2, high=0.8)
    power, a, b, exponent = figure(BOOK, "expansion").value
    ga, d, nu = _galileo(grain_mm, grain_kg_m3, temperature_c)
    target = ga * ((rise + rest) / (1.0 + rise)) ** power
    reynolds = target / (a + b * np.maximum(target / a, 1.0) ** (exponent - 1.0))  # a start on the low side
    for _ in range(40):
        value = a * reynolds + b * reynolds**exponent - target
        step = value / (a + b * exponent * reynolds ** (exponent - 1.0))
        reynolds = np.maximum(reynolds - step, reynolds / 10.0)
        if np.all(np.abs(step) <= 1e-13 * reynolds):
            break
    return _out(reynolds * nu / d * 3600.0)


def settling_exponent_porosity(
    rate: Number, settling_m_s: Number, grain_mm: Number, *, temperature_c: Number = 10.0
) -> Any:
    """Voids of an expanded layer from the settling velocity of its grains (Richardson-Zaki form).

    Why: second method beside ``expansion_share``.
    Units: m/h, m/s, mm, degC; returns a fraction.
    Equation: e = (v_b / v_s)^(0.2247 R^0.1), R = v_s d / nu.
    Range: grain 0.05 to 20 mm; settling at most 2 m/s; rate below the settling velocity; above it the layer is
    carried out.
    Raises: ``OutsideValidRange`` outside.
    Source: Davis Example 11-3 (published).

    >>> round(settling_exponent_porosity(36.0, 0.277891, 2.0), 3)
    0.254
    """
    fall = within("settling velocity", settling_m_s, low=0.0, high=2.0, unit="m/s", low_open=True)
    speed = within("rate", rate, low=0.0, high=float(np.max(fall)) * 3600.0, unit="m/h") / 3600.0
    rho, mu = density_and_viscosity(temperature_c)
    d = within("grain size", grain_mm, low=0.05, high=20.0, unit="mm") / 1000.0
    scale, power = figure(BOOK, "expansion_exponent").value
    return _out((speed / fall) ** (scale * (fall * d * rho / mu) ** power))


def temperature_factor(code: str, temperature_c: Number) -> Any:
    """Backwash rate at a temperature as a share of the practice rate.

    Why: practice rates hold near 15 degC; 5 degC water needs about a fifth less, 25 degC water more.
    Units: degC, float or array; returns a fraction.
    Range: 0 to 40 degC.
    Raises: ``OutsideValidRange`` outside or for an unknown medium.
    Source: ratio of ``backwash_rate_m_h`` (computed) with illustrative grains; the rates are common practice.

    >>> 0.7 < temperature_factor("softening_resin", 5.0) < 0.9
    True
    """
    row = medium(code)
    within("water temperature", temperature_c, low=0.0, high=40.0, unit="degC")
    grain = (row.expansion, row.d60_mm, row.grain_kg_m3, row.porosity)
    there = backwash_rate_m_h(*grain, temperature_c=temperature_c)
    return _out(there / backwash_rate_m_h(*grain, temperature_c=row.reference_c))


@dataclass(frozen=True)
class BackwashNeed:
    """Backwash flow a tank wants: ``flow_l_min`` the least that cleans, ``most_l_min`` the most that stays in."""

    flow_l_min: float
    most_l_min: float
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def backwash_need(
    code: str, diameter_in: float, *, temperature_c: float, pump_l_min: float | None = None
) -> BackwashNeed:
    """Backwash flow of a tank in water of a temperature, against what the pump has.

    Why: backwash, not service, decides tank size on small pumps.
    Units: nominal in, degC, L/min; returns L/min.
    Range: 4 to 72 in; 0 to 40 degC.
    Raises: ``OutsideValidRange`` outside or for an unknown medium.
    Source: practice rates (common practice) x temperature factor (computed).

    >>> need = backwash_need("multilayer", 12.0, temperature_c=15.0, pump_l_min=40.0)
    >>> round(need.flow_l_min, 1), need.findings[0].code
    (44.6, 'backwash_beyond_pump')
    """
    row, area = medium(code), float(tank_area_m2(diameter_in))
    factor = float(temperature_factor(code, temperature_c))
    least = float(flow_at_rate_l_min(row.backwash_low_m_h, area)) * factor
    most = float(flow_at_rate_l_min(row.backwash_high_m_h, area)) * factor
    low, high = row.backwash_low_m_h, row.backwash_high_m_h
    steps = (
        Step("A", "cross-section of the tank", area, "m2", f"pi/4 x ({diameter_in:g} in)^2", "", "computed"),
        Step(
            "vb",
            f"backwash rate of {row.name.lower()}",
            low,
            "m/h",
            f"{low:.1f} to {high:.1f} at {row.reference_c:g} degC",
            figure(PRACTICE, "media").citation,
            "common practice",
        ),
        Step(
            "kT",
            f"at {temperature_c:g} degC",
            factor,
            "",
            "same expansion, other viscosity",
            figure(BOOK, "expansion").citation,
            "computed",
        ),
        Step(
            "Qb",
            "backwash flow",
            least,
            "L/min",
            f"{low:.1f} x {area:.4f} x {factor:.2f} / 0.06",
            "",
            "computed",
            "flow",
        ),
    )
    findings: tuple[Finding, ...] = ()
    if pump_l_min is not None and pump_l_min < least:
        findings = (
            Finding(
                "backwash_beyond_pump",
                Severity.EQUIPMENT,
                f"The backwash wants {least:.1f} L/min, the pump gives {pump_l_min:.1f} L/min.",
                "A smaller tank (two side by side, washed in turn), a lighter medium, or a larger pump.",
                "backwash",
                figure(PRACTICE, "media").citation,
            ),
        )
    return BackwashNeed(least, most, steps, findings)


def freeboard_m(tank_height_m: Number, bed_depth_m: Number) -> Any:
    """Free height above the bed.

    Why: the bed must have room to rise in backwash.
    Units: m (inside height), m; returns m (negative = overfilled).
    Range: 0 to 5 m.
    Raises: ``OutsideValidRange`` outside.
    Source: geometry (computed).

    >>> round(freeboard_m(1.37, 0.8), 2)
    0.57
    """
    height = within("tank height", tank_height_m, low=0.0, high=5.0, unit="m")
    return _out(height - within("bed depth", bed_depth_m, low=0.0, high=5.0, unit="m"))


def bed_depth_m(volume_l: Number, diameter_in: Number) -> Any:
    """Depth of a bed from its volume.

    Why: calcite wants 0.8 to 0.9 m; freeboard follows from it.
    Units: L, nominal in; returns m.
    Range: volume 0 to 5,000 L.
    Raises: ``OutsideValidRange`` outside.
    Source: V / A (computed).

    >>> round(bed_depth_m(42.0, 10.0), 2)
    0.83
    """
    volume = within("bed volume", volume_l, low=0.0, high=5000.0, unit="L")
    return _out(volume / 1000.0 / tank_area_m2(diameter_in))
