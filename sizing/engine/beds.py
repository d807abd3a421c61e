"""Second methods for granular beds: drag, settling, Rose's loss by sieve fractions, layered expansion."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.liquid import density_and_viscosity
from sizing.engine.measures import GRAVITY
from sizing.engine.ranges import within
from sizing.engine.water import Number

BOOK = "media-hydraulics"


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


def grain_reynolds(speed_m_s: Number, grain_m: Number, kinematic_m2_s: Number, *, shape: float = 1.0) -> Any:
    """Reynolds number of a grain in flowing water.

    Why: says which law of drag holds.
    Units: m/s, m, m2/s; returns a number; floats or arrays.
    Equation: R = shape x d v / nu.
    Range: speed 0 or more; grain 0.01 mm to 2 cm; viscosity 1e-7 to 1e-5 m2/s.
    Raises: ``OutsideValidRange`` outside.
    Source: Davis, Water and Wastewater Engineering, Example 11-2 (published).

    >>> round(grain_reynolds(0.0025, 0.002, 1.307e-6, shape=0.82), 3)
    3.137
    """
    speed = within("speed", speed_m_s, low=0.0, high=5.0, unit="m/s")
    grain = within("grain size", grain_m, low=1e-5, high=0.02, unit="m")
    return _out(
        within("shape factor", shape, low=0.3, high=1.0)
        * grain
        * speed
        / within("kinematic viscosity", kinematic_m2_s, low=1e-7, high=1e-5, unit="m2/s")
    )


def drag_coefficient(reynolds: Number) -> Any:
    """Drag of a grain.

    Why: loss and settling by sieve fraction follow from it.
    Units: dimensionless; float or array.
    Equation: 24/R + 3/sqrt R + 0.34 above R = 0.5, 24/R below.
    Range: more than 0 to 1e4.
    Raises: ``OutsideValidRange`` outside.
    Source: Davis, Example 11-2 (published).

    >>> round(drag_coefficient(3.137), 4)
    9.6844
    """
    r = np.asarray(within("Reynolds number", reynolds, low=0.0, high=1e4, low_open=True))
    stokes, root, constant, switch = figure(BOOK, "drag").value
    return _out(np.where(r > switch, stokes / r + root / np.sqrt(r) + constant, stokes / r))


def bed_friction_factor(porosity: Number, reynolds: Number) -> Any:
    """Friction factor of a bed in the Carman-Kozeny form.

    Why: handbooks print losses with it.
    Units: share, dimensionless.
    Equation: f = 150 (1 - e)/R + 1.75.
    Range: porosity 0.2 to 0.8; R more than 0.
    Raises: ``OutsideValidRange`` outside.
    Source: Carman-Kozeny with Ergun's constants (published).

    >>> round(bed_friction_factor(0.45, 1.82), 1)
    47.1
    """
    e = within("porosity", porosity, low=0.2, high=0.8)
    a, b = figure(BOOK, "ergun").value
    return _out(a * (1.0 - e) / np.asarray(within("Reynolds number", reynolds, low=0.0, low_open=True)) + b)


def rose_kpa(
    speed_m_s: float,
    depth_m: float,
    porosity: float,
    fractions: Sequence[float],
    grains_m: Sequence[float],
    *,
    temperature_c: float = 10.0,
    shape: float = 0.82,
) -> float:
    """Clean loss of a graded bed by Rose's equation, the second method beside Ergun.

    Why: takes the sieve analysis instead of one grain size.
    Units: m/s, m, share, shares, m, degC; returns kPa.
    Equation: h = 1.067/shape v^2 D/(g e^4) sum C_D f/d.
    Range: fractions 0 to 1, adding to about 1; porosity 0.2 to 0.8; depth 0 to 5 m.
    Raises: ``OutsideValidRange`` outside.
    Source: Rose, as Davis Example 11-2 (published form; the constant 1.067 from memory).

    >>> 5.0 < rose_kpa(0.0034, 0.6, 0.42, [1.0], [0.00055]) < 15.0
    True
    """
    shares = np.asarray(within("sieve fractions", np.asarray(fractions, dtype=float), low=0.0, high=1.0))
    total = float(shares.sum())
    if not 0.9 <= total <= 1.1 or len(fractions) != len(grains_m):
        raise OutsideValidRange("sum of sieve fractions", total, low=0.9, high=1.1, source="one grain size for each")
    e = within("porosity", porosity, low=0.2, high=0.8)
    depth = within("bed depth", depth_m, low=0.0, high=5.0, unit="m")
    rho, mu = density_and_viscosity(temperature_c)
    grains = np.asarray(grains_m, dtype=float)
    drag = np.asarray(drag_coefficient(grain_reynolds(speed_m_s, grains, mu / rho, shape=shape)))
    head = (
        figure(BOOK, "rose").value
        / shape
        * speed_m_s**2
        * depth
        / (GRAVITY * e**4)
        * float((drag * shares / grains).sum())
    )
    return float(head * rho * GRAVITY / 1000.0)


def settling_m_s(
    grain_mm: float, grain_kg_m3: float, *, temperature_c: float = 10.0, liquid: tuple[float, float] | None = None
) -> float:
    """Terminal settling velocity of a sphere.

    Why: above it in a backwash the grain leaves with the water.
    Units: mm, kg/m3 (wet), degC; ``liquid`` = (kg/m3, Pa s) where not water; returns m/s.
    Range: 0.01 to 20 mm; heavier than the liquid, at most 8,000 kg/m3.
    Raises: ``OutsideValidRange`` outside.
    Source: force balance with the drag correlation of the ``fluids`` library (published correlations, computed).

    >>> round(settling_m_s(0.55, 2650.0), 4)
    0.0763
    """
    rho, mu = liquid or density_and_viscosity(temperature_c)
    grain = within("grain size", grain_mm, low=0.01, high=20.0, unit="mm") / 1000.0
    heavy = within("wet grain density", grain_kg_m3, low=float(rho), high=8000.0, unit="kg/m3", low_open=True)
    from fluids.drag import v_terminal

    return float(v_terminal(D=float(grain), rhop=float(heavy), rho=float(rho), mu=float(mu)))


def expanded_depth_m(depth_m: float, porosity: float, fractions: Sequence[float], voids: Sequence[float]) -> float:
    """Depth of a graded bed in backwash from the voids of each layer.

    Why: fines rise far more than the mean grain says; this is the height they reach.
    Units: m at rest, share at rest, share of each layer, voids of each layer; returns m.
    Equation: (1 - e0) D sum f/(1 - e).
    Range: voids 0.2 to 0.999 (1 = carried out); porosity 0.2 to 0.8; fractions 0 to 1; depth 0 to 5 m.
    Raises: ``OutsideValidRange`` outside.
    Source: Fair and Geyer, as Davis Example 11-3 (published).

    >>> round(expanded_depth_m(0.5, 0.45, [1.0], [1 - 1 / 2.53]), 3)
    0.696
    """
    rest = within("porosity", porosity, low=0.2, high=0.8)
    depth = within("bed depth", depth_m, low=0.0, high=5.0, unit="m")
    shares = np.asarray(within("layer fractions", np.asarray(fractions, dtype=float), low=0.0, high=1.0))
    open_share = np.asarray(within("voids", np.asarray(voids, dtype=float), low=0.2, high=0.999))
    return float((1.0 - rest) * depth * (shares / (1.0 - open_share)).sum())
