"""The carbonate system of a closed water: constants, species, and the pH that follows from alkalinity and carbon.

Concentrations inside are mol/L. Activity by the Davies form; no ion pairs, so calcite comes out 0.00 to 0.08 too
saturated against PHREEQC, most in water rich in sulphate or above pH 9.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from sizing.engine import balance
from sizing.engine.errors import MissingEvidence
from sizing.engine.figures import figure
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import molar_mass
from sizing.engine.water import Number, Water

ZERO_C = 273.15
_LOW_PH, _HIGH_PH = 3.0, 12.5


@dataclass(frozen=True)
class Constants:
    """Equilibrium constants at a temperature, as pK, and log10 of the activity of CO2 per atm (``henry``)."""

    pk1: Any
    pk2: Any
    pks: Any
    pkw: Any
    henry: Any
    debye_huckel: Any


@dataclass(frozen=True)
class Species:
    """Carbonate species, mol/L, with the alkalinity and the total inorganic carbon they make."""

    co2: Any
    hco3: Any
    co3: Any

    @property
    def carbon(self) -> Any:
        """Total inorganic carbon, mol/L."""
        return self.co2 + self.hco3 + self.co3


def _evaluate(row: str, kelvin: Any) -> Any:
    a, b, c, d, e = figure("carbonate-constants", row).value
    return a + b * kelvin + c / kelvin + d * np.log10(kelvin) + e / kelvin**2


def _range_of(name: str) -> Any:
    return figure("carbonate-constants", "range").value[name]


@lru_cache(maxsize=256)
def _constants_at(temperature_c: float) -> Constants:
    return _compute_constants(temperature_c)


def _compute_constants(temperature_c: Any) -> Constants:
    kelvin = temperature_c + ZERO_C
    c0, c1, c2, c3, _ = figure("carbonate-constants", "debye_huckel").value
    permittivity = c1 / (kelvin + c2) - c3
    h = figure("carbonate-constants", "henry_co2").value
    return Constants(
        pk1=_evaluate("pk1", kelvin),
        pk2=_evaluate("pk2", kelvin),
        pks=_evaluate("pks_calcite", kelvin),
        pkw=_evaluate("pkw", kelvin),
        henry=h[0] + h[1] * kelvin + h[2] / kelvin + h[4] / kelvin**2 + h[5] * kelvin**2,
        debye_huckel=c0 * (permittivity * kelvin) ** -1.5,
    )


def constants(temperature_c: Number) -> Constants:
    """Equilibrium constants of carbonic acid, calcite and water at a temperature.

    Why: everything about pH, carbon dioxide and scale hangs on them, and they move with temperature.
    Units: degC in, pK out; float or array.
    Range: 0 to 80 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: Plummer and Busenberg 1982 as in phreeqc.dat (published); pKw and the Davies A from memory.

    >>> c = constants(25.0)
    >>> round(float(c.pk1), 3), round(float(c.pk2), 3), round(float(c.pks), 2)
    (6.352, 10.329, 8.48)
    """
    low, high = _range_of("temperature")
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
    strength = within(
        "ionic strength",
        ionic_strength,
        low=0.0,
        high=_range_of("ionic_strength"),
        unit="mol/L",
        source="Davies form",
    )
    return _exponent(strength, constants(temperature_c))


def _exponent(strength: Any, c: Constants) -> Any:
    root = np.sqrt(strength)
    term = figure("carbonate-constants", "debye_huckel").value[4]
    return c.debye_huckel * (root / (1.0 + root) - term * strength)


def speciate(ph: Number, alkalinity: Number, temperature_c: Number, ionic_strength: Number = 0.0) -> Species:
    """Carbon dioxide, bicarbonate and carbonate of a water from its pH and alkalinity.

    Why: the free carbon dioxide is what a neutraliser must take up.
    Units: pH, mg/L as CaCO3, degC, mol/L in; mol/L out; floats or arrays.
    Range: pH 4 to 11, alkalinity 0 and more, 0 to 80 degC, 0 to 0.1 mol/L. Bicarbonate is never below 0.
    Raises: ``OutsideValidRange`` outside that.
    Source: mole balance of alkalinity with mass-action constants (computed).

    >>> species = speciate(6.2, 30.0, 8.0, 0.00147)
    >>> round(float(species.co2) * 44009.0, 1)  # mg/L of carbon dioxide
    48.7
    """
    low, high = _range_of("ph")
    ph = within("pH", ph, low=low, high=high, source="carbonate system")
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3")
    c = constants(temperature_c)
    pf = activity_exponent(ionic_strength, temperature_c)
    return _speciate(ph, _molar_alkalinity(alkalinity), c, pf)


def _molar_alkalinity(alkalinity: Any) -> Any:
    return alkalinity / molar_mass("CaCO3") * 2.0 / 1000.0


def _speciate(ph: Any, alkalinity_eq: Any, c: Constants, pf: Any) -> Species:
    net = alkalinity_eq + 10.0 ** (pf - ph) - 10.0 ** (ph + pf - c.pkw)
    hco3 = np.maximum(net, 0.0) / (1.0 + 2.0 * 10.0 ** (ph - c.pk2 + 3.0 * pf))
    return Species(co2=hco3 * 10.0 ** (c.pk1 - ph - pf), hco3=hco3, co3=hco3 * 10.0 ** (ph - c.pk2 + 3.0 * pf))


def free_co2(ph: Number, alkalinity: Number, temperature_c: Number = 10.0, ionic_strength: Number = 0.0) -> Any:
    """Free carbon dioxide of a water from its pH and alkalinity.

    Why: it is hardly ever measured, and it decides how much calcite a neutraliser uses and what hardness it adds.
    Units: pH, mg/L as CaCO3, degC, mol/L in; mg/L CO2 out; floats or arrays.
    Range: pH 5.5 to 8.3 and alkalinity above about 15 mg/L for a trustworthy value; accepted is pH 4 to 11, but
    below pH 5.5 the alkalinity measurement is too weak to tell. Use the pH measured in the field.
    Raises: ``OutsideValidRange`` outside pH 4 to 11 or 0 to 80 degC.
    Source: 0.8795 x alkalinity x 10^(pK1 - pH) (computed), within 6 % of PHREEQC.

    >>> round(free_co2(6.2, 30.0, 8.0), 1)
    50.7
    """
    co2 = speciate(ph, alkalinity, temperature_c, ionic_strength).co2
    result = co2 * molar_mass("CO2") * 1000.0
    return result if np.ndim(result) else float(result)


@dataclass(frozen=True)
class System:
    """A closed carbonate water: molar calcium, alkalinity and carbon, with its constants and ionic strength."""

    calcium: Any
    alkalinity: Any
    carbon: Any
    strength: Any
    temperature_c: Any


def system_of(water: Water) -> System:
    """The carbonate system of a water as it was analysed.

    Why: the starting point of every what-if: calcite, soda ash, stripping, heating.
    Units: canonical water in; mol/L out.
    Range: pH, alkalinity and calcium (or hardness) and temperature measured, and ions, conductivity or TDS.
    Raises: ``MissingEvidence`` naming what was not measured; ``OutsideValidRange`` outside the constants.
    Source: computed.

    >>> water = Water(dict(ph=7.0, alkalinity=100.0, calcium=40.0, temperature=10.0, tds=150.0))
    >>> round(float(system_of(water).carbon), 5)
    0.00254
    """
    missing = [code for code in ("ph", "alkalinity", "temperature") if code not in water]
    if "calcium" not in water and "hardness" not in water:
        missing.append("calcium")
    if missing:
        raise MissingEvidence(missing, f"the carbonate system also needs {', '.join(missing)}")
    strength = balance.ionic_strength(water)
    species = speciate(water["ph"], water["alkalinity"], water["temperature"], strength)
    if "calcium" in water:
        calcium = water["calcium"] / molar_mass("Ca") / 1000.0
    else:  # careful side for scale: all of the hardness as calcium
        calcium = water["hardness"] / molar_mass("CaCO3") / 1000.0
    return System(calcium, _molar_alkalinity(water["alkalinity"]), species.carbon, strength, water["temperature"])


def closed_ph(system: System) -> Any:
    """pH of a closed water from its alkalinity and total carbon.

    Why: the same water at another temperature, or after something was added, has another pH.
    Units: a ``System``; pH out; float or array.
    Range: pH 3 to 12.5 is searched.
    Raises: ``OutsideValidRange`` outside the constants' range.
    Source: mole balance solved by halving (computed).

    >>> water = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, tds=373.0))
    >>> round(float(closed_ph(system_of(water))), 3)
    7.3
    """
    c = constants(system.temperature_c)
    pf = _exponent(system.strength, c)

    def short(ph: Any) -> Any:
        bound, _ = fractions(ph, c, pf)
        return system.carbon * bound + 10.0 ** (ph + pf - c.pkw) - 10.0 ** (pf - ph) - system.alkalinity

    return root_in_ph(short, np.shape(system.alkalinity + system.carbon + c.pk1))


def fractions(ph: Any, c: Constants, pf: Any) -> tuple[Any, Any]:
    """Alkalinity carried per mole of carbon, and the share of carbon that is carbonate, at a pH.

    Why: with them a closed water can be moved to any pH by plain arithmetic.
    Units: pH, ``constants`` and pf in; two fractions out; floats or arrays.
    Range: any pH.
    Raises: nothing.
    Source: mass action (computed).

    >>> per_carbon, share = fractions(8.3, constants(25.0), 0.0)
    >>> round(float(per_carbon), 2), round(float(share), 3)
    (1.0, 0.009)
    """
    co2 = 10.0 ** (c.pk1 - ph - pf)
    co3 = 10.0 ** (ph - c.pk2 + 3.0 * pf)
    total = co2 + 1.0 + co3
    return (1.0 + 2.0 * co3) / total, co3 / total


def root_in_ph(rising: Any, shape: tuple[int, ...], low: float = _LOW_PH, high: float = _HIGH_PH) -> Any:
    """pH at which a function that rises with pH passes zero, by halving.

    Why: every what-if of the carbonate system ends in one such pH; halving never runs away.
    Units: pH out, of the shape given ("()" for a single float).
    Range: ``low`` to ``high``; without a crossing the nearer end is returned.
    Raises: nothing.
    Source: bisection (computed).

    >>> round(root_in_ph(lambda ph: ph - 7.25, ()), 4)
    7.25
    """
    left, right = np.full(shape, low), np.full(shape, high)
    for _ in range(60):
        middle = 0.5 * (left + right)
        above = rising(middle) > 0.0
        right = np.where(above, middle, right)
        left = np.where(above, left, middle)
    middle = 0.5 * (left + right)
    return middle if middle.ndim else float(middle)


def stripped_ph(system: System, log_pco2: float = -3.4) -> Any:
    """pH after carbon dioxide has gone into balance with air; the alkalinity stays.

    Why: aeration alone can correct a water rich in carbon dioxide and well buffered.
    Units: a ``System``, log10 of the carbon dioxide pressure in atm in; pH out; float or array.
    Range: log pCO2 -5 to 0; outdoor air is -3.4.
    Raises: ``OutsideValidRange`` outside that.
    Source: Henry's law (published) and the mole balance (computed); full stripping is an upper bound.

    >>> water = Water(dict(ph=6.2, alkalinity=30.0, calcium=11.0, temperature=8.0, tds=54.0))
    >>> round(float(stripped_ph(system_of(water))), 1)
    7.9
    """
    pressure = within("log pCO2", log_pco2, low=-5.0, high=0.0, source="carbon dioxide in air")
    c = constants(system.temperature_c)
    pf = _exponent(system.strength, c)
    co2 = 10.0 ** (c.henry + pressure)

    def short(ph: Any) -> Any:
        hco3 = co2 * 10.0 ** (ph - c.pk1 + pf)
        co3 = hco3 * 10.0 ** (ph - c.pk2 + 3.0 * pf)
        return hco3 + 2.0 * co3 + 10.0 ** (ph + pf - c.pkw) - 10.0 ** (pf - ph) - system.alkalinity

    return root_in_ph(short, np.shape(system.alkalinity + c.pk1))
