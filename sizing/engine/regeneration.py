"""Regenerating a softener: salt, water, efficiency, and the salt dose that costs least over the years."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.exchange import (
    G_PER_GRAIN,
    SALT_FORMULAS,
    interval_window,
    regeneration_interval,
    salt_dose_range,
    softener_capacity,
)
from sizing.engine.figures import figure
from sizing.engine.quantities import GRAINS_PER_POUND, KG_PER_POUND, L_PER_FT3, L_PER_GALLON, M2_PER_FT2
from sizing.engine.ranges import within
from sizing.engine.softened import hardness_leakage
from sizing.engine.stoichiometry import molar_mass
from sizing.engine.water import Number


@dataclass(frozen=True)
class RegenerationWater:
    """Litres of water one regeneration uses, by step (floats, or arrays over salt doses)."""

    backwash_l: Any
    slow_rinse_l: Any
    fast_rinse_l: Any
    refill_l: Any

    @property
    def total_l(self) -> Any:
        """Sum of the steps, L."""
        return self.backwash_l + self.slow_rinse_l + self.fast_rinse_l + self.refill_l


@dataclass(frozen=True)
class SaltChoice:
    """A salt dose and a year with it. ``cost_year`` in the currency of the prices given."""

    salt_kg: float
    capacity_g: float
    interval_days: float
    regenerations_year: float
    salt_kg_year: float
    water_l_year: float
    cost_year: float
    leakage_high: float
    efficiency_g_kg: float


def regeneration_water(
    resin_l: float,
    salt_kg: Number,
    tank_area_m2: float,
    *,
    backwash_l_min: float | None = None,
    backwash_min: float | None = None,
) -> RegenerationWater:
    """Water that one regeneration of a softener sends to the drain (and takes for its brine).

    Why: the well, the septic system and the yearly cost bear it.
    Units: resin L, salt kg (float or array), area m2, backwash L/min and min in; litres out.
    Range: all more than 0. Without a backwash rate the lower published one (6 gpm/ft2) for 10 min is taken.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: slow rinse 22.5 and fast rinse 35 gal/ft3, within UFC 3-240-13FN (published range, household end
    common practice); 3 lb of salt per gallon of refill (common practice); backwash minutes from memory.

    >>> round(regeneration_water(28.3, 2.72, 0.0507).total_l)
    349
    """
    cubic_feet = within("resin volume", resin_l, low=0.0, unit="L", low_open=True) / L_PER_FT3
    salt = within("salt dose", salt_kg, low=0.0, unit="kg", low_open=True)
    area = within("tank area", tank_area_m2, low=0.0, unit="m2", low_open=True)
    slow, fast = figure("softener-practice", "rinse").value
    if backwash_l_min is None:
        backwash_l_min = figure("ten-states-4-4-2", "backwash_rate").value[0] * L_PER_GALLON * area / M2_PER_FT2
    minutes = figure("softener-practice", "backwash_minutes").value if backwash_min is None else backwash_min
    return RegenerationWater(
        backwash_l=within("backwash flow", backwash_l_min, low=0.0, unit="L/min", low_open=True)
        * within("backwash time", minutes, low=0.0, unit="min", low_open=True),
        slow_rinse_l=slow * cubic_feet * L_PER_GALLON,
        fast_rinse_l=fast * cubic_feet * L_PER_GALLON,
        refill_l=salt / KG_PER_POUND / figure("softener-practice", "salt_per_refill").value * L_PER_GALLON,
    )


def salt_efficiency(capacity_g: Number, salt_kg: Number) -> Any:
    """Hardness taken up per kilogram of salt.

    Why: the yearly salt, and the efficiency rating, hang on it.
    Units: g as CaCO3 and kg in, g/kg out (7,000 grains per pound = 1,000 g/kg); floats or arrays.
    Range: more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: definition (computed).

    >>> round(salt_efficiency(1296.0, 2.7216) / 1000 * 7000)
    3333
    """
    capacity_g = within("capacity", capacity_g, low=0.0, unit="g", low_open=True)
    return capacity_g / within("salt dose", salt_kg, low=0.0, unit="kg", low_open=True)


def is_efficiency_rated(
    capacity_g: float, salt_kg: float, water_l: float, *, demand_initiated: bool, california: bool = False
) -> bool:
    """Whether a softener may be called efficiency rated at a salt dose.

    Why: the claim is only for demand-initiated units at their lowest stated dose; 20,000 grains for 6 lb
    (3,333 grains/lb) misses it.
    Units: capacity g as CaCO3, salt kg, water per regeneration L.
    Range: capacity and salt more than 0, water 0 and more.
    Raises: ``OutsideValidRange`` outside that.
    Source: at least 3,350 grains/lb (California 4,000) and at most 5 gal per 1,000 grains, reports of
    NSF/ANSI 44 (published, secondary).

    >>> is_efficiency_rated(1296.0, 2.7216, 300.0, demand_initiated=True)
    False
    """
    grains_per_pound = salt_efficiency(capacity_g, salt_kg) / 1000.0 * GRAINS_PER_POUND
    water_l = within("regeneration water", water_l, low=0.0, unit="L")
    per_kilograin = (water_l / L_PER_GALLON) / (capacity_g / G_PER_GRAIN / 1000.0)
    least = figure("softener-efficiency-columns", "efficiency_california" if california else "efficiency_rated").value
    most_water = figure("softener-efficiency-columns", "regeneration_water").value
    return bool(demand_initiated and grains_per_pound >= least and per_kilograin <= most_water)


def chloride_to_drain(salt_kg: Number, salt: str = "sodium") -> Any:
    """Chloride that leaves with the brine.

    Why: septic systems, soils and local rules care; all of the salt's chloride goes to the drain.
    Units: salt kg in, chloride kg out; float or array; ``salt`` "sodium" or "potassium".
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or another salt.
    Source: 35.45 / 58.44, 0.607 lb per lb (computed).

    >>> round(chloride_to_drain(1.0), 3)
    0.607
    """
    if salt not in SALT_FORMULAS:
        raise OutsideValidRange("salt", salt, source=f"known are {', '.join(SALT_FORMULAS)}")
    ratio = molar_mass("Cl") / molar_mass(SALT_FORMULAS[salt])
    return within("salt", salt_kg, low=0.0, unit="kg") * ratio


def year_of_salt(
    resin_l: float,
    salt_kg: float,
    load_g_day: float,
    tank_area_m2: float,
    *,
    days_year: float = 365.0,
    reserve_fraction: float = 0.25,
    iron: float = 0.0,
    salt_per_kg: float = 0.0,
    water_per_m3: float = 0.0,
    hardness: float | None = None,
) -> SaltChoice:
    """One salt dose, and the year it makes: interval, salt, water, cost.

    Why: the running cost on the quote and the refill rhythm in the reminder come from here.
    Units: resin L, salt kg, load g/d on an occupied day, area m2, days in use, prices per kg and m3 in; see
    ``SaltChoice`` out.
    Range: salt 4-20 lb/ft3, days 0 to 366, reserve 0-0.9. The bed regenerates at the latest at the end of the
    sensible window (14 days, 4 with iron), even when not exhausted.
    Raises: ``OutsideValidRange`` outside that.
    Source: mass balance (computed) on the capacity curve and the practice window.

    >>> year = year_of_salt(28.3, 2.72, 327.0, 0.0507)
    >>> round(year.interval_days, 1), round(year.salt_kg_year)
    (2.9, 338)
    """
    days = within("days in use", days_year, low=0.0, high=366.0, unit="d")
    capacity = float(softener_capacity(resin_l, salt_kg))
    free = float(regeneration_interval(capacity, load_g_day, reserve_fraction))
    interval = min(free, interval_window(iron)[1])
    times = days / interval
    water = regeneration_water(resin_l, salt_kg, tank_area_m2).total_l * times
    cost = within("salt price", salt_per_kg, low=0.0) * salt_kg * times
    cost += within("water price", water_per_m3, low=0.0) * water / 1000.0
    raw = within("hardness", 0.0 if hardness is None else hardness, low=0.0, unit="mg/L as CaCO3")
    return SaltChoice(
        salt_kg=salt_kg,
        capacity_g=capacity,
        interval_days=interval,
        regenerations_year=times,
        salt_kg_year=salt_kg * times,
        water_l_year=water,
        cost_year=float(cost),
        leakage_high=float(hardness_leakage(raw, resin_l, salt_kg).high),
        efficiency_g_kg=float(salt_efficiency(capacity, salt_kg)),
    )


def best_salt_dose(
    resin_l: float,
    load_g_day: float,
    tank_area_m2: float,
    *,
    days_year: float = 365.0,
    reserve_fraction: float = 0.25,
    iron: float = 0.0,
    hardness: float | None = None,
    salt_per_kg: float = 0.60,
    water_per_m3: float = 0.50,
    most_leakage: float | None = None,
    steps: int = 81,
) -> SaltChoice | None:
    """The salt dose with the least yearly cost that keeps the interval sensible and the leakage allowed.

    Why: a low dose saves salt but regenerates more often and leaks more; the best one depends on the house.
    Units: as ``year_of_salt``; ``most_leakage`` mg/L as CaCO3.
    Range: as ``year_of_salt``; ``steps`` 2 to 2,001 doses between the ends of the curve.
    Raises: ``OutsideValidRange`` outside that. Returns ``None`` where no dose keeps the interval at least as
    long as the window wants: the bed is too small.
    Source: search over the capacity curve (computed).

    >>> choice = best_salt_dose(42.5, 327.0, 0.0507)
    >>> round(choice.salt_kg, 2), round(choice.interval_days, 1)
    (2.72, 3.5)
    """
    count = int(within("steps", steps, low=2, high=2001))
    low, high = salt_dose_range(resin_l)
    doses = np.minimum(np.linspace(low, high, count), high)
    shortest, longest = interval_window(iron)
    capacity = softener_capacity(resin_l, doses)
    interval = np.minimum(regeneration_interval(capacity, load_g_day, reserve_fraction), longest)
    water = regeneration_water(resin_l, doses, tank_area_m2).total_l
    cost = (salt_per_kg * doses + water_per_m3 * water / 1000.0) / interval
    allowed = interval >= shortest
    if most_leakage is not None:
        raw = within("hardness", 0.0 if hardness is None else hardness, low=0.0, unit="mg/L as CaCO3")
        allowed &= hardness_leakage(raw, resin_l, doses).high <= most_leakage
    if not allowed.any():
        return None
    chosen = int(np.argmin(np.where(allowed, cost, np.inf)))
    return year_of_salt(
        resin_l,
        float(doses[chosen]),
        load_g_day,
        tank_area_m2,
        days_year=days_year,
        reserve_fraction=reserve_fraction,
        iron=iron,
        salt_per_kg=salt_per_kg,
        water_per_m3=water_per_m3,
        hardness=hardness,
    )
