"""Cold tanks in humid rooms: dew point, surface temperature bare and jacketed, jacket thickness and size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.measures import ATMOSPHERE, GRAVITY
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step

PRACTICE = "condensation"
FOAM: float = figure(PRACTICE, "neoprene_conductivity").value
FILM: float = figure(PRACTICE, "film_still_air").value


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


def _air(air_c: Number, humidity_percent: Number) -> tuple[Any, Any]:
    air = within("air temperature", air_c, low=0.0, high=60.0, unit="degC")
    return air, within(
        "relative humidity", humidity_percent, low=1.0, high=100.0, unit="%", source="per cent, not a fraction"
    )


def dew_point_c(air_c: Number, humidity_percent: Number) -> Any:
    """Dew point of room air.

    Why: a surface colder than it drips.
    Units: degC, % (not a fraction), floats or arrays; returns degC.
    Range: 0 to 60 degC; 1 to 100 %.
    Raises: ``OutsideValidRange`` outside (0 % has no dew point).
    Source: ASHRAE Fundamentals formulation through ``psychrolib`` (published).

    >>> round(dew_point_c(25.0, 60.0), 2)
    16.7
    """
    air, humidity = _air(air_c, humidity_percent)
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    if not np.ndim(air) and not np.ndim(humidity):
        return float(psychrolib.GetTDewPointFromRelHum(air, humidity / 100.0))
    pairs = np.broadcast(air, humidity)
    return np.array([psychrolib.GetTDewPointFromRelHum(float(t), float(h) / 100.0) for t, h in pairs]).reshape(
        pairs.shape
    )


def saturation_kpa(temperature_c: float) -> float:
    """Vapour pressure of saturated air, over ice below 0 degC.

    Why: how much water the air of a room can hold.
    Units: degC; returns kPa.
    Range: -40 to 100 degC.
    Raises: ``OutsideValidRange`` outside.
    Source: ASHRAE Fundamentals 2017 chapter 1 through ``psychrolib`` (published).

    >>> round(saturation_kpa(25.0), 4)
    3.1692
    """
    celsius = within("air temperature", temperature_c, low=-40.0, high=100.0, unit="degC")
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetSatVapPres(float(celsius)) / 1000.0)


def dew_point_magnus_c(air_c: Number, humidity_percent: Number) -> Any:
    """Dew point in closed form, the second method.

    Why: quick for many draws, within 0.02 degC of the first from 10 to 30 degC.
    Units: degC, %, floats or arrays; returns degC.
    Equation: g = ln(RH/100) + a T/(b + T); Td = b g/(a - g), a = 17.62, b = 243.12 (never mixed with another set).
    Range: 0 to 60 degC; 1 to 100 %.
    Raises: ``OutsideValidRange`` outside.
    Source: Magnus form (published constants).

    >>> round(dew_point_magnus_c(25.0, 60.0), 2)
    16.69
    """
    air, humidity = _air(air_c, humidity_percent)
    a, b, _ = figure(PRACTICE, "magnus_water").value
    g = np.log(np.asarray(humidity) / 100.0) + a * air / (b + air)
    return _out(b * g / (a - g))


def film_coefficient(surface_c: Number, air_c: Number, *, height_m: float = 1.4, emittance: float = 0.9) -> Any:
    """Heat from still room air to a cold upright surface, convection and radiation together.

    Why: radiation is the larger half: a shiny cover makes the surface colder and sweating worse.
    Units: degC, degC, m, share; floats or arrays; returns W/m2K.
    Equation: Churchill and Chu for a vertical plate, plus e s (Ts^2 + Ta^2)(Ts + Ta).
    Range: -10 to 60 degC, surface and air at least 0.01 K apart; height 0.1 to 3 m; emittance 0 to 1.
    Raises: ``OutsideValidRange`` outside.
    Source: Churchill-Chu and Stefan-Boltzmann (published), air properties by Sutherland (from memory); 8.0 to 8.7
    here.

    >>> round(film_coefficient(8.0, 25.0, height_m=1.37), 1)
    8.7
    """
    cold = within("surface temperature", surface_c, low=-10.0, high=60.0, unit="degC") + 273.15
    warm = within("air temperature", air_c, low=-10.0, high=60.0, unit="degC") + 273.15
    tall = within("height", height_m, low=0.1, high=3.0, unit="m")
    gray = within("emittance", emittance, low=0.0, high=1.0)
    film = (cold + warm) / 2.0
    mu0, mu1 = figure(PRACTICE, "air_viscosity").value
    k0, k1, k2 = figure(PRACTICE, "air_conductivity").value
    gas, heat, stefan = figure(PRACTICE, "air_constants").value
    viscosity = mu0 * film**1.5 / (film + mu1)
    conductivity = k0 * film**0.5 / (1.0 + k1 * 10.0 ** (-k2 / film) / film)
    density = ATMOSPHERE * 1000.0 / (gas * film)
    prandtl = heat * viscosity / conductivity
    kinematic = viscosity / density
    gap = np.maximum(np.abs(warm - cold), 0.01)
    rayleigh = GRAVITY / film * gap * tall**3 / kinematic**2 * prandtl
    nusselt = (0.825 + 0.387 * rayleigh ** (1 / 6) / (1.0 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    return _out(nusselt * conductivity / tall + gray * stefan * (cold**2 + warm**2) * (cold + warm))


def surface_c(
    water_c: Number,
    air_c: Number,
    *,
    thickness_mm: Number,
    conductivity: float = FOAM,
    film: Number = FILM,
    tank_m: float | None = None,
) -> Any:
    """Outer surface temperature of a wall or jacket over cold water.

    Why: shows whether a jacket keeps the surface above the dew point.
    Units: degC, degC, mm, W/mK, W/m2K, tank diameter m (``None`` = flat); floats or arrays; returns degC.
    Equation: Ts = Ta - (Ta - Tw) / (1 + h R), R = t/k flat, r2 ln(r2/r1)/k round.
    Range: water 0 to 40, air 0 to 60 degC; thickness 0 to 200 mm; k 0.01 to 5; h 1 to 50; tank 0.05 to
    3 m.
    Raises: ``OutsideValidRange`` outside.
    Source: steady conduction in series (computed); film 8.29 and neoprene 0.054 from memory.

    >>> round(surface_c(8.0, 25.0, thickness_mm=5.0), 2)
    15.38
    """
    water = within("water temperature", water_c, low=0.0, high=40.0, unit="degC")
    air = within("air temperature", air_c, low=0.0, high=60.0, unit="degC")
    thick = within("thickness", thickness_mm, low=0.0, high=200.0, unit="mm") / 1000.0
    k = within("conductivity", conductivity, low=0.01, high=5.0, unit="W/mK")
    h = within("film coefficient", film, low=1.0, high=50.0, unit="W/m2K")
    if tank_m is None:
        resistance = thick / k
    else:
        inner = within("tank diameter", tank_m, low=0.05, high=3.0, unit="m") / 2.0
        resistance = (inner + thick) * np.log((inner + thick) / inner) / k
    return _out(air - (air - water) / (1.0 + h * resistance))


def least_jacket_mm(
    water_c: Number, air_c: Number, humidity_percent: Number, *, conductivity: float = FOAM, film: Number = FILM
) -> Any:
    """Least thickness of a flat jacket that stays dry.

    Why: 3 to 5 mm is not enough in a humid basement: 25 degC at 80 % over 8 degC water wants 23 mm.
    Units: degC, degC, %, W/mK, W/m2K; floats or arrays; returns mm (0 = a bare surface stays dry, infinite at 100
    %).
    Equation: t = (k/h)(Td - Tw)/(Ta - Td).
    Range: as ``surface_c`` and ``dew_point_magnus_c``.
    Raises: ``OutsideValidRange`` outside.
    Source: steady conduction (computed), Magnus dew point (published).

    >>> round(least_jacket_mm(8.0, 25.0, 60.0), 2)
    6.82
    """
    dew = np.asarray(dew_point_magnus_c(air_c, humidity_percent))
    water = within("water temperature", water_c, low=0.0, high=40.0, unit="degC")
    k = within("conductivity", conductivity, low=0.01, high=5.0, unit="W/mK")
    h = within("film coefficient", film, low=1.0, high=50.0, unit="W/m2K")
    spread = np.asarray(air_c) - dew
    need = np.maximum(dew - water, 0.0)
    thick = np.where(spread > 1e-9, k / h * need / np.maximum(spread, 1e-9) * 1000.0, np.where(need > 0, np.inf, 0.0))
    return _out(thick)


def jacket_size_m(tank_m: float, height_m: float, thickness_mm: float) -> tuple[float, float]:
    """Length round and height of the sheet for a tank jacket.

    Why: what to cut or order.
    Units: tank diameter m, height m, mm; returns (round, height) in m; the round is at mid-thickness.
    Range: diameter 0.1 to 2 m; height 0.2 to 3 m; 1 to 50 mm.
    Raises: ``OutsideValidRange`` outside.
    Source: geometry (computed).

    >>> [round(side, 3) for side in jacket_size_m(0.257, 1.37, 5.0)]
    [0.823, 1.37]
    """
    across = within("tank diameter", tank_m, low=0.1, high=2.0, unit="m")
    tall = within("tank height", height_m, low=0.2, high=3.0, unit="m")
    thick = within("thickness", thickness_mm, low=1.0, high=50.0, unit="mm") / 1000.0
    return float(np.pi * (across + thick)), float(tall)


@dataclass(frozen=True)
class SweatCheck:
    """Whether a tank drips bare and jacketed, and the least jacket."""

    dew_point_c: float
    bare_c: float
    jacketed_c: float | None
    least_mm: float
    drips_bare: bool
    drips_jacketed: bool | None
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def check_sweat(
    water_c: float,
    air_c: float,
    humidity_percent: float,
    *,
    jacket_mm: float | None = None,
    tank_m: float | None = None,
) -> SweatCheck:
    """Whether a cold tank drips, bare and with a jacket.

    Why: puddles, rot and mould in crawl spaces; the cure is a jacket thick enough.
    Units: coldest water degC, room air degC, %, mm, tank diameter m.
    Range: as ``surface_c``.
    Raises: ``OutsideValidRange`` outside.
    Source: ASHRAE dew point (published), steady conduction (computed), film and conductivity from memory.

    >>> answer = check_sweat(8.0, 25.0, 60.0, jacket_mm=5.0)
    >>> answer.drips_bare, answer.drips_jacketed
    (True, True)
    """
    dew = float(dew_point_c(air_c, humidity_percent))
    wall_mm, wall_k = figure(PRACTICE, "fibreglass_wall").value
    film, foam = figure(PRACTICE, "film_still_air"), figure(PRACTICE, "neoprene_conductivity")
    bare = float(surface_c(water_c, air_c, thickness_mm=wall_mm, conductivity=wall_k, film=film.value))
    least = float(least_jacket_mm(water_c, air_c, humidity_percent, conductivity=foam.value, film=film.value))
    worn = None
    if jacket_mm is not None:
        worn = float(
            surface_c(water_c, air_c, thickness_mm=jacket_mm, conductivity=foam.value, film=film.value, tank_m=tank_m)
        )
    drips, drips_worn = bare < dew, None if worn is None else worn < dew
    steps = _sweat_steps((water_c, air_c, humidity_percent), dew, bare, least, worn, jacket_mm)
    findings = _drips(dew, least) if drips_worn or (drips and worn is None) else ()
    return SweatCheck(dew, bare, worn, least, drips, drips_worn, steps, findings)


def _sweat_steps(
    room: tuple[float, float, float],
    dew: float,
    bare: float,
    least: float,
    worn: float | None,
    jacket_mm: float | None,
) -> tuple[Step, ...]:
    water_c, air_c, humidity_percent = room
    film, foam = figure(PRACTICE, "film_still_air"), figure(PRACTICE, "neoprene_conductivity")
    steps = [
        Step(
            "Td",
            "dew point of the room",
            dew,
            "degC",
            f"{air_c:g} degC at {humidity_percent:g} %",
            "ASHRAE Fundamentals",
            "published",
            "temperature",
        ),
        Step(
            "Td2",
            "the same by the Magnus form (second method)",
            float(dew_point_magnus_c(air_c, humidity_percent)),
            "degC",
            "",
            figure(PRACTICE, "magnus_water").citation,
            "published",
            "temperature",
        ),
        Step(
            "Ts",
            "surface of the bare tank",
            bare,
            "degC",
            f"{air_c:g} - ({air_c:g} - {water_c:g}) / (1 + h t/k)",
            film.citation,
            film.status,
            "temperature",
        ),
        Step(
            "t",
            "least jacket",
            least,
            "mm",
            f"({foam.value:g}/{film.value:g}) x ({dew:.1f} - {water_c:g}) / ({air_c:g} - {dew:.1f})",
            foam.citation,
            foam.status,
        ),
    ]
    if worn is not None:
        steps.append(_jacket_step(worn, jacket_mm))
    return tuple(steps)


def _jacket_step(worn: float, jacket_mm: float | None) -> Step:
    foam = figure(PRACTICE, "neoprene_conductivity")
    return Step(
        "Tj",
        f"surface of a {jacket_mm:g} mm jacket",
        worn,
        "degC",
        "",
        foam.citation,
        "computed",
        "temperature",
    )


def _drips(dew: float, least: float) -> tuple[Finding, ...]:
    return (
        Finding(
            "tank_sweats",
            Severity.EQUIPMENT,
            f"The surface is colder than the dew point ({dew:.1f} degC): it will drip.",
            f"A jacket of at least {least:.0f} mm, drier air, or both."
            if np.isfinite(least)
            else "Drier air: no jacket is enough.",
            "tank",
            "ASHRAE Fundamentals",
        ),
    )
