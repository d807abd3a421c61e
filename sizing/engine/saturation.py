"""Whether a water lays down or takes up calcium carbonate: indexes, and the amount."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from sizing.engine import carbonate
from sizing.engine.carbonate import NO_PAIRS, Pairs, System
from sizing.engine.carbonate_constants import Constants, activity_exponent, constants, exponent, ten
from sizing.engine.ph_roots import is_small, newton_step, root_in_ph
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import molar_mass
from sizing.engine.water import Number, Water


@dataclass(frozen=True)
class SaturationIndex:
    """``index`` = pH - ``langelier_ph``; ``ryznar`` = 2 ``langelier_ph`` - pH.

    ``langelier_ph`` keeps the bicarbonate of the actual pH. ``saturation_ph`` is the pH at which this calcium and
    alkalinity would be saturated; ``None`` where none exists (very soft water). ``without_pairs`` is the index of
    the usual form, which takes all calcium and carbonate as free and runs up to 0.1 higher.
    """

    index: float
    langelier_ph: float
    ryznar: float
    saturation_ph: float | None
    without_pairs: float


def saturation_indices(
    ph: Number, alkalinity: Number, calcium: Number, temperature_c: Number, ionic_strength: Number
) -> Any:
    """Langelier saturation index in the usual rigorous form, for one water or many.

    Why: scale on sleeves, heaters and membranes; corrosion of copper; both start here.
    Units: pH, mg/L as CaCO3, mg/L Ca, degC, mol/L in; index out; floats or equally long arrays.
    Range: pH 4 to 11 (better 6-9), alkalinity and calcium more than 0, 0 to 80 degC, 0 to 0.1 mol/L. The pH must
    be that of the temperature given.
    Raises: ``OutsideValidRange`` outside that, or where hydroxide exceeds the alkalinity.
    Source: pHs = pK2 - pKs + pCa + pHCO3 + 5 pf, Standard Methods 2330 B form (from memory), constants published;
    no ion pairs, so 0.00 to 0.08 above PHREEQC (computed).

    >>> round(float(saturation_indices(7.3, 250.0, 90.0, 10.0, 0.01093)), 2)
    0.04
    """
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3", low_open=True)
    calcium = within("calcium", calcium, low=0.0, unit="mg/L", low_open=True)
    hco3 = carbonate.speciate(ph, alkalinity, temperature_c, ionic_strength).hco3
    hco3 = within("bicarbonate", hco3, low=0.0, unit="mol/L", low_open=True, source="hydroxide exceeds alkalinity")
    c = constants(temperature_c)
    pf = activity_exponent(ionic_strength, temperature_c)
    molar_calcium = calcium / molar_mass("Ca") / 1000.0
    return np.asarray(ph) - (c.pk2 - c.pks - np.log10(molar_calcium) - np.log10(hco3) + 5.0 * pf)


def paired_indices(water: Water) -> Any:
    """Saturation index with ion pairs, for one water or many.

    Why: in water rich in sulphate, and in hot alkaline water, up to a tenth of the calcium is bound and makes no
    scale; the index of the worksheet counts only what is free.
    Units: canonical water, floats or equally long arrays; index out.
    Range: as ``saturation_index``.
    Raises: ``MissingEvidence`` naming what was not measured; ``OutsideValidRange`` outside the method.
    Source: mass action with the constants of phreeqc.dat (computed), within 0.02 of PHREEQC on the tests' waters.

    >>> hard = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, conductivity=657.0))
    >>> round(float(paired_indices(hard)), 2)
    0.03
    """
    system = carbonate.system_of(water)
    within("calcium", system.calcium, low=0.0, unit="mol/L", low_open=True)
    species, pf = carbonate.settle(np.asarray(water["ph"], dtype=float), system)
    free = within("bicarbonate", species.hco3, low=0.0, unit="mol/L", low_open=True, source="hydroxide first")
    c = constants(system.temperature_c)
    co3 = free * ten(water["ph"] - c.pk2 + 3.0 * pf)
    return np.log10(system.calcium * species.pairs.calcium_free * co3) + c.pks - 8.0 * pf


def saturation_index(water: Water) -> SaturationIndex:
    """Langelier and Ryznar indexes of a water, with ion pairs, and the true saturation pH where one exists.

    Why: the number on the sheet, and an honest "none" for very soft water.
    Units: canonical, single values.
    Range: pH, alkalinity, calcium (or hardness) and temperature measured, and ions, conductivity or TDS; pH 4 to
    11, 0 to 80 degC, ionic strength to 0.1 mol/L.
    Raises: ``MissingEvidence`` naming what was not measured; ``OutsideValidRange`` outside the method.
    Source: see ``paired_indices`` and ``saturation_indices``; Ryznar 2 pHs - pH (published, UFC 3-240-13FN).

    >>> hard = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, conductivity=657.0))
    >>> found = saturation_index(hard)
    >>> round(found.index, 2), round(found.without_pairs, 2), round(found.ryznar, 1)
    (0.03, 0.05, 7.2)
    """
    system = carbonate.system_of(water)
    ph = float(water["ph"])
    index = float(paired_indices(water))
    calcium = float(system.calcium) * molar_mass("Ca") * 1000.0
    plain = saturation_indices(ph, water["alkalinity"], calcium, water["temperature"], float(system.strength))
    return SaturationIndex(
        index=index,
        langelier_ph=ph - index,
        ryznar=ph - 2.0 * index,
        saturation_ph=saturation_ph(system),
        without_pairs=float(plain),
    )


def saturation_ph(system: System) -> float | None:
    """The pH at which the calcium and alkalinity of a water are just saturated, or ``None``.

    Why: very soft water has none: raising its pH makes hydroxide, not carbonate.
    Units: a ``System`` of single values; pH out.
    Range: searched from pH 5 to 11.5; the first crossing counts.
    Raises: ``OutsideValidRange`` outside the constants.
    Source: mole balance (computed).

    >>> hard = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, tds=437.2))
    >>> round(saturation_ph(carbonate.system_of(hard)), 2)
    7.27
    """
    c = constants(system.temperature_c)
    ph = np.linspace(5.0, 11.5, 1301)
    species, pf = carbonate.settle(ph, system)
    product = species.co3 * system.calcium * species.pairs.calcium_free
    gap = np.log10(np.maximum(product, 1e-30)) + c.pks - 8.0 * pf
    over = np.flatnonzero(gap >= 0.0)
    if not over.size:
        return None
    at = int(over[0])
    if at == 0:
        return float(ph[0])
    share = -gap[at - 1] / (gap[at] - gap[at - 1])
    return float(ph[at - 1] + share * (ph[at] - ph[at - 1]))


def with_calcite(system: System, dissolved: Any) -> System:
    """The system after dissolving (or, negative, precipitating) calcite, closed to air.

    Why: one step of the neutraliser and of the precipitation potential.
    Units: mol/L of CaCO3.
    Range: any amount that leaves calcium, alkalinity and carbon at 0 or more (the caller's care).
    Raises: nothing.
    Source: CaCO3 + CO2 + H2O -> Ca + 2 HCO3, mole balance (computed).

    >>> start = System(0.001, 0.002, 0.0025, 0.003, 10.0)
    >>> with_calcite(start, 0.001).alkalinity
    0.004
    """
    return replace(
        system,
        calcium=system.calcium + dissolved,
        alkalinity=system.alkalinity + 2.0 * dissolved,
        carbon=system.carbon + dissolved,
        strength=_floor(system.strength + 3.0 * dissolved, 0.0),
    )


def calcite_to_saturation(system: System) -> tuple[Any, Any]:
    """Calcite that dissolves (positive) or precipitates (negative) until a closed water is saturated, and its pH.

    Why: the end point of a neutraliser bed and the amount of scale a water can make, in one number.
    Units: a ``System`` in; (mol/L CaCO3, pH) out; floats or arrays.
    Range: a water with some calcium or carbon dioxide; pH 4 to 11.5 is searched. An upper limit: real beds stop
    short, and real scale needs a surface and time.
    Raises: ``OutsideValidRange`` outside the constants.
    Source: mole balance with the calcite constant (computed), within 0.05 pH of PHREEQC.

    >>> acid = Water(dict(ph=6.2, alkalinity=30.0, calcium=11.0, temperature=8.0, tds=58.8))
    >>> dissolved, ph = calcite_to_saturation(carbonate.system_of(acid))
    >>> round(float(dissolved) * 100086), round(float(ph), 2)
    (99, 7.76)
    """
    if carbonate.is_single(system):
        return _calcite_once(system)
    return _calcite(system)


@lru_cache(maxsize=4096)
def _calcite_once(system: System) -> tuple[Any, Any]:
    return _calcite(system)


def _calcite(system: System) -> tuple[Any, Any]:
    c = constants(system.temperature_c)
    pf = exponent(system.strength, c)
    pairs = NO_PAIRS
    ph: Any = 8.0 + 0.0 * (system.alkalinity + system.carbon + system.calcium + c.pk1)

    def rising(pf: Any, pairs: Pairs) -> Any:
        def gap(trial: Any) -> Any:
            amount, carbonate_share = _dissolved_at(trial, system, c, pf, pairs)
            co3 = _floor((system.carbon + amount) * carbonate_share, 1e-30)
            calcium = _floor(system.calcium + amount, 1e-12) * pairs.calcium_free
            return _log10(co3 * calcium) + c.pks - 8.0 * pf

        return gap

    def follow(ph: Any, pf: Any, pairs: Pairs) -> tuple[Any, Any, Pairs]:
        dissolved, share = _dissolved_at(ph, system, c, pf, pairs)
        after = with_calcite(system, dissolved)
        co3 = _floor(after.carbon * share, 0.0)
        hco3 = co3 * ten(c.pk2 - ph - 3.0 * pf)
        pairs = carbonate.pair_up(hco3, co3, replace(after, calcium=_floor(after.calcium, 0.0)), c, pf)
        return dissolved, exponent(after.strength - pairs.strength_less, c), pairs

    dissolved: Any = 0.0
    settled = False
    for _ in range(9):  # ionic strength and pairs follow what dissolves
        move = newton_step(rising(pf, pairs), ph)
        ph = ph - move
        dissolved, pf, pairs = follow(ph, pf, pairs)
        if settled := is_small(move):
            break
    for _ in range(0 if settled else 4):
        ph = root_in_ph(rising(pf, pairs), ph, 4.0, 11.5)
        dissolved, pf, pairs = follow(ph, pf, pairs)
    return dissolved, ph


def _dissolved_at(ph: Any, system: System, c: Constants, pf: Any, pairs: Pairs) -> tuple[Any, Any]:
    """Calcite (mol/L) that must have dissolved for the closed system to stand at a pH, and the carbonate share."""
    per_carbon, share = carbonate.fractions(ph, c, pf, pairs)
    water_ions = ten(ph + pf - c.pkw) - ten(pf - ph)
    return (system.carbon * per_carbon + water_ions - system.alkalinity) / (2.0 - per_carbon), share


def _floor(value: Any, least: float) -> Any:
    return max(value, least) if isinstance(value, float) else np.maximum(value, least)


def _log10(value: Any) -> Any:
    return math.log10(value) if isinstance(value, float) else np.log10(value)


def precipitation_potential(water: Water) -> Any:
    """Calcium carbonate precipitation potential: mg/L that would fall out (negative: that would still dissolve).

    Why: an amount says more than an index, above all in soft water.
    Units: canonical water in, mg/L CaCO3 out; float or array.
    Range: as ``carbonate.system_of``; closed system.
    Raises: ``MissingEvidence``, ``OutsideValidRange`` as there.
    Source: mole balance with the calcite constant (computed; 16 mg/L printed by an open package's test).

    >>> ballast = Water(dict(ph=8.0, alkalinity=200.0, calcium=40.0, temperature=25.0, tds=200.0))
    >>> round(precipitation_potential(ballast), 1)
    16.5
    """
    dissolved, _ = calcite_to_saturation(carbonate.system_of(water))
    result = -dissolved * molar_mass("CaCO3") * 1000.0
    return result if np.ndim(result) else float(result)


def calcite_hardness_at(log_pco2: float, temperature_c: float) -> float:
    """Hardness that pure water picks up from limestone at a pressure of carbon dioxide.

    Why: shows how hard a spring or a neutralised water can get, and checks the calcite constant.
    Units: log10 atm, degC in; mg/L as CaCO3 out.
    Range: log pCO2 -5 to 0, 0 to 80 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: open system, Henry's law and calcite (published constants, computed).

    >>> round(calcite_hardness_at(-2.0, 25.0))
    165
    """
    pressure = float(within("log pCO2", log_pco2, low=-5.0, high=0.0))
    c = constants(temperature_c)
    pf: Any = 0.0
    pairs = NO_PAIRS
    calcium = 0.0
    for _ in range(12):

        def spare(ph: Any, pf: Any = pf, pairs: Pairs = pairs) -> Any:
            hco3 = ten(c.henry + pressure + ph - c.pk1 + pf)
            co3 = hco3 * ten(ph - c.pk2 + 3.0 * pf)
            metal = ten(8.0 * pf - c.pks) / co3 / pairs.calcium_free
            bound = hco3 * (1.0 + pairs.per_hco3) + 2.0 * co3 * (1.0 + pairs.per_co3)
            return 0.5 * (bound + ten(ph + pf - c.pkw) - ten(pf - ph)) / metal - 1.0

        ph = root_in_ph(spare, 7.5)
        hco3 = ten(c.henry + pressure + ph - c.pk1 + pf)
        co3 = hco3 * ten(ph - c.pk2 + 3.0 * pf)
        calcium = float(ten(8.0 * pf - c.pks) / co3 / pairs.calcium_free)
        pairs = carbonate.pair_up(hco3, co3, System(calcium, 0.0, 0.0, 0.0, temperature_c), c, pf)
        pf = exponent(3.0 * calcium - pairs.strength_less, c)
    return calcium * molar_mass("CaCO3") * 1000.0


def heated(water: Water, temperature_c: float) -> Water:
    """The same closed water at another temperature: alkalinity and carbon stay, the pH moves.

    Why: an index at 60 degC with the pH of the cold sample overstates scale by 0.2 to 0.3; field pH belongs to
    field temperature.
    Units: canonical water, degC.
    Range: 0 to 80 degC, single values or arrays; as ``carbonate.system_of``.
    Raises: ``MissingEvidence``, ``OutsideValidRange`` as there.
    Source: mole balance (computed).

    >>> cold = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, conductivity=657.0))
    >>> round(heated(cold, 60.0)["ph"], 1)
    7.1
    """
    system = replace(carbonate.system_of(water), temperature_c=temperature_c)
    return water.with_values(ph=carbonate.closed_ph(system), temperature=temperature_c)
