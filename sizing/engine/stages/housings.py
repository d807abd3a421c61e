"""What cartridges in housings share: room to drop the sump, a rated point of loss, a cake of dirt on top."""

from __future__ import annotations

from typing import ClassVar

from sizing.engine.design import Margin, Needs, Setting
from sizing.engine.stages.base import Duty, FeedLimit, Stage, Upkeep
from sizing.engine.stages.practice_figures import loss_at, practice
from sizing.engine.stages.ratings import RatingField, bears, body, flow_and_loss
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water

CLEAN_LINEAR = 0.4  # share of the rated loss that is the medium, the rest the ports; common practice


def housing_fields() -> tuple[RatingField, ...]:
    """Ratings of a cartridge in its housing.

    Units: trade sizes in inches, the rest canonical.
    Range: that of each field.
    Raises: nothing.
    Source: trade sizes, common practice.

    >>> housing_fields()[0].unit
    'in'
    """
    return (
        RatingField("length_in", "Cartridge length", "nominal", "in", 4.0, 40.0),
        RatingField("diameter_in", "Cartridge diameter", "nominal", "in", 1.5, 8.0),
        *flow_and_loss(),
        bears(),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    )


class Housing(Stage):
    """A cartridge in a housing with a sump that is dropped to change it."""

    flow_counts: ClassVar[bool] = True  # whether its rated flow is a limit
    change_at: ClassVar[str] = "sediment_pressure_drop_limit"

    def flow_limit(self) -> FeedLimit:
        """The rated flow, as a feed limit."""
        rated = self.product.ratings["rated_flow_l_min"]
        return FeedLimit("flow", "max", rated, "above its rated flow it passes what it should hold", "product rating")

    def flow_margin(self, duty: Duty) -> Margin:
        """Largest flow against rated flow."""
        rated = self.product.ratings["rated_flow_l_min"]
        code, label = f"{self.kind.value}_flow", "Largest flow against rated flow"
        return Margin(code, label, duty.flow_l_min, rated, "L/min", "max", "flow")

    def too_small(self, duty: Duty) -> bool:
        """More can pass than it is rated for."""
        return bool(self.flow_counts and duty.flow_l_min > self.product.ratings["rated_flow_l_min"])

    def clear_space(self) -> Setting:
        """Room to leave below, for the install sheet."""
        return Setting("Clear space below", practice("sump_clearance"), "m", "length")

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
        clean = loss_at(flow_l_min, rated, ratings["loss_kpa"], CLEAN_LINEAR)
        if not dirty:
            return clean
        cake = max(practice(self.change_at) - ratings["loss_kpa"], 0.0)
        return clean + loss_at(flow_l_min, rated, cake, 1.0)

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """The cartridge by its life rule."""
        wear = self.product.wear
        return Upkeep(wear=wear, hours_year=hours_per_year(wear, duty.months_open, duty.daily_l))
