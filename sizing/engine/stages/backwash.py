"""Backwashing sediment filters."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sizing.engine.design import Setting, StageKind
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import Duty, FeedLimit, Rank, Sizing, Upkeep
from sizing.engine.stages.practice_figures import DOCUMENT, effect, remove, scalar
from sizing.engine.stages.ratings import Schema
from sizing.engine.stages.tanks import MediaTank, bed_fits_tank, cold_limit, tank_fields
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water

SCHEMA = Schema(tank_fields(("multilayer", "zeolite")), (bed_fits_tank,))
HEAVY_NTU = 10.0


class Backwash(MediaTank):
    """A sediment bed that cleans itself; for loads that would blind cartridges."""

    kind = StageKind.BACKWASH
    purpose = "Catches heavy silt and cleans itself"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Nothing but the cold: it is what protects the rest. Rated flow is a margin, backwash another."""
        return (cold_limit(),)

    def treat(self, water: Water, duty: Duty) -> Water:
        """Particles held back; dissolved iron and colour pass."""
        held = effect("backwash_turbidity").typical
        changed = remove(water, {"turbidity": held, "suspended_solids": held})
        if "iron" in water and "iron_dissolved" in water:
            left = water["iron_dissolved"] + (water["iron"] - water["iron_dissolved"]) * (1.0 - held)
            changed = changed.with_values(iron=left)
        return changed

    def days_between(self, water: Water, duty: Duty) -> Number:
        """Four days, three where the water is heavy (above 10 NTU), the usual range being 3 to 5."""
        spread = figure(DOCUMENT, "backwash_every").value
        heavy = np.asarray(water.get("turbidity", 0.0)) > HEAVY_NTU
        days = np.where(heavy, spread["low"], spread["typical"])
        return float(days) if days.ndim == 0 else days

    def most_days(self) -> float:
        """Four days."""
        return float(figure(DOCUMENT, "backwash_every").value["typical"])

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Media by years, water to the drain."""
        wear = self.product.wear
        return Upkeep(
            wear=wear,
            water_l_year=self.drain_litres_year(water, duty),
            power_kwh_year=self.power_kwh_year(duty),
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Peak rate and backwash against the pump; interval for the installer."""
        days = scalar(self.days_between(water, duty))
        findings: tuple[Finding, ...] = ()
        if "turbidity" not in water and "suspended_solids" not in water:
            findings = (
                Finding(
                    "solids_unknown",
                    Severity.NOTE,
                    "Neither turbidity nor suspended solids were measured.",
                    "Measure turbidity before the interval is set for good.",
                    "turbidity",
                ),
            )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=self.tank_numbers(),
            settings=(Setting("Backwash every", days, "days"), *self.tank_settings()),
            steps=self.tank_steps(water, duty),
            findings=findings,
        )

    def rank(self) -> Rank:
        """All do the same."""
        return Rank((), (), self.thrift())

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return dict.fromkeys(("turbidity", "suspended_solids"), effect("backwash_turbidity").typical)

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """Heavy water is backwashed sooner."""
        return frozenset(("turbidity",) if costs else ())

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
