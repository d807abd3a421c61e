"""Equilibrium constants of the carbonate system, and the activity of ions in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from sizing.engine.figures import figure
from sizing.engine.ranges import within
from sizing.engine.water import Number

ZERO_C = 273.15
KCAL = 4184.0
LN10 = math.log(10.0)


def ten(power: Any) -> Any:
    """Ten to a power, quick for floats and for arrays.

    Why: the carbonate system is little else, and a dealer's confidence runs it ten thousand times.
    Units: none; float or array.
    Range: any.
    Raises: nothing.
    Source: definition (computed).

    >>> round(ten(2.0), 9)
    100.0
    """
    return 10.0**power if isinstance(power, float) else np.exp(LN10 * power)


@dataclass(frozen=True)
class Constants:
    """Equilibrium constants at a temperature, as pK; ``henry`` and the pair constants as log10 K."""

    pk1: Any
    pk2: Any
    pks: Any
    pkw: Any
    henry: Any
    debye_huckel: Any
    cahco3: Any
    caco3: Any
    caso4: Any
    mghco3: Any
    mgco3: Any
    mgso4: Any


def _evaluate(row: Any, kelvin: Any) -> Any:
    a, b, c, d, e, *rest = row
    square = rest[0] * kelvin**2 if rest else 0.0
    return a + b * kelvin + c / kelvin + d * np.log10(kelvin) + e / kelvin**2 + square


def range_of(name: str) -> Any:
    """The range in which the carbonate system is worked out.

    Why: one range for every what-if.
    Units: ``name`` "temperature" (degC, low and high), "ionic_strength" (mol/L, most) or "ph" (low and high).
    Range: those names.
    Raises: ``KeyError`` for another.
    Source: common practice.

    >>> range_of("ionic_strength")
    0.1
    """
    return figure("carbonate-constants", "range").value[name]


@lru_cache(maxsize=256)
def _constants_at(temperature_c: float) -> Constants:
    return _compute_constants(temperature_c)


def _compute_constants(temperature_c: Any) -> Constants:
    kelvin = temperature_c + ZERO_C
    rows = {
        key: figure("carbonate-constants", key).value for key in ("pk1", "pk2", "pks_calcite", "pkw", "henry_co2")
    }
    pairs = figure("carbonate-constants", "pairs").value
    c0, c1, c2, c3, _ = figure("carbonate-constants", "debye_huckel").value
    permittivity = c1 / (kelvin + c2) - c3
    pk2 = _evaluate(rows["pk2"], kelvin)
    gas = figure("physical-constants", "gas_constant").value
    warmer = (1.0 / (25.0 + ZERO_C) - 1.0 / kelvin) / (gas * np.log(10.0))

    def by_enthalpy(row: Any) -> Any:
        return row[0] + row[1] * KCAL * warmer

    found = Constants(
        pk1=_evaluate(rows["pk1"], kelvin),
        pk2=pk2,
        pks=_evaluate(rows["pks_calcite"], kelvin),
        pkw=_evaluate(rows["pkw"], kelvin),
        henry=_evaluate(rows["henry_co2"], kelvin),
        debye_huckel=c0 * (permittivity * kelvin) ** -1.5,
        cahco3=_evaluate(pairs["cahco3_from_co3"], kelvin) - pk2,
        caco3=_evaluate(pairs["caco3"], kelvin),
        caso4=by_enthalpy(pairs["caso4_log_k_and_enthalpy"]),
        mghco3=_evaluate(pairs["mghco3_from_co3"], kelvin) - pk2,
        mgco3=_evaluate(pairs["mgco3"], kelvin),
        mgso4=by_enthalpy(pairs["mgso4_log_k_and_enthalpy"]),
    )
    if isinstance(temperature_c, float):
        found = Constants(**{key: float(value) for key, value in vars(found).items()})
    return found


def constants(temperature_c: Number) -> Constants:
    """Equilibrium constants of carbonic acid, calcite, water and ion pairs at a temperature.

    Why: everything about pH, carbon dioxide and scale hangs on them, and they move with temperature.
    Units: degC in, pK (log10 K for Henry and pairs) out; float or array.
    Range: 0 to 80 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: Plummer and Busenberg 1982 and others as in phreeqc.dat (published); the Davies A from memory.

    >>> c = constants(25.0)
    >>> round(float(c.pk1), 3), round(float(c.pk2), 3), round(float(c.pks), 2), round(float(c.pkw), 1)
    (6.352, 10.329, 8.48, 14.0)
    """
    low, high = range_of("temperature")
    temperature = within("temperature", temperature_c, low=low, high=high, unit="degC", source="carbonate constants")
    return _constants_at(temperature) if isinstance(temperature, float) else _compute_constants(temperature)


def activity_exponent(ionic_strength: Number, temperature_c: Number) -> Any:
    """pf of a single charge: activity coefficient = 10^(-pf z2).

    Why: dissolved salts screen charges; without it an index is 0.1 to 0.3 too high.
    Units: mol/L, degC in; dimensionless out; floats or arrays.
    Range: 0 to 0.1 mol/L (better below 0.03), 0 to 80 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: Davies form A (sqrt I / (1 + sqrt I) - 0.3 I) (from memory; checked against PHREEQC).

    >>> round(float(activity_exponent(0.01, 25.0)), 4)
    0.0449
    """
    most = range_of("ionic_strength")
    strength = within("ionic strength", ionic_strength, low=0.0, high=most, unit="mol/L", source="Davies form")
    return exponent(strength, constants(temperature_c))


def exponent(strength: Any, c: Constants) -> Any:
    """pf of a single charge from constants already at hand; strength below 0 counts 0.

    Why: loops that settle ion pairs ask for it again and again.
    Units: mol/L and ``constants`` in; dimensionless out.
    Range: as ``activity_exponent``, not checked here.
    Raises: nothing.
    Source: see ``activity_exponent``.

    >>> round(float(exponent(0.01, constants(25.0))), 4)
    0.0449
    """
    if isinstance(strength, float):
        strength = max(strength, 0.0)
        root: Any = math.sqrt(strength)
    else:
        strength = np.maximum(strength, 0.0)
        root = np.sqrt(strength)
    term = figure("carbonate-constants", "debye_huckel").value[4]
    return c.debye_huckel * (root / (1.0 + root) - term * strength)
