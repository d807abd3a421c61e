"""Units at the edges: the pint registry, exact definitions, and conversions between ways of counting."""

from __future__ import annotations

from functools import cache
from typing import Any

from sizing.engine import measures
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import mass_ratio, molar_mass
from sizing.engine.water import Number

# Exact by definition; checked against pint in the tests.
M_PER_INCH: float = measures.M_PER_IN
M_PER_FOOT: float = measures.M_PER_FT
M2_PER_FT2: float = measures.M2_PER_FT2
L_PER_GALLON: float = measures.L_PER_GAL
L_PER_IMPERIAL_GALLON: float = measures.L_PER_IMPERIAL_GAL
L_PER_FT3: float = measures.L_PER_FT3
KPA_PER_PSI: float = measures.KPA_PER_PSI
KG_PER_POUND = 0.45359237
MG_PER_GRAIN = 64.79891
MG_L_PER_GPG = MG_PER_GRAIN / L_PER_GALLON
GRAINS_PER_POUND = 7000.0
BQ_PER_PCI = 0.037


@cache
def registry() -> Any:
    """The one pint registry, built at its first use, with grains per gallon and pounds per square inch known.

    Why: two registries never mix; loading it late keeps the engine quick to import.
    Units: none.
    Range: none.
    Raises: nothing.
    Source: pint's definitions, with gpg = 1 grain per US gallon added (computed).

    >>> round(registry().Quantity(1, "gpg").to("mg/L").magnitude, 4)
    17.1181
    """
    import pint

    units: Any = pint.UnitRegistry()
    units.define("gpg = grain / gallon")
    units.define("imperial_gpg = grain / imperial_gallon")
    return units


@cache
def factor(from_unit: str, to_unit: str) -> float:
    """How many ``to_unit`` make one ``from_unit`` (no offsets: not for degrees Celsius).

    Why: forms and imports convert once, at the edge.
    Units: any two pint can convert; ``gallon`` is the US gallon, ``imperial_gallon`` the other.
    Range: units of the same dimension.
    Raises: pint's ``DimensionalityError`` or ``UndefinedUnitError``.
    Source: pint's definitions (computed).

    >>> round(factor("gallon/minute", "L/minute"), 6)
    3.785412
    """
    return float(registry().Quantity(1.0, from_unit).to(to_unit).magnitude)


def gpg_to_mg_l(hardness_gpg: Number) -> Any:
    """Hardness in mg/L as CaCO3 from grains per US gallon.

    Why: dealers and valve settings speak grains, laboratories milligrams.
    Units: gpg in, mg/L as CaCO3 out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 64.79891 mg per grain / 3.785411784 L per US gallon (computed).

    >>> round(gpg_to_mg_l(10), 2)
    171.18
    """
    return within("hardness", hardness_gpg, low=0.0, unit="gpg") * MG_L_PER_GPG


def mg_l_to_gpg(hardness: Number) -> Any:
    """Hardness in grains per US gallon from mg/L as CaCO3.

    Why: softener controls are set in whole grains per gallon.
    Units: mg/L as CaCO3 in, gpg out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 64.79891 mg per grain / 3.785411784 L per US gallon (computed).

    >>> round(mg_l_to_gpg(302.71), 2)
    17.68
    """
    return within("hardness", hardness, low=0.0, unit="mg/L as CaCO3") / MG_L_PER_GPG


def hardness_from_ions(calcium: Number, magnesium: Number) -> Any:
    """Total hardness from calcium and magnesium given as the elements.

    Why: adding Ca and Mg as they stand is a known input error; each has its own factor.
    Units: mg/L as Ca and as Mg in, mg/L as CaCO3 out; floats or arrays.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 2.497 Ca + 4.118 Mg, IUPAC atomic weights (computed).

    >>> round(hardness_from_ions(90, 24), 1)
    323.6
    """
    calcium = within("calcium", calcium, low=0.0, unit="mg/L")
    magnesium = within("magnesium", magnesium, low=0.0, unit="mg/L")
    return calcium * mass_ratio("CaCO3", 1, "Ca", 1) + magnesium * mass_ratio("CaCO3", 1, "Mg", 1)


def alkalinity_from_bicarbonate(bicarbonate: Number) -> Any:
    """Alkalinity as CaCO3 from bicarbonate given as HCO3.

    Why: taking 305 mg/L HCO3 for 305 mg/L CaCO3 breaks the charge balance.
    Units: mg/L as HCO3 in, mg/L as CaCO3 out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 100.086 / (2 x 61.016), IUPAC atomic weights (computed).

    >>> round(alkalinity_from_bicarbonate(305), 1)
    250.1
    """
    return within("bicarbonate", bicarbonate, low=0.0, unit="mg/L") * mass_ratio("CaCO3", 1, "HCO3", 2)


def nitrate_as_n(nitrate_as_no3: Number) -> Any:
    """Nitrate as nitrogen from nitrate as the ion.

    Why: 45 mg/L as NO3 and 10 mg/L as N are rounded equivalents; the engine decides on one basis, as N.
    Units: mg/L as NO3 in, mg/L as N out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 14.007 / 62.004, IUPAC atomic weights (computed).

    >>> round(nitrate_as_n(30), 2)
    6.78
    """
    return within("nitrate", nitrate_as_no3, low=0.0, unit="mg/L as NO3") * mass_ratio("N", 1, "NO3", 1)


def nitrate_as_no3(nitrate_n: Number) -> Any:
    """Nitrate as the ion from nitrate as nitrogen.

    Why: some laboratories and WHO print nitrate as the ion.
    Units: mg/L as N in, mg/L as NO3 out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 62.004 / 14.007, IUPAC atomic weights (computed).

    >>> round(nitrate_as_no3(10), 2)
    44.27
    """
    return within("nitrate", nitrate_n, low=0.0, unit="mg/L as N") * mass_ratio("NO3", 1, "N", 1)


def sulphide_as_h2s(sulphide: Number) -> Any:
    """Sulphide as hydrogen sulphide from sulphide as sulphur.

    Why: field kits and rules speak of H2S, the engine keeps sulphide as S.
    Units: mg/L as S in, mg/L as H2S out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 34.076 / 32.06, IUPAC atomic weights (computed).

    >>> round(sulphide_as_h2s(1.0), 3)
    1.063
    """
    return within("sulphide", sulphide, low=0.0, unit="mg/L as S") * molar_mass("H2S") / molar_mass("S")


def celsius_from_fahrenheit(fahrenheit: Number) -> Any:
    """Temperature in degrees Celsius from Fahrenheit.

    Why: US papers and customers give Fahrenheit.
    Units: degF in, degC out; float or array.
    Range: absolute zero (-459.67 degF) and warmer.
    Raises: ``OutsideValidRange`` below -459.67 degF or not finite.
    Source: (F - 32) / 1.8, definition (computed).

    >>> round(celsius_from_fahrenheit(50), 6)
    10.0
    """
    return (within("temperature", fahrenheit, low=-459.67, unit="degF") - 32.0) / 1.8


def fahrenheit_from_celsius(celsius: Number) -> Any:
    """Temperature in degrees Fahrenheit from Celsius.

    Why: US papers and customers read Fahrenheit.
    Units: degC in, degF out; float or array.
    Range: absolute zero (-273.15 degC) and warmer.
    Raises: ``OutsideValidRange`` below -273.15 degC or not finite.
    Source: 1.8 C + 32, definition (computed).

    >>> fahrenheit_from_celsius(10)
    50.0
    """
    return within("temperature", celsius, low=-273.15, unit="degC") * 1.8 + 32.0
