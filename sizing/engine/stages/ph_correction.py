"""Raising the pH: the calcite bed and the soda ash feed."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np

from sizing.engine import neutraliser
from sizing.engine.design import Margin, Needs, Setting, StageKind
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import Duty, FeedLimit, Rank, Sizing, Stage, Upkeep
from sizing.engine.stages.practice_figures import DOCUMENT, effect, known, limit, practice, remove, scalar, shown
from sizing.engine.stages.ratings import RatingField, Schema, body, power
from sizing.engine.stages.tanks import MediaTank, bed_fits_tank, cold_limit, tank_fields
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

NEEDED = ("ph", "alkalinity")
COLDEST_C, WARMEST_C = 0.1, 49.0

NEUTRALISER_SCHEMA = Schema(tank_fields(("calcite", "calcite_magnesia")), (bed_fits_tank,))
SODA_ASH_SCHEMA = Schema(
    (
        RatingField("solution_l", "Solution tank", "volume", "L", 10.0, 500.0),
        RatingField("feed_l_d", "Largest feed", "volume", "L/d", 0.5, 500.0),
        *power(most_w=100.0),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    )
)


def enough_known(water: Water) -> bool:
    """Whether pH, alkalinity and hardness (or calcium) were measured, so that a pH can be reckoned.

    Units: none.
    Range: any water.
    Raises: nothing.
    Source: needs of the carbonate system (computed).

    >>> enough_known(Water({"ph": 6.2, "alkalinity": 30.0, "hardness": 38.0}))
    True
    """
    return all(code in water for code in NEEDED) and ("hardness" in water or "calcium" in water)


def at_temperature(water: Water, duty: Duty) -> Water:
    """The water with a temperature, the duty's where none was measured.

    Units: degC.
    Range: clipped to 0.1 to 49 degC.
    Raises: nothing.
    Source: none needed.

    >>> duty = Duty(38, 20, 600, 38, (6, 7), 8.0, 276, 414)
    >>> at_temperature(Water({"ph": 6.2}), duty)["temperature"]
    8.0
    """
    coldest = np.clip(water.get("temperature", duty.temperature_c), COLDEST_C, WARMEST_C)
    return water.with_values(temperature=float(coldest) if np.ndim(coldest) == 0 else coldest)


def neutralised(water: Water, approach: float | None = None) -> neutraliser.Neutralised:
    """``neutraliser.neutralise``, remembered for single waters: a search asks the same question many times.

    Units: as ``neutraliser.neutralise``.
    Range: as ``neutraliser.neutralise``.
    Raises: as ``neutraliser.neutralise``.
    Source: as ``neutraliser.neutralise``.

    >>> acid = Water(dict(ph=6.2, alkalinity=30.0, calcium=11.0, hardness=38.0, temperature=8.0, tds=58.8))
    >>> 6.8 < neutralised(acid).ph < 7.8
    True
    """
    if any(not isinstance(value, float) for value in water.values.values()):
        return neutraliser.neutralise(water, approach)
    return _remembered(tuple(sorted(water.values.items())), approach)


@lru_cache(maxsize=512)
def _remembered(values: tuple[tuple[str, float], ...], approach: float | None) -> neutraliser.Neutralised:
    return neutraliser.neutralise(Water(dict(values)), approach)


@lru_cache(maxsize=512)
def _soda_ash(values: tuple[tuple[str, float], ...], target_ph: float) -> float:
    return float(neutraliser.dose_to_ph(Water(dict(values)), target_ph, "soda_ash"))


class Neutraliser(MediaTank):
    """A calcite bed. Its pH is a band: the stage counts on the usual share of equilibrium."""

    kind = StageKind.NEUTRALISER
    purpose = "Takes the acid out, so that pipes last"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """The window in which calcite works, and clear water."""
        return (
            limit("neutraliser_ph_limit", "ph", "min", "too acid for calcite alone", required=True),
            known("alkalinity", "the pH behind the bed is reckoned from it"),
            known("hardness", "the bed adds to it"),
            limit("neutraliser_turbidity_limit", "turbidity", "max", "dirt plugs the bed", hard=False),
            limit("neutraliser_raw_calcium_limit", "calcium", "max", "near saturation already", hard=False),
            limit("neutraliser_raw_alkalinity_limit", "alkalinity", "max", "little to gain", hard=False),
            cold_limit(),
        )

    def neutralised(self, water: Water, duty: Duty) -> neutraliser.Neutralised | None:
        """What the bed makes of the water, ``None`` where too little was measured."""
        return neutralised(at_temperature(water, duty)) if enough_known(water) else None

    def calcite_mg_l(self, water: Water, duty: Duty) -> Any:
        """Calcite dissolved, mg/L."""
        after = self.neutralised(water, duty)
        return after.calcite if after else 0.0

    def treat(self, water: Water, duty: Duty) -> Water:
        """pH, alkalinity and hardness up by what dissolves; carbon dioxide down; some rust held."""
        after = self.neutralised(water, duty)
        if after is None:
            return water
        codes = ("ph", "alkalinity", "hardness", "calcium", "tds", "carbon_dioxide")
        return water.with_values(**{code: after.water[code] for code in codes if code in water})

    def days_between(self, water: Water, duty: Duty) -> Number:
        """A weekly backwash keeps the bed from setting (practice)."""
        return practice("carbon_backwash_every")

    def too_small(self, duty: Duty) -> bool:
        """As a tank, or a peak above the bed's stop."""
        return super().too_small(duty) or bool(duty.peak_l_min > neutraliser.service_flow(self.area_m2)[1])

    def most_days(self) -> float:
        """A week."""
        return practice("carbon_backwash_every")

    def kg_year(self, water: Water, duty: Duty) -> float:
        """Calcite used in a year, kg."""
        calcite = scalar(self.calcite_mg_l(water, duty))
        return float(neutraliser.calcite_use(calcite, scalar(duty.daily_l), min(duty.operating_days, 366.0)))

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Those of a tank, and the hard stop of the surface rate."""
        stop = neutraliser.service_flow(self.area_m2)[1]
        return (
            *super().margins(water, duty),
            Margin(
                "neutraliser_rate", "Peak flow against the bed's stop", duty.peak_l_min, stop, "L/min", "max", "flow"
            ),
        )

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Top-ups by use, water to the drain."""
        wear = self.product.wear
        return Upkeep(
            wear=wear,
            water_l_year=self.drain_litres_year(water, duty),
            power_kwh_year=self.power_kwh_year(duty),
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """pH and hardness behind it, calcite used, months to the top-up."""
        use = self.kg_year(water, duty)
        bed_kg = practice("calcite_kg_per_l") * self.media_l
        months = neutraliser.top_up_months(bed_kg, use) if use > 0 else 12.0
        hardness = Finding(
            "neutraliser_adds_hardness",
            Severity.NOTE,
            f"The bed adds {scalar(self.calcite_mg_l(water, duty)):.0f} mg/L of hardness.",
            "Size a softener on the water behind it.",
            "hardness",
            "CaCO3 + CO2 + H2O, computed",
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(*self.tank_numbers(), Setting("Top up every", min(months, 12.0), "months")),
            settings=(
                Setting("Backwash every", scalar(self.days_between(water, duty)), "days"),
                *self.tank_settings(),
            ),
            steps=(*self._bed_steps(water, duty, use), *self.tank_steps(water, duty)),
            findings=(*neutraliser.feed_remarks(water), hardness),
        )

    def _bed_steps(self, water: Water, duty: Duty, kg_year: float) -> tuple[Step, ...]:
        design, stop = neutraliser.service_flow(self.area_m2)
        calcite = scalar(self.calcite_mg_l(water, duty))
        steps = (
            Step(
                "c",
                "Calcite dissolved",
                calcite,
                "mg/L",
                "0.8 of the way to calcite equilibrium, closed system",
                "carbonate balance",
                "computed",
            ),
            Step(
                "m",
                "Calcite used in a year",
                kg_year,
                "kg",
                f"{calcite:.1f} mg/L x {shown(duty.daily_l, 0)} L x {duty.operating_days:.0f} days / 1e6",
                "mass balance",
                "computed",
                "mass",
            ),
            Step(
                "q_d",
                "Design flow of the bed",
                design,
                "L/min",
                f"3 gpm/ft2 x {self.area_m2:.4f} m2; stop at {stop:.1f}",
                "extension guidance repeated in the trade",
                "common practice",
                "flow",
            ),
        )
        after = self.neutralised(water, duty)
        if after is None:
            return steps
        known_water = at_temperature(water, duty)
        low, _, high = (scalar(neutralised(known_water, share).ph) for share in neutraliser.calcite_band())
        ph = Step(
            "pH",
            "pH behind the bed, usual",
            scalar(after.ph),
            "",
            f"between {low:.1f} and {high:.1f}",
            "carbonate balance",
            "computed",
        )
        return (ph, *steps)

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """What dissolving calcite changes."""
        return dict.fromkeys(("ph", "alkalinity", "hardness", "calcium", "tds", "carbon_dioxide"), ())

    def rank(self) -> Rank:
        """All beds of calcite do the same."""
        return Rank((self.product.ratings["medium"],), (), self.thrift())

    def improves(self) -> tuple[str, ...]:
        """pH, and with it alkalinity; carbon dioxide."""
        return ("ph", "alkalinity", "carbon_dioxide")


class SodaAsh(Stage):
    """A feed pump with soda ash solution, ahead of the pressure tank; raises pH without hardness."""

    kind = StageKind.SODA_ASH
    purpose = "Takes the acid out with a dosing pump"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Not below pH 4 (caustic is a licensed trade's business)."""
        low = float(figure(DOCUMENT, "soda_ash_ph_limit").value["low"])
        return (
            FeedLimit(
                "ph", "min", low, "below it soda ash is too weak", "trade practice: common practice", required=True
            ),
            known("alkalinity", "the dose is reckoned from it"),
        )

    def dose_mg_l(self, water: Water, duty: Duty) -> Any:
        """Soda ash that brings the water to the target pH, mg/L; 0 where it is there already."""
        target = effect("soda_ash_ph").typical
        if not enough_known(water) or np.any(np.asarray(water["ph"]) >= target):
            return 0.0
        cold = at_temperature(water, duty)
        if any(not isinstance(value, float) for value in cold.values.values()):
            return neutraliser.dose_to_ph(cold, target, "soda_ash")
        return _soda_ash(tuple(sorted(cold.values.items())), target)

    def treat(self, water: Water, duty: Duty) -> Water:
        """pH to its target, alkalinity and sodium up by the dose."""
        dose = self.dose_mg_l(water, duty)
        if not np.any(np.asarray(dose) > 0):
            return water
        updates: dict[str, Number] = {"ph": np.maximum(water["ph"], effect("soda_ash_ph").typical)}
        if "alkalinity" in water:
            updates["alkalinity"] = water["alkalinity"] + dose * practice("soda_ash_alkalinity")
        if "sodium" in water:
            updates["sodium"] = water["sodium"] + neutraliser.sodium_from_feed(dose, "soda_ash")
        return remove(water, {"carbon_dioxide": 0.9}).with_values(**updates)

    def needs(self, water: Water, duty: Duty) -> Needs:
        """Power with the well pump, a place for the solution tank."""
        ratings = self.product.ratings
        return Needs(
            power_w=ratings["power_w"],
            wall_m=ratings["width_m"],
            depth_m=ratings["depth_m"],
            height_m=ratings["height_m"],
            holds_litres=ratings["holds_l"],
            portable=True,
        )

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """None: it injects at a tee."""
        return flow_l_min * 0.0

    def feed_litres_day(self, water: Water, duty: Duty) -> Any:
        """Solution fed on an occupied day, L, at 1 lb per gallon."""
        return self.dose_mg_l(water, duty) * duty.daily_l / 1e3 / practice("soda_ash_solution")

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """The feed wanted against the pump's most; the dose against what may be put into drinking water."""
        most = self.product.ratings["feed_l_d"]
        fed, dose = self.feed_litres_day(water, duty), self.dose_mg_l(water, duty)
        return (
            Margin("soda_ash_feed", "Solution a day", fed, most, "L/d", "max", "volume"),
            Margin("soda_ash_dose", "Soda ash fed", dose, practice("soda_ash_most"), "mg/L", "max"),
        )

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Tube and injector by their rules, power while the pump runs."""
        wear, ratings = self.product.wear, self.product.ratings
        hours = scalar(duty.daily_l) / scalar(duty.pump_l_min) / 60.0 * duty.operating_days
        return Upkeep(
            wear=wear,
            power_kwh_year=ratings["power_w"] * hours / 1000.0,
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Dose, solution a day, days a tank lasts."""
        dose, fed = scalar(self.dose_mg_l(water, duty)), scalar(self.feed_litres_day(water, duty))
        days = self.product.ratings["solution_l"] / fed if fed > 0 else 365.0
        target = effect("soda_ash_ph").typical
        steps = (
            Step("d", "Soda ash", dose, "mg/L", f"to pH {target:g}, closed system", "carbonate balance", "computed"),
            Step(
                "V",
                "Solution a day",
                fed,
                "L/d",
                f"{dose:.1f} x {shown(duty.daily_l, 0)} / 1000 / {practice('soda_ash_solution'):.0f} g/L",
                "1 lb per gallon",
                "common practice",
                "volume",
            ),
        )
        sodium = float(neutraliser.sodium_from_feed(dose, "soda_ash"))
        note = Finding(
            "sodium_added",
            Severity.NOTE,
            f"Soda ash adds {sodium:.0f} mg/L of sodium.",
            "Tell people on a low-sodium diet.",
            "sodium",
            "stoichiometry, computed",
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(Setting("Tank lasts", min(days, 365.0), "days"),),
            settings=(
                Setting("Feed", fed, "L/d", "volume"),
                Setting("Solution", practice("soda_ash_solution"), "g/L"),
            ),
            steps=steps,
            findings=(note,),
        )

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """What soda ash changes."""
        return dict.fromkeys(("ph", "alkalinity", "sodium", "carbon_dioxide"), ())

    def rank(self) -> Rank:
        """All raise it to the same pH."""
        ratings = self.product.ratings
        return Rank((), (float(ratings["feed_l_d"]),), (-float(ratings["power_w"]),))

    def improves(self) -> tuple[str, ...]:
        """pH and alkalinity; carbon dioxide."""
        return ("ph", "alkalinity", "carbon_dioxide")
