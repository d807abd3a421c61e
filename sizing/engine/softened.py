"""What softening makes of the water: hardness left, sodium or potassium added, dissolved solids, blending."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.exchange import salt_dose_range
from sizing.engine.figures import figure
from sizing.engine.quantities import KG_PER_POUND, L_PER_FT3, MG_L_PER_GPG
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import equivalent_weight, molar_mass
from sizing.engine.water import Number


@dataclass(frozen=True)
class Leakage:
    """Hardness left in softened water, mg/L as CaCO3: best case, usual, and the careful upper end."""

    low: Any
    typical: Any
    high: Any


def hardness_leakage(hardness: Number, resin_l: float, salt_kg: Number) -> Leakage:
    """Hardness that slips through a co-current softener, as a band.

    Why: stages behind it (UV, reverse osmosis, anion beds) have hardness limits; judge them on ``high``.
    Units: hardness mg/L as CaCO3, resin L, salt kg in, mg/L as CaCO3 out; floats or arrays.
    Range: 4 to 20 lb/ft3; above 15 lb the value at 15 holds.
    Raises: ``OutsideValidRange`` outside the salt range, below 0 or not finite.
    Source: 3 gpg at 4 lb/ft3 falling to 1 at 8 and 0.5 at 15 (from memory, no published table could be read);
    typical 1 % of the raw hardness (common practice).

    >>> leak = hardness_leakage(342.0, 28.3, 2.72)
    >>> round(leak.typical, 1), round(leak.high, 1)
    (3.4, 34.2)
    """
    hardness = within("hardness", hardness, low=0.0, unit="mg/L as CaCO3")
    low_kg, high_kg = salt_dose_range(resin_l)
    salt_kg = within("salt dose", salt_kg, low=low_kg, high=high_kg, unit="kg", source="capacity curve")
    table = figure("softener-practice", "leakage").value
    dose = salt_kg / KG_PER_POUND / (resin_l / L_PER_FT3)
    band = np.interp(dose, [row[0] for row in table], [row[1] for row in table]) * MG_L_PER_GPG
    _, typical, _ = figure("softener-practice", "removal").value
    usual = hardness * (1.0 - typical)
    high = np.minimum(hardness, np.maximum(band, usual))
    return Leakage(low=hardness * 0.0, typical=usual, high=high if np.ndim(high) else float(high))


def sodium_added(hardness_removed: Number) -> Any:
    """Sodium that a salt-regenerated softener puts into the water.

    Why: people on a low-sodium diet and reverse-osmosis membranes behind the softener see it.
    Units: mg/L as CaCO3 removed in, mg/L Na out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 2 Na per CaCO3, 0.4594 mg/mg, 7.86 mg/L per gpg (computed; trade pages print 7.86).

    >>> round(sodium_added(17.1181), 2)
    7.86
    """
    removed = within("hardness removed", hardness_removed, low=0.0, unit="mg/L as CaCO3")
    return removed * molar_mass("Na") / equivalent_weight("hardness")


def potassium_added(hardness_removed: Number) -> Any:
    """Potassium that a softener regenerated with potassium chloride puts into the water.

    Why: potassium matters to people with kidney disease as sodium does to others.
    Units: mg/L as CaCO3 removed in, mg/L K out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 2 K per CaCO3, 13.4 mg/L per gpg (computed).

    >>> round(potassium_added(17.1181), 1)
    13.4
    """
    removed = within("hardness removed", hardness_removed, low=0.0, unit="mg/L as CaCO3")
    return removed * molar_mass("K") / equivalent_weight("hardness")


def tds_change(calcium_removed: Number, magnesium_removed: Number) -> Any:
    """Change of dissolved solids by sodium-cycle softening.

    Why: softening does not lower dissolved solids; a membrane behind it sees slightly more.
    Units: mg/L Ca and Mg removed in, mg/L out (positive = rise); floats or arrays.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 2 Na in for each Ca or Mg out (computed): +0.06 mg per mg of calcium hardness, +0.22 of magnesium
    hardness.

    >>> round(tds_change(0.0, 24.305 / 100.086 * 100), 1)
    21.7
    """
    calcium = within("calcium removed", calcium_removed, low=0.0, unit="mg/L")
    magnesium = within("magnesium removed", magnesium_removed, low=0.0, unit="mg/L")
    sodium = 2.0 * molar_mass("Na")
    by_calcium = calcium * (sodium / molar_mass("Ca") - 1.0)
    return by_calcium + magnesium * (sodium / molar_mass("Mg") - 1.0)


def bypass_fraction(raw: Number, target: Number, treated: Number = 0.0) -> Any:
    """Share of raw water to blend into treated water to reach a wanted value.

    Why: some households want a little hardness left, and a blend saves salt.
    Units: all three alike, fraction out; floats or arrays.
    Range: treated <= target <= raw, treated below raw.
    Raises: ``OutsideValidRange`` where the target does not lie between.
    Source: mass balance (target - treated) / (raw - treated) (computed).

    >>> round(bypass_fraction(800, 500, 303), 3)
    0.396
    """
    raw = within("raw value", raw, low=0.0)
    treated = within("treated value", treated, low=0.0)
    within("raw value less treated value", np.subtract(raw, treated), low=0.0, low_open=True)
    within("raw value less target", np.subtract(raw, target), low=0.0)
    within("target less treated value", np.subtract(target, treated), low=0.0)
    share = np.subtract(target, treated) / np.subtract(raw, treated)
    return share if np.ndim(share) else float(share)
