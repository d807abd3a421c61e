"""Oxidising iron, manganese and sulphide: how much oxidant, whether there is enough oxygen, and where it works.

Sulphide is kept as S everywhere here, as in the water vector; trade rules count it as H2S (1.063 mg per mg S).
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.measures import ATMOSPHERE
from sizing.engine.quantities import L_PER_FT3, L_PER_GALLON, sulphide_as_h2s
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import mass_ratio, molar_mass
from sizing.engine.water import Number

Product = Literal["sulphur", "sulphate"]
ZERO_C = 273.15

# moles of oxidant per mole of target, from the balanced reactions
_MOLES: dict[str, dict[str, float]] = {
    "O2": {"iron": 1 / 4, "manganese": 1 / 2, "sulphur": 1 / 2, "sulphate": 2.0},
    "Cl2": {"iron": 1 / 2, "manganese": 1.0, "sulphur": 1.0, "sulphate": 4.0},
    "KMnO4": {"iron": 1 / 3, "manganese": 2 / 3, "sulphur": 2 / 3, "sulphate": 8 / 3},
}


def _demand(oxidant: str, iron: Number, manganese: Number, sulphide: Number, product: str) -> Any:
    moles = _MOLES[oxidant]
    if product not in ("sulphur", "sulphate"):
        raise OutsideValidRange("product of sulphide", product, source="known are sulphur, sulphate")
    return (
        within("iron", iron, low=0.0, unit="mg/L") * mass_ratio(oxidant, moles["iron"], "Fe", 1)
        + within("manganese", manganese, low=0.0, unit="mg/L") * mass_ratio(oxidant, moles["manganese"], "Mn", 1)
        + within("sulphide", sulphide, low=0.0, unit="mg/L as S") * mass_ratio(oxidant, moles[product], "S", 1)
    )


def oxygen_demand(
    iron: Number = 0.0, manganese: Number = 0.0, sulphide: Number = 0.0, product: Product = "sulphur"
) -> Any:
    """Oxygen used up by iron, manganese and sulphide.

    Why: an air-charged filter must bring at least this much, every litre of the run.
    Units: mg/L (sulphide as S) in, mg/L O2 out; floats or arrays. Sulphide to "sulphur" or "sulphate".
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0, not finite, or another product.
    Source: 0.143 Fe + 0.291 Mn + 0.469 per mg H2S (1.88 to sulphate), balanced reactions (computed).

    >>> round(oxygen_demand(iron=1.0), 3), round(oxygen_demand(manganese=1.0), 3)
    (0.143, 0.291)
    """
    return _demand("O2", iron, manganese, sulphide, product)


def chlorine_demand(
    iron: Number = 0.0, manganese: Number = 0.0, sulphide: Number = 0.0, product: Product = "sulphate"
) -> Any:
    """Chlorine used up by iron, manganese and sulphide, before any residual.

    Why: the feed pump must cover the demand first; only what is left disinfects.
    Units: mg/L (sulphide as S) in, mg/L Cl2 out; floats or arrays. The careful default takes sulphide to
    sulphate; to sulphur only a quarter is used, and the water turns milky.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0, not finite, or another product.
    Source: 0.635 Fe + 1.291 Mn + 8.32 per mg H2S, balanced reactions (computed).

    >>> round(chlorine_demand(iron=1.0), 3), round(chlorine_demand(sulphide=32.06 / 34.076), 2)
    (0.635, 8.32)
    """
    return _demand("Cl2", iron, manganese, sulphide, product)


def permanganate_demand(
    iron: Number = 0.0, manganese: Number = 0.0, sulphide: Number = 0.0, product: Product = "sulphur"
) -> Any:
    """Potassium permanganate used up by iron, manganese and sulphide, by the reactions.

    Why: the floor under the planning rule; an overdose turns the water pink.
    Units: mg/L (sulphide as S) in, mg/L KMnO4 out; floats or arrays.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0, not finite, or another product.
    Source: 0.943 Fe + 1.918 Mn + 3.09 per mg H2S, balanced reactions (computed).

    >>> round(permanganate_demand(iron=1.0), 3), round(permanganate_demand(manganese=1.0), 3)
    (0.943, 1.918)
    """
    return _demand("KMnO4", iron, manganese, sulphide, product)


def permanganate_rule(iron: Number = 0.0, manganese: Number = 0.0, sulphide: Number = 0.0) -> Any:
    """Permanganate to plan with for greensand-type media.

    Why: the trade rule stands above the reactions for sulphide and is what the media are rated by.
    Units: mg/L (sulphide as S) in, mg/L KMnO4 out; floats or arrays.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 1 Fe + 2 Mn + 5 H2S (common practice).

    >>> round(permanganate_rule(3.0, 0.3, 0.2 * 32.06 / 34.076), 2)
    4.6
    """
    rule = figure("oxidation-practice", "permanganate_rule").value
    return (
        rule["iron"] * within("iron", iron, low=0.0, unit="mg/L")
        + rule["manganese"] * within("manganese", manganese, low=0.0, unit="mg/L")
        + rule["sulphide"] * sulphide_as_h2s(sulphide)
    )


def greensand_run(media_l: Number, demand: Number) -> Any:
    """Litres a permanganate-regenerated bed treats between regenerations.

    Why: sets the interval and the permanganate on the shelf.
    Units: media L, demand mg/L KMnO4 in, L out; floats or arrays.
    Range: more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: 10,000 mg/L x gal per ft3 (common practice).

    >>> round(greensand_run(28.316846592, 4.6) / 3.785411784)
    2174
    """
    media = within("media volume", media_l, low=0.0, unit="L", low_open=True)
    rule = figure("oxidation-practice", "greensand_capacity").value * L_PER_GALLON / L_PER_FT3
    return rule * media / within("demand", demand, low=0.0, unit="mg/L", low_open=True)


def alkalinity_used(iron: Number = 0.0, manganese: Number = 0.0, oxidant: str = "O2") -> Any:
    """Alkalinity consumed when iron and manganese are oxidised.

    Why: soft water can turn acid behind an iron filter.
    Units: mg/L in, mg/L as CaCO3 out; floats or arrays; ``oxidant`` "O2" or "Cl2".
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0, not finite, or another oxidant.
    Source: 2 H+ per Fe and Mn with oxygen (1.79, 1.82); 3 H+ per Fe, 4 per Mn with chlorine (2.69, 3.64)
    (computed; 1.8 and 2.7 per Fe printed in the AWWA/ASCE handbook).

    >>> round(alkalinity_used(iron=1.0), 2), round(alkalinity_used(iron=1.0, oxidant="Cl2"), 2)
    (1.79, 2.69)
    """
    acid = {"O2": (2.0, 2.0), "Cl2": (3.0, 4.0)}.get(oxidant)
    if acid is None:
        raise OutsideValidRange("oxidant", oxidant, source="known are O2, Cl2")
    return within("iron", iron, low=0.0, unit="mg/L") * mass_ratio("CaCO3", acid[0] / 2, "Fe", 1) + within(
        "manganese", manganese, low=0.0, unit="mg/L"
    ) * mass_ratio("CaCO3", acid[1] / 2, "Mn", 1)


def sludge(iron: Number = 0.0, manganese: Number = 0.0) -> Any:
    """Solids that an oxidising filter must hold until its backwash.

    Why: iron hydroxide loads the bed; the load sets the backwash interval.
    Units: mg/L in, mg/L of dry solids out; floats or arrays.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: Fe(OH)3 1.914 per Fe, MnO2 1.582 per Mn (computed).

    >>> round(sludge(iron=1.0), 3), round(sludge(manganese=1.0), 3)
    (1.914, 1.582)
    """
    return within("iron", iron, low=0.0, unit="mg/L") * mass_ratio("Fe(OH)3", 1, "Fe", 1) + within(
        "manganese", manganese, low=0.0, unit="mg/L"
    ) * mass_ratio("MnO2", 1, "Mn", 1)


def _vapour_pressure(temperature_c: Any) -> Any:
    """Vapour pressure of water, kPa, 0-40 degC (only a small correction here)."""
    at_zero, a, b, c = figure("physical-constants", "vapour_pressure").value
    return at_zero * np.exp((a - temperature_c / b) * temperature_c / (c + temperature_c))


def oxygen_saturation(temperature_c: Number, pressure_kpa: Number = ATMOSPHERE) -> Any:
    """Dissolved oxygen of fresh water in balance with air.

    Why: the most oxygen that plain aeration can bring, and the yardstick for the air head of a filter.
    Units: degC and absolute kPa of air in, mg/L out; floats or arrays.
    Range: 0 to 40 degC; pressure 10 kPa and above the vapour pressure, at most 1,000 kPa.
    Raises: ``OutsideValidRange`` outside that.
    Source: Benson-Krause as in APHA 1985 (published); scaled by (P - pw) / (101.325 - pw), fresh water.

    >>> round(oxygen_saturation(10.0), 2), round(oxygen_saturation(20.0), 2)
    (11.29, 9.09)
    """
    citation = figure("benson-krause-oxygen", "coefficients").citation
    temperature = within("temperature", temperature_c, low=0.0, high=40.0, unit="degC", source=citation)
    pressure = within("air pressure", pressure_kpa, low=10.0, high=1000.0, unit="kPa absolute")
    kelvin = temperature + ZERO_C
    a, b, c, d, e = figure("benson-krause-oxygen", "coefficients").value
    at_one = np.exp(a + b / kelvin + c / kelvin**2 + d / kelvin**3 + e / kelvin**4)
    vapour = _vapour_pressure(temperature)
    result = at_one * (pressure - vapour) / (ATMOSPHERE - vapour)
    return result if np.ndim(result) else float(result)


def oxygen_in_air_charge(head_l: Number, pressure_kpa: Number, temperature_c: Number = 10.0) -> Any:
    """Oxygen held in the air head of a tank at service pressure.

    Why: an air-charged filter lives on this oxygen from one backwash to the next.
    Units: head volume L at that pressure, kPa gauge, degC in; mg O2 out; floats or arrays.
    Range: head more than 0 L, 0 to 900 kPa gauge, 0 to 40 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: ideal gas, 20.95 % oxygen in dry air (computed).

    >>> round(oxygen_in_air_charge(10.0, 0.0, 20.0) / 1000, 2)  # 10 L of free air hold 2.8 g
    2.79
    """
    head = within("air head", head_l, low=0.0, unit="L", low_open=True)
    gauge = within("pressure", pressure_kpa, low=0.0, high=900.0, unit="kPa")
    kelvin = within("temperature", temperature_c, low=0.0, high=40.0, unit="degC") + ZERO_C
    gas_constant = figure("physical-constants", "gas_constant").value
    moles = (gauge + ATMOSPHERE) * head / (gas_constant * kelvin)
    return moles * figure("physical-constants", "oxygen_in_air").value * molar_mass("O2") * 1000.0


def air_charge_run(
    head_l: Number,
    pressure_kpa: Number,
    demand: Number,
    temperature_c: Number = 10.0,
    carried: Number | None = None,
) -> Any:
    """Litres an air charge can serve before its oxygen is gone.

    Why: the backwash (which renews the air) must come before this; a warm, iron-rich week is the test.
    Units: head L, kPa gauge, demand mg/L O2, degC, oxygen carried out mg/L in; L out; floats or arrays.
    Range: as ``oxygen_in_air_charge``; demand 0 and more; carried 0 to 100 mg/L, 8 unless told: every litre
    leaves with dissolved oxygen besides what iron and sulphide used. Demand and carried not both 0.
    Raises: ``OutsideValidRange`` outside that.
    Source: mass balance (computed); 5-11 mg/L carried (common practice).

    >>> round(air_charge_run(15.0, 300.0, 0.6))
    1993
    """
    usual = figure("oxidation-practice", "air_carried").value[1]
    leaving = within("oxygen carried", usual if carried is None else carried, low=0.0, high=100.0, unit="mg/L")
    per_litre = within("oxygen demand", demand, low=0.0, unit="mg/L") + leaving
    per_litre = within("oxygen used per litre", per_litre, low=0.0, unit="mg/L", low_open=True)
    return oxygen_in_air_charge(head_l, pressure_kpa, temperature_c) / per_litre


def sulphide_as_gas(ph: Number, temperature_c: Number = 10.0) -> Any:
    """Share of sulphide that is hydrogen sulphide gas.

    Why: only the gas can be smelt and stripped; at pH 8 a tenth of it is gas.
    Units: pH, degC in; fraction out; floats or arrays.
    Range: pH 0 to 14, 0 to 40 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: 1 / (1 + 10^(pH - pK1)), pK1 7.2 at 10 degC and 7.0 at 25 (computed).

    >>> round(sulphide_as_gas(7.0, 25.0), 2)
    0.5
    """
    ph = within("pH", ph, low=0.0, high=14.0)
    temperature = within("temperature", temperature_c, low=0.0, high=40.0, unit="degC")
    (t0, pk0), (t1, pk1) = figure("oxidation-practice", "sulphide_pk1").value
    pk = pk0 + (temperature - t0) * (pk1 - pk0) / (t1 - t0)
    return 1.0 / (1.0 + 10.0 ** (ph - pk))


def iron_half_life(ph: Number, temperature_c: Number = 20.5) -> Any:
    """Minutes for half of the ferrous iron to oxidise in air-saturated water.

    Why: shows why air alone fails below pH 6.8 and in the cold, and what a medium or an oxidant is for.
    Units: pH, degC in; min out; floats or arrays.
    Range: pH 5 to 8, 0 to 30 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: d ln Fe/dt = k [OH]^2 pO2, Stumm and Lee 1961 (from memory, constant not read); ten times
    slower at 10 degC. Organics slow it further.

    >>> round(iron_half_life(7.0), 1)
    4.1
    """
    ph = within("pH", ph, low=5.0, high=8.0, source="iron rate law")
    temperature = within("temperature", temperature_c, low=0.0, high=30.0, unit="degC", source="iron rate law")
    k = figure("iron-rate-law", "rate").value * figure("iron-rate-law", "oxygen_pressure").value
    reference, fold, degrees = figure("iron-rate-law", "temperature").value
    hydroxide = 10.0 ** (ph - 14.0)
    slower = fold ** ((reference - temperature) / degrees)
    minutes = np.log(2.0) / (k * hydroxide**2) * slower
    return minutes if np.ndim(minutes) else float(minutes)
