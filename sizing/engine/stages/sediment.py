"""Sediment cartridges, coarse and fine, and the flushable screen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

from sizing.engine.cartridges import cyst_log_credit, life_litres, solids_from_turbidity
from sizing.engine.design import LifeKind, LifeRule, Margin, Setting, StageKind, WearPart
from sizing.engine.stages.base import Duty, FeedLimit, Rank, Sizing, Upkeep
from sizing.engine.stages.housings import CLEAN_LINEAR, Housing, housing_fields
from sizing.engine.stages.practice_figures import cited, effect, limit, loss_step, practice, remove, scalar
from sizing.engine.stages.ratings import RatingField, Schema, body, flow_and_loss
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

FINE_UM = 5.0

SCHEMA = Schema(
    (
        RatingField("micron", "Particle rating", "micron", "um", 0.2, 1000.0),
        RatingField("rating", "Kind of rating", "choice", choices=("nominal", "absolute")),
        RatingField("medium", "Medium", "choice", choices=("spun", "pleated", "wound", "block")),
        RatingField("cyst_claim", "Certified for cysts", "flag", required=False, default=False),
        RatingField("dirt_g", "Dirt held before change", "mass", "g", 0.0, 5000.0, low_open=True),
        *housing_fields(),
    )
)

SCREEN_SCHEMA = Schema(
    (
        RatingField("micron", "Mesh", "micron", "um", 20.0, 2000.0),
        *flow_and_loss(),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    )
)


@lru_cache(maxsize=1024)
def _litres(dirt_g: float, solids_mg_l: float, held: float) -> float:
    return float(life_litres(dirt_g, solids_mg_l, held))


class Sediment(Housing):
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
        absolute, certified = ratings["rating"] == "absolute", ratings["cyst_claim"]
        return cyst_log_credit(ratings["micron"], absolute=absolute, certified=certified) > 0.0

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Turbidity it can carry without blinding, and its rated flow.

        The limit of a fine cartridge is soft: it clears what little passes the stages before it, only sooner.
        """
        reason = "more than this blinds the cartridge in weeks; put a coarser filter or a bed first"
        coarse = limit("sediment_turbidity_limit", "turbidity", "max", reason)
        if not self.fine:
            return (coarse, self.flow_limit())
        return (coarse, limit("fine_turbidity_limit", "turbidity", "max", reason, hard=False), self.flow_limit())

    def treat(self, water: Water, duty: Duty) -> Water:
        """Particles held back.

        Turbidity, suspended solids and iron that is already rust. Dissolved iron passes.
        """
        spread = effect("fine_turbidity" if self.fine else "sediment_turbidity")
        changed = remove(water, {"turbidity": spread.typical, "suspended_solids": spread.typical})
        if "iron" in water and "iron_dissolved" in water:
            rust = water["iron"] - water["iron_dissolved"]
            caught = effect("sediment_particulate_iron")
            left = water["iron_dissolved"] + rust * (1.0 - (caught.typical if self.fine else caught.low))
            changed = changed.with_values(iron=left)
        return changed

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """New at each opening and yearly at most; sooner where the solids measured fill it."""
        wear = tuple(self._worn(part, water, duty) for part in self.product.wear)
        return Upkeep(wear=wear, hours_year=hours_per_year(wear, duty.months_open, duty.daily_l))

    def solids_mg_l(self, water: Water) -> float | None:
        """Suspended solids entering, mg/L.

        Guessed from turbidity where they were not measured; ``None`` for neither.
        """
        if "suspended_solids" in water:
            return scalar(water["suspended_solids"])
        return float(solids_from_turbidity(scalar(water["turbidity"]))) if "turbidity" in water else None

    def _worn(self, part: WearPart, water: Water, duty: Duty) -> WearPart:
        solids = self.solids_mg_l(water)
        if part.code != "cartridge" or not solids:
            return part
        held = effect("sediment_turbidity").typical
        litres = _litres(self.product.ratings["dirt_g"], solids, held)
        if litres >= duty.daily_l * duty.operating_days * part.life.amount / 12.0:
            return part
        measured = "suspended_solids" in water
        source = "suspended solids measured" if measured else "solids guessed from turbidity, from memory"
        return replace(part, life=LifeRule(LifeKind.LITRES, litres, part.life.amount, source))

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Largest flow against rated flow."""
        return (self.flow_margin(duty),)

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Flow against rated flow, and the pressure difference at which to change it."""
        ratings = self.product.ratings
        rated, change = ratings["rated_flow_l_min"], scalar(self.loss(duty.peak_l_min, dirty=True))
        source, status = cited("sediment_pressure_drop_limit")
        steps = (
            Step(
                "q",
                "Largest flow here",
                scalar(duty.flow_l_min),
                "L/min",
                f"at most {rated:g}, as rated",
                "product rating",
                "given",
                "flow",
            ),
            loss_step(duty.peak_l_min, rated, ratings["loss_kpa"], CLEAN_LINEAR),
            Step(
                "dp_s",
                "Loss at peak flow when it is to be changed",
                change,
                "kPa",
                f"{practice('sediment_pressure_drop_limit'):.0f} kPa at rated flow, in proportion to flow",
                source,
                status,
                "pressure",
            ),
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(Setting("Rating", ratings["micron"], "um"), self.clear_space()),
            settings=(Setting("Change when the gauges differ, at peak flow, by", change, "kPa", "pressure"),),
            steps=steps,
        )

    def rank(self) -> Rank:
        """Coarse or fine, and whether cysts are held; the more dirt it holds the longer it lasts."""
        ratings = self.product.ratings
        merits = (float(ratings["rated_flow_l_min"]), float(ratings["dirt_g"]))
        return Rank((self.fine, self.cyst_tested), merits)

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return dict.fromkeys(
            ("turbidity", "suspended_solids"), effect("fine_turbidity" if self.fine else "sediment_turbidity").typical
        )

    def most_credit(self, duty: Duty) -> Mapping[str, float]:
        """Cysts, as an absolute or certified cartridge."""
        ratings = self.product.ratings
        absolute, certified = ratings["rating"] == "absolute", ratings["cyst_claim"]
        earned = cyst_log_credit(ratings["micron"], absolute=absolute, certified=certified)
        return dict.fromkeys(("cryptosporidium", "giardia"), earned) if earned else {}

    def log_credits(self, water: Water, duty: Duty) -> Mapping[str, Number]:
        """The same for any water."""
        return self.most_credit(duty)

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """The dirt that fills it."""
        return frozenset(("turbidity", "suspended_solids") if costs else ())

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """What it holds back."""
        return {
            "turbidity": ("turbidity",),
            "suspended_solids": ("suspended_solids",),
            "iron": ("iron", "iron_dissolved"),
        }

    def improves(self) -> tuple[str, ...]:
        """Clears turbidity, solids and rust."""
        return ("turbidity", "suspended_solids", "iron")


class Screen(Housing):
    """A flushable mesh: sand and weed, before anything else."""

    kind = StageKind.SCREEN
    purpose = "Catches sand and weed, and is flushed by a valve"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Its rated flow."""
        return (self.flow_limit(),)

    def treat(self, water: Water, duty: Duty) -> Water:
        """Unchanged in the numbers: a mesh takes only what is coarser than any turbidity reading counts."""
        return water

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """Nothing."""
        return frozenset()

    def rank(self) -> Rank:
        """All do the same."""
        return Rank((), (float(self.product.ratings["rated_flow_l_min"]),))

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Largest flow against rated flow."""
        return (self.flow_margin(duty),)

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Flow against rated flow."""
        ratings = self.product.ratings
        rated = ratings["rated_flow_l_min"]
        steps = (
            Step(
                "q",
                "Largest flow here",
                scalar(duty.flow_l_min),
                "L/min",
                f"at most {rated:g}, as rated",
                "product rating",
                "given",
                "flow",
            ),
            loss_step(duty.peak_l_min, rated, ratings["loss_kpa"], CLEAN_LINEAR),
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(Setting("Mesh", ratings["micron"], "um"), self.clear_space()),
            settings=(Setting("Flush", "monthly, until clear"),),
            steps=steps,
        )
