"""Flow restrictors: what makes the flow at a UV a known one."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sizing.engine.design import Margin, Needs, Setting, StageKind
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import Duty, FeedLimit, Sizing, Stage, Upkeep
from sizing.engine.stages.practice_figures import loss_at, scalar, shown
from sizing.engine.stages.ratings import RatingField, Schema, body
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

SCHEMA = Schema(
    (
        RatingField("flow_l_min", "Flow it holds", "flow", "L/min", 0.0, 200.0, low_open=True),
        RatingField(
            "tolerance", "Tolerance above and below", "percent", "%", 0.0, 30.0, required=False, default=10.0
        ),
        RatingField("loss_kpa", "Pressure lost when it holds", "pressure", "kPa", 0.0, 200.0),
        RatingField("pipe", "Pipe", "choice", choices=("1/2", "3/4", "1", "1 1/4", "1 1/2")),
        *body("width_m"),
    )
)


class Restrictor(Stage):
    """A fixed-flow restrictor. Everything behind it is sized on ``passes_l_min``."""

    kind = StageKind.RESTRICTOR
    purpose = "Holds the flow to what the next stage can treat"

    @property
    def passes_l_min(self) -> float:
        """The most that can pass: the flow it holds plus its tolerance, L/min. Size what follows on this."""
        ratings = self.product.ratings
        return round(float(ratings["flow_l_min"] * (1.0 + ratings["tolerance"] / 100.0)), 6)

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """None of its own."""
        return ()

    def treat(self, water: Water, duty: Duty) -> Water:
        """Unchanged."""
        return water

    def needs(self, water: Water, duty: Duty) -> Needs:
        """A short piece of pipe."""
        return Needs(wall_m=self.product.ratings["width_m"], depth_m=0.1, height_m=0.1)

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """Quadratic up to the flow it holds; more cannot pass, so the loss is that at the flow it holds."""
        ratings = self.product.ratings
        held = ratings["flow_l_min"]
        return loss_at(np.minimum(flow_l_min, held), held, ratings["loss_kpa"], 0.0)

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """None: it holds back, whatever comes."""
        return ()

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """Nothing."""
        return frozenset()

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Nothing."""
        return {}

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """The rubber is looked at with the rest."""
        wear = self.product.wear
        return Upkeep(wear=wear, hours_year=hours_per_year(wear, duty.months_open, duty.daily_l))

    def size(self, water: Water, duty: Duty) -> Sizing:
        """The flow behind it, and a remark where the house can ask for more."""
        ratings = self.product.ratings
        held = ratings["flow_l_min"]
        findings: tuple[Finding, ...] = ()
        if scalar(duty.peak_l_min) > held:
            findings = (
                Finding(
                    "restrictor_below_peak",
                    Severity.COMFORT,
                    f"At peak the taps may ask for {shown(duty.peak_l_min)} L/min; it holds {held:g}.",
                    "Tell the household that two taps at once run slower, or take the next size of UV.",
                    "restrictor",
                ),
            )
        steps = (
            Step("q_h", "Flow the restrictor holds", held, "L/min", "", "product rating", "given", "flow"),
            Step(
                "q_max",
                "Most that can pass behind it",
                self.passes_l_min,
                "L/min",
                f"{held:g} x (1 + {ratings['tolerance']:g}/100)",
                "tolerance of the product",
                "computed",
                "flow",
            ),
        )
        low = held * (1.0 - ratings["tolerance"] / 100.0)
        return Sizing(
            numbers=(Setting("Holds", held, "L/min", "flow"),),
            settings=(
                Setting("Bucket check, at least", low, "L/min", "flow"),
                Setting("Bucket check, at most", self.passes_l_min, "L/min", "flow"),
            ),
            steps=steps,
            findings=findings,
        )
