"""Hollow-fibre ultrafiltration."""

from __future__ import annotations

from collections.abc import Mapping

from sizing.engine.design import Margin, Needs, Setting, StageKind
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import NO_WATER, Duty, FeedLimit, Rank, Sizing, Stage, Upkeep
from sizing.engine.stages.practice_figures import (
    effect,
    limit,
    loss_at,
    loss_step,
    practice,
    remove,
    scalar,
)
from sizing.engine.stages.ratings import RatingField, Schema, bears, body, flow_and_loss
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water

SCHEMA = Schema(
    (
        *flow_and_loss(),
        bears(),
        RatingField("virus_claim", "Certified for viruses", "flag", required=False, default=False),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    )
)
CLEAN_LINEAR = 1.0  # laminar through the fibres; common practice


class Ultrafilter(Stage):
    """Fibres that hold back particles, cysts and bacteria.

    Integrity cannot be proven in a house, so it is no barrier.
    """

    kind = StageKind.ULTRAFILTER
    purpose = "Holds back the finest particles and cysts"
    cyst_tested = True

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Chlorine and flow; the prefilter is a rule of order."""
        rated = self.product.ratings["rated_flow_l_min"]
        return (
            limit("ultrafilter_turbidity_limit", "turbidity", "max", "fibres want a filter of 50 um or finer ahead"),
            limit("ultrafilter_chlorine_limit", "free_chlorine", "max", "chlorine ages the fibres"),
            FeedLimit("flow", "max", rated, "above its rated flow the fibres are overdriven", "product rating"),
        )

    def treat(self, water: Water, duty: Duty) -> Water:
        """Turbidity and solids out; what is dissolved passes; germs are not credited."""
        held = effect("ultrafilter_turbidity").typical
        changed = remove(water, {"turbidity": held, "suspended_solids": held})
        if "iron" in water and "iron_dissolved" in water:
            rust = water["iron"] - water["iron_dissolved"]
            changed = changed.with_values(iron=water["iron_dissolved"] + rust * (1.0 - held))
        return changed

    def too_small(self, duty: Duty) -> bool:
        """More can pass than it is rated for."""
        return bool(duty.flow_l_min > self.product.ratings["rated_flow_l_min"])

    def needs(self, water: Water, duty: Duty) -> Needs:
        """A flush drain; the module goes home wet in winter, for it must neither freeze nor dry."""
        ratings = self.product.ratings
        return Needs(
            drain=True,
            wall_m=ratings["width_m"],
            depth_m=ratings["depth_m"],
            height_m=ratings["height_m"] + practice("sump_clearance"),
            holds_litres=ratings["holds_l"],
            drainable=False,
            portable=True,
        )

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """Linear through the fibres; twice that before a flush."""
        ratings = self.product.ratings
        clean = loss_at(flow_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], CLEAN_LINEAR)
        return clean * 2.0 if dirty else clean

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Largest flow against rated flow."""
        rated = self.product.ratings["rated_flow_l_min"]
        return (
            Margin(
                "ultrafilter_flow", "Largest flow against rated flow", duty.flow_l_min, rated, "L/min", "max", "flow"
            ),
        )

    def least_upkeep(self, duty: Duty, least: Water = NO_WATER) -> Upkeep:
        """Its flushes."""
        return Upkeep(water_l_year=float(len(duty.months_open)) * practice("ultrafilter_flush"))

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """The module by years, a flush each month."""
        wear = self.product.wear
        months = float(len(duty.months_open))
        return Upkeep(
            wear=wear,
            water_l_year=months * practice("ultrafilter_flush"),
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Flow against rated flow."""
        ratings = self.product.ratings
        step = loss_step(duty.peak_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], CLEAN_LINEAR)
        no_credit = Finding(
            "ultrafilter_no_credit",
            Severity.HEALTH,
            "A broken fibre cannot be seen in a house: against bacteria it earns no credit, against cysts that "
            "of an absolute cartridge.",
            "Keep the UV behind it.",
            "ultrafilter",
            "common practice",
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(Setting("Largest flow", scalar(duty.flow_l_min), "L/min", "flow"),),
            settings=(Setting("Flush", "monthly, to the drain"),),
            steps=(step,),
            findings=(no_credit,),
        )

    def rank(self) -> Rank:
        """All do the same."""
        return Rank((), (float(self.product.ratings["rated_flow_l_min"]),))

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return dict.fromkeys(("turbidity", "suspended_solids"), effect("ultrafilter_turbidity").typical)

    def most_credit(self, duty: Duty) -> Mapping[str, float]:
        """Cysts, as an absolute cartridge; no viruses, claim or not, for nobody can see that the fibres are sound."""
        return dict.fromkeys(("cryptosporidium", "giardia"), practice("ultrafilter_cyst_log"))

    def log_credits(self, water: Water, duty: Duty) -> Mapping[str, Number]:
        """The same for any water."""
        return self.most_credit(duty)

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """Nothing but its limits."""
        return frozenset()

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """What it holds back."""
        return {
            "turbidity": ("turbidity",),
            "suspended_solids": ("suspended_solids",),
            "iron": ("iron", "iron_dissolved"),
        }

    def improves(self) -> tuple[str, ...]:
        """Turbidity, solids, rust."""
        return ("turbidity", "suspended_solids", "iron")
