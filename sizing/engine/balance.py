"""Checks of an analysis against itself: charge balance, dissolved solids, conductivity, ionic strength."""

from __future__ import annotations

from typing import Any

import numpy as np

from sizing.engine.errors import MissingEvidence
from sizing.engine.figures import figure
from sizing.engine.quantities import hardness_from_ions, nitrate_as_no3
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import CHARGED, charge_of, equivalent_weight, molar_mass
from sizing.engine.water import Number, Water

NEEDED_FOR_BALANCE = ("calcium", "magnesium", "sodium", "chloride", "sulphate", "alkalinity")


def ion_sums(water: Water) -> tuple[Any, Any]:
    """Sum of cations and sum of anions of an analysis.

    Why: the two must agree; where they do not, an ion is missing or a unit is wrong.
    Units: canonical water in, (cations, anions) meq/L out; floats or arrays. Alkalinity counts as bicarbonate.
    Range: any water; what was not measured counts 0, so ask ``can_balance`` first.
    Raises: nothing.
    Source: equivalent weights (computed), Standard Methods 1030 E form.

    >>> cations, anions = ion_sums(Water({"calcium": 40.078, "alkalinity": 100.086}))
    >>> round(cations, 3), round(anions, 3)
    (2.0, 2.0)
    """
    sums: list[Any] = [0.0, 0.0]
    for code in CHARGED:
        if code not in water or (code == "ammonia" and float(np.max(water.get("ph", 0.0))) > 8.5):
            continue
        side = 0 if charge_of(code) > 0 else 1
        sums[side] = sums[side] + water[code] / equivalent_weight(code)
    if "iron_dissolved" not in water and "iron" in water and float(np.max(water.get("ph", 7.0))) < 7.5:
        sums[0] = sums[0] + water["iron"] / equivalent_weight("iron_dissolved")
    return sums[0], sums[1]


def can_balance(water: Water) -> bool:
    """Whether the ions that usually carry the charge were all measured.

    Why: a partial analysis cannot be blamed for not balancing.
    Units: none.
    Range: any water.
    Raises: nothing.
    Source: rule of the engine (common practice).

    >>> can_balance(Water({"calcium": 40.0}))
    False
    """
    return all(code in water for code in NEEDED_FOR_BALANCE)


def charge_balance(water: Water) -> Any:
    """Charge-balance error of an analysis.

    Why: sodium left out or bicarbonate typed as CaCO3 shows here at once.
    Units: canonical water in, % out (positive = too many cations); float or array.
    Range: a full analysis (``NEEDED_FOR_BALANCE``).
    Raises: ``MissingEvidence`` naming the ions that were not measured.
    Source: 100 (cations - anions) / (cations + anions), Standard Methods 1030 E form (published).

    >>> ions = dict(calcium=40.078, magnesium=0.0, sodium=0.0, chloride=0.0, sulphate=0.0, alkalinity=90.0774)
    >>> round(charge_balance(Water(ions)), 2)
    5.26
    """
    missing = [code for code in NEEDED_FOR_BALANCE if code not in water]
    if missing:
        raise MissingEvidence(missing, f"a charge balance also needs {', '.join(missing)}")
    cations, anions = ion_sums(water)
    result = 100.0 * (cations - anions) / np.maximum(cations + anions, 1e-9)
    return result if np.ndim(result) else float(result)


def balance_is_acceptable(cations: float, anions: float) -> bool:
    """Whether a charge balance is good enough for the size of the water.

    Why: 5 % is right for ordinary water, but in dilute lake and rain water a trace makes 12 %: there the
    difference itself is judged.
    Units: meq/L.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: anions up to 3 meq/L: within 0.2 meq/L (Standard Methods 1030 E, from memory); above: 5 %, the
    limit in common use (published), where the standard's own band 3-10 meq/L is 2 %.

    >>> balance_is_acceptable(0.083, 0.106), balance_is_acceptable(6.63, 11.40)
    (True, False)
    """
    cations = float(within("cations", cations, low=0.0, unit="meq/L"))
    anions = float(within("anions", anions, low=0.0, unit="meq/L"))
    bands = figure("analysis-checks", "balance_bands").value
    difference = abs(cations - anions)
    if anions <= bands["small_up_to"] and difference <= bands["small_within"]:
        return True
    return bool(difference <= figure("analysis-checks", "balance_percent").value / 100.0 * (cations + anions))


def calculated_tds(water: Water) -> Any:
    """Dissolved solids summed from the ions.

    Why: checked against the measured value and the conductivity; used where none was measured.
    Units: canonical water in, mg/L out; float or array. What was not measured counts 0.
    Range: a water with alkalinity and at least calcium or hardness or sodium.
    Raises: ``MissingEvidence`` where there is nothing to sum.
    Source: 0.6 alkalinity + ions, Standard Methods 1030 E form (computed; a state report prints 0.61).

    >>> round(calculated_tds(Water({"alkalinity": 100.0, "calcium": 40.0})))
    100
    """
    if "alkalinity" not in water or not any(c in water for c in ("calcium", "hardness", "sodium")):
        raise MissingEvidence(["alkalinity", "calcium"], "dissolved solids need alkalinity and the main cations")
    total = figure("analysis-checks", "alkalinity_weight").value * water["alkalinity"]
    if "calcium" not in water and "hardness" in water:  # all of it taken as calcium
        total = total + water["hardness"] * molar_mass("Ca") / molar_mass("CaCO3")
    for code in ("calcium", "magnesium", "sodium", "potassium", "chloride", "sulphate", "fluoride", "silica"):
        total = total + water.get(code, 0.0)
    for code in ("iron", "manganese"):
        total = total + water.get(code, 0.0)
    return total + nitrate_as_no3(water.get("nitrate", 0.0))


def ionic_strength(water: Water) -> Any:
    """Ionic strength, from the ions where they were measured, else from conductivity or dissolved solids.

    Why: activity corrections of the saturation index hang on it.
    Units: canonical water in, mol/L out; float or array. No ion pairing.
    Range: a full analysis, or conductivity, or dissolved solids, or at least alkalinity and hardness (rough, and
    enough for an activity correction).
    Raises: ``MissingEvidence`` where none of them was measured.
    Source: half the sum of c z2 (computed); 1.6e-5 x conductivity, 2.5e-5 x TDS (published).

    >>> ionic_strength(Water({"tds": 200.0}))
    0.005
    """
    if can_balance(water):
        total: Any = 0.0
        for code in CHARGED:
            if code in water:
                charge = 1 if code == "alkalinity" else abs(charge_of(code))  # bicarbonate carries one
                moles = water[code] / equivalent_weight(code) / charge / 1000.0
                total = total + 0.5 * moles * charge**2
        if "iron_dissolved" not in water and "iron" in water:
            total = total + 2.0 * water["iron"] / molar_mass("Fe") / 1000.0
        return total
    rule = figure("carbonate-constants", "ionic_strength").value
    if "conductivity" in water:
        return rule["conductivity"] * water["conductivity"]
    if "tds" in water:
        return rule["tds"] * water["tds"]
    try:
        return rule["tds"] * calculated_tds(water)
    except MissingEvidence:
        words = "ionic strength needs the ions, the conductivity or the dissolved solids"
        raise MissingEvidence(["conductivity"], words) from None


def hardness_gap(water: Water) -> Any:
    """Reported hardness less the hardness of reported calcium and magnesium.

    Why: the two are one thing measured twice; a gap shows a unit or a typing error.
    Units: mg/L as CaCO3; float or array.
    Range: a water with hardness, calcium and magnesium.
    Raises: ``MissingEvidence`` where one of them was not measured.
    Source: 2.497 Ca + 4.118 Mg (computed).

    >>> round(hardness_gap(Water({"hardness": 330.0, "calcium": 90.0, "magnesium": 24.0})), 1)
    6.4
    """
    return water["hardness"] - hardness_from_ions(water["calcium"], water["magnesium"])


def implied_magnesium(hardness: Number, calcium: Number) -> Any:
    """Magnesium implied by total hardness and calcium, where only those two were reported.

    Why: many papers give hardness and calcium only; the saturation index and softening want both.
    Units: mg/L as CaCO3 and mg/L Ca in, mg/L Mg out; floats or arrays.
    Range: calcium hardness at most the total hardness.
    Raises: ``OutsideValidRange`` where calcium alone is harder than the total.
    Source: (hardness - 2.497 Ca) / 4.118 (computed).

    >>> round(implied_magnesium(323.588, 90.0), 1)
    24.0
    """
    rest = within("hardness", hardness, low=0.0, unit="mg/L as CaCO3") - hardness_from_ions(calcium, 0.0)
    rest = within("hardness less that of calcium", rest, low=0.0, unit="mg/L as CaCO3")
    return rest * molar_mass("Mg") / molar_mass("CaCO3")
