"""Molar masses and the mass ratios that follow from balanced reactions."""

from __future__ import annotations

import re
from functools import cache

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure

_PART = re.compile(r"([A-Z][a-z]?)(\d*)|\(([^()]+)\)(\d*)")


@cache
def molar_mass(formula: str) -> float:
    """Molar mass of a chemical formula.

    Why: every conversion factor (as CaCO3, as N, oxidant demand) is computed from it, none typed in.
    Units: g/mol. ``formula`` in plain text: "CaCO3", "Fe(OH)3"; one level of brackets.
    Range: elements in the table of weights.
    Raises: ``OutsideValidRange`` for an element or a formula it does not know.
    Source: IUPAC abridged atomic weights (published).

    >>> round(molar_mass("CaCO3"), 3)
    100.086
    >>> round(molar_mass("Fe(OH)3"), 3)
    106.866
    """
    weights: dict[str, float] = figure("atomic-weights", "weights").value
    total, at = 0.0, 0
    for match in _PART.finditer(formula):
        if match.start() != at:
            break
        at = match.end()
        element, count, group, group_count = match.groups()
        if group:
            total += molar_mass(group) * int(group_count or 1)
        elif element in weights:
            total += weights[element] * int(count or 1)
        else:
            raise OutsideValidRange("element", element, source="the table of atomic weights")
    if at != len(formula) or not formula:
        raise OutsideValidRange("formula", formula, source="the table of atomic weights")
    return total


@cache
def mass_ratio(reagent: str, reagent_moles: float, target: str, target_moles: float) -> float:
    """Mass of reagent used (or product formed) per mass of target, from the moles of a balanced reaction.

    Why: oxidant demand, calcite dissolved and sludge formed are mass ratios of balanced reactions.
    Units: mg per mg. Moles as they stand in the reaction.
    Range: moles more than 0.
    Raises: ``OutsideValidRange`` for an unknown formula or moles of 0 or less.
    Source: IUPAC abridged atomic weights (published); arithmetic (computed).

    >>> round(mass_ratio("O2", 1, "Fe", 4), 4)  # 4 Fe2+ + O2
    0.1432
    """
    if reagent_moles <= 0 or target_moles <= 0:
        bad = reagent_moles if reagent_moles <= 0 else target_moles
        raise OutsideValidRange("moles", bad, low=0.0, low_open=True, source="a balanced reaction")
    return reagent_moles * molar_mass(reagent) / (target_moles * molar_mass(target))


_CHARGES = {
    "calcium": ("Ca", 2), "magnesium": ("Mg", 2), "sodium": ("Na", 1), "potassium": ("K", 1),
    "iron_dissolved": ("Fe", 2), "manganese": ("Mn", 2), "ammonia": ("N", 1), "strontium": ("Sr", 2),
    "barium": ("Ba", 2), "hardness": ("CaCO3", 2), "alkalinity": ("CaCO3", -2), "chloride": ("Cl", -1),
    "sulphate": ("SO4", -2), "nitrate": ("N", -1), "nitrite": ("N", -1), "fluoride": ("F", -1),
}  # fmt: skip
"""Analyte code -> the formula its concentration is counted as, and the charge that formula carries."""


@cache
def equivalent_weight(analyte_code: str) -> float:
    """Milligrams per milliequivalent of an analyte in the basis the engine keeps it in.

    Why: ion exchange, charge balance and salt are counted in equivalents.
    Units: mg/meq (nitrate as N, hardness and alkalinity as CaCO3).
    Range: the charged analytes ``CHARGED``.
    Raises: ``OutsideValidRange`` for an analyte that carries no charge here.
    Source: IUPAC abridged atomic weights (published).

    >>> round(equivalent_weight("hardness"), 3)
    50.043
    """
    if analyte_code not in _CHARGES:
        raise OutsideValidRange("analyte", analyte_code, source="the table of ions")
    formula, charge = _CHARGES[analyte_code]
    return molar_mass(formula) / abs(charge)


def charge_of(analyte_code: str) -> int:
    """Charge an analyte carries per mole of the formula it is counted as: +2 for calcium, -1 for nitrate.

    Why: cations and anions are summed apart in the charge balance.
    Units: elementary charges. Alkalinity counts as -2 per mole CaCO3.
    Range: the charged analytes ``CHARGED``.
    Raises: ``OutsideValidRange`` for an analyte that carries no charge here.
    Source: definition (computed).

    >>> charge_of("sulphate")
    -2
    """
    if analyte_code not in _CHARGES:
        raise OutsideValidRange("analyte", analyte_code, source="the table of ions")
    return _CHARGES[analyte_code][1]


CHARGED: tuple[str, ...] = tuple(code for code in _CHARGES if code != "hardness")
"""Analytes that count in a charge balance (hardness is calcium and magnesium again, so it does not)."""
