"""Acid neutralisers: calcite beds, and what soda ash, caustic or magnesia would do.

A bed is predicted as a band: calcite equilibrium is the upper end, real beds stop short of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sizing.engine import carbonate, saturation
from sizing.engine.carbonate_constants import constants, exponent, ten
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.quantities import L_PER_GALLON, M2_PER_FT2, M_PER_INCH
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import mass_ratio, molar_mass
from sizing.engine.water import Number, Water

# reagent -> (formula, alkalinity in eq per mol, carbon in mol per mol, moles per mole of carbon dioxide)
REAGENTS: dict[str, tuple[str, float, float, float]] = {
    "calcite": ("CaCO3", 2.0, 1.0, 1.0),
    "soda_ash": ("Na2CO3", 2.0, 1.0, 1.0),
    "caustic": ("NaOH", 1.0, 0.0, 1.0),
    "magnesia": ("MgO", 2.0, 0.0, 0.5),
}


@dataclass(frozen=True)
class Neutralised:
    """What a bed makes of a water. ``calcite`` is mg/L dissolved; hardness and alkalinity both rise by it."""

    water: Water
    calcite: Any
    ph: Any


def _reagent(name: str) -> tuple[str, float, float, float]:
    if name not in REAGENTS:
        raise OutsideValidRange("reagent", name, source=f"known are {', '.join(REAGENTS)}")
    return REAGENTS[name]


def reagent_per_co2(reagent: str) -> float:
    """Reagent used up per mg of carbon dioxide neutralised.

    Why: a first estimate of the calcite a household uses, and why magnesia overshoots.
    Units: mg per mg CO2; ``reagent`` "calcite", "soda_ash", "caustic" or "magnesia".
    Range: the known reagents.
    Raises: ``OutsideValidRange`` for another.
    Source: balanced reactions to bicarbonate: 2.274, 2.408, 0.909, 0.458 (computed).

    >>> round(reagent_per_co2("calcite"), 3), round(reagent_per_co2("magnesia"), 3)
    (2.274, 0.458)
    """
    formula, _, _, moles = _reagent(reagent)
    return mass_ratio(formula, moles, "CO2", 1)


def calcite_band() -> tuple[float, float, float]:
    """Share of the equilibrium dissolution that a real bed reaches: low, usual, high.

    Why: a single predicted pH would be a pretence.
    Units: fractions.
    Range: none.
    Raises: nothing.
    Source: chosen to reproduce the practice band of pH 6.8, 7.2 and 7.8 on an acid well (common practice).

    >>> calcite_band()
    (0.45, 0.75, 1.0)
    """
    low, usual, high = figure("neutraliser-practice", "approach").value
    return low, usual, high


def neutralise(water: Water, approach: float | None = None) -> Neutralised:
    """The water behind a calcite bed.

    Why: the pH the pipes see, and the hardness the softener behind it must take as well: size the softener on
    this water, not on the raw one.
    Units: canonical, single values or arrays of draws; ``approach`` the share of the equilibrium dissolution.
    Range: approach 0 to 1 (0.75 unless told, the band is ``calcite_band``); pH, alkalinity, calcium or hardness
    and temperature measured. Water already saturated stays as it is.
    Raises: ``MissingEvidence`` naming what was not measured; ``OutsideValidRange`` outside the method.
    Source: CaCO3 + CO2 + H2O -> Ca + 2 HCO3 in a closed system (computed), within 0.05 pH of PHREEQC at
    equilibrium.

    >>> acid = Water(dict(ph=6.2, alkalinity=30.0, calcium=11.0, hardness=38.0, temperature=8.0, tds=58.8))
    >>> after = neutralise(acid)
    >>> round(float(after.ph), 1), round(float(after.calcite)), round(float(after.water["hardness"]))
    (7.2, 74, 112)
    """
    share = calcite_band()[1] if approach is None else within("approach", approach, low=0.0, high=1.0)
    system = carbonate.system_of(water)
    full, highest = saturation.calcite_to_saturation(system)
    dissolved = share * (max(full, 0.0) if isinstance(full, float) else np.maximum(full, 0.0))
    after = saturation.with_calcite(system, dissolved)
    ph = np.where(np.asarray(dissolved) > 0.0, carbonate.closed_ph(after, highest), water["ph"])
    calcite = dissolved * molar_mass("CaCO3") * 1000.0
    calcite = calcite if np.ndim(calcite) else float(calcite)
    changes: dict[str, Any] = {"ph": ph if ph.ndim else float(ph), "alkalinity": water["alkalinity"] + calcite}
    for code, share_of_mass in (("hardness", 1.0), ("calcium", molar_mass("Ca") / molar_mass("CaCO3"))):
        if code in water:
            changes[code] = water[code] + share_of_mass * calcite
    if "tds" in water:
        changes["tds"] = water["tds"] + calcite
    if "carbon_dioxide" in water:
        left = water["carbon_dioxide"] - calcite * molar_mass("CO2") / molar_mass("CaCO3")
        changes["carbon_dioxide"] = np.maximum(left, 0.0) if np.ndim(left) else max(float(left), 0.0)
    return Neutralised(water.with_values(**changes), calcite, changes["ph"])


def dose_to_ph(water: Water, target_ph: Number, reagent: str) -> Any:
    """Reagent that brings a closed water to a pH.

    Why: setting of a soda ash feed, and a check of what a bed would have to dissolve.
    Units: canonical water, pH in; mg/L of the pure reagent out; floats or arrays.
    Range: target above the water's pH, 4 to 10; calcite only up to its equilibrium pH.
    Raises: ``OutsideValidRange`` outside that, ``MissingEvidence`` naming what was not measured.
    Source: mole balance of alkalinity and carbon (computed), within 1.5 mg/L of PHREEQC.

    >>> acid = Water(dict(ph=6.2, alkalinity=30.0, calcium=11.0, temperature=8.0, tds=58.8))
    >>> round(dose_to_ph(acid, 7.5, "soda_ash"))
    94
    """
    formula, alkalinity_per_mole, carbon_per_mole, _ = _reagent(reagent)
    target = within("target pH", target_ph, low=4.0, high=10.0, source="carbonate system")
    within("target pH less the water's pH", np.subtract(target, water["ph"]), low=0.0, low_open=True)
    system = carbonate.system_of(water)
    if reagent == "calcite":
        _, highest = saturation.calcite_to_saturation(system)
        within("room below calcite equilibrium", np.subtract(highest, target), low=0.0, unit="pH")
    c = constants(system.temperature_c)
    pairs = carbonate.NO_PAIRS
    pf = exponent(system.strength, c)
    amount: Any = 0.0
    for _ in range(6):  # ionic strength and pairs follow what is added
        per_carbon, share = carbonate.fractions(target, c, pf, pairs)
        ions = ten(target + pf - c.pkw) - ten(pf - target)
        amount = (system.carbon * per_carbon + ions - system.alkalinity) / (
            alkalinity_per_mole - carbon_per_mole * per_carbon
        )
        co3 = (system.carbon + carbon_per_mole * amount) * share
        hco3 = co3 * ten(c.pk2 - target - 3.0 * pf)
        metal = amount if reagent == "calcite" else 0.0
        pairs = carbonate.pair_up(hco3, co3, replace(system, calcium=system.calcium + metal), c, pf)
        pf = exponent(system.strength + 0.75 * alkalinity_per_mole * amount - pairs.strength_less, c)
    result = amount * molar_mass(formula) * 1000.0
    return result if np.ndim(result) else float(result)


def sodium_from_feed(dose: Number, reagent: str) -> Any:
    """Sodium that a soda ash or caustic feed puts into the water.

    Why: people on a low-sodium diet must know; calcite adds none.
    Units: dose mg/L of pure reagent in, mg/L Na out; float or array.
    Range: 0 and more; "soda_ash" or "caustic" (others add 0).
    Raises: ``OutsideValidRange`` below 0 or another reagent.
    Source: 0.434 mg/mg of soda ash (computed).

    >>> round(sodium_from_feed(100.0, "soda_ash"), 1)
    43.4
    """
    formula, _, _, _ = _reagent(reagent)
    atoms = {"soda_ash": 2.0, "caustic": 1.0}.get(reagent, 0.0)
    return within("dose", dose, low=0.0, unit="mg/L") * atoms * molar_mass("Na") / molar_mass(formula)


def calcite_use(calcite: Number, daily_l: Number, days_year: Number = 365.0) -> Any:
    """Calcite a bed loses in a year.

    Why: it sets the top-up interval in the upkeep plan.
    Units: mg/L dissolved, L/d, days in; kg a year out; floats or arrays.
    Range: 0 and more, days at most 366.
    Raises: ``OutsideValidRange`` outside that.
    Source: mass balance (computed).

    >>> round(calcite_use(60.0, 200 * 3.785411784) / 0.45359237, 1)
    36.6
    """
    dose = within("calcite dissolved", calcite, low=0.0, unit="mg/L")
    days = within("days in use", days_year, low=0.0, high=366.0, unit="d")
    return dose * within("daily volume", daily_l, low=0.0, unit="L/d") * days / 1e6


def top_up_months(bed_kg: float, use_kg_year: float, refill_at: float | None = None) -> float:
    """Months until a bed should be topped up.

    Why: a bed that has shrunk too far no longer lifts the pH and the copper dissolves again.
    Units: kg, kg a year in; months out.
    Range: bed and use more than 0; refill share 0.05 to 0.6, a third unless told.
    Raises: ``OutsideValidRange`` outside that.
    Source: mass balance (computed); a third used up is from memory.

    >>> round(top_up_months(60.0, 16.6))
    14
    """
    bed = float(within("bed", bed_kg, low=0.0, unit="kg", low_open=True))
    use = float(within("use", use_kg_year, low=0.0, unit="kg a year", low_open=True))
    share = figure("neutraliser-practice", "refill_at").value if refill_at is None else refill_at
    return 12.0 * bed * float(within("share used up", share, low=0.05, high=0.6)) / use


def service_flow(tank_area_m2: float) -> tuple[float, float]:
    """Design and highest flow through a calcite bed.

    Why: too fast, and the water leaves the bed as acid as it came.
    Units: m2 in; (design, stop) L/min out. The bed should be 32 to 36 in (0.81 to 0.91 m) deep.
    Range: area more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: 3 gpm/ft2, 6 as a hard stop (common practice).

    >>> [round(flow, 1) for flow in service_flow(0.0507)]
    [6.2, 12.4]
    """
    area = within("tank area", tank_area_m2, low=0.0, unit="m2", low_open=True)
    design = figure("neutraliser-practice", "service_rate").value
    stop = figure("neutraliser-practice", "service_rate_stop").value
    per = L_PER_GALLON / M2_PER_FT2 * area
    return float(design * per), float(stop * per)


def contact_minutes(bed_l: Number, flow_l_min: Number) -> Any:
    """Empty-bed contact time of a calcite bed.

    Why: shown on the worksheet beside the surface rate.
    Units: L, L/min in; min out; floats or arrays.
    Range: more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: V / Q (computed).

    >>> contact_minutes(40.0, 10.0)
    4.0
    """
    bed = within("bed volume", bed_l, low=0.0, unit="L", low_open=True)
    return bed / within("flow", flow_l_min, low=0.0, unit="L/min", low_open=True)


def least_bed_depth() -> float:
    """Least depth of a calcite bed.

    Why: the tank must be tall enough for it and its expansion.
    Units: m.
    Range: none.
    Raises: nothing.
    Source: 32 to 36 in (common practice).

    >>> round(least_bed_depth(), 2)
    0.81
    """
    return float(figure("neutraliser-practice", "bed_depth").value[0] * M_PER_INCH)


def way_to_raise_ph(ph: float) -> str:
    """Which way of raising the pH suits, by the pH alone.

    Why: calcite cannot cope with very acid water, and caustic is nothing for a household without help.
    Units: pH in; "none", "calcite", "soda_ash" or "caustic" out.
    Range: pH 0 to 14.
    Raises: ``OutsideValidRange`` outside that.
    Source: calcite from pH 6, soda ash 4 to 6, caustic below (common practice); nothing from 7.2 (published).

    >>> way_to_raise_ph(6.3), way_to_raise_ph(5.2), way_to_raise_ph(7.4)
    ('calcite', 'soda_ash', 'none')
    """
    ph = within("pH", ph, low=0.0, high=14.0)
    if ph >= figure("limestone-contactor", "ph").value:
        return "none"
    if ph >= figure("neutraliser-practice", "calcite_ph").value:
        return "calcite"
    return "soda_ash" if ph >= figure("neutraliser-practice", "soda_ash_ph").value else "caustic"


def feed_remarks(water: Water) -> tuple[Finding, ...]:
    """What speaks against a calcite bed on a water.

    Why: hard or well-buffered water gains little, iron coats the grains.
    Units: canonical, single values; what was not measured is not judged.
    Range: any water.
    Raises: nothing.
    Source: pH < 7.2, Ca < 60, alkalinity < 100 mg/L, turbidity < 1 NTU (published); iron 0.3 mg/L (common practice).

    >>> [f.subject for f in feed_remarks(Water({"calcium": 80.0, "iron": 1.0}))]
    ['calcium', 'iron']
    """
    rows = (
        ("calcium", "limestone-contactor", "calcium", "the bed is near saturation already"),
        ("alkalinity", "limestone-contactor", "alkalinity", "little is gained above"),
        ("turbidity", "limestone-contactor", "turbidity", "the bed plugs"),
        ("iron", "neutraliser-practice", "iron", "iron coats the grains"),
        ("ph", "limestone-contactor", "ph", "the water is not acid"),
    )
    found = []
    for code, document, key, reason in rows:
        limit = figure(document, key)
        if code in water and float(np.max(water[code])) >= limit.value:
            found.append(
                Finding(
                    f"neutraliser.{code}",
                    Severity.EQUIPMENT,
                    f"{float(np.max(water[code])):g} reaches {limit.value:g} {limit.unit.split(',')[0]}: {reason}.",
                    "Look at another way, or treat it ahead of the bed.",
                    code,
                    limit.citation,
                )
            )
    return tuple(found)
