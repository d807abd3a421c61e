"""The carbonate system of a closed water: constants, species, ion pairs, and the pH that follows.

Concentrations inside are mol/L. Activity by the Davies form; calcium and magnesium pair with bicarbonate, carbonate
and sulphate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from sizing.engine import balance
from sizing.engine.carbonate_constants import Constants, activity_exponent, constants, exponent, range_of, ten
from sizing.engine.errors import MissingEvidence
from sizing.engine.ph_roots import is_small, newton_step, root_in_ph
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import molar_mass
from sizing.engine.water import Number, Water


@dataclass(frozen=True)
class Pairs:
    """Ion pairing: what is bound per mole of free bicarbonate and carbonate, the share of calcium that is free,
    and the ionic strength that the pairs take away."""

    per_hco3: Any = 0.0
    per_co3: Any = 0.0
    calcium_free: Any = 1.0
    strength_less: Any = 0.0


NO_PAIRS = Pairs()


@dataclass(frozen=True)
class Species:
    """Free carbonate species, mol/L, and the pairs beside them."""

    co2: Any
    hco3: Any
    co3: Any
    pairs: Pairs = NO_PAIRS

    @property
    def carbon(self) -> Any:
        """Total inorganic carbon, mol/L, pairs included."""
        return self.co2 + self.hco3 * (1.0 + self.pairs.per_hco3) + self.co3 * (1.0 + self.pairs.per_co3)


@dataclass(frozen=True)
class System:
    """A closed carbonate water: molar totals, ionic strength before pairing, and temperature."""

    calcium: Any
    alkalinity: Any
    carbon: Any
    strength: Any
    temperature_c: Any
    magnesium: Any = 0.0
    sulphate: Any = 0.0


def pair_up(hco3: Any, co3: Any, system: System, c: Constants, pf: Any) -> Pairs:
    """Ion pairs of calcium and magnesium with the anions present.

    Why: in water rich in sulphate or hot and alkaline, a tenth of the calcium is bound and lays down no scale.
    Units: free species mol/L, a ``System``, ``constants`` and pf in; ``Pairs`` out; floats or arrays.
    Range: dilute waters (ionic strength below 0.1).
    Raises: nothing.
    Source: mass action with the pair constants of phreeqc.dat (published constants, computed).

    >>> water = System(0.002, 0.004, 0.0043, 0.008, 10.0, 0.001, 0.002)
    >>> round(float(pair_up(0.004, 0.00001, water, constants(10.0), 0.04).calcium_free), 2)
    0.86
    """
    by_one, by_two = ten(-4.0 * pf), ten(-8.0 * pf)
    k_ca = (ten(c.cahco3) * by_one, ten(c.caco3) * by_two, ten(c.caso4) * by_two)
    k_mg = (ten(c.mghco3) * by_one, ten(c.mgco3) * by_two, ten(c.mgso4) * by_two)
    sulphate: Any = system.sulphate
    calcium: Any = system.calcium
    magnesium: Any = system.magnesium
    free: Any = 1.0  # of calcium, also where there is none to divide
    for _ in range(3):
        free = 1.0 / (1.0 + k_ca[0] * hco3 + k_ca[1] * co3 + k_ca[2] * sulphate)
        calcium = system.calcium * free
        magnesium = system.magnesium / (1.0 + k_mg[0] * hco3 + k_mg[1] * co3 + k_mg[2] * sulphate)
        sulphate = system.sulphate / (1.0 + k_ca[2] * calcium + k_mg[2] * magnesium)
    per_hco3 = k_ca[0] * calcium + k_mg[0] * magnesium
    per_co3 = k_ca[1] * calcium + k_mg[1] * magnesium
    with_sulphate = (k_ca[2] * calcium + k_mg[2] * magnesium) * sulphate
    return Pairs(per_hco3, per_co3, free, 2.0 * per_hco3 * hco3 + 4.0 * (per_co3 * co3 + with_sulphate))


def speciate(ph: Number, alkalinity: Number, temperature_c: Number, ionic_strength: Number = 0.0) -> Species:
    """Carbon dioxide, bicarbonate and carbonate of a water from its pH and alkalinity, without ion pairs.

    Why: the free carbon dioxide is what a neutraliser must take up.
    Units: pH, mg/L as CaCO3, degC, mol/L in; mol/L out; floats or arrays.
    Range: pH 4 to 11, alkalinity 0 and more, 0 to 80 degC, 0 to 0.1 mol/L. Bicarbonate is never below 0.
    Raises: ``OutsideValidRange`` outside that.
    Source: mole balance of alkalinity with mass-action constants (computed).

    >>> species = speciate(6.2, 30.0, 8.0, 0.00147)
    >>> round(float(species.co2) * 44009.0, 1)  # mg/L of carbon dioxide
    48.7
    """
    low, high = range_of("ph")
    ph = within("pH", ph, low=low, high=high, source="carbonate system")
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3")
    pf = activity_exponent(ionic_strength, temperature_c)
    return species_at(ph, molar_alkalinity(alkalinity), constants(temperature_c), pf, NO_PAIRS)


def molar_alkalinity(alkalinity: Any) -> Any:
    """Alkalinity in eq/L from mg/L as CaCO3.

    Why: mole balances count equivalents.
    Units: mg/L as CaCO3 in, eq/L out; float or array.
    Range: any.
    Raises: nothing.
    Source: definition (computed).

    >>> round(molar_alkalinity(50.043), 6)
    0.001
    """
    return alkalinity / molar_mass("CaCO3") * 2.0 / 1000.0


def species_at(ph: Any, alkalinity_eq: Any, c: Constants, pf: Any, pairs: Pairs) -> Species:
    """Free species at a pH and an alkalinity, with given pairs.

    Why: the step that is repeated while the pairs settle.
    Units: pH, eq/L, ``constants``, pf, ``Pairs`` in; mol/L out; floats or arrays.
    Range: bicarbonate is never below 0.
    Raises: nothing.
    Source: mole balance of alkalinity (computed).

    >>> round(float(species_at(7.0, 0.002, constants(25.0), 0.0, NO_PAIRS).hco3), 5)
    0.002
    """
    net = alkalinity_eq + ten(pf - ph) - ten(ph + pf - c.pkw)
    ratio = ten(ph - c.pk2 + 3.0 * pf)
    net = max(net, 0.0) if isinstance(net, float) else np.maximum(net, 0.0)
    hco3 = net / (1.0 + pairs.per_hco3 + 2.0 * ratio * (1.0 + pairs.per_co3))
    return Species(hco3 * ten(c.pk1 - ph - pf), hco3, hco3 * ratio, pairs)


def settle(ph: Any, system: System, passes: int = 4) -> tuple[Species, Any]:
    """Species of a system at a known pH with its alkalinity, ion pairs settled, and the pf that goes with them.

    Why: an index counts only calcium and carbonate that are free.
    Units: pH and a ``System`` in; (species mol/L, pf) out; floats or arrays.
    Range: ionic strength at most 0.1 mol/L, 0 to 80 degC.
    Raises: ``OutsideValidRange`` outside the constants.
    Source: mass action (computed), within 0.02 of PHREEQC's index.

    >>> water = System(0.00225, 0.005, 0.0056, 0.0109, 10.0, 0.001, 0.0006)
    >>> species, pf = settle(7.3, water)
    >>> round(float(species.pairs.calcium_free), 2)
    0.94
    """
    c = constants(system.temperature_c)
    pf = exponent(system.strength, c)
    species = species_at(ph, system.alkalinity, c, pf, NO_PAIRS)
    for _ in range(passes):
        pairs = pair_up(species.hco3, species.co3, system, c, pf)
        pf = exponent(system.strength - pairs.strength_less, c)
        species = species_at(ph, system.alkalinity, c, pf, pairs)
    return species, pf


def free_co2(ph: Number, alkalinity: Number, temperature_c: Number = 10.0, ionic_strength: Number = 0.0) -> Any:
    """Free carbon dioxide of a water from its pH and alkalinity.

    Why: it is hardly ever measured, and it decides how much calcite a neutraliser uses and what hardness it adds.
    Units: pH, mg/L as CaCO3, degC, mol/L in; mg/L CO2 out; floats or arrays.
    Range: pH 5.5 to 8.3 and alkalinity above about 15 mg/L for a trustworthy value; accepted is pH 4 to 11, but
    below pH 5.5 the alkalinity measurement is too weak to tell. Use the pH measured in the field.
    Raises: ``OutsideValidRange`` outside pH 4 to 11 or 0 to 80 degC.
    Source: 0.8795 x alkalinity x 10^(pK1 - pH) (computed): 2 to 22 % above PHREEQC without ionic strength, within
    6 % with it.

    >>> round(free_co2(6.2, 30.0, 8.0), 1)
    50.7
    """
    co2 = speciate(ph, alkalinity, temperature_c, ionic_strength).co2
    result = co2 * molar_mass("CO2") * 1000.0
    return result if np.ndim(result) else float(result)


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
    most = range_of("ionic_strength")
    strength = balance.ionic_strength(water)
    strength = within("ionic strength", strength, low=0.0, high=most, unit="mol/L", source="Davies form")
    low, high = range_of("ph")
    ph = within("pH", water["ph"], low=low, high=high, source="carbonate system")
    if "calcium" in water:
        calcium = water["calcium"] / molar_mass("Ca") / 1000.0
    else:  # careful side for scale: all of the hardness as calcium
        calcium = water["hardness"] / molar_mass("CaCO3") / 1000.0
    magnesium = water.get("magnesium", 0.0) / molar_mass("Mg") / 1000.0
    sulphate = water.get("sulphate", 0.0) / molar_mass("SO4") / 1000.0
    alkalinity = molar_alkalinity(water["alkalinity"])
    start = System(calcium, alkalinity, 0.0, strength, water["temperature"], magnesium, sulphate)
    species, _ = settle(ph, start)
    return replace(start, carbon=species.carbon)


def closed_ph(system: System, start: Any = 7.5) -> Any:
    """pH of a closed water from its alkalinity and total carbon.

    Why: the same water at another temperature, or after something was added, has another pH.
    Units: a ``System`` and a first guess of pH; pH out; float or array.
    Range: pH 3 to 12.5 is searched.
    Raises: ``OutsideValidRange`` outside the constants' range.
    Source: mole balance (computed).

    >>> water = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, tds=373.0))
    >>> round(float(closed_ph(system_of(water))), 3)
    7.3
    """
    if is_single(system):
        return _closed_ph_once(system)
    return _closed_ph(system, start)


def is_single(system: System) -> bool:
    """Whether a system holds plain floats only.

    Why: the answer for a single water is kept, as a search asks for the same water again and again.
    Units: a ``System``.
    Range: any.
    Raises: nothing.
    Source: none needed.

    >>> is_single(System(0.001, 0.002, 0.0025, 0.003, 10.0))
    True
    """
    return all(isinstance(value, float) for value in vars(system).values())


@lru_cache(maxsize=4096)
def _closed_ph_once(system: System) -> Any:
    return _closed_ph(system, 7.5)


def _closed_ph(system: System, start: Any) -> Any:
    c = constants(system.temperature_c)
    pf = exponent(system.strength, c)
    pairs = NO_PAIRS
    ph: Any = start + 0.0 * (system.alkalinity + system.carbon + c.pk1)

    def rising(pf: Any, pairs: Pairs) -> Any:
        def short(trial: Any) -> Any:
            per_carbon, _ = fractions(trial, c, pf, pairs)
            ions = ten(trial + pf - c.pkw) - ten(pf - trial)
            return (system.carbon * per_carbon + ions) / system.alkalinity - 1.0

        return short

    settled = False
    for _ in range(8):
        move = newton_step(rising(pf, pairs), ph)
        ph = ph - move
        species = species_at(ph, system.alkalinity, c, pf, pairs)
        pairs = pair_up(species.hco3, species.co3, system, c, pf)
        pf = exponent(system.strength - pairs.strength_less, c)
        if settled := is_small(move):
            break
    for _ in range(0 if settled else 4):
        ph = root_in_ph(rising(pf, pairs), ph)
        species = species_at(ph, system.alkalinity, c, pf, pairs)
        pairs = pair_up(species.hco3, species.co3, system, c, pf)
        pf = exponent(system.strength - pairs.strength_less, c)
    return ph


def fractions(ph: Any, c: Constants, pf: Any, pairs: Pairs = NO_PAIRS) -> tuple[Any, Any]:
    """Alkalinity carried per mole of carbon, and the share of carbon that is free carbonate, at a pH.

    Why: with them a closed water can be moved to any pH by plain arithmetic.
    Units: pH, ``constants``, pf and ``Pairs`` in; two fractions out; floats or arrays.
    Range: any pH.
    Raises: nothing.
    Source: mass action (computed).

    >>> per_carbon, share = fractions(8.3, constants(25.0), 0.0)
    >>> round(float(per_carbon), 2), round(float(share), 3)
    (1.0, 0.009)
    """
    ratio = ten(ph - c.pk2 + 3.0 * pf)
    bound, double = 1.0 + pairs.per_hco3, ratio * (1.0 + pairs.per_co3)
    total = ten(c.pk1 - ph - pf) + bound + double
    return (bound + 2.0 * double) / total, ratio / total


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
    pf = exponent(system.strength, c)
    pairs = NO_PAIRS
    co2 = ten(c.henry + pressure)
    ph: Any = 8.0 + 0.0 * (system.alkalinity + c.pk1)
    for _ in range(4):

        def short(trial: Any, pf: Any = pf, pairs: Pairs = pairs) -> Any:
            hco3 = co2 * ten(trial - c.pk1 + pf)
            co3 = hco3 * ten(trial - c.pk2 + 3.0 * pf)
            carried = hco3 * (1.0 + pairs.per_hco3) + 2.0 * co3 * (1.0 + pairs.per_co3)
            return (carried + ten(trial + pf - c.pkw) - ten(pf - trial)) / system.alkalinity - 1.0

        ph = root_in_ph(short, ph)
        species = species_at(ph, system.alkalinity, c, pf, pairs)
        pairs = pair_up(species.hco3, species.co3, system, c, pf)
        pf = exponent(system.strength - pairs.strength_less, c)
    return ph
