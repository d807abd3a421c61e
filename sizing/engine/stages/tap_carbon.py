"""The carbon block at one tap."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np

from sizing.engine.design import Margin, Setting, StageKind
from sizing.engine.stages.base import Duty, FeedLimit, Rank, Sizing, Upkeep
from sizing.engine.stages.claims import claim_findings, litres_first
from sizing.engine.stages.housings import Housing, housing_fields
from sizing.engine.stages.practice_figures import HEALTH, certified_fraction, limit, practice, remove, scalar, shown
from sizing.engine.stages.ratings import RatingField, Schema
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Water
from sizing.engine.worksheet import Step

SCHEMA = Schema(
    (
        *housing_fields(),
        RatingField("micron", "Particle rating", "micron", "um", 0.1, 50.0),
        RatingField("cyst_claim", "Certified for cysts", "flag", required=False, default=False),
        RatingField("rated_litres", "Rated volume", "volume", "L", 0.0, 1e6, low_open=True),
    )
)


class TapCarbon(Housing):
    """A carbon block at one tap: taste, and what it is certified for."""

    kind = StageKind.TAP_CARBON
    purpose = "Polishes the taste at one tap"
    flow_counts = False  # it slows the tap it serves and nothing else

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Clear water free of coliforms: it is no barrier and germs grow in it."""
        return (
            limit("tap_carbon_turbidity_limit", "turbidity", "max", "dirt plugs the block"),
            FeedLimit("e_coli", "max", 0.0, "it is no barrier against germs", "trade practice: common practice"),
            FeedLimit(
                "total_coliform", "max", 0.0, "it is no barrier against germs", "trade practice: common practice"
            ),
        )

    def treat(self, water: Water, duty: Duty) -> Water:
        """Chlorine out; health contaminants at the low removal, only where certified for each."""
        return remove(water, self.most_removed())

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """None: it slows the tap it serves and nothing else."""
        return ()

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """The cartridge by its life rule, and by its rated litres where those run out first."""
        rated = self.product.ratings["rated_litres"]
        wear = tuple(litres_first(part, rated, duty.tap_l_d, duty) for part in self.product.wear)
        return Upkeep(wear=wear, hours_year=hours_per_year(wear, duty.months_open, duty.tap_l_d))

    def size(self, water: Water, duty: Duty) -> Sizing:
        """How long its rated litres last."""
        rated = self.product.ratings["rated_litres"]
        days = rated / np.maximum(duty.tap_l_d, 1e-9)
        step = Step(
            "t",
            "Days its rated volume lasts",
            scalar(days),
            "days",
            f"{rated:g} / {shown(duty.tap_l_d)}",
            "product rating",
            "given",
        )
        flow = Setting("Rated flow", self.product.ratings["rated_flow_l_min"], "L/min", "flow")
        return Sizing(
            numbers=(Setting("Rated volume", rated, "L", "volume"), flow, self.clear_space()),
            steps=(step,),
            findings=claim_findings(self),
        )

    def rank(self) -> Rank:
        """Its claims decide what it takes out."""
        return Rank((self.product.certified_for,), (float(self.product.ratings["rated_litres"]),))

    @cached_property
    def _fractions(self) -> dict[str, float]:
        claims = self.product.certified_for
        fractions = {"free_chlorine": certified_fraction("free_chlorine", claims, "tap_carbon_free_chlorine")}
        return fractions | {code: practice("tap_certified_least") for code in HEALTH if code in claims}

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return self._fractions

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """Nothing but its limits."""
        return frozenset()

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """What it takes out."""
        return {code: (code,) for code in self.improves()}

    def improves(self) -> tuple[str, ...]:
        """Chlorine, and what it is certified for."""
        return ("free_chlorine", *(code for code in self.product.certified_for if code in HEALTH))
