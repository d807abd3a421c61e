"""What treats no water but makes a train work: booster pump, pressure reducer, tank jacket."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sizing.engine.design import Margin, Needs, Setting, StageKind
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import Duty, FeedLimit, Rank, Sizing, Stage, Upkeep
from sizing.engine.stages.practice_figures import loss_at, scalar, shown
from sizing.engine.stages.ratings import RatingField, Schema, body, flow_and_loss, power
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

FIT = 0.05  # of a tank's size; foam gives, judgement
BOOSTER_SCHEMA = Schema(
    (
        RatingField("rated_flow_l_min", "Rated flow", "flow", "L/min", 0.0, 200.0, low_open=True),
        RatingField("boost_kpa", "Pressure added at rated flow", "pressure", "kPa", 10.0, 600.0),
        RatingField("shutoff_kpa", "Pressure added at no flow", "pressure", "kPa", 10.0, 800.0),
        *power(),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    )
)
REDUCER_SCHEMA = Schema(
    (
        RatingField("set_kpa", "Pressure it holds", "pressure", "kPa", 100.0, 600.0),
        *flow_and_loss(),
        *body("width_m"),
    )
)
JACKET_SCHEMA = Schema(
    (
        RatingField("tank_diameter_m", "Tank diameter it fits", "length", "m", 0.15, 1.5),
        RatingField("tank_height_m", "Tank height it fits", "length", "m", 0.3, 2.5),
        RatingField("thickness_m", "Thickness", "length", "m", 0.001, 0.1),
        RatingField("conductivity_w_mk", "Thermal conductivity", "conductivity", "W/(m K)", 0.01, 0.3),
    )
)


class Passive(Stage):
    """Leaves the water as it is."""

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """None of its own."""
        return ()

    def treat(self, water: Water, duty: Duty) -> Water:
        """Unchanged."""
        return water

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """Nothing."""
        return frozenset()

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Nothing."""
        return {}

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Its parts by their life rules."""
        wear = self.product.wear
        return Upkeep(wear=wear, hours_year=hours_per_year(wear, duty.months_open, duty.daily_l))


class Booster(Passive):
    """A pump that adds pressure; its loss is negative."""

    kind = StageKind.BOOSTER
    purpose = "Lifts the pressure"

    def needs(self, water: Water, duty: Duty) -> Needs:
        """Power while it runs."""
        ratings = self.product.ratings
        return Needs(
            power_w=ratings["power_w"],
            wall_m=ratings["width_m"],
            depth_m=ratings["depth_m"],
            height_m=ratings["height_m"],
            holds_litres=ratings["holds_l"],
            portable=True,
        )

    def rank(self) -> Rank:
        """Little pressure at no flow, much flow, and little power."""
        ratings = self.product.ratings
        merits = (-float(ratings["shutoff_kpa"]), float(ratings["rated_flow_l_min"]))
        return Rank((), merits, (-float(ratings["power_w"]),))

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """Minus the pressure added: shut-off less a square term through the rated point."""
        ratings = self.product.ratings
        fall = ratings["shutoff_kpa"] - ratings["boost_kpa"]
        added = ratings["shutoff_kpa"] - loss_at(flow_l_min, ratings["rated_flow_l_min"], max(fall, 0.0), 0.0)
        return -np.maximum(added, 0.0) if np.ndim(added) else -max(float(added), 0.0)

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Runs only while water is drawn: daily volume over rated flow."""
        wear, ratings = self.product.wear, self.product.ratings
        hours = scalar(duty.daily_l) / ratings["rated_flow_l_min"] / 60.0 * duty.operating_days
        return Upkeep(
            wear=wear,
            power_kwh_year=ratings["power_w"] * hours / 1000.0,
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Peak flow against rated flow; what stands at no flow is judged along the line, a valve may follow."""
        ratings = self.product.ratings
        return (
            Margin(
                "booster_flow",
                "Peak flow against rated flow",
                duty.peak_l_min,
                ratings["rated_flow_l_min"],
                "L/min",
                "max",
                "flow",
            ),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Pressure added at peak flow."""
        added = -scalar(self.loss(duty.peak_l_min))
        step = Step(
            "dp_b",
            "Pressure added at peak flow",
            added,
            "kPa",
            f"at {shown(duty.peak_l_min)} L/min",
            "product rating",
            "given",
            "pressure",
        )
        return Sizing(
            margins=self.margins(water, duty), numbers=(Setting("Adds", added, "kPa", "pressure"),), steps=(step,)
        )


class Reducer(Passive):
    """A pressure-reducing valve."""

    kind = StageKind.REDUCER
    purpose = "Holds the pressure down to what the plumbing bears"

    def rank(self) -> Rank:
        """All that hold the same pressure do the same."""
        return Rank((self.product.ratings["set_kpa"],))

    def needs(self, water: Water, duty: Duty) -> Needs:
        """A short piece of pipe."""
        return Needs(wall_m=self.product.ratings["width_m"], depth_m=0.15, height_m=0.2)

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """Open, at cut-in pressure below its setting: one rated point."""
        ratings = self.product.ratings
        return loss_at(flow_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], 0.0)

    def size(self, water: Water, duty: Duty) -> Sizing:
        """What it is set to, and the closed system it makes."""
        ratings = self.product.ratings
        closed = Finding(
            "closed_system",
            Severity.EQUIPMENT,
            "A reducing valve closes the system: heated water has nowhere to expand.",
            "Fit thermal expansion control as the local code asks.",
            "reducer",
            "IRC/IPC practice",
        )
        step = Step(
            "p_s",
            "Pressure it holds",
            ratings["set_kpa"],
            "kPa",
            f"cut-out {shown(duty.pump_kpa)}",
            "product rating",
            "given",
            "pressure",
        )
        return Sizing(
            settings=(Setting("Set to", ratings["set_kpa"], "kPa", "pressure"),), steps=(step,), findings=(closed,)
        )


class Jacket(Passive):
    """Insulation round a cold tank that sweats."""

    kind = StageKind.JACKET
    purpose = "Keeps a cold tank from sweating"

    @property
    def resistance(self) -> float:
        """Thickness over conductivity, m2 K/W: what keeps its outside above the dew point."""
        ratings = self.product.ratings
        return float(ratings["thickness_m"] / ratings["conductivity_w_mk"])

    def fits(self, diameter_m: float, height_m: float) -> bool:
        """Whether it is cut for a tank: no more than a twentieth off in both sizes."""
        ratings = self.product.ratings
        return all(
            abs(made - there) <= FIT * there
            for made, there in ((ratings["tank_diameter_m"], diameter_m), (ratings["tank_height_m"], height_m))
        )

    def needs(self, water: Water, duty: Duty) -> Needs:
        """It hugs a tank that is there: its thickness on both sides."""
        thick = self.product.ratings["thickness_m"]
        return Needs(wall_m=2.0 * thick, depth_m=2.0 * thick, height_m=self.product.ratings["tank_height_m"])

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """None."""
        return flow_l_min * 0.0

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Its sizes; whether it stops the drip is for the dew-point calculation with the room's air."""
        ratings = self.product.ratings
        step = Step("t", "Thickness", ratings["thickness_m"], "m", "", "product rating", "given", "length")
        return Sizing(numbers=(Setting("Thickness", ratings["thickness_m"], "m", "length"),), steps=(step,))
