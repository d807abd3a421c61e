"""Ultraviolet units, class A and class B, mains and 12 V."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from sizing.engine import uv_sizing
from sizing.engine.design import Margin, Needs, Setting, StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.findings import Finding, Severity
from sizing.engine.log_credits import ORGANISMS
from sizing.engine.stages.base import NO_WATER, Duty, FeedLimit, Rank, Sizing, Stage, Upkeep
from sizing.engine.stages.practice_figures import effect, loss_at, scalar
from sizing.engine.stages.ratings import RatingField, Schema, bears, body, flow_and_loss, power
from sizing.engine.upkeep import hours_per_year
from sizing.engine.uv import UvUnit, dose_mj_cm2, log_credit
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

CLASS_DOSE = {
    "A": 40.0,
    "B": 16.0,
}  # mJ/cm2, NSF/ANSI 55 as told in trade journals (the standard's text was not read)
MICROBES = ("total_coliform", "e_coli", "iron_bacteria")
CLEAR_FRACTION = 0.5  # fewer organisms expected than this reads "not detected"


def _dose_fits_class(ratings: Mapping[str, Any]) -> None:
    """A class A unit delivers 40 mJ/cm2 or more at its rated flow, a class B unit 16 or more."""
    least = CLASS_DOSE[ratings["uv_class"]]
    if ratings["rated_dose"] < least:
        raise OutsideValidRange(
            "rated_dose",
            ratings["rated_dose"],
            low=least,
            unit="mJ/cm2",
            source="NSF/ANSI 55 class, second-hand",
        )


SCHEMA = Schema(
    (
        RatingField("uv_class", "Class", "choice", choices=("A", "B")),
        RatingField("rated_dose", "Dose at rated flow, end of lamp life", "dose", "mJ/cm2", 10.0, 400.0),
        RatingField("rated_uvt", "UV transmittance it is rated at", "percent", "%/cm", 50.0, 100.0),
        *flow_and_loss(),
        RatingField("lamp_w", "Lamp", "power", "W", 4.0, 500.0),
        RatingField("lamp_length_m", "Lamp length", "length", "m", 0.1, 2.0),
        RatingField("sensor", "Measures its light", "flag", required=False, default=False),
        RatingField("mount", "Mounting", "choice", choices=("upright", "level"), required=False, default="upright"),
        *power(most_w=600.0, choices=("mains", "12v")),
        bears(),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    ),
    (_dose_fits_class,),
)


@lru_cache(maxsize=1024)
def _claimed(unit: UvUnit, flow_l_min: float, uvt: float) -> float:
    given = float(dose_mj_cm2(unit, flow_l_min, uvt))
    return min(given, unit.rated_dose) if uvt >= unit.rated_uvt else 0.0


@lru_cache(maxsize=256)
def _rated_credit(dose: float) -> dict[str, float]:
    return {organism: float(log_credit(dose, organism)) for organism in ORGANISMS}


class Uv(Stage):
    """A UV unit, judged at the flow the plumbing can deliver (``duty.flow_l_min``), never at the usual draw."""

    kind = StageKind.UV
    purpose = "Puts germs out of action with light"

    @property
    def is_barrier(self) -> bool:
        """Whether it earns log credit at all: class A only."""
        return bool(self.product.ratings["uv_class"] == "A")

    @cached_property
    def unit(self) -> UvUnit:
        """The rated unit, for the dose arithmetic."""
        ratings = self.product.ratings
        return UvUnit(ratings["rated_flow_l_min"], ratings["rated_uvt"], ratings["rated_dose"], ratings["uv_class"])

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """The light must reach the organism.

        Clear, soft, low in iron; transmittance measured and as rated.
        """
        ratings = self.product.ratings
        reason = "above the rated flow the dose is not delivered"
        flow = FeedLimit("flow", "max", ratings["rated_flow_l_min"], reason, "product rating")
        return (*uv_sizing.feed_limits(ratings["rated_uvt"]), flow)

    def dose(self, water: Water, duty: Duty) -> Number:
        """Dose the unit may claim at the most the plumbing can deliver, mJ/cm2; float or array.

        The calculated dose, never above the rated one; none below the rated transmittance, and none where
        transmittance is unknown. Whether the claim earns log credit is ``is_barrier``. Source: dose =
        irradiance x time (published); only the certified point counts, NSF/ANSI 55 scope (abstract).
        """
        if "uvt" not in water:
            return 0.0
        unit = self.unit
        if isinstance(water["uvt"], float) and isinstance(duty.flow_l_min, float):
            return _claimed(unit, max(duty.flow_l_min, 1e-6), water["uvt"])
        given = dose_mj_cm2(unit, np.maximum(duty.flow_l_min, 1e-6), water["uvt"])
        claimed = np.where(water["uvt"] >= unit.rated_uvt, np.minimum(given, unit.rated_dose), 0.0)
        return float(claimed) if np.ndim(claimed) == 0 else claimed

    def treat(self, water: Water, duty: Duty) -> Water:
        """Coliforms and other bacteria put out of action where a class A dose is delivered; chemistry
        unchanged.

        The expected count is the old one times 1e-4; below 0.5 it is returned as 0, "not detected".
        """
        if not self.is_barrier:
            return water
        if not any(code in water for code in MICROBES):
            return water
        works = np.asarray(self.dose(water, duty)) >= CLASS_DOSE["A"]
        passing = 1.0 - effect("uv_bacteria_protozoa").typical
        changed: dict[str, Number] = {}
        for code in MICROBES:
            if code in water:
                left = np.where(works, water[code] * passing, water[code])
                left = np.where(works & (left < CLEAR_FRACTION), 0.0, left)
                changed[code] = float(left) if left.ndim == 0 else left
        return water.with_values(**changed)

    def too_small(self, duty: Duty) -> bool:
        """More can pass than it is rated for."""
        return bool(duty.flow_l_min > self.product.ratings["rated_flow_l_min"])

    def needs(self, water: Water, duty: Duty) -> Needs:
        """Power all the time, and the lamp's length free at one end."""
        ratings = self.product.ratings
        upright, lamp = ratings["mount"] == "upright", ratings["lamp_length_m"]
        return Needs(
            power_w=ratings["power_w"],
            wall_m=ratings["width_m"] + (0.0 if upright else lamp),
            depth_m=ratings["depth_m"],
            height_m=ratings["height_m"] + (lamp if upright else 0.0),
            holds_litres=ratings["holds_l"],
        )

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """Quadratic from the rated point; a UV chamber does not load with dirt."""
        ratings = self.product.ratings
        return loss_at(flow_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], 0.0)

    def power_kwh_year(self, duty: Duty) -> float:
        """The lamp burns all day while the place is open, kWh."""
        return float(self.product.ratings["power_w"] * 24.0 * duty.operating_days / 1000.0)

    def least_upkeep(self, duty: Duty, least: Water = NO_WATER) -> Upkeep:
        """Its power."""
        return Upkeep(power_kwh_year=self.power_kwh_year(duty))

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Lamp by operating months, sleeve by look; the lamp burns all day while the place is open."""
        wear = self.product.wear
        return Upkeep(
            wear=wear,
            power_kwh_year=self.power_kwh_year(duty),
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Flow and dose against the rating."""
        ratings = self.product.ratings
        dose: Any = self.dose(water, duty)
        rated, least = ratings["rated_flow_l_min"], CLASS_DOSE[ratings["uv_class"]]
        label = f"Dose against class {ratings['uv_class']}"
        return (
            Margin("uv_flow", "Largest flow against rated flow", duty.flow_l_min, rated, "L/min", "max", "flow"),
            Margin("uv_dose", label, dose, least, "mJ/cm2", "min"),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Flow and dose against the rating, at the most the plumbing can deliver."""
        ratings = self.product.ratings
        rated = ratings["rated_flow_l_min"]
        flow = Step(
            "q",
            "Largest flow the plumbing can deliver here",
            scalar(duty.flow_l_min),
            "L/min",
            "pump flat out, or the restrictor ahead with its tolerance",
            "flow test",
            "measured",
            "flow",
        )
        steps: tuple[Step, ...] = (flow,)
        findings: tuple[Finding, ...] = (
            Finding(
                "uvt_unknown",
                Severity.HEALTH,
                "The UV transmittance was not measured: no dose can be claimed.",
                "Send a sample for UV transmittance at 254 nm, per cm.",
                "uvt",
                "common practice",
            ),
        )
        if "uvt" in water:
            answer = uv_sizing.size_uv(self.unit, max(scalar(duty.flow_l_min), 1e-6), scalar(water["uvt"]))
            steps, findings = (flow, *answer.steps), answer.findings
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(
                Setting("Dose", scalar(self.dose(water, duty)), "mJ/cm2"),
                Setting("At", rated, "L/min", "flow"),
                Setting("Clear space at one end for the lamp", ratings["lamp_length_m"], "m", "length"),
            ),
            settings=(
                Setting("Lamp hours", 0.0, "h"),
                Setting("Largest flow allowed", rated, "L/min", "flow"),
            ),
            steps=steps,
            findings=findings,
        )

    def rank(self) -> Rank:
        """Class and rated transmittance decide what it may claim."""
        ratings = self.product.ratings
        like = (ratings["uv_class"], ratings["rated_uvt"])
        merits = (float(ratings["rated_flow_l_min"]), float(ratings["rated_dose"]))
        return Rank(like, merits, (-float(ratings["power_w"]),))

    def most_credit(self, duty: Duty) -> Mapping[str, float]:
        """Those of its rated dose, where it is a barrier."""
        return _rated_credit(self.product.ratings["rated_dose"]) if self.is_barrier else {}

    def log_credits(self, water: Water, duty: Duty) -> Mapping[str, Number]:
        """The highest steps its dose reaches; 40 mJ/cm2 is half a log of viruses, no more."""
        dose = self.dose(water, duty)
        return {organism: log_credit(dose, organism) for organism in ORGANISMS} if self.is_barrier else {}

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """The light that passes."""
        return frozenset(("uvt",))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Bacteria."""
        return {code: (code,) for code in MICROBES} if self.is_barrier else {}

    def improves(self) -> tuple[str, ...]:
        """Bacteria, where it is a barrier."""
        return MICROBES if self.is_barrier else ()
