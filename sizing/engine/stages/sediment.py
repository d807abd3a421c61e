"""Sediment cartridges, coarse and fine."""

from __future__ import annotations

from sizing.engine.design import LifeKind, LifeRule, Margin, Needs, Setting, StageKind, WearPart
from sizing.engine.stages.base import Duty, FeedLimit, Sizing, Stage, Upkeep
from sizing.engine.stages.practice_figures import cited, effect, limit, loss_at, practice, remove, shown
from sizing.engine.stages.ratings import RatingField, Schema, body, flow_and_loss
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

FINE_UM = 5.0
CLEAN_EXPONENT = 1.7

SCHEMA = Schema(
    (
        RatingField("micron", "Particle rating", "micron", "um", 0.2, 1000.0),
        RatingField("rating", "Kind of rating", "choice", choices=("nominal", "absolute")),
        RatingField("medium", "Medium", "choice", choices=("spun", "pleated", "wound", "block")),
        RatingField("cyst_claim", "Certified for cysts", "flag", required=False, default=False),
        RatingField("length_in", "Cartridge length", "nominal", "in", 4.0, 40.0),
        RatingField("diameter_in", "Cartridge diameter", "nominal", "in", 2.0, 8.0),
        *flow_and_loss(),
        RatingField("dirt_g", "Dirt held before change", "mass", "g", 0.0, 5000.0, low_open=True),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    )
)


class Sediment(Stage):
    """A cartridge in a housing. At ``micron`` 5 or finer it is the fine one ahead of a UV."""

    kind = StageKind.SEDIMENT
    purpose = "Catches sand, silt and rust"

    @property
    def fine(self) -> bool:
        """Whether it is fine enough to stand ahead of a UV (5 um or finer)."""
        return bool(self.product.ratings["micron"] <= FINE_UM)

    @property
    def cyst_tested(self) -> bool:
        """Whether it earns cyst credit: a certified claim, or 1 um absolute or finer. Nominal never does."""
        ratings = self.product.ratings
        return bool(ratings["cyst_claim"] or (ratings["rating"] == "absolute" and ratings["micron"] <= 1.0))

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Turbidity it can carry without blinding, and its rated flow."""
        rated = self.product.ratings["rated_flow_l_min"]
        key = "fine_turbidity_limit" if self.fine else "sediment_turbidity_limit"
        reason = "more than this blinds the cartridge in weeks; put a coarser filter or a bed first"
        return (
            limit(key, "turbidity", "max", reason),
            FeedLimit(
                "flow",
                "max",
                rated,
                "above its rated flow it passes dirt and loses pressure",
                "product rating",
            ),
        )

    def treat(self, water: Water, duty: Duty) -> Water:
        """Particles held back.

        Turbidity, suspended solids and iron that is already rust. Dissolved iron passes.
        """
        spread = effect("fine_turbidity" if self.fine else "sediment_turbidity")
        changed = remove(water, {"turbidity": spread.typical, "suspended_solids": spread.typical})
        if "iron" in water and "iron_dissolved" in water:
            rust = water["iron"] - water["iron_dissolved"]
            left = water["iron_dissolved"] + rust * (1.0 - effect("sediment_particulate_iron").typical)
            changed = changed.with_values(iron=left)
        return changed

    def needs(self, water: Water, duty: Duty) -> Needs:
        """Room below to drop the sump; no power, no drain."""
        ratings = self.product.ratings
        return Needs(
            wall_m=ratings["width_m"],
            depth_m=ratings["depth_m"],
            height_m=ratings["height_m"] + practice("sump_clearance"),
            holds_litres=ratings["holds_l"],
            portable=True,
        )

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """Clean.

        One rated point. Dirty: the change-out loss at rated flow, falling in proportion to flow (a cake).
        """
        ratings = self.product.ratings
        rated = ratings["rated_flow_l_min"]
        clean = loss_at(flow_l_min, rated, ratings["loss_kpa"], CLEAN_EXPONENT)
        if not dirty:
            return clean
        cake = max(practice("sediment_pressure_drop_limit") - ratings["loss_kpa"], 0.0)
        return clean + loss_at(flow_l_min, rated, cake, 1.0)

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """New at each opening and yearly at most; sooner where the solids measured fill it."""
        wear = tuple(self._worn(part, water, duty) for part in self.product.wear)
        return Upkeep(wear=wear, hours_year=hours_per_year(wear, duty.months_open, duty.daily_l))

    def _worn(self, part: WearPart, water: Water, duty: Duty) -> WearPart:
        solids = water.get("suspended_solids")
        if part.code != "cartridge" or solids is None:
            return part
        held_g_l = solids * effect("sediment_turbidity").typical / 1000.0
        litres = float(self.product.ratings["dirt_g"] / max(float(held_g_l), 1e-9))
        year = duty.daily_l * duty.operating_days * part.life.amount / 12.0
        if litres >= year:
            return part
        rule = LifeRule(
            LifeKind.LITRES, litres, cap_months=part.life.amount, source="suspended solids measured"
        )
        return WearPart(
            part.code, part.name, rule, part.specification, part.price, part.minutes, part.by_customer
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Peak flow against rated flow, and the pressure difference at which to change it."""
        ratings = self.product.ratings
        rated, change = ratings["rated_flow_l_min"], self.loss(duty.peak_l_min, dirty=True)
        source, status = cited("sediment_pressure_drop_limit")
        steps = (
            Step("q", "Largest flow here", shown(duty.flow_l_min), "L/min", quantity="flow"),
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
                "dp",
                "Loss at peak flow, clean",
                shown(self.loss(duty.peak_l_min)),
                "kPa",
                f"{ratings['loss_kpa']:g} x ({shown(duty.peak_l_min)}/{rated:g})^{CLEAN_EXPONENT:g}",
                "one rated point",
                "computed",
                "pressure",
            ),
            Step(
                "dp_s",
                "Loss at peak flow when it is to be changed",
                shown(change),
                "kPa",
                f"{practice('sediment_pressure_drop_limit'):.0f} kPa at rated flow, in proportion",
                source,
                status,
                "pressure",
            ),
        )
        return Sizing(
            margins=(
                Margin(
                    "sediment_flow",
                    "Flow through the cartridge",
                    duty.flow_l_min,
                    rated,
                    "L/min",
                    "max",
                    "flow",
                ),
            ),
            numbers=(
                Setting("Rating", ratings["micron"], "um"),
                Setting("Clear space below", practice("sump_clearance"), "m", "length"),
            ),
            settings=(
                Setting("Change when the gauges differ, at peak flow, by", float(change), "kPa", "pressure"),
            ),
            steps=steps,
        )

    def improves(self) -> tuple[str, ...]:
        """Clears turbidity, solids and rust."""
        return ("turbidity", "suspended_solids", "iron")
