"""Reverse osmosis at one tap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from sizing.engine import membranes
from sizing.engine.design import Margin, Needs, Setting, StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.measures import KPA_PER_PSI
from sizing.engine.membrane_sizing import size_membrane
from sizing.engine.membranes import Membrane
from sizing.engine.stages.base import NO_WATER, Duty, FeedLimit, Rank, Sizing, Stage, Upkeep
from sizing.engine.stages.claims import claim_findings
from sizing.engine.stages.practice_figures import DOCUMENT, HEALTH, effect, practice, scalar
from sizing.engine.stages.ratings import RatingField, Schema, bears, body, power
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water

TDS_PER_CONDUCTIVITY = 0.6
LEAST_FEED_KPA = 1.0
SALTS = (
    "tds",
    "sodium",
    "potassium",
    "calcium",
    "magnesium",
    "hardness",
    "alkalinity",
    "chloride",
    "sulphate",
    "silica",
    "ammonia",
)

SCHEMA = Schema(
    (
        RatingField("rated_l_d", "Rated output", "volume", "L/d", 20.0, 5000.0),
        RatingField(
            "rated_kpa", "Rated at a feed of", "pressure", "kPa", 200.0, 1000.0, required=False, default=414.0
        ),
        RatingField("least_kpa", "Least pressure at the membrane", "pressure", "kPa", 50.0, 1000.0, required=False),
        RatingField("recovery", "Recovery, tank bypassed", "fraction", "", 0.05, 0.75, required=False, default=0.25),
        RatingField("storage_l", "Drawn from a full tank", "volume", "L", 0.0, 200.0),
        RatingField(
            "boost_kpa", "Pressure its own pump adds", "pressure", "kPa", 0.0, 700.0, required=False, default=0.0
        ),
        RatingField("tap_flow_l_min", "Flow at the tap", "flow", "L/min", 0.1, 20.0, required=False, default=3.0),
        *power(most_w=150.0),
        bears(),
        *body("width_m", "depth_m", "height_m", "holds_l"),
    )
)


@lru_cache(maxsize=512)
def _made_l_d(membrane: Membrane, feed_kpa: float, temperature_c: float, tds: float) -> float:
    return float(membranes.mean_output_l_d(membrane, feed_kpa, temperature_c, tds))


class Ro(Stage):
    """A membrane with prefilters and a small tank, at the drinking tap."""

    kind = StageKind.RO
    purpose = "Takes out nitrate, salts and metals at the drinking tap"

    @cached_property
    def membrane(self) -> Membrane:
        """The membrane as rated."""
        ratings = self.product.ratings
        return Membrane(ratings["rated_l_d"], ratings["rated_kpa"], recovery=ratings["recovery"])

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """What fouls, scales or destroys the membrane.

        Cold and warm water as remarks (the kitchen warms it).
        """
        low, high = effect_range("ro_temperature_limit")
        reason = "outside its temperature the output is not as reckoned"
        return (
            *membranes.feed_limits(),
            FeedLimit("temperature", "min", low, reason, "trade practice: common practice", hard=False),
            FeedLimit("temperature", "max", high, reason, "trade practice: common practice", hard=False),
        )

    def rejections(self) -> dict[str, float]:
        """Share held back by analyte: salts at the typical value, health contaminants at the low one if
        certified.

        Arsenic, its form unknown, counts at the low line for arsenite even where certified.
        """
        held = {code: membranes.rejection(code, level="typical") for code in SALTS}
        for code in self.product.certified_for:
            if code in HEALTH:
                held[code] = self._certified(code)
        return held

    @cached_property
    def passed(self) -> dict[str, float]:
        """Share of each analyte that reaches the tap.

        What passes the membrane, on the mean of its feed side.
        """
        held = self.rejections()
        held["conductivity"] = held["tds"]
        recovery = self.product.ratings["recovery"]
        return {code: float(membranes.permeate(1.0, share, recovery)) for code, share in held.items()}

    @staticmethod
    def _certified(code: str) -> float:
        if code == "arsenic":
            return effect("ro_arsenic_unknown").low
        try:
            return membranes.rejection(code)
        except OutsideValidRange:
            return effect("ro_metals_certified").low

    def treat(self, water: Water, duty: Duty) -> Water:
        """Product water by ion.

        PH about a unit lower, because carbon dioxide passes; no credit against germs.
        """
        updates: dict[str, Number] = {
            code: water[code] * passed for code, passed in self.passed.items() if code in water
        }
        if "ph" in water:
            updates["ph"] = np.maximum(water["ph"] + effect("ro_ph").typical, 0.0)
        return water.with_values(**updates)

    def feed_kpa(self, duty: Duty) -> Number:
        """Pressure at the membrane, kPa: cut-in at the tap, and what its own pump adds."""
        feed: Number = np.maximum(duty.feed_kpa, LEAST_FEED_KPA) + self.product.ratings["boost_kpa"]
        return feed

    def made_l_d(self, water: Water, duty: Duty) -> Any:
        """Water made in a day while the tank fills, L/d, at the coldest water."""
        feed, cold, salts = self.feed_kpa(duty), duty.temperature_c, self._tds(water)
        if isinstance(feed, float) and isinstance(cold, float) and isinstance(salts, float):
            return _made_l_d(self.membrane, feed, min(max(cold, 1.0), 45.0), salts)
        return membranes.mean_output_l_d(self.membrane, feed, np.clip(cold, 1.0, 45.0), salts)

    @property
    def least_kpa(self) -> float:
        """Least pressure at the membrane, kPa: as rated, else the usual one."""
        rated = self.product.ratings.get("least_kpa")
        return float(figure(membranes.PRACTICE, "feed_pressure").value[0]) * KPA_PER_PSI if rated is None else rated

    def needs(self, water: Water, duty: Duty) -> Needs:
        """Room under the sink, a drain saddle with an air gap.

        Carried home in winter, for it does not drain.
        """
        ratings = self.product.ratings
        return Needs(
            drain=True,
            power_w=ratings["power_w"],
            wall_m=ratings["width_m"],
            depth_m=ratings["depth_m"],
            height_m=ratings["height_m"] + practice("sump_clearance"),
            min_inlet_kpa=max(self.least_kpa - ratings["boost_kpa"], 0.0),
            holds_litres=ratings["holds_l"],
            drainable=False,
            portable=True,
        )

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """None on the main line: it serves its own tap from its own tank."""
        return flow_l_min * 0.0

    def least_upkeep(self, duty: Duty, least: Water = NO_WATER) -> Upkeep:
        """Water to the drain with what is drunk, and its pump's power: neither hangs on the feed."""
        return replace(self.upkeep(NO_WATER, duty), wear=())

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Cartridges and membrane by their life rules; water to the drain with what is drunk."""
        wear, ratings = self.product.wear, self.product.ratings
        used = duty.tap_l_d * duty.operating_days
        hours = used / ratings["rated_l_d"] * 24.0
        return Upkeep(
            wear=wear,
            water_l_year=used * (1.0 - ratings["recovery"]) / ratings["recovery"],
            power_kwh_year=ratings["power_w"] * hours / 1000.0,
            hours_year=hours_per_year(wear, duty.months_open, duty.tap_l_d),
        )

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Water made in a day against what the tap gives."""
        made = self.made_l_d(water, duty)
        return (Margin("ro_output", "Water made in a day", made, duty.tap_l_d, "L/d", "min", "volume"),)

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Output at the coldest water and cut-in pressure.

        Product water per ion; a test where health counts.
        """
        ratings = self.product.ratings
        answer = size_membrane(
            self.membrane,
            scalar(self.feed_kpa(duty)),
            min(max(scalar(duty.temperature_c), 1.0), 45.0),
            scalar(self._tds(water)),
            scalar(duty.tap_l_d),
            storage_l=ratings["storage_l"],
        )
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(
                Setting("Makes", answer.made_l_d, "L/d", "volume"),
                Setting("To the drain", answer.reject_l_d, "L/d", "volume"),
            ),
            settings=(
                Setting("Tank air charge, empty", practice("ro_tank_charge"), "kPa", "pressure"),
                Setting("Run the first tankfuls to the drain", 2.0, ""),
            ),
            steps=answer.steps,
            findings=(*answer.findings, *self._findings(water), *claim_findings(self)),
        )

    def _findings(self, water: Water) -> tuple[Finding, ...]:
        acid = Finding(
            "ro_acid",
            Severity.NOTE,
            "Its water is soft and slightly acid.",
            "Keep it off copper and brass: plastic tube to the tap and the ice maker.",
            "ph",
            "computed",
        )
        if "tds" in water or "conductivity" in water:
            return (acid,)
        return (
            acid,
            Finding(
                "tds_assumed",
                Severity.NOTE,
                f"Dissolved solids were not measured; {practice('assumed_tds'):g} mg/L is assumed.",
                "Measure conductivity at the tap.",
                "tds",
                "common practice",
            ),
        )

    @staticmethod
    def _tds(water: Water) -> Any:
        if "tds" in water:
            return np.minimum(water["tds"], 10_000.0)
        if "conductivity" in water:
            return np.minimum(water["conductivity"] * TDS_PER_CONDUCTIVITY, 10_000.0)
        return practice("assumed_tds")

    def rank(self) -> Rank:
        """Its claims and recovery decide what reaches the tap."""
        ratings = self.product.ratings
        like = (self.product.certified_for, ratings["recovery"])
        merits = (float(ratings["rated_l_d"]), -float(ratings["rated_kpa"]), float(ratings["boost_kpa"]))
        return Rank(like, merits, (-float(ratings["power_w"]),))

    @cached_property
    def _improves(self) -> tuple[str, ...]:
        return (*self.rejections(), "conductivity", "ph")

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return {code: 1.0 - share for code, share in self.passed.items()}

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """The salts it pushes against."""
        return frozenset(("tds", "conductivity"))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """What it holds back, and the pH."""
        return {code: (code,) for code in (*self.passed, "ph")}

    def improves(self) -> tuple[str, ...]:
        """Salts, hardness, and what it is certified for; pH falls."""
        return self._improves


def effect_range(key: str) -> tuple[float, float]:
    """The two ends of a practice window.

    Units: those of the figure.
    Range: figures with a low and a high.
    Raises: ``KeyError`` for another.
    Source: the figure's own.

    >>> effect_range("ro_temperature_limit")
    (4.0, 29.0)
    """
    row = figure(DOCUMENT, key).value
    return float(row["low"]), float(row["high"])
