"""Softeners: single tank and twin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from sizing.engine import exchange, regeneration, softened
from sizing.engine.design import Margin, Product, Setting, StageKind
from sizing.engine.findings import Finding, Severity
from sizing.engine.quantities import KG_PER_POUND, L_PER_FT3, MG_L_PER_GPG
from sizing.engine.stages.base import NO_WATER, Duty, FeedLimit, Sizing, Upkeep
from sizing.engine.stages.practice_figures import cited, effect, known, limit, practice, remove, scalar, shown
from sizing.engine.stages.ratings import RatingField, Schema
from sizing.engine.stages.tanks import MediaTank, bed_fits_tank, cold_limit, tank_fields
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

DOSES_TRIED = 17
LEAST_LOAD_G_DAY = 1e-3


def _capacity_possible(ratings: Mapping[str, Any]) -> None:
    """Refuses a rated capacity above what its salt or its resin can do."""
    exchange.check_capacity(ratings["rated_capacity_g"], ratings["media_l"], ratings["rated_salt_kg"])


SCHEMA = Schema(
    (
        *tank_fields(("softening_resin",)),
        RatingField("tanks", "Tanks", "choice", choices=("single", "twin"), required=False, default="single"),
        RatingField("rated_salt_kg", "Salt at the rated capacity", "mass", "kg", 0.1, 100.0),
        RatingField("rated_capacity_g", "Rated capacity", "mass", "g as CaCO3", 10.0, 50_000.0),
        RatingField("salt_tank_kg", "Salt it holds", "mass", "kg", 5.0, 500.0),
    ),
    (bed_fits_tank, _capacity_possible),
)


@cache
def _choose(resin_l: float, area_m2: float, load_g_day: float, reserve: float, iron: float) -> float:
    """Salt dose, kg.

    The cheapest that keeps the interval sensible, else the largest the capacity curve covers.
    """
    choice = regeneration.best_salt_dose(
        resin_l, load_g_day, area_m2, reserve_fraction=reserve, iron=iron, steps=DOSES_TRIED
    )
    return choice.salt_kg if choice else exchange.salt_dose_range(resin_l)[1]


@cache
def _capacity(resin_l: float, rated_salt_kg: float, rated_g: float, salt_kg: float) -> float:
    low, high = exchange.salt_dose_range(resin_l)
    rated = exchange.softener_capacity(resin_l, min(max(rated_salt_kg, low), high))
    share = min(rated_g / float(rated), 1.0)
    return float(exchange.softener_capacity(resin_l, salt_kg)) * share


@cache
def _cycle(resin_l: float, salt_kg: float, area_m2: float, drain_l_min: float, rinse_min: float) -> float:
    """Water of one regeneration, L."""
    used = regeneration.regeneration_water(
        resin_l, salt_kg, area_m2, backwash_l_min=drain_l_min, backwash_min=rinse_min
    )
    return float(used.total_l)


@cache
def _doses(resin_l: float) -> tuple[float, ...]:
    """The doses of which ``_choose`` takes one."""
    low, high = exchange.salt_dose_range(resin_l)
    return tuple(float(dose) for dose in np.minimum(np.linspace(low, high, DOSES_TRIED), high))


@cache
def _thrift(
    resin_l: float, rated_salt_kg: float, rated_g: float, area_m2: float, drain_l_min: float, rinse_min: float
) -> tuple[float, float]:
    """Least salt (kg) and water (L) for each gram of hardness taken up, over all doses."""
    doses = [(dose, _capacity(resin_l, rated_salt_kg, rated_g, dose)) for dose in _doses(resin_l)]
    salt = min(dose / capacity for dose, capacity in doses)
    water = min(_cycle(resin_l, dose, area_m2, drain_l_min, rinse_min) / capacity for dose, capacity in doses)
    return salt, water


@dataclass(eq=False)
class _Setting:
    """What a softener is set to for a water and a duty."""

    water: Water
    duty: Duty
    load: Any
    salt_kg: float
    days: Any = None


class Softener(MediaTank):
    """Cation exchange on salt.

    The salt dose is the cheapest that keeps 3 days or more between regenerations.
    """

    kind = StageKind.SOFTENER
    purpose = "Takes out the hardness that leaves scale"
    has_salt_tank = True
    loads_with_dirt = False

    def __init__(self, product: Product) -> None:
        super().__init__(product)
        self._kept: _Setting | None = None

    @property
    def reserve(self) -> float:
        """Share of the capacity kept in hand: a quarter, none where a second tank takes over."""
        return 0.0 if self.product.ratings["tanks"] == "twin" else practice("exchange_reserve")

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """What fouls or destroys resin."""
        return (
            known("hardness", "everything here is reckoned from it"),
            limit("softener_iron_limit", "iron", "max", "more iron than resin can shed; filter it out first"),
            limit("softener_manganese_limit", "manganese", "max", "manganese stays on the resin"),
            limit("softener_turbidity_limit", "turbidity", "max", "dirt coats the beads and scores the valve"),
            limit("softener_free_chlorine_limit", "free_chlorine", "max", "chlorine eats resin", hard=False),
            limit("softener_sulphide_limit", "sulphide", "max", "sulphide blackens and fouls resin"),
            cold_limit(),
        )

    def compensated(self, water: Water) -> Any:
        """Hardness the softener must count, mg/L as CaCO3: with its allowance for iron and manganese."""
        return exchange.compensated_hardness(
            water.get("hardness", 0.0), self._dissolved_iron(water), water.get("manganese", 0.0)
        )

    def load_g_day(self, water: Water, duty: Duty) -> Any:
        """Hardness taken up on an occupied day, g as CaCO3."""
        return self._setting(water, duty).load

    def salt_kg(self, water: Water, duty: Duty) -> float:
        """Salt each regeneration, kg; one setting, from the median where draws are given."""
        return self._setting(water, duty).salt_kg

    def _setting(self, water: Water, duty: Duty) -> _Setting:
        """Load and salt for a water and a duty; the last answer is kept, because every question needs it."""
        kept = self._kept
        if kept is not None and kept.water is water and kept.duty is duty:
            return kept
        load = exchange.daily_load(duty.daily_l, self.compensated(water))
        load = max(load, LEAST_LOAD_G_DAY) if isinstance(load, float) else np.maximum(load, LEAST_LOAD_G_DAY)
        rounded = float(f"{scalar(load):.4g}")
        iron = float(f"{scalar(self._dissolved_iron(water)):.2g}")
        salt = _choose(self.media_l, self.area_m2, rounded, self.reserve, iron)
        self._kept = _Setting(water, duty, load, salt)
        return self._kept

    def capacity_g(self, salt_kg: float) -> float:
        """Capacity at a salt dose, g as CaCO3.

        The general curve, lowered where the product's own point lies lower.
        """
        ratings = self.product.ratings
        return _capacity(self.media_l, ratings["rated_salt_kg"], ratings["rated_capacity_g"], salt_kg)

    def days_between(self, water: Water, duty: Duty) -> Number:
        """Days between regenerations, at most the end of the sensible window."""
        setting = self._setting(water, duty)
        if setting.days is None:
            capacity, most = self.capacity_g(setting.salt_kg), self._window(water)[1]
            days = exchange.regeneration_interval(capacity, setting.load, self.reserve)
            setting.days = min(days, most) if isinstance(days, float) else np.minimum(days, most)
        result: Number = setting.days
        return result

    def treat(self, water: Water, duty: Duty) -> Water:
        """Hardness down to the careful end of its leakage, dissolved iron and manganese with it, sodium up.

        pH and alkalinity stay. Barium and radium count only where certified.
        """
        if "hardness" not in water:
            return water
        hard = water["hardness"]
        left = softened.hardness_leakage(hard, self.media_l, self.salt_kg(water, duty)).high
        share = 1.0 - left / np.maximum(hard, 1e-9)
        changed = remove(
            water,
            {
                "calcium": share,
                "magnesium": share,
                "manganese": effect("softener_manganese").typical,
                **{
                    code: effect("softener_radium_barium").low
                    for code in ("barium", "radium")
                    if code in self.product.certified_for
                },
            },
        )
        updates: dict[str, Number] = {"hardness": left}
        if "sodium" in water:
            updates["sodium"] = water["sodium"] + softened.sodium_added(hard - left)
        if "tds" in water and "calcium" in water and "magnesium" in water:
            updates["tds"] = water["tds"] + softened.tds_change(water["calcium"] * share, water["magnesium"] * share)
        gone = self._dissolved_iron(water) * effect("softener_dissolved_iron").typical
        for code in ("iron", "iron_dissolved"):
            if code in water:
                updates[code] = np.maximum(water[code] - gone, 0.0)
        return changed.with_values(**updates)

    def most_days(self) -> float:
        """The end of the window for water without iron."""
        return exchange.interval_window(0.0)[1]

    def least_upkeep(self, duty: Duty, least: Water = NO_WATER) -> Upkeep:
        """Hardness alone at the most thrifty dose, or the least dose at the longest interval if that is more."""
        ratings = self.product.ratings
        drained = (self.area_m2, ratings["drain_flow_l_min"], ratings["rinse_min"])
        salt, water = _thrift(self.media_l, ratings["rated_salt_kg"], ratings["rated_capacity_g"], *drained)
        taken = duty.daily_l * least.get("hardness", 0.0) / 1000.0 * duty.operating_days / (1.0 - self.reserve)
        low = _doses(self.media_l)[0]
        times = duty.operating_days / self.most_days()
        return Upkeep(
            salt_kg_year=max(taken * salt, times * low),
            water_l_year=max(taken * water, times * _cycle(self.media_l, low, *drained)),
            power_kwh_year=self.power_kwh_year(duty),
        )

    def cycle_litres(self, water: Water, duty: Duty) -> Number:
        """Water each regeneration, L.

        Backwash at the drain flow, brine and slow rinse, fast rinse, refill.
        """
        ratings = self.product.ratings
        salt, drain = self.salt_kg(water, duty), ratings["drain_flow_l_min"]
        return _cycle(self.media_l, salt, self.area_m2, drain, ratings["rinse_min"])

    def cycle_words(self) -> str:
        """How the drain volume adds up."""
        ratings = self.product.ratings
        return f"backwash {ratings['drain_flow_l_min']:g} x {ratings['rinse_min']:g}, slow and fast rinse, refill"

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Those of a tank; days between regenerations; no iron with oxygen on the resin."""
        least = 1.0 if self.product.ratings["tanks"] == "twin" else self._window(water)[0]
        days: Any = self.days_between(water, duty)
        found = [
            *super().margins(water, duty),
            Margin("softener_days", "Days between regenerations", days, least, "days", "min"),
        ]
        if "dissolved_oxygen" in water or "free_chlorine" in water:
            iron: Any = np.where(self._oxidised(water), water.get("iron", self._dissolved_iron(water)), 0.0)
            found.append(
                Margin(
                    "softener_iron_with_oxygen",
                    "Iron meeting oxygen or chlorine in the resin",
                    iron if np.ndim(iron) else float(iron),
                    practice("softener_iron_with_oxygen"),
                    "mg/L",
                    "max",
                )
            )
        return tuple(found)

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Salt and water of the year.

        Each regeneration, and one by hand at each opening of a seasonal place.
        """
        wear, seasonal = self.product.wear, len(duty.months_open) < 12
        times = duty.operating_days / scalar(self.days_between(water, duty)) + (1.0 if seasonal else 0.0)
        return Upkeep(
            wear=wear,
            salt_kg_year=times * self.salt_kg(water, duty),
            water_l_year=times * scalar(self.cycle_litres(water, duty)),
            power_kwh_year=self.power_kwh_year(duty),
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Compensated hardness, salt dose, days, sodium; and what the installer sets."""
        setting = scalar(self.compensated(water))
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(
                *self.tank_numbers(),
                Setting("Salt each time", self.salt_kg(water, duty), "kg", "mass"),
                Setting("Days between", scalar(self.days_between(water, duty)), "days"),
            ),
            settings=(
                Setting("Hardness setting, compensated", setting, "mg/L as CaCO3", "hardness"),
                Setting("Salt dose", self.salt_kg(water, duty), "kg", "mass"),
                Setting("Reserve", self.reserve * 100.0, "%"),
                Setting("Regenerate at the latest after", self._window(water)[1], "days"),
                Setting("Regenerate at", "02:00"),
                *self.tank_settings(),
            ),
            steps=(*self._steps(water, duty), *self.tank_steps(water, duty)),
            findings=self._findings(water, duty),
        )

    def _steps(self, water: Water, duty: Duty) -> tuple[Step, ...]:
        return (*self._load_steps(water, duty), *self._salt_steps(water, duty), *self._water_steps(water, duty))

    def _load_steps(self, water: Water, duty: Duty) -> tuple[Step, ...]:
        hard, comp = water.get("hardness", 0.0), self.compensated(water)
        iron, manganese = self._dissolved_iron(water), water.get("manganese", 0.0)
        factor = scalar(exchange.iron_allowance(iron))
        allowed = f"{factor:g} x {shown(iron, 2)} + 2 x {shown(manganese, 2)}"
        return (
            Step(
                "H_c",
                "Compensated hardness",
                scalar(comp),
                "mg/L as CaCO3",
                f"{shown(hard)} + {MG_L_PER_GPG:.2f} x ({allowed})",
                "allowances in gpg per mg/L of iron and manganese",
                "common practice",
                "hardness",
            ),
            Step(
                "L",
                "Load a day",
                scalar(self.load_g_day(water, duty)),
                "g/d",
                f"{shown(duty.daily_l, 0)} L x {shown(comp)} / 1000",
                "mass balance",
                "computed",
            ),
        )

    def _salt_steps(self, water: Water, duty: Duty) -> tuple[Step, ...]:
        dose, days, load = self.salt_kg(water, duty), self.days_between(water, duty), self.load_g_day(water, duty)
        capacity, cubic_feet = self.capacity_g(dose), self.media_l / L_PER_FT3
        pounds = dose / KG_PER_POUND / cubic_feet
        full = float(exchange.softener_capacity(self.media_l, dose))
        lowered = f" x {capacity / full:.3f} as rated" if capacity < full else ""
        return (
            Step(
                "S",
                "Salt each regeneration",
                dose,
                "kg",
                f"{dose * 1000.0 / self.media_l:.0f} g/L x {self.media_l:g} L; the cheapest that keeps the interval",
                "search over the capacity curve",
                "computed",
                "mass",
            ),
            Step(
                "C",
                "Capacity at that dose",
                capacity,
                "g as CaCO3",
                f"(10286 ln {pounds:.2f} + 1326) gr/ft3 x {cubic_feet:.3f} ft3 x 0.0648 g/gr{lowered}",
                "training slides; 35 IAC 604.805(c) prints 20,000 gr/ft3 at 6 lb (this curve 19,756)",
                "common practice",
            ),
            Step("r", "Reserve", self.reserve, "fraction", "", *cited("exchange_reserve")),
            Step(
                "t",
                "Days between regenerations",
                scalar(days),
                "days",
                f"min({capacity:.0f} x (1 - {self.reserve:g}) / {shown(load)}, {self._window(water)[1]:g})",
                "practice window 3 to 14 days, 3 to 4 with iron",
                "common practice",
            ),
        )

    def _water_steps(self, water: Water, duty: Duty) -> tuple[Step, ...]:
        hard = water.get("hardness", 0.0)
        left = softened.hardness_leakage(hard, self.media_l, self.salt_kg(water, duty)).high
        return (
            Step(
                "H_l",
                "Hardness left, careful end",
                scalar(left),
                "mg/L as CaCO3",
                "by salt dose",
                "leakage by dose, recalled",
                "from memory",
                "hardness",
            ),
            Step(
                "Na",
                "Sodium added",
                scalar(softened.sodium_added(hard - left)),
                "mg/L",
                f"0.4594 x ({shown(hard)} - {shown(left)})",
                "2 Na per CaCO3",
                "computed",
            ),
        )

    def _findings(self, water: Water, duty: Duty) -> tuple[Finding, ...]:
        hard = water.get("hardness", 0.0)
        left = softened.hardness_leakage(hard, self.media_l, self.salt_kg(water, duty)).high
        added = scalar(softened.sodium_added(hard - left))
        found = [
            Finding(
                "sodium_added",
                Severity.NOTE,
                f"Softening adds {added:.0f} mg/L of sodium.",
                "Tell people on a low-sodium diet; the kitchen cold tap can stay hard, or have reverse osmosis.",
                "sodium",
                "2 Na per CaCO3, computed",
            )
        ]
        if "iron" in water and "iron_dissolved" not in water and scalar(water["iron"]) > 0:
            found.append(
                Finding(
                    "iron_form_unknown",
                    Severity.EQUIPMENT,
                    "Only total iron was measured; it is counted as dissolved here.",
                    "Measure dissolved iron at the tap: resin takes that only, rust passes and fouls.",
                    "iron",
                )
            )
        return tuple(found)

    @staticmethod
    def _oxidised(water: Water) -> Any:
        oxygen, chlorine = water.get("dissolved_oxygen", 0.0), water.get("free_chlorine", 0.0)
        if isinstance(oxygen, float) and isinstance(chlorine, float):
            return oxygen > practice("oxygen_present") or chlorine > practice("organics_chlorine_limit")
        airy = np.asarray(oxygen) > practice("oxygen_present")
        return airy | (np.asarray(chlorine) > practice("organics_chlorine_limit"))

    @staticmethod
    def _dissolved_iron(water: Water) -> Any:
        return water.get("iron_dissolved", water.get("iron", 0.0))

    def _window(self, water: Water) -> tuple[float, float]:
        return exchange.interval_window(scalar(self._dissolved_iron(water)))

    def spoilt_by(self, water: Water) -> bool:
        """Iron meeting oxygen or chlorine in the resin."""
        iron = water.get("iron", self._dissolved_iron(water))
        return bool(iron > practice("softener_iron_with_oxygen") and self._oxidised(water))

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return {
            **dict.fromkeys(("iron", "iron_dissolved"), effect("softener_dissolved_iron").typical),
            "manganese": effect("softener_manganese").typical,
        }

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """The load, and what harms resin that takes iron."""
        return frozenset(("hardness", "iron", "iron_dissolved", "manganese", "dissolved_oxygen", "free_chlorine"))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Hardness and what goes with it; sodium comes."""
        return {
            **{code: (code,) for code in ("calcium", "magnesium", "manganese", "sodium", "barium", "radium")},
            "tds": ("tds", "calcium", "magnesium"),
            "hardness": (),
            "iron": (),
            "iron_dissolved": (),
        }

    def improves(self) -> tuple[str, ...]:
        """Hardness, and calcium and magnesium with it; dissolved iron and manganese."""
        certified = tuple(c for c in ("barium", "radium") if c in self.product.certified_for)
        return ("hardness", "calcium", "magnesium", "iron", "iron_dissolved", "manganese", *certified)
