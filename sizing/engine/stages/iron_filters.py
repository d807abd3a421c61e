"""Oxidising filters for iron, manganese and sulphide: air-charged, catalytic, permanganate-regenerated."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping
from typing import Any

import numpy as np

from sizing.engine import oxidation
from sizing.engine.design import Margin, Setting, StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.quantities import M_PER_INCH
from sizing.engine.stages.base import Duty, FeedLimit, Rank, Sizing, Upkeep
from sizing.engine.stages.practice_figures import DOCUMENT, cited, effect, limit, practice, remove, scalar, shown
from sizing.engine.stages.ratings import RatingField, Schema
from sizing.engine.stages.tanks import MediaTank, bed_fits_tank, cold_limit, tank_area_m2, tank_fields
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

LIGHT = "light_oxidation"
LEAST_DAYS = 1.0
LEAST_DEMAND = 1e-3


def _head_fits(ratings: Mapping[str, Any]) -> None:
    """Refuses an air head larger than the room above the bed."""
    area = tank_area_m2(ratings["tank_diameter_in"])
    room = area * ratings["tank_height_in"] * M_PER_INCH * 1000.0 - ratings["media_l"]
    if ratings["air_head_l"] > room:
        raise OutsideValidRange(
            "air_head_l",
            ratings["air_head_l"],
            low=0.0,
            high=round(room, 1),
            unit="L",
            source="the room above the bed",
            low_open=True,
        )


AIR_MEDIA = ("light_oxidation", "coated_silica", "manganese_ore", "catalytic_carbon")
AIROX_SCHEMA = Schema(
    (
        *tank_fields(AIR_MEDIA),
        RatingField("air_head_l", "Air head", "volume", "L", 0.0, 300.0, low_open=True),
    ),
    (bed_fits_tank, _head_fits),
)
CATALYTIC_SCHEMA = Schema(tank_fields(("coated_silica", "manganese_ore", "light_oxidation")), (bed_fits_tank,))
PERMANGANATE_SCHEMA = Schema(
    (*tank_fields(("greensand",)), RatingField("feeder_kg", "Permanganate it holds", "mass", "kg", 0.1, 50.0)),
    (bed_fits_tank,),
)


class IronFilter(MediaTank):
    """What the three share: the pH window, the load, the removal, the alkalinity it costs."""

    @abstractmethod
    def run_litres(self, water: Water, duty: Duty) -> Any:
        """Litres from one backwash (or regeneration) to the next."""

    @abstractmethod
    def run_step(self, water: Water, duty: Duty) -> Step:
        """The worksheet line of that run."""

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """The window in which the medium works."""
        return (
            limit(
                "iron_filter_ph_limit",
                "ph",
                "min",
                "below it iron oxidises too slowly: raise the pH first",
                required=True,
            ),
            limit("iron_filter_iron_limit", "iron", "max", "more iron than one bed can shed", required=True),
            limit("iron_filter_tannin_limit", "tannin", "max", "tannin holds iron in solution and it passes"),
            limit("iron_filter_sulphide_limit", "sulphide", "max", "more sulphide than the medium can take"),
            *self._for_light_media(),
            cold_limit(),
        )

    @property
    def light(self) -> bool:
        """Whether its medium is a light one with a coating."""
        return bool(self.product.ratings["medium"] == LIGHT)

    def _for_light_media(self) -> tuple[FeedLimit, ...]:
        """What a light coated medium bears less of than others."""
        if not self.light:
            return ()
        return (
            limit("light_medium_sulphide_limit", "sulphide", "max", "sulphur fouls a light coated medium"),
            limit("light_medium_chlorine_limit", "free_chlorine", "max", "chlorine strips a light medium's coating"),
        )

    def treat(self, water: Water, duty: Duty) -> Water:
        """Iron, manganese and sulphide down; alkalinity and a little pH with them; oxygen up where it was
        measured.

        Manganese counts at the low removal below pH 7.5.
        """
        iron = effect("iron_filter_dissolved_iron").typical
        spread = effect("iron_filter_manganese")
        manganese: Any = np.where(
            np.asarray(water.get("ph", 0.0)) >= practice("manganese_ph"), spread.typical, spread.low
        )
        manganese = manganese if np.ndim(manganese) else float(manganese)
        sulphide = effect("iron_filter_sulphide").typical
        changed = remove(water, {"iron": iron, "iron_dissolved": iron, "manganese": manganese, "sulphide": sulphide})
        updates: dict[str, Number] = {}
        if "alkalinity" in water:
            used = oxidation.alkalinity_used(water.get("iron", 0.0) * iron, water.get("manganese", 0.0) * manganese)
            updates["alkalinity"] = np.maximum(water["alkalinity"] - used, 0.0)
        if "ph" in water:
            updates["ph"] = np.maximum(water["ph"] + effect("iron_filter_ph").typical, 0.0)
        return changed.with_values(**updates)

    def days_between(self, water: Water, duty: Duty) -> Number:
        """What the run allows, at most the longest usual interval."""
        most = float(figure(DOCUMENT, "backwash_every").value["high"])
        days: Number = np.minimum(self.run_litres(water, duty) / duty.daily_l, most)
        return float(days) if np.ndim(days) == 0 else days

    def most_days(self) -> float:
        """The top of the usual range."""
        return float(figure(DOCUMENT, "backwash_every").value["high"])

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Those of a tank, and a run of a day or more."""
        days: Any = self.days_between(water, duty)
        code, label = f"{self.kind.value}_days", "Days between backwashes"
        return (*super().margins(water, duty), Margin(code, label, days, LEAST_DAYS, "days", "min"))

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Media by years, water to the drain."""
        wear = self.product.wear
        return Upkeep(
            wear=wear,
            water_l_year=self.drain_litres_year(water, duty),
            power_kwh_year=self.power_kwh_year(duty),
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """The run, the interval in whole days, the backwash."""
        days = scalar(self.days_between(water, duty))
        whole = max(int(days), 1)
        steps = (
            self.run_step(water, duty),
            Step(
                "t",
                "Days between backwashes",
                days,
                "days",
                f"min({shown(self.run_litres(water, duty), 0)} / {shown(duty.daily_l, 0)}, 5)",
                *cited("backwash_every"),
            ),
            *self.tank_steps(water, duty),
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(*self.tank_numbers(), Setting("Days between", days, "days")),
            settings=(
                Setting("Backwash every", whole, "days"),
                Setting("Backwash at", "01:00"),
                *self.tank_settings(),
            ),
            steps=steps,
            findings=self.remarks(water),
        )

    def remarks(self, water: Water) -> tuple[Finding, ...]:
        """What was not measured and matters."""
        if "tannin" in water or "colour" in water:
            return ()
        return (
            Finding(
                "tannin_unknown",
                Severity.EQUIPMENT,
                "Neither tannin nor colour was measured; tannin above 0.5 mg/L lets iron through this filter.",
                "Test tannin before this is quoted.",
                "tannin",
                "common practice",
            ),
        )

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return {
            **dict.fromkeys(("iron", "iron_dissolved"), effect("iron_filter_dissolved_iron").typical),
            "manganese": effect("iron_filter_manganese").typical,
            "sulphide": effect("iron_filter_sulphide").typical,
        }

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """What the medium must take."""
        return frozenset(("iron", "manganese", "sulphide", "dissolved_oxygen"))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Iron, manganese and sulphide, with some pH and alkalinity; oxygen comes."""
        return {
            **{code: (code,) for code in ("iron_dissolved", "ph", "dissolved_oxygen")},
            "iron": (),
            "sulphide": (),
            "manganese": ("ph",),
            "alkalinity": ("alkalinity", "ph"),
        }

    def improves(self) -> tuple[str, ...]:
        """Iron, manganese, sulphide; alkalinity and pH fall a little with them."""
        return ("iron", "iron_dissolved", "manganese", "sulphide", "alkalinity", "ph")


class Airox(IronFilter):
    """An air head above the bed gives the oxygen; it is renewed at each backwash."""

    kind = StageKind.AIROX
    purpose = "Takes out iron and the rotten-egg smell with air"

    def demand_mg_l(self, water: Water) -> Any:
        """Oxygen iron, manganese and sulphide use, mg/L."""
        return oxidation.oxygen_demand(
            water.get("iron", 0.0), water.get("manganese", 0.0), water.get("sulphide", 0.0)
        )

    def run_litres(self, water: Water, duty: Duty) -> Any:
        """Litres one air charge can serve, at cut-in pressure."""
        return oxidation.air_charge_run(
            self.product.ratings["air_head_l"],
            duty.feed_kpa,
            self.demand_mg_l(water),
            np.clip(duty.temperature_c, 0.0, 40.0),
        )

    def run_step(self, water: Water, duty: Duty) -> Step:
        """Oxygen in the head against oxygen used and carried away."""
        head = self.product.ratings["air_head_l"]
        held = oxidation.oxygen_in_air_charge(head, duty.feed_kpa, np.clip(duty.temperature_c, 0.0, 40.0))
        return Step(
            "V_r",
            "Water one air charge serves",
            scalar(self.run_litres(water, duty)),
            "L",
            f"{shown(held, 0)} mg O2 in {head:g} L at {shown(duty.feed_kpa, 0)} kPa / "
            f"({shown(self.demand_mg_l(water), 2)} + 8 carried) mg/L",
            "ideal gas and mass balance; 5-11 mg/L carried is practice",
            "computed",
            "volume",
        )

    def rank(self) -> Rank:
        """The air head decides how long it runs; a light medium bears less than others."""
        return Rank((self.light,), (float(self.product.ratings["air_head_l"]),), self.thrift())

    def treat(self, water: Water, duty: Duty) -> Water:
        """As every iron filter; and dissolved oxygen rises to saturation, where it was measured."""
        changed = super().treat(water, duty)
        if "dissolved_oxygen" not in water:
            return changed
        full = oxidation.oxygen_saturation(np.clip(duty.temperature_c, 0.0, 40.0))
        return changed.with_values(dissolved_oxygen=np.maximum(water["dissolved_oxygen"], full))


class Catalytic(IronFilter):
    """A catalytic bed that lives on the oxygen (or chlorine) already in the water."""

    kind = StageKind.CATALYTIC
    purpose = "Takes out iron and manganese on a catalytic bed"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """As every iron filter; the oxygen must be known."""
        oxygen = FeedLimit(
            "dissolved_oxygen",
            "min",
            0.0,
            "the medium lives on the oxygen in the water",
            "common practice",
            required=True,
        )
        return (*super().feed_limits(duty), oxygen)

    def rank(self) -> Rank:
        """All do the same between the same backwashes; a light medium bears less than others."""
        return Rank((self.light,), (), self.thrift())

    def run_litres(self, water: Water, duty: Duty) -> Any:
        """Litres until the solids want a backwash: four days' draw (practice)."""
        return np.asarray(duty.daily_l) * float(figure(DOCUMENT, "backwash_every").value["typical"])

    def run_step(self, water: Water, duty: Duty) -> Step:
        """The interval is practice, not a calculation."""
        run = scalar(self.run_litres(water, duty))
        return Step(
            "V_r",
            "Water between backwashes",
            run,
            "L",
            f"4 days x {shown(duty.daily_l, 0)} L",
            *cited("backwash_every"),
            "volume",
        )

    def spoilt_by(self, water: Water) -> bool:
        """Too little oxygen for the iron."""
        wanted = practice("iron_filter_dissolved_oxygen_limit") * water.get("iron", 0.0)
        return bool("dissolved_oxygen" in water and water["dissolved_oxygen"] < wanted)

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Those of an iron filter, and oxygen at 15 % of the iron or more."""
        found = super().margins(water, duty)
        if "dissolved_oxygen" not in water:
            return found
        wanted: Any = practice("iron_filter_dissolved_oxygen_limit") * water.get("iron", 0.0)
        oxygen = water["dissolved_oxygen"]
        return (
            *found,
            Margin("catalytic_oxygen", "Oxygen in the water against the iron", oxygen, wanted, "mg/L", "min"),
        )


class Permanganate(IronFilter):
    """A greensand-type bed regenerated with potassium permanganate."""

    kind = StageKind.PERMANGANATE
    purpose = "Takes out iron, manganese and sulphide with permanganate"

    def demand_mg_l(self, water: Water) -> Any:
        """Permanganate by the planning rule, mg/L."""
        rule = oxidation.permanganate_rule(
            water.get("iron", 0.0), water.get("manganese", 0.0), water.get("sulphide", 0.0)
        )
        return np.maximum(rule, LEAST_DEMAND)

    def rank(self) -> Rank:
        """The bed decides how long it runs."""
        return Rank((), (self.media_l,), self.thrift())

    def run_litres(self, water: Water, duty: Duty) -> Any:
        """Litres between regenerations."""
        return oxidation.greensand_run(self.media_l, self.demand_mg_l(water))

    def run_step(self, water: Water, duty: Duty) -> Step:
        """10,000 mg/L x gal per cubic foot over the demand."""
        return Step(
            "V_r",
            "Water between regenerations",
            scalar(self.run_litres(water, duty)),
            "L",
            f"10,000 mg/L x gal per ft3 x {self.media_l:g} L / {shown(self.demand_mg_l(water), 2)}",
            "planning rule 1 Fe + 2 Mn + 5 H2S",
            "common practice",
            "volume",
        )

    def remarks(self, water: Water) -> tuple[Finding, ...]:
        """Pink water is a stop sign."""
        return (
            *super().remarks(water),
            Finding(
                "permanganate_pink",
                Severity.HEALTH,
                "Pink water means permanganate is passing.",
                "Stop drinking, rinse to the drain, lower the dose.",
                "manganese",
                "common practice",
            ),
        )
