"""Ultraviolet units, class A and class B, mains and 12 V."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from sizing.engine.design import Margin, Needs, Setting, StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import Duty, FeedLimit, Sizing, Stage, Upkeep
from sizing.engine.stages.practice_figures import effect, limit, loss_at, scalar, shown
from sizing.engine.stages.ratings import RatingField, Schema, body, flow_and_loss, power
from sizing.engine.upkeep import hours_per_year
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
        *body("width_m", "depth_m", "height_m", "holds_l"),
    ),
    (_dose_fits_class,),
)


class Uv(Stage):
    """A UV unit, judged at the flow the plumbing can deliver (``duty.flow_l_min``), never at the usual draw.
    """

    kind = StageKind.UV
    purpose = "Puts germs out of action with light"

    @property
    def is_barrier(self) -> bool:
        """Whether it earns log credit at all: class A only."""
        return bool(self.product.ratings["uv_class"] == "A")

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """The light must reach the organism.

        Clear, soft, low in iron; transmittance measured and as rated.
        """
        rated = self.product.ratings["rated_uvt"]
        return (
            FeedLimit(
                "uvt",
                "min",
                rated,
                "below the transmittance it is rated at the dose is not delivered",
                "product rating",
                required=True,
            ),
            limit(
                "uv_hardness_limit",
                "hardness",
                "max",
                "scale grows on the sleeve and shuts the light in",
                required=True,
            ),
            limit("uv_iron_limit", "iron", "max", "iron coats the sleeve and swallows the light", required=True),
            limit("uv_manganese_limit", "manganese", "max", "manganese coats the sleeve"),
            limit("uv_turbidity_limit", "turbidity", "max", "particles shade organisms", required=True),
            limit("uv_tannin_limit", "tannin", "max", "tannin swallows the light"),
            limit("uv_sulphide_limit", "sulphide", "max", "sulphide swallows the light and blackens the sleeve"),
            FeedLimit(
                "flow",
                "max",
                self.product.ratings["rated_flow_l_min"],
                "above the rated flow the dose is not delivered",
                "product rating",
            ),
        )

    def dose(self, water: Water, duty: Duty) -> Number:
        """Dose credited, mJ/cm2: the rated dose at or below rated flow, less in proportion above it; none
        below the rated transmittance, for a class B unit on unsafe water, or where transmittance is unknown.
        Never more than rated: only the certified point counts. Source: NSF/ANSI 55 scope (secondary);
        proportion is F2, dose = irradiance x time (computed).
        """
        ratings = self.product.ratings
        if "uvt" not in water:
            return 0.0
        share = np.minimum(1.0, ratings["rated_flow_l_min"] / np.maximum(duty.flow_l_min, 1e-9))
        dose: Number = np.where(water["uvt"] >= ratings["rated_uvt"], ratings["rated_dose"] * share, 0.0)
        return float(dose) if np.ndim(dose) == 0 else dose

    def treat(self, water: Water, duty: Duty) -> Water:
        """Coliforms and other bacteria put out of action where a class A dose is delivered; chemistry
        unchanged.

        The expected count is the old one times 1e-4; below 0.5 it is returned as 0, "not detected".
        """
        if not self.is_barrier:
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
        return loss_at(flow_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], 2.0)

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Lamp by operating months, sleeve by look; the lamp burns all day while the place is open."""
        wear = self.product.wear
        return Upkeep(
            wear=wear,
            power_kwh_year=self.product.ratings["power_w"] * 24.0 * duty.operating_days / 1000.0,
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Flow and dose against the rating, at the most the plumbing can deliver."""
        ratings, dose = self.product.ratings, self.dose(water, duty)
        rated, least = ratings["rated_flow_l_min"], CLASS_DOSE[ratings["uv_class"]]
        margins = (
            Margin("uv_flow", "Largest flow against rated flow", duty.flow_l_min, rated, "L/min", "max", "flow"),
            Margin("uv_dose", f"Dose for class {ratings['uv_class']}", dose, least, "mJ/cm2", "min"),  # type: ignore[arg-type]
        )
        uvt = scalar(water["uvt"]) if "uvt" in water else "not measured"
        steps = (
            Step(
                "q",
                "Largest flow the plumbing can deliver here",
                scalar(duty.flow_l_min),
                "L/min",
                "pump flat out, or the restrictor ahead with its tolerance",
                "flow test",
                "measured",
                "flow",
            ),
            Step(
                "q_r",
                "Rated flow",
                rated,
                "L/min",
                f"{shown(duty.flow_l_min)} <= {rated:g}",
                "product rating",
                "given",
                "flow",
            ),
            Step(
                "UVT",
                "UV transmittance entering",
                uvt,
                "%/cm",
                f"at least {ratings['rated_uvt']:g}",
                "product rating",
                "given",
            ),
            Step(
                "D",
                "Dose credited",
                scalar(dose),
                "mJ/cm2",
                f"{ratings['rated_dose']:g} x min(1, {rated:g}/{shown(duty.flow_l_min)})",
                "dose = irradiance x time; never above the certified point",
                "computed",
            ),
        )
        return Sizing(
            margins=margins,
            numbers=(
                Setting("Dose", scalar(dose), "mJ/cm2"),
                Setting("At", rated, "L/min", "flow"),
                Setting("Clear space at one end for the lamp", ratings["lamp_length_m"], "m", "length"),
            ),
            settings=(
                Setting("Lamp hours", 0.0, "h"),
                Setting("Largest flow allowed", rated, "L/min", "flow"),
            ),
            steps=steps,
            findings=self._findings(water),
        )

    def _findings(self, water: Water) -> tuple[Finding, ...]:
        virus = Finding(
            "uv_virus_credit",
            Severity.HEALTH,
            "A dose of 40 mJ/cm2 earns at most 0.5 log against viruses.",
            "Where viruses matter (shallow well, surface water, septic near) add chlorine or a higher dose.",
            "uv",
            "EPA 815-R-20-003 Table B-9",
        )
        if self.is_barrier:
            return (virus,)
        unsafe = [code for code in ("e_coli", "total_coliform") if np.any(water.get(code, 0.0) > 0)]
        words = "and coliforms were found in this water" if unsafe else "so it only supplements water tested clear"
        return (
            Finding(
                "uv_class_b_no_credit",
                Severity.HEALTH,
                f"A class B unit earns no log credit, {words}.",
                "Take a class A unit wherever a barrier is wanted.",
                "uv",
                "NSF/ANSI 55 scope (abstract)",
            ),
        )

    def improves(self) -> tuple[str, ...]:
        """Bacteria, where it is a barrier."""
        return MICROBES if self.is_barrier else ()
