"""Bore, velocity and friction of pipe: Darcy-Weisbach first, Hazen-Williams as the second method."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.liquid import density_and_viscosity
from sizing.engine.measures import KPA_PER_M, L_MIN_PER_M3_S, M_PER_FT, M_PER_IN
from sizing.engine.ranges import within
from sizing.engine.water import Number

PIPES = "pipe-dimensions"
LAMINAR_BELOW = 2040.0  # Reynolds number, as in the fluids library


@cache
def bores() -> Mapping[str, Mapping[str, float]]:
    """Bore of every pipe material and nominal size the engine knows.

    Why: the size written on the pipe is not its bore: 3/4 in is 0.785, 0.671 or 0.824 in.
    Units: m, by material ("copper", "pex", "cpvc", "pvc", "poly", "steel") and nominal size in inches ("3/4").
    Range: household sizes.
    Raises: nothing.
    Source: ASTM B88, F876, D2846 and schedule 40 tables as transcribed (published; some sizes from memory).

    >>> sorted(bores()["pex"])[:2]
    ['1', '1-1/2']
    """
    table: dict[str, dict[str, float]] = {}
    for key in ("bore", "bore_recalled"):
        for material, sizes in figure(PIPES, key).value.items():
            table.setdefault(material, {}).update({size: inch * M_PER_IN for size, inch in sizes.items()})
    return MappingProxyType(
        {m: MappingProxyType(dict(sorted(s.items(), key=lambda i: i[1]))) for m, s in table.items()}
    )


def bore_m(material: str, nominal: str) -> float:
    """Bore of one pipe.

    Why: friction goes with nearly the fifth power of it.
    Units: returns m.
    Range: the materials and sizes of ``bores``.
    Raises: ``OutsideValidRange`` naming what is known.
    Source: as ``bores`` (published; some sizes from memory).

    >>> round(bore_m("copper", "3/4") / 0.0254, 3)
    0.785
    """
    sizes = bores().get(material)
    if sizes is None:
        raise OutsideValidRange("pipe material", material, source=f"one of {', '.join(bores())}")
    if nominal not in sizes:
        raise OutsideValidRange("pipe size", nominal, source=f"{material} comes in {', '.join(sizes)}")
    return sizes[nominal]


def velocity_m_s(flow_l_min: Number, bore: Number) -> Any:
    """Mean velocity in a pipe.

    Why: above 2.4 m/s cold (1.5 m/s hot) pipe is noisy and wears.
    Units: L/min, m, floats or arrays; returns m/s.
    Range: flow 0 to 10,000 L/min, bore 1 mm to 1 m.
    Raises: ``OutsideValidRange`` outside.
    Source: V = Q / (pi/4 d^2) (computed).

    >>> round(velocity_m_s(5 * 3.785411784, 0.671 * 0.0254) / 0.3048, 2)
    4.54
    """
    flow = within("flow", flow_l_min, low=0.0, high=10_000.0, unit="L/min")
    diameter = within("bore", bore, low=0.001, high=1.0, unit="m")
    return flow / L_MIN_PER_M3_S / (np.pi / 4 * diameter**2)


def friction_factor(reynolds: Number, relative_roughness: Number = 0.0) -> Any:
    """Darcy friction factor: 64/Re below Re 2040, Colebrook above, solved to machine precision.

    Why: one rule for any liquid, temperature and pipe, laminar and turbulent.
    Units: dimensionless, floats or arrays.
    Equation: 1/sqrt f = -2 log10(e/3.7 + 2.51/(Re sqrt f)), Newton steps from Haaland's explicit value.
    Range: Re more than 0 up to 1e8; relative roughness 0 to 0.05.
    Raises: ``OutsideValidRange`` outside.
    Source: Colebrook (published); checked against the fluids library over the range.

    >>> round(friction_factor(1e5, 1e-4), 5)
    0.01851
    """
    re = within("Reynolds number", reynolds, low=0.0, high=1e8, low_open=True)
    rough = within("relative roughness", relative_roughness, low=0.0, high=0.05)
    turbulent = np.maximum(re, LAMINAR_BELOW)
    wall, smooth = figure("friction-formulas", "colebrook").value
    slope, haaland_wall, power, haaland_smooth = figure("friction-formulas", "haaland").value
    a, b = rough / wall, smooth / turbulent
    x = slope * np.log10((rough / haaland_wall) ** power + haaland_smooth / turbulent)  # 1/sqrt f by Haaland
    for _ in range(4):
        inner = a + b * x
        x = x - (x + 2.0 * np.log10(inner)) / (1.0 + 2.0 * b / (np.log(10.0) * inner))
    factor = np.where(re < LAMINAR_BELOW, 64.0 / re, 1.0 / x**2)
    return factor if factor.ndim else float(factor)


def explicit_factor(reynolds: Number, relative_roughness: Number = 0.0, *, form: str = "swamee_jain") -> Any:
    """Darcy friction factor by an explicit formula, the second method beside Colebrook.

    Why: what spreadsheets use; within about 1 % of Colebrook.
    Units: dimensionless, floats or arrays; ``form`` "swamee_jain" or "haaland".
    Range: Re 4,000 to 1e8; relative roughness 0 to 0.05.
    Raises: ``OutsideValidRange`` outside or for another form.
    Source: Swamee and Jain; Haaland (published).

    >>> round(explicit_factor(1e5, 1e-4), 6)
    0.018452
    """
    re = within("Reynolds number", reynolds, low=4000.0, high=1e8)
    rough = within("relative roughness", relative_roughness, low=0.0, high=0.05)
    if form == "swamee_jain":
        top, wall, smooth, power = figure("friction-formulas", "swamee_jain").value
        factor = top / np.log10(rough / wall + smooth / re**power) ** 2
    elif form == "haaland":
        slope, wall, power, smooth = figure("friction-formulas", "haaland").value
        factor = (slope * np.log10((rough / wall) ** power + smooth / re)) ** -2.0
    else:
        raise OutsideValidRange("form", form, source="swamee_jain or haaland")
    return factor if np.ndim(factor) else float(factor)


def pipe_loss_kpa(
    flow_l_min: Number,
    bore: float,
    length_m: float,
    *,
    temperature_c: Number = 10.0,
    roughness_m: float = 1.5e-6,
    minor_k: float = 0.0,
) -> Any:
    """Pressure lost to friction in a straight pipe and its fittings, Darcy-Weisbach.

    Why: what is left at the shower after the run from the tank.
    Units: L/min, m, m, degC, m, sum of K of the fittings; floats or arrays of flow and temperature; returns kPa.
    Equation: dp = (f L/d + K) rho V^2 / 2.
    Range: flow 0 or more, bore 1 mm to 1 m, length 0 to 5,000 m, sum of K 0 to 10,000, 0 to 100 degC.
    Raises: ``OutsideValidRange`` outside.
    Source: Darcy-Weisbach with Colebrook (published); water properties as ``liquid``.

    >>> psi, ft = 6.894757293168, 0.3048
    >>> round(pipe_loss_kpa(5 * 3.785411784, 0.785 * 0.0254, 100 * ft, temperature_c=15.56) / psi, 2)
    3.02
    """
    length = within("pipe length", length_m, low=0.0, high=5000.0, unit="m")
    within("sum of K", minor_k, low=0.0, high=10_000.0)
    rho, mu = density_and_viscosity(temperature_c)
    speed = velocity_m_s(flow_l_min, bore)
    reynolds = np.maximum(rho * speed * bore / mu, 1e-9)
    friction = friction_factor(reynolds, roughness_m / bore)
    loss = (friction * length / bore + minor_k) * rho * speed**2 / 2000.0
    return loss if np.ndim(loss) else float(loss)


def hazen_williams_kpa(flow_l_min: Number, bore: float, length_m: float, *, c: float = 150.0) -> Any:
    """The same loss by Hazen-Williams, the second method.

    Why: it is what printed tables and codes use; at small flows it reads 11 to 19 % low for C = 150.
    Units: L/min, m, m, C dimensionless; float or array of flow; returns kPa.
    Equation: h = 4.727 L q^1.852 / (C^1.852 d^4.871), ft and cfs.
    Range: turbulent cold water, 5 to 25 degC (about 1.5 US gpm and more in 1 in pipe); C 60 to 160; flow, bore
    and length as ``pipe_loss_kpa``.
    Raises: ``OutsideValidRange`` for impossible values or C outside.
    Source: EPANET form (from memory, reproduced by its engine); the other printed forms differ up to 1.1 %.

    >>> round(hazen_williams_kpa(5 * 3.785411784, 1.049 * 0.0254, 30.48) / 9.80665 / 0.3048, 3)
    1.523
    """
    factor = within("Hazen-Williams C", c, low=60.0, high=160.0)
    flow = within("flow", flow_l_min, low=0.0, high=10_000.0, unit="L/min")
    diameter = within("bore", bore, low=0.001, high=1.0, unit="m") / M_PER_FT
    length = within("pipe length", length_m, low=0.0, high=5000.0, unit="m") / M_PER_FT
    scale, power, root = figure(PIPES, "hazen_williams_engine").value
    cfs = flow / L_MIN_PER_M3_S / M_PER_FT**3
    head = scale * length * cfs**power / (factor**power * diameter**root) * M_PER_FT
    return head * KPA_PER_M


def fitting_length_m(fitting: str, nominal: str) -> float:
    """Length of straight pipe that loses as much as one fitting.

    Why: a compression stop costs 6 m of pipe, an elbow almost nothing.
    Units: returns m; names as printed ("90 ell, wrought", "tee branch, cast", "compression stop", ...).
    Range: 1/2, 3/4 and 1 in.
    Raises: ``OutsideValidRange`` for another fitting or size.
    Source: Illinois Admin. Code 77 part 890 Appendix A Table Q (published); other tables differ two to four times.

    >>> round(fitting_length_m("compression stop", "3/4") / 0.3048, 1)
    21.0
    """
    table = figure("fittings", "equivalent_length").value
    if fitting not in table:
        raise OutsideValidRange("fitting", fitting, source=f"one of {', '.join(table)}")
    if nominal not in table[fitting]:
        raise OutsideValidRange("fitting size", nominal, source=f"one of {', '.join(table[fitting])} in")
    return float(table[fitting][nominal] * M_PER_FT)


def screwed_fitting(fitting: str, bore: float) -> tuple[float, float]:
    """K and equivalent length of a screwed fitting.

    Why: steel and brass connections at tanks and valves.
    Units: bore m; returns (K, m).
    Range: "45 ell", "90 ell", "tee (as elbow)", "180 return bend"; bore 1 mm to 1 m.
    Raises: ``OutsideValidRange`` for another fitting or an impossible bore.
    Source: 2018 IRC gas appendix Table A.2.2 (published).

    >>> screwed_fitting("90 ell", 0.0209)[0]
    0.9
    """
    table = figure("fittings", "screwed").value
    if fitting not in table:
        raise OutsideValidRange("fitting", fitting, source=f"one of {', '.join(table)}")
    k, ratio = table[fitting]
    return float(k), float(ratio * within("bore", bore, low=0.001, high=1.0, unit="m"))


def smallest_size(material: str, flow_l_min: float, *, hot: bool = False) -> str:
    """Smallest nominal size that keeps the velocity cap at a flow.

    Why: says whether the pipe found can carry the peak at all.
    Units: L/min; returns the nominal size.
    Range: cold 8 ft/s, hot 5 ft/s.
    Raises: ``OutsideValidRange`` where even the largest size known is too small, or for another material.
    Source: Copper Tube Handbook / UPC 610.12 (published, secondary copy).

    >>> smallest_size("copper", 20.0)
    '1/2'
    """
    cap = figure(PIPES, "velocity_cap").value[1 if hot else 0] * M_PER_FT
    sizes = bores().get(material)
    if sizes is None:
        raise OutsideValidRange("pipe material", material, source=f"one of {', '.join(bores())}")
    for nominal, bore in sizes.items():
        if float(velocity_m_s(flow_l_min, bore)) <= cap:
            return nominal
    largest = list(sizes.values())[-1]
    high = cap * np.pi / 4 * largest**2 * L_MIN_PER_M3_S
    raise OutsideValidRange(
        "flow", flow_l_min, high=float(high), unit="L/min", source=f"largest {material} size known"
    )
