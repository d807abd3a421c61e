"""The chlorine feed and the contact tank behind it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np

from sizing.engine import chlorination, contact, oxidation
from sizing.engine.design import Margin, Needs, Setting, StageKind
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import Duty, FeedLimit, Rank, Sizing, Stage, Upkeep
from sizing.engine.stages.practice_figures import (
    cited,
    effect,
    known,
    limit,
    loss_at,
    practice,
    remove,
    scalar,
    shown,
)
from sizing.engine.stages.ratings import RatingField, Schema, body, flow_and_loss, power
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

BACTERIA = ("total_coliform", "e_coli", "iron_bacteria")
VIRUS_LOGS_WANTED = 4.0
LEAST_FLOW = 1e-3
CT_PH = (6.0, 9.0)
MOST_CHLORINE = 3.0  # mg/L; more does not count (``contact.ct_delivered``)

CHLORINE_SCHEMA = Schema(
    (
        RatingField("solution_l", "Solution tank", "volume", "L", 10.0, 500.0),
        RatingField(
            "solution_g_l", "Solution strength", "concentration", "g/L", 0.5, 150.0, required=False, default=12.0
        ),
        RatingField("feed_ml_min", "Largest feed", "flow", "mL/min", 0.5, 1000.0),
        RatingField("residual", "Residual wanted", "concentration", "mg/L", 0.2, 4.0, required=False, default=1.0),
        *power(most_w=100.0),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    )
)
RETENTION_SCHEMA = Schema(
    (
        RatingField("volume_l", "Volume", "volume", "L", 20.0, 5000.0),
        RatingField("baffling", "Baffling factor", "fraction", "", 0.1, 1.0, required=False, default=0.1),
        *flow_and_loss(),
        *body("width_m", "depth_m", "height_m"),
    )
)


@lru_cache(maxsize=512)
def _contact_logs(chlorine: float, minutes: float, temperature_c: float, ph: float) -> tuple[float, float]:
    if not CT_PH[0] <= ph <= CT_PH[1]:
        return 0.0, 0.0
    credit = contact.contact_credit([(chlorine, minutes)], min(max(temperature_c, 0.0), 40.0), ph)
    return float(credit.giardia), float(credit.virus)


class Chlorine(Stage):
    """A pump that feeds chlorine with the well pump.

    Oxidises at once, disinfects only with contact behind it.
    """

    kind = StageKind.CHLORINE
    purpose = "Turns iron and sulphur to particles, and lets a contact tank kill germs"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Organics make by-products with chlorine."""
        return (
            limit(
                "chlorine_tannin_limit", "tannin", "max", "organics and chlorine make by-products: organics out first"
            ),
            known("ph", "contact and oxidation hang on it"),
        )

    def dose_mg_l(self, water: Water) -> Any:
        """Chlorine to feed, mg/L: the demand of iron, manganese, sulphide and ammonia, then the residual."""
        return chlorination.chlorine_dose(
            water.get("iron_dissolved", water.get("iron", 0.0)),
            water.get("manganese", 0.0),
            water.get("sulphide", 0.0),
            residual=self.product.ratings["residual"],
            ammonia=water.get("ammonia", 0.0),
        )

    def feed_ml_min(self, water: Water, duty: Duty) -> Any:
        """Setting of the pump at the well pump's flow, mL/min."""
        flow = np.maximum(duty.pump_l_min, LEAST_FLOW)
        return chlorination.feed_rate(flow, self.dose_mg_l(water), self.product.ratings["solution_g_l"])

    def treat(self, water: Water, duty: Duty) -> Water:
        """Residual and chloride come, sulphide goes at once; alkalinity falls.

        Iron and manganese are not counted here: turning them to particles takes the contact tank, holding the
        particles takes a filter. Germs are not credited either.
        """
        changed = remove(water, {"sulphide": effect("chlorine_sulphide").typical})
        updates: dict[str, Number] = {"free_chlorine": float(self.product.ratings["residual"])}
        if "chloride" in water:
            updates["chloride"] = water["chloride"] + self.dose_mg_l(water) * practice("chlorine_chloride_adds")
        if "alkalinity" in water:
            iron = water.get("iron_dissolved", water.get("iron", 0.0))
            used = oxidation.alkalinity_used(iron, oxidant="Cl2")
            updates["alkalinity"] = np.maximum(water["alkalinity"] - used, 0.0)
        return changed.with_values(**updates)

    def needs(self, water: Water, duty: Duty) -> Needs:
        """Power with the well pump, a cool dark place for the solution."""
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

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """The feed wanted against the pump's most."""
        fed, most = self.feed_ml_min(water, duty), self.product.ratings["feed_ml_min"]
        return (Margin("chlorine_feed", "Feed wanted", fed, most, "mL/min", "max"),)

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Tube, injector and solution by their rules, power while the pump runs."""
        wear, ratings = self.product.wear, self.product.ratings
        hours = scalar(duty.daily_l) / max(scalar(duty.pump_l_min), LEAST_FLOW) / 60.0 * duty.operating_days
        return Upkeep(
            wear=wear,
            power_kwh_year=ratings["power_w"] * hours / 1000.0,
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Dose, pump setting, days a tank lasts."""
        ratings, dose, fed = (
            self.product.ratings,
            scalar(self.dose_mg_l(water)),
            scalar(self.feed_ml_min(water, duty)),
        )
        days = float(
            chlorination.solution_days(
                ratings["solution_l"], max(scalar(duty.daily_l), LEAST_FLOW), dose, ratings["solution_g_l"]
            )
        )
        steps = (
            Step(
                "d",
                "Chlorine to feed",
                dose,
                "mg/L",
                f"0.635 Fe + 1.291 Mn + 8.85 S + 7.6 NH3-N + {ratings['residual']:g} residual",
                "stoichiometry",
                "computed",
            ),
            Step(
                "f",
                "Setting of the feed pump",
                fed,
                "mL/min",
                f"{shown(duty.pump_l_min)} x {dose:.2f} / {ratings['solution_g_l']:g}",
                "flow x dose / strength",
                "computed",
            ),
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(Setting("Tank lasts", min(days, 42.0), "days"),),
            settings=(
                Setting("Feed", fed, "mL/min"),
                Setting("Solution", ratings["solution_g_l"], "g/L"),
                Setting("Residual behind the contact", ratings["residual"], "mg/L"),
            ),
            steps=steps,
            findings=(
                Finding(
                    "chlorine_no_crypto",
                    Severity.HEALTH,
                    "Chlorine earns no credit against Cryptosporidium.",
                    "Surface water wants UV or a cyst-tested filter as well.",
                    "chlorine",
                    "Shields et al. 2008",
                ),
            ),
        )

    def rank(self) -> Rank:
        """The residual decides what it feeds, the strength of solution and pump how much it can."""
        ratings = self.product.ratings
        strongest = float(ratings["feed_ml_min"] * ratings["solution_g_l"])
        return Rank((ratings["residual"],), (strongest,), (-float(ratings["power_w"]),))

    def brings(self) -> tuple[str, ...]:
        """Its residual."""
        return ("free_chlorine",)

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return {"sulphide": effect("chlorine_sulphide").typical}

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """What takes up chlorine."""
        return frozenset(("iron", "iron_dissolved", "manganese", "sulphide", "ammonia"))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Residual and chloride come, sulphide goes, alkalinity falls."""
        return {"sulphide": (), "free_chlorine": (), "chloride": ("chloride",), "alkalinity": ("alkalinity",)}

    def improves(self) -> tuple[str, ...]:
        """Sulphide; alkalinity falls."""
        return ("sulphide", "alkalinity")


class Retention(Stage):
    """A contact tank: time for the chlorine, reckoned with its baffling at peak flow."""

    kind = StageKind.RETENTION
    purpose = "Gives the chlorine its time"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """There must be chlorine in the water for it to have a purpose."""
        low = practice("retention_least_chlorine")
        return (
            FeedLimit(
                "free_chlorine", "min", low, "without chlorine it is only a tank", "common practice", required=True
            ),
        )

    def contact_min(self, duty: Duty) -> Any:
        """Minutes that count as contact at peak flow: volume / flow x baffling."""
        ratings = self.product.ratings
        return contact.contact_time(ratings["volume_l"], np.maximum(duty.peak_l_min, LEAST_FLOW), ratings["baffling"])

    def virus_logs(self, water: Water, duty: Duty) -> Any:
        """Logs of virus the contact earns; 0 without chlorine or outside pH 6 to 9."""
        return self._credit(water, duty)[1]

    def giardia_logs(self, water: Water, duty: Duty) -> Any:
        """Logs of Giardia the contact earns; 0 without chlorine or outside pH 6 to 9."""
        return self._credit(water, duty)[0]

    def _credit(self, water: Water, duty: Duty) -> tuple[Any, Any]:
        """Logs of Giardia and of virus."""
        if "free_chlorine" not in water or "ph" not in water:
            return 0.0, 0.0
        minutes, temperature = self.contact_min(duty), duty.temperature_c
        if all(isinstance(value, float) for value in (water["free_chlorine"], water["ph"], minutes, temperature)):
            return _contact_logs(water["free_chlorine"], minutes, temperature, water["ph"])
        ph = np.asarray(water["ph"])
        inside = (ph >= CT_PH[0]) & (ph <= CT_PH[1])
        credit = contact.contact_credit(
            [(water["free_chlorine"], minutes)],
            np.clip(temperature, 0.0, 40.0),
            np.clip(ph, *CT_PH),
        )
        found = [np.where(inside, logs, 0.0) for logs in (credit.giardia, credit.virus)]
        giardia, virus = (logs if logs.ndim else float(logs) for logs in found)
        return giardia, virus

    def treat(self, water: Water, duty: Duty) -> Water:
        """Bacteria put out of action where the contact earns 4 log of viruses, which are the harder of the
        two.
        """
        works = np.asarray(self.virus_logs(water, duty)) >= VIRUS_LOGS_WANTED
        updates: dict[str, Number] = {}
        for code in BACTERIA:
            if code in water:
                left = np.where(works, 0.0, water[code])
                updates[code] = left if left.ndim else float(left)
        chlorinated = np.asarray(water.get("free_chlorine", 0.0)) >= practice("retention_least_chlorine")
        dissolved = water.get("iron_dissolved", water.get("iron"))
        if dissolved is not None:
            left = np.where(chlorinated, dissolved * (1.0 - effect("chlorine_iron").typical), dissolved)
            updates["iron_dissolved"] = left if left.ndim else float(left)
        return water.with_values(**updates)

    def needs(self, water: Water, duty: Duty) -> Needs:
        """A place for the tank, and its drain cock."""
        ratings = self.product.ratings
        return Needs(
            wall_m=ratings["width_m"],
            depth_m=ratings["depth_m"],
            height_m=ratings["height_m"],
            holds_litres=ratings["volume_l"],
        )

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """Its ports only: quadratic."""
        ratings = self.product.ratings
        return loss_at(flow_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], 0.0)

    def too_small(self, duty: Duty) -> bool:
        """Less detention at peak than oxidation wants."""
        return bool(self.product.ratings["volume_l"] / max(duty.peak_l_min, LEAST_FLOW) < effect_minutes())

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Plain detention at peak flow against the oxidation rule."""
        detention = self.product.ratings["volume_l"] / np.maximum(duty.peak_l_min, LEAST_FLOW)
        least = effect_minutes()
        return (Margin("retention_minutes", "Detention at peak flow", detention, least, "min", "min"),)

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """A flush of its foot."""
        wear = self.product.wear
        return Upkeep(wear=wear, hours_year=hours_per_year(wear, duty.months_open, duty.daily_l))

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Detention and contact at peak flow, and the logs they earn."""
        ratings = self.product.ratings
        minutes, logs = scalar(self.contact_min(duty)), scalar(self.virus_logs(water, duty))
        chlorine = water.get("free_chlorine", 0.0)
        source, status = cited("retention_contact_time")
        steps = (
            Step(
                "t_d",
                "Detention at peak flow",
                ratings["volume_l"] / max(scalar(duty.peak_l_min), LEAST_FLOW),
                "min",
                f"{ratings['volume_l']:g} / {shown(duty.peak_l_min)}; {effect_minutes():g} wanted",
                source,
                status,
            ),
            Step(
                "T10",
                "Contact that counts",
                minutes,
                "min",
                f"{ratings['volume_l']:g} / {shown(duty.peak_l_min)} x {ratings['baffling']:g}",
                "EPA 815-R-20-003 equations 4-2, 4-3",
                "published",
            ),
            Step(
                "CT",
                "Chlorine times contact",
                scalar(chlorine) * minutes,
                "mg min/L",
                f"{shown(chlorine, 2)} x {minutes:.2f}",
                "C x T",
                "published",
            ),
            Step(
                "log",
                "Logs of virus earned",
                logs,
                "log10",
                "4 x CT / CT required",
                "EPA 815-R-20-003 equation 5-2",
                "published",
            ),
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(Setting("Contact that counts", minutes, "min"), Setting("Virus credit", logs, "log10")),
            steps=steps,
        )

    def most_credit(self, duty: Duty) -> Mapping[str, float]:
        """Viruses and a little Giardia, at the most chlorine that counts and the lowest pH; no Cryptosporidium."""
        giardia, virus = _contact_logs(MOST_CHLORINE, float(self.contact_min(duty)), duty.temperature_c, CT_PH[0])
        return {"giardia": giardia, "virus": virus}

    def log_credits(self, water: Water, duty: Duty) -> Mapping[str, Number]:
        """The contact's, at peak flow and the coldest water."""
        return {"giardia": self.giardia_logs(water, duty), "virus": self.virus_logs(water, duty)}

    def brings(self) -> tuple[str, ...]:
        """Dissolved iron, reckoned from all iron where that alone was measured."""
        return ("iron_dissolved",)

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return {"iron_dissolved": effect("chlorine_iron").typical}

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """What makes the contact count."""
        return frozenset(("free_chlorine", "ph"))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Bacteria, and dissolved iron."""
        return {**{code: (code,) for code in BACTERIA}, "iron_dissolved": ("iron", "iron_dissolved")}

    def improves(self) -> tuple[str, ...]:
        """Bacteria, where the contact is long enough; dissolved iron, which becomes rust."""
        return (*BACTERIA, "iron_dissolved")


def effect_minutes() -> float:
    """Plain detention wanted at peak flow for oxidation to finish.

    Units: min.
    Range: none.
    Raises: nothing.
    Source: 20 min (common practice).

    >>> effect_minutes()
    20.0
    """
    return practice("retention_contact_time")
