"""Softening by cation exchange: the load, the capacity, the interval and the flows.

What the water becomes is in ``softened``, regeneration (salt, water, cost) in ``regeneration``, tannin and
nitrate beds in ``anion``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.quantities import (
    KG_PER_POUND,
    L_PER_FT3,
    L_PER_GALLON,
    M2_PER_FT2,
    MG_L_PER_GPG,
    MG_PER_GRAIN,
)
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import equivalent_weight, molar_mass
from sizing.engine.water import Number

G_PER_GRAIN = MG_PER_GRAIN / 1000.0
SALT_FORMULAS = {"sodium": "NaCl", "potassium": "KCl"}


@dataclass(frozen=True)
class ServiceFlow:
    """Flows a softener wants, L/min: below ``least`` it channels, ``design`` is the contact-time flow,
    ``most`` the surface-rate ceiling (``None`` where the tank's area is not given)."""

    least: float
    design: float
    most: float | None


def iron_allowance(iron: Number) -> Any:
    """Hardness allowed per mg/L of iron when a softener is sized.

    Why: iron takes more capacity than its charge, as it comes off the resin badly; trade factors run 2-5.
    Units: iron mg/L in, gpg per mg/L out; float or array.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 2 up to 1 mg/L and 5 above, the higher of the published allowances (common practice).

    >>> iron_allowance(0.5), iron_allowance(3.0)
    (2.0, 5.0)
    """
    iron = within("iron", iron, low=0.0, unit="mg/L")
    lower, higher = figure("softener-practice", "iron_factor").value
    limit = figure("softener-practice", "iron_factor_above").value
    chosen = np.where(np.asarray(iron) > limit, higher, lower)
    return chosen if chosen.ndim else float(chosen)


def compensated_hardness(
    hardness: Number,
    iron: Number = 0.0,
    manganese: Number = 0.0,
    *,
    iron_factor: float | None = None,
    manganese_factor: float | None = None,
) -> Any:
    """Hardness as the softener must count it: with an allowance for dissolved iron and manganese.

    Why: a softener sized on hardness alone runs out early and fouls when the water carries iron. Add what a
    neutraliser ahead of it puts in before calling this.
    Units: mg/L (hardness as CaCO3) in, mg/L as CaCO3 out; factors gpg per mg/L; floats or arrays.
    Range: 0 and more; factors 0 to 10. Without a factor ``iron_allowance`` chooses.
    Raises: ``OutsideValidRange`` outside that or not finite.
    Source: H + f_Fe Fe + f_Mn Mn (common practice; the factor is the dealer's, shown on the worksheet).

    >>> round(compensated_hardness(171.181, 0.5, 1.0, iron_factor=2, manganese_factor=2) / 17.1181, 2)
    13.0
    """
    hardness = within("hardness", hardness, low=0.0, unit="mg/L as CaCO3")
    manganese = within("manganese", manganese, low=0.0, unit="mg/L")
    if iron_factor is None:
        per_iron = iron_allowance(iron)
    else:
        per_iron = within("iron factor", iron_factor, low=0.0, high=10.0, unit="gpg per mg/L")
    iron = within("iron", iron, low=0.0, unit="mg/L")
    if manganese_factor is None:
        manganese_factor = figure("softener-practice", "manganese_factor").value
    per_manganese = within("manganese factor", manganese_factor, low=0.0, high=10.0, unit="gpg per mg/L")
    return hardness + MG_L_PER_GPG * (per_iron * iron + per_manganese * manganese)


def salt_dose_range(resin_l: float) -> tuple[float, float]:
    """Least and most salt per regeneration for which the capacity curve holds.

    Why: the salt setting must lie where the capacity is known.
    Units: resin L in, kg of salt out.
    Range: resin more than 0.
    Raises: ``OutsideValidRange`` for resin of 0 or less.
    Source: 4 to 20 lb/ft3, range of the logarithmic fit (common practice).

    >>> [round(x, 2) for x in salt_dose_range(28.316846592)]
    [1.81, 9.07]
    """
    cubic_feet = within("resin volume", resin_l, low=0.0, unit="L", low_open=True) / L_PER_FT3
    low, high = figure("softener-training-slides", "capacity_fit_range").value
    return low * cubic_feet * KG_PER_POUND, high * cubic_feet * KG_PER_POUND


def softener_capacity(resin_l: Number, salt_kg: Number) -> Any:
    """Exchange capacity of a softener regenerated with a salt dose, co-current.

    Why: twice the salt does not give twice the capacity; the dose decides running cost and interval.
    Units: resin L, salt kg per regeneration in, g as CaCO3 out; floats or arrays.
    Range: 4 to 20 lb/ft3 (64 to 320 g/L), the range of the fit; never above what salt or resin can do.
    Raises: ``OutsideValidRange`` naming the salt dose in g per L of resin.
    Source: 10286 ln(lb/ft3) + 1326 grains/ft3, training slides (common practice); about 10 % below one tested
    unit, and 19,756 against the regulator's 20,000 at 6 lb (published, 35 IAC 604.805).

    >>> round(softener_capacity(28.316846592, 6 * 0.45359237) / 0.06479891)
    19756
    """
    resin_l = within("resin volume", resin_l, low=0.0, unit="L", low_open=True)
    pounds = within("salt dose", salt_kg, low=0.0, unit="kg", low_open=True) / KG_PER_POUND
    cubic_feet = resin_l / L_PER_FT3
    low, high = figure("softener-training-slides", "capacity_fit_range").value
    dose = pounds / cubic_feet
    per_l = KG_PER_POUND * 1000.0 / L_PER_FT3
    within(
        "salt dose per litre of resin",
        np.round(dose * per_l, 9),
        low=round(low * per_l, 9),
        high=round(high * per_l, 9),
        unit="g/L",
        source=figure("softener-training-slides", "capacity_fit").citation,
    )
    slope, constant = figure("softener-training-slides", "capacity_fit").value
    grains = (slope * np.log(dose) + constant) * cubic_feet
    capacity = np.minimum(grains * G_PER_GRAIN, capacity_ceiling(resin_l, salt_kg))
    return capacity if np.ndim(capacity) else float(capacity)


def capacity_ceiling(resin_l: Number, salt_kg: Number, salt: str = "sodium") -> Any:
    """The capacity no softener can exceed: all of the salt used, or every site of the resin.

    Why: an entered or printed capacity above this is a mistake, whoever printed it.
    Units: resin L, salt kg in, g as CaCO3 out; floats or arrays; ``salt`` "sodium" or "potassium" (chloride).
    Range: both more than 0.
    Raises: ``OutsideValidRange`` for 0 or less, or another salt.
    Source: 1 eq of CaCO3 per mol of salt, 5,994 grains/lb NaCl (computed; printed 5,989); 43,683 grains/ft3
    of resin (published).

    >>> round(capacity_ceiling(1e6, 0.45359237) / 0.06479891)
    5994
    """
    if salt not in SALT_FORMULAS:
        raise OutsideValidRange("salt", salt, source=f"known are {', '.join(SALT_FORMULAS)}")
    resin_l = within("resin volume", resin_l, low=0.0, unit="L", low_open=True)
    salt_kg = within("salt dose", salt_kg, low=0.0, unit="kg", low_open=True)
    by_salt = salt_kg * 1000.0 * equivalent_weight("hardness") / molar_mass(SALT_FORMULAS[salt])
    per_ft3 = figure("softener-chemistry-article", "resin_total_capacity").value
    lowest = np.minimum(by_salt, resin_l / L_PER_FT3 * per_ft3 * G_PER_GRAIN)
    return lowest if np.ndim(lowest) else float(lowest)


def check_capacity(capacity_g: float, resin_l: float, salt_kg: float, salt: str = "sodium") -> float:
    """The capacity itself where it is possible at all.

    Why: catalogue entries and leaflets are checked before they size anything.
    Units: capacity g as CaCO3, resin L, salt kg.
    Range: more than 0 and at most ``capacity_ceiling``.
    Raises: ``OutsideValidRange`` with the ceiling.
    Source: see ``capacity_ceiling`` (computed, published).

    >>> check_capacity(1296.0, 28.3, 2.72)
    1296.0
    """
    return float(
        within(
            "softener capacity",
            capacity_g,
            low=0.0,
            high=float(capacity_ceiling(resin_l, salt_kg, salt)),
            unit="g as CaCO3",
            source="all of the salt and every site of the resin",
            low_open=True,
        )
    )


def capacity_from_ratings(points: Sequence[tuple[float, float]], resin_l: float, salt_kg: Number) -> Any:
    """Capacity of a tested unit at a salt dose, between its own rated points.

    Why: a unit with tested points need not live with the general curve.
    Units: points (salt kg, capacity g as CaCO3), resin L, salt kg in, g as CaCO3 out; salt float or array.
    Range: between the least and the most rated dose; at least two points, capacity rising with salt, each
    possible.
    Raises: ``OutsideValidRange`` outside the rated doses, for fewer than two points, a falling capacity or an
    impossible one.
    Source: interpolation in ln(dose), the form of the general curve (computed).

    >>> round(capacity_from_ratings([(1.18, 713.0), (3.54, 1600.0), (6.08, 2015.0)], 27.75, 2.72))
    1387
    """
    rows = sorted(points)
    if len(rows) < 2:
        raise OutsideValidRange("rated points", len(rows), low=2, source="interpolation")
    for (_, first), (_, second) in pairwise(rows):
        within("rated capacity", second, low=first, unit="g as CaCO3", source="capacity rises with salt")
    for dose, capacity in rows:
        check_capacity(capacity, resin_l, dose)
    salt = within("salt dose", salt_kg, low=rows[0][0], high=rows[-1][0], unit="kg", source="rated points")
    result = np.interp(np.log(salt), np.log([row[0] for row in rows]), [row[1] for row in rows])
    return result if np.ndim(result) else float(result)


def daily_load(daily_l: Number, compensated: Number) -> Any:
    """Hardness a softener takes up in a day.

    Why: capacity divided by it is the interval.
    Units: L/d and mg/L as CaCO3 in, g/d as CaCO3 out; floats or arrays.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: mass balance (computed).

    >>> round(daily_load(908.5, 359.5))
    327
    """
    daily_l = within("daily volume", daily_l, low=0.0, unit="L/d")
    return daily_l * within("compensated hardness", compensated, low=0.0, unit="mg/L as CaCO3") / 1000.0


def regeneration_interval(capacity_g: Number, load_g_day: Number, reserve_fraction: Number = 0.25) -> Any:
    """Days a softener (or any exchange bed) runs between regenerations.

    Why: the number a household notices, and the check that the bed is neither idle nor overworked.
    Units: capacity g, load g/d in, days out; floats or arrays.
    Range: capacity and load more than 0; reserve 0 to 0.9.
    Raises: ``OutsideValidRange`` outside that or not finite.
    Source: capacity x (1 - reserve) / load (computed); the reserve of 0.25 is common practice.

    >>> round(regeneration_interval(24000, 5040, 0.25), 2)
    3.57
    """
    capacity_g = within("capacity", capacity_g, low=0.0, unit="g", low_open=True)
    load_g_day = within("daily load", load_g_day, low=0.0, unit="g/d", low_open=True)
    reserve = within("reserve", reserve_fraction, low=0.0, high=0.9, unit="fraction")
    return capacity_g * (1.0 - reserve) / load_g_day


def one_day_reserve(capacity_g: Number, load_g_day: Number) -> Any:
    """Reserve of a meter that waits for the night: one day's load as a share of the capacity.

    Why: a control that regenerates at night must keep a day's worth in hand; one that changes over at once
    (twin tanks) needs none.
    Units: g and g/d in, fraction out; floats or arrays.
    Range: more than 0; never more than 0.9.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: one day's use (common practice).

    >>> one_day_reserve(1500.0, 300.0)
    0.2
    """
    capacity_g = within("capacity", capacity_g, low=0.0, unit="g", low_open=True)
    share = np.minimum(within("daily load", load_g_day, low=0.0, unit="g/d", low_open=True) / capacity_g, 0.9)
    return share if np.ndim(share) else float(share)


def interval_window(iron: float = 0.0) -> tuple[float, float]:
    """The sensible window of days between regenerations.

    Why: shorter wastes salt and water, longer lets the bed pack, foul and grow; iron wants it short. A
    seasonal place regenerates on opening and is not sized by the yearly mean.
    Units: dissolved iron mg/L in, days out.
    Range: 0 and more; any iron above 0.3 mg/L takes the short window.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 3 to 14 days, 3 to 4 with iron (common practice).

    >>> interval_window(), interval_window(1.0)
    ((3.0, 14.0), (3.0, 4.0))
    """
    iron = within("iron", iron, low=0.0, unit="mg/L")
    row = "interval_days_iron" if iron > figure("us-epa-limits", "iron_smcl").value else "interval_days"
    low, high = figure("softener-practice", row).value
    return float(low), float(high)


def service_flow(resin_l: float, tank_area_m2: float | None = None) -> ServiceFlow:
    """Flows a bed of cation resin wants.

    Why: a trickle channels through the bed and leaks hardness, a rush leaves no time for exchange.
    Units: resin L, area m2 in, L/min out.
    Range: more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: 1 and 5 gpm/ft3, design guidelines (published, secondary); 7 gpm/ft2, Ten States 4.4.2 (published,
    municipal).

    >>> flows = service_flow(28.316846592, 0.0507)
    >>> round(flows.least, 2), round(flows.design, 2), round(flows.most, 1)
    (3.79, 18.93, 14.5)
    """
    cubic_feet = within("resin volume", resin_l, low=0.0, unit="L", low_open=True) / L_PER_FT3
    most = None
    if tank_area_m2 is not None:
        area = within("tank area", tank_area_m2, low=0.0, unit="m2", low_open=True)
        most = figure("ten-states-4-4-2", "service_rate").value * L_PER_GALLON * area / M2_PER_FT2
    return ServiceFlow(
        least=figure("softener-design-guidelines", "minimum_flow").value * L_PER_GALLON * cubic_feet,
        design=figure("softener-design-guidelines", "design_flow").value * L_PER_GALLON * cubic_feet,
        most=most,
    )


def resin_capacity_left(years: Number) -> Any:
    """Share of the capacity a resin keeps after years of normal service.

    Why: says when a resin bed is due (published trigger: a quarter lost), and derates an old one.
    Units: years in, fraction out; float or array.
    Range: 0 to 25 years.
    Raises: ``OutsideValidRange`` outside that.
    Source: 5 % a year, UFC 3-240-13FN 2-2.5.1.4.1 (published); faster loss means fouling.

    >>> round(resin_capacity_left(5.0), 2)
    0.77
    """
    years = within("years", years, low=0.0, high=25.0, unit="years", source="UFC 3-240-13FN")
    return (1.0 - figure("ufc-3-240-13fn", "capacity_loss_per_year").value) ** years
