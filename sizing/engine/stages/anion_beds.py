"""Anion beds on salt: organics (tannin) and nitrate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from sizing.engine import anion
from sizing.engine.design import Margin, Setting, StageKind
from sizing.engine.findings import Finding, Severity
from sizing.engine.quantities import L_PER_FT3, L_PER_GALLON, nitrate_as_no3
from sizing.engine.stages.base import NO_WATER, Duty, FeedLimit, Rank, Sizing, Upkeep
from sizing.engine.stages.practice_figures import cited, effect, known, limit, practice, remove, scalar, shown
from sizing.engine.stages.ratings import RatingField, Schema
from sizing.engine.stages.tanks import MediaTank, bed_fits_tank, cold_limit, tank_fields
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

SCHEMA = Schema(
    (
        *tank_fields(("anion_resin",)),
        RatingField("salt_tank_kg", "Salt it holds", "mass", "kg", 5.0, 500.0),
    ),
    (bed_fits_tank,),
)
LEAST = 1e-3
NITRATE_LEAST_DAYS = 1.0


class AnionBed(MediaTank):
    """What both beds share: salt, rinse, upkeep."""

    has_salt_tank = True
    loads_with_dirt = False

    def salt_kg(self) -> float:
        """Salt each regeneration, kg: 160 g per litre of resin (common practice)."""
        return practice("anion_salt_dose") * self.media_l / 1000.0

    def cycle_litres(self, water: Water, duty: Duty) -> Number:
        """Water each regeneration, L: backwash at the drain flow and the rinse of the bed."""
        rinse = practice("anion_rinse_volume") * L_PER_GALLON / L_PER_FT3 * self.media_l
        return float(self.product.ratings["drain_flow_l_min"] * self.product.ratings["rinse_min"] + rinse)

    def cycle_words(self) -> str:
        """How the drain volume adds up."""
        ratings = self.product.ratings
        return f"backwash {ratings['drain_flow_l_min']:g} x {ratings['rinse_min']:g}, and the rinse of the bed"

    def most_days(self) -> float:
        """Four days: an anion bed is not left longer."""
        return anion.tannin_interval_window()[1]

    def least_upkeep(self, duty: Duty, least: Water = NO_WATER) -> Upkeep:
        """Salt and water as for the least feed: more of anything only shortens the run."""
        return replace(self.upkeep(least, duty), wear=(), hours_year=0.0)

    def rank(self) -> Rank:
        """The litres of resin decide the run and the salt."""
        return Rank((self.media_l, self.product.certified_for), (), self.thrift())

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Salt and water; two regenerations more at the opening of a seasonal place."""
        wear, seasonal = self.product.wear, len(duty.months_open) < 12
        times = duty.operating_days / scalar(self.days_between(water, duty)) + (2.0 if seasonal else 0.0)
        return Upkeep(
            wear=wear,
            salt_kg_year=times * self.salt_kg(),
            water_l_year=times * scalar(self.cycle_litres(water, duty)),
            power_kwh_year=self.power_kwh_year(duty),
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def anion_settings(self, water: Water, duty: Duty) -> tuple[Setting, ...]:
        """Set-up values of both beds."""
        return (
            Setting("Regenerate every", scalar(self.days_between(water, duty)), "days"),
            Setting("Salt dose", self.salt_kg(), "kg", "mass"),
            Setting("Regenerate at", "03:00"),
            *self.tank_settings(),
        )

    def salt_step(self) -> Step:
        """The worksheet line on salt."""
        source, status = cited("anion_salt_dose")
        return Step(
            "S",
            "Salt each regeneration",
            self.salt_kg(),
            "kg",
            f"{practice('anion_salt_dose'):g} g/L x {self.media_l:g} L",
            source,
            status,
            "mass",
        )


class Organics(AnionBed):
    """A tannin bed: tea colour out, chloride in."""

    kind = StageKind.ORGANICS
    purpose = "Takes out the tea colour"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Hard water, iron and chlorine ruin anion resin."""
        return (
            limit("organics_hardness_limit", "hardness", "max", "lime forms in the bed: soften first", required=True),
            limit("organics_iron_limit", "iron", "max", "iron fouls anion resin"),
            limit("organics_chlorine_limit", "free_chlorine", "max", "chlorine attacks the resin"),
            known("tannin", "the run is reckoned from it"),
            limit("organics_sulphate_limit", "sulphate", "max", "sulphate halves the run", hard=False),
            cold_limit(),
        )

    def run_litres(self, water: Water) -> Any:
        """Litres between regenerations by the one trade rule (low confidence)."""
        return anion.tannin_run(
            self.media_l, np.maximum(water.get("tannin", LEAST), LEAST), water.get("sulphate", 0.0)
        )

    def days_between(self, water: Water, duty: Duty) -> Number:
        """What the run allows, four days at most."""
        days: Number = anion.tannin_interval(self.run_litres(water), duty.daily_l)
        return days

    def treat(self, water: Water, duty: Duty) -> Water:
        """Tannin, colour and sulphate down, some alkalinity and pH with them, chloride up; transmittance up.

        Transmittance: absorbance falls by the low removal, and by no more than the usual 15 points: it feeds
        a UV. Nitrate is not counted: such a bed gives it back when it is full.
        """
        spread = effect("organics_tannin")
        sulphate, alkalinity = effect("organics_sulphate").typical, effect("organics_alkalinity").typical
        changed = remove(
            water,
            {
                "tannin": spread.typical,
                "colour": spread.typical,
                "toc": spread.low,
                "sulphate": sulphate,
                "alkalinity": alkalinity,
            },
        )
        updates: dict[str, Number] = {}
        if "chloride" in water:
            gone = {
                "sulphate_removed": water.get("sulphate", 0.0) * sulphate,
                "alkalinity_removed": water.get("alkalinity", 0.0) * alkalinity,
            }
            updates["chloride"] = water["chloride"] + anion.chloride_added(**gone)
        if "ph" in water:
            updates["ph"] = np.maximum(water["ph"] + effect("organics_ph").typical, 0.0)
        if "uvt" in water:
            raw = water["uvt"]
            clearer = 100.0 * (raw / 100.0) ** (1.0 - spread.low)
            updates["uvt"] = np.minimum(clearer, np.minimum(raw + effect("organics_uvt").typical, 100.0))
        return changed.with_values(**updates)

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Those of a tank, and an interval not below two days."""
        days: Any = self.days_between(water, duty)
        least = anion.tannin_interval_window()[0]
        return (
            *super().margins(water, duty),
            Margin("organics_days", "Days between regenerations", days, least, "days", "min"),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """The run by the trade rule, the interval, and what must be said about both."""
        run, days = self.run_litres(water), self.days_between(water, duty)
        steps = (
            Step(
                "V_r",
                "Run between regenerations",
                scalar(run),
                "L",
                f"2100 mg/L x gal per ft3 x {self.media_l:g} L / {shown(water.get('tannin', 0.0), 2)} mg/L, "
                f"less for sulphate {shown(water.get('sulphate', 0.0), 0)}",
                "one trade rule: low confidence, pilot first",
                "common practice",
                "volume",
            ),
            Step(
                "t",
                "Days between regenerations",
                scalar(days),
                "days",
                f"min({shown(run, 0)} / {shown(duty.daily_l, 0)}, 4)",
                "every 2 to 4 nights",
                "common practice",
            ),
            self.salt_step(),
            *self.tank_steps(water, duty),
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(*self.tank_numbers(), Setting("Days between", scalar(days), "days")),
            settings=self.anion_settings(water, duty),
            steps=steps,
            findings=self._findings(water),
        )

    def _findings(self, water: Water) -> tuple[Finding, ...]:
        found = [
            Finding(
                "organics_pilot",
                Severity.NOTE,
                "Organics differ from site to site: no calculation replaces a trial of the resin on this water.",
                "Run a small column or a trial bed before the sale is final.",
                "tannin",
                "Keller, WC&P 2002",
            )
        ]
        if "uvt" in water:
            found.append(
                Finding(
                    "uvt_predicted",
                    Severity.HEALTH,
                    "The UV transmittance behind the organics bed is predicted, not measured.",
                    "Measure it at the UV inlet before the UV counts.",
                    "uvt",
                    "common practice",
                )
            )
        remarks = anion.anion_remarks(0.0, 0.0, scalar(water.get("tannin", 0.0)), scalar(water.get("iron", 0.0)))
        return (*found, *remarks)

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return {
            **dict.fromkeys(("tannin", "colour"), effect("organics_tannin").typical),
            "toc": effect("organics_tannin").low,
            "sulphate": effect("organics_sulphate").typical,
            "alkalinity": effect("organics_alkalinity").typical,
        }

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """The run."""
        return frozenset(("tannin", "sulphate"))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Tannin, colour and sulphate; alkalinity and pH with them; chloride comes, light passes."""
        return {
            **{code: (code,) for code in ("colour", "toc", "alkalinity", "ph", "uvt")},
            "tannin": (),
            "sulphate": (),
            "chloride": ("chloride", "alkalinity"),
        }

    def improves(self) -> tuple[str, ...]:
        """Tannin, colour, and with them the transmittance; what else it lowers."""
        return ("tannin", "colour", "uvt", "toc", "sulphate", "alkalinity", "ph")


class Nitrate(AnionBed):
    """A nitrate bed for the whole house; counts only where certified, and at the low removal."""

    kind = StageKind.NITRATE
    purpose = "Takes out nitrate"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Hardness, iron and manganese first; sulphate known, because it decides the run."""
        return (
            limit("organics_hardness_limit", "hardness", "max", "lime forms in the bed: soften first", required=True),
            limit("organics_iron_limit", "iron", "max", "iron fouls anion resin", required=True),
            limit("ro_manganese_limit", "manganese", "max", "manganese fouls anion resin"),
            limit("organics_chlorine_limit", "free_chlorine", "max", "chlorine attacks the resin"),
            known("nitrate", "the run is reckoned from it"),
            known("sulphate", "it shares the bed and decides the run"),
            cold_limit(),
            FeedLimit(
                "flow",
                "max",
                float(anion.nitrate_service_flow(self.media_l)),
                "faster water leaves with nitrate in it",
                "4 gpm/ft3, common practice",
            ),
        )

    def run_litres(self, water: Water) -> Any:
        """Litres between regenerations by total anions, with the reserve kept back."""
        run = anion.nitrate_run(
            self.media_l,
            np.maximum(water.get("nitrate", 0.0), LEAST),
            water.get("sulphate", 0.0),
            water.get("alkalinity", 0.0),
        )
        return run * (1.0 - practice("exchange_reserve"))

    def days_between(self, water: Water, duty: Duty) -> Number:
        """What the run allows, four days at most (anion beds are not left longer)."""
        days: Number = np.minimum(self.run_litres(water) / duty.daily_l, anion.tannin_interval_window()[1])
        return float(days) if np.ndim(days) == 0 else days

    def treat(self, water: Water, duty: Duty) -> Water:
        """Nitrate at the low removal where certified, none otherwise; sulphate out, chloride in."""
        share = effect("nitrate_nitrate").low if "nitrate" in self.product.certified_for else 0.0
        sulphate, alkalinity = effect("nitrate_sulphate").typical, effect("organics_alkalinity").typical
        changed = remove(water, {"nitrate": share, "sulphate": sulphate, "alkalinity": alkalinity})
        updates: dict[str, Number] = {}
        if "chloride" in water:
            updates["chloride"] = water["chloride"] + anion.chloride_added(
                water.get("sulphate", 0.0) * sulphate,
                water.get("nitrate", 0.0) * effect("nitrate_nitrate").high,
                water.get("alkalinity", 0.0) * alkalinity,
            )
        if "ph" in water:
            updates["ph"] = np.maximum(water["ph"] + effect("organics_ph").typical, 0.0)
        return changed.with_values(**updates)

    def spoilt_by(self, water: Water) -> bool:
        """Too much sulphate for the nitrate."""
        if "sulphate" not in water:
            return False
        ratio = water["sulphate"] / max(nitrate_as_no3(water.get("nitrate", 0.0)), LEAST)
        return bool(ratio > practice("nitrate_sulphate_to_nitrate_limit"))

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Those of a tank; a day or more between regenerations; sulphate not above six times the nitrate."""
        days: Any = self.days_between(water, duty)
        found = [
            *super().margins(water, duty),
            Margin("nitrate_days", "Days between regenerations", days, NITRATE_LEAST_DAYS, "days", "min"),
        ]
        if "sulphate" in water:
            ratio = water["sulphate"] / np.maximum(nitrate_as_no3(water.get("nitrate", 0.0)), LEAST)
            most = practice("nitrate_sulphate_to_nitrate_limit")
            found.append(Margin("nitrate_sulphate_ratio", "Sulphate to nitrate, as ions", ratio, most, "", "max"))
        return tuple(found)

    def size(self, water: Water, duty: Duty) -> Sizing:
        """The run by total anions, the interval, and what must be said about dumping."""
        run, days = self.run_litres(water), self.days_between(water, duty)
        load = anion.anion_load(water.get("sulphate", 0.0), water.get("nitrate", 0.0), water.get("alkalinity", 0.0))
        steps = (
            Step(
                "N",
                "Anions taken out of a litre",
                scalar(load),
                "meq/L",
                f"SO4 {shown(water.get('sulphate', 0.0))}/48.0 + N {shown(water.get('nitrate', 0.0))}/14.0 "
                f"+ 0.3 x alk {shown(water.get('alkalinity', 0.0))}/50.0",
                "equivalent weights",
                "computed",
            ),
            Step(
                "V_r",
                "Run between regenerations",
                scalar(run),
                "L",
                f"{self.media_l:g} L x 0.3 eq/L x 1000 / {shown(load, 2)} x (1 - reserve)",
                "0.3-0.4 eq/L, Water Air Soil Pollut. 1973 (abstract)",
                "published",
                "volume",
            ),
            Step(
                "t",
                "Days between regenerations",
                scalar(days),
                "days",
                f"min({shown(run, 0)} / {shown(duty.daily_l, 0)}, 4)",
                "anion practice",
                "common practice",
            ),
            self.salt_step(),
            *self.tank_steps(water, duty),
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(*self.tank_numbers(), Setting("Days between", scalar(days), "days")),
            settings=(*self.anion_settings(water, duty), Setting("Alarm at volume", scalar(run), "L", "volume")),
            steps=steps,
            findings=self._findings(water),
        )

    def _findings(self, water: Water) -> tuple[Finding, ...]:
        found = anion.anion_remarks(scalar(water.get("nitrate", 0.0)), scalar(water.get("sulphate", 0.0)))
        if "nitrate" in self.product.certified_for:
            return found
        return (
            *found,
            Finding(
                "claim_missing",
                Severity.HEALTH,
                "This product has no certified claim for nitrate: it is not counted.",
                "Take a certified unit, and have the treated water tested.",
                "nitrate",
                "common practice",
            ),
        )

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return {
            "nitrate": effect("nitrate_nitrate").low,
            "sulphate": effect("nitrate_sulphate").typical,
            "alkalinity": effect("organics_alkalinity").typical,
        }

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """The run."""
        return frozenset(("nitrate", "sulphate", "alkalinity"))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Nitrate, sulphate and alkalinity; chloride comes."""
        return {
            "nitrate": (),
            "sulphate": (),
            "alkalinity": (),
            "chloride": ("chloride",),
            "ph": ("ph",),
        }

    def improves(self) -> tuple[str, ...]:
        """Nitrate where certified; what else it lowers."""
        own = ("sulphate", "alkalinity", "ph")
        return ("nitrate", *own) if "nitrate" in self.product.certified_for else own
