"""How sure a design is: the share of plausible peaks in which every limit is kept, and what decides the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sizing.engine.design import DesignRequest, Product, StageKind, Train
from sizing.engine.hydraulics import worst_fixture_kpa
from sizing.engine.log_credits import GERM_WORDS, ORGANISMS
from sizing.engine.ranges import within
from sizing.engine.stages.base import Duty, FeedLimit, Stage
from sizing.engine.stages.registry import stage_for
from sizing.engine.train_duty import Brief, brief_of
from sizing.engine.train_final import split_goals
from sizing.engine.train_order import HOT, TAP
from sizing.engine.train_report import SHORT_PLACES
from sizing.engine.train_spot import name_of
from sizing.engine.train_step import CERTIFIED_ONLY
from sizing.engine.water import ANALYTES, Number, Water

FIFTY = 50
LEAST_FLOW = 0.1  # L/min; a pump that gives nothing is no plausible pump

Draws = NDArray[np.float64]


@dataclass(frozen=True)
class LimitShare:
    """One limit: in what share of the draws it is kept, and in what share of the misses it is broken."""

    code: str
    label: str
    kept: float
    of_misses: float


@dataclass(frozen=True)
class Driver:
    """An uncertain input and its rank correlation with the tightest margin (-1 to 1; far from 0 = it matters)."""

    code: str
    label: str
    correlation: float


@dataclass(frozen=True)
class Confidence:
    """``share`` of plausible peaks in which every limit holds; limits most often broken, strongest drivers first."""

    share: float
    draws: int
    limits: tuple[LimitShare, ...]
    drivers: tuple[Driver, ...]

    @property
    def words(self) -> str:
        """The share in fifties: "48 in 50". Never rounded up to certainty."""
        count = int(np.floor(self.share * FIFTY + 0.5))
        if self.share < 1.0:
            count = min(count, FIFTY - 1)
        return f"{count} in {FIFTY}"


@dataclass(frozen=True)
class Plausible:
    """Draws of everything uncertain: the water, the pump's flow, the coldest temperature. Arrays of one length."""

    water: Water
    pump_l_min: Draws
    temperature_c: Draws
    inputs: tuple[tuple[str, str, Draws], ...]


def plausible(request: DesignRequest, rng: np.random.Generator, draws: int) -> Plausible:
    """Draws from the stated uncertainties: normal, cut off at what is physically possible.

    Units: canonical; standard uncertainties in the unit of their value.
    Range: 1 to 1,000,000 draws; uncertainties 0 or more.
    Raises: ``OutsideValidRange`` outside.
    Source: Monte-Carlo propagation of uncertainty (GUM Supplement 1, from memory).

    >>> from sizing.engine.design import Fixture, Goals, Measured, Occupancy, SiteLimits, SourceType, SupplySide
    >>> request = DesignRequest(
    ...     Water({"iron": 1.0}), SourceType.LAKE, SupplySide(Measured(30.0, 2.0), 276.0, 414.0, 150.0),
    ...     (Fixture("shower", 1),), Occupancy(2, 4), SiteLimits(), Goals(), (), water_sd={"iron": 0.2})
    >>> [code for code, _, _ in plausible(request, np.random.default_rng(1), 100).inputs]
    ['pump', 'iron']
    """
    number = int(within("draws", draws, low=1, high=1_000_000))
    brief = brief_of(request)
    pump_mean, pump_sd = request.supply.pump_flow_l_min.value, request.supply.pump_flow_l_min.sd
    pump = np.maximum(pump_mean + pump_sd * rng.standard_normal(number), LEAST_FLOW)
    inputs: list[tuple[str, str, Draws]] = [("pump", "flow of the pump", pump)] if pump_sd > 0 else []
    values: dict[str, Number] = {}
    for code in sorted(request.water.values):
        mean = float(request.water[code])
        sd = float(within(f"uncertainty of {code}", request.water_sd.get(code, 0.0), low=0.0))
        noise = rng.standard_normal(number) if sd > 0 else np.zeros(number)
        analyte = ANALYTES[code]
        least = 0.1 if code == "uvt" else analyte.low
        values[code] = np.clip(mean + sd * noise, least, analyte.high)
        if sd > 0:
            inputs.append((code, name_of(code), np.asarray(values[code])))
    if "iron" in values and "iron_dissolved" in values:  # a part is never more than the whole
        values["iron_dissolved"] = np.minimum(values["iron_dissolved"], values["iron"])
    cold = np.asarray(values.get("temperature", np.full(number, brief.duty.temperature_c)), dtype=float)
    return Plausible(Water(values), pump, cold, tuple(inputs))


class Judge:
    """Walks a line once for all draws and notes, for each limit, how far it is kept (0 = just, negative = broken)."""

    def __init__(self, brief: Brief, drawn: Plausible) -> None:
        self.brief = brief
        self.drawn = drawn
        self.slack: dict[str, tuple[str, Draws]] = {}
        self.logs: dict[str, Any] = {}
        self.filtered = False

    def note(self, code: str, label: str, value: Any, limit: Any, sense: str) -> None:
        """Notes the slack of a limit, relative to the limit (absolute where the limit is 0)."""
        scale = np.maximum(np.abs(np.asarray(limit, dtype=float)), 1e-9)
        scale = np.where(np.asarray(limit) == 0, 1.0, scale)
        gap = (limit - value) if sense == "max" else (value - limit)
        slack = np.broadcast_to(np.asarray(gap / scale, dtype=float), self.drawn.pump_l_min.shape)
        known = self.slack.get(code)
        self.slack[code] = (label, slack if known is None else np.minimum(known[1], slack))

    def duty(self, flow: Draws, at: str) -> Duty:
        """The duty at a flow, draw by draw."""
        hot = self.brief.hot if at == HOT else None
        base = self.brief.tap_duty if at == TAP else self.brief.duty
        if hot is not None:
            base = replace(base, daily_l=hot.litres_d)
        drawn: dict[str, Any] = {
            "flow_l_min": flow if hot is None else np.minimum(flow, hot.most_l_min),
            "peak_l_min": np.minimum(self.peak_l_min(at), flow),
            "pump_l_min": self.drawn.pump_l_min,
            "temperature_c": self.drawn.temperature_c,
        }
        return replace(base, **drawn)

    def peak_l_min(self, at: str) -> float:
        """The peak asked for, whatever the pump delivers."""
        asked = self.brief.demand_l_min
        return min(asked, self.brief.hot.peak_l_min) if at == HOT and self.brief.hot is not None else asked

    def walk(self, stages: Sequence[tuple[Stage, str, int]]) -> None:
        """Feeds the stages (stage, where it stands, units side by side) one after the other and judges the whole."""
        water = entry = self.drawn.water
        hot: Water | None = None
        flow: Draws = self.drawn.pump_l_min
        peak: Any = np.minimum(self.brief.demand_l_min, flow)
        losses: list[Number] = []
        dose: Any = np.zeros_like(flow)
        for stage, at, count in stages:
            duty = _shared(self.duty(flow, at), count)
            self._fed(stage, water, duty)
            for margin in stage.margins(water, duty):
                self.note(margin.code, margin.label, margin.value, margin.limit, margin.sense)
                if margin.code == "uv_dose" and getattr(stage, "is_barrier", False):
                    dose = np.maximum(dose, margin.value)
            wash = stage.needs(water, duty).backwash_l_min
            if np.any(np.asarray(wash) > 0):
                self.note("backwash", "Backwash against the pump", wash, self.drawn.pump_l_min, "max")
            water_in, left = water, _certified(stage.product, water, stage.treat(water, duty))
            if at == HOT:  # the cold water passes it by
                hot = left
                losses.append(stage.loss(np.minimum(self.peak_l_min(at), flow) / count, dirty=True))
                continue
            water = left
            if at != TAP:
                losses.append(stage.loss(peak / count, dirty=True))
                entry = water
            if any(self.brief.logs):
                self._earn(stage, water_in, duty)
            if stage.kind is StageKind.RESTRICTOR:
                flow = np.minimum(flow, float(getattr(stage, "passes_l_min", np.inf)))
        self._whole(losses, peak, dose, (entry, entry if hot is None else hot, water))

    def _earn(self, stage: Stage, water: Water, duty: Duty) -> None:
        """Adds a stage's log credits; of two filters for cysts the first counts."""
        cysts = bool(getattr(stage, "cyst_tested", False))
        for organism, logs in stage.log_credits(water, duty).items():
            if not (cysts and self.filtered and organism != "virus"):
                self.logs[organism] = self.logs.get(organism, 0.0) + logs
        self.filtered = self.filtered or cysts

    def _fed(self, stage: Stage, water: Water, duty: Duty) -> None:
        for limit in stage.feed_limits(duty):
            value = _value(limit, water, duty)
            if value is not None and limit.hard:
                label = f"{name_of(limit.analyte)} into {stage.product.name}"
                code = f"feed_{stage.product.code}_{limit.analyte}"
                self.note(code, label[0].upper() + label[1:], value, limit.value, limit.sense)

    def _whole(self, losses: list[Number], peak: Any, dose: Any, waters: tuple[Water, Water, Water]) -> None:
        """Judges pressure, barrier and goals; ``waters`` enter the house and the heater, and leave the tap."""
        entry, heated, tap = waters
        supply, goals = self.brief.request.supply, self.brief.request.goals
        cold = np.maximum(self.drawn.temperature_c, 0.0)
        left = worst_fixture_kpa(supply, peak, losses, temperature_c=cold)
        self.note("worst_fixture", "Worst fixture at peak, filters dirty", left, supply.worst_fixture_min_kpa, "min")
        if self.brief.barrier_dose > 0:
            self.note("barrier", "UV dose, pump flat out", dose, self.brief.barrier_dose, "min")
        for organism, logs in zip(ORGANISMS, self.brief.logs, strict=True):
            if logs > 0:
                label = f"Log credit against {GERM_WORDS[organism]}"
                self.note(f"logs_{organism}", label, self.logs.get(organism, 0.0), logs, "min")
        cold_goals, hot_goals = split_goals(goals.at_entry, hot=self.brief.hot is not None)
        for where, water, wanted in (
            ("entry", entry, cold_goals), ("hot", heated, hot_goals), ("tap", tap, goals.at_tap)
        ):  # fmt: skip
            for code, limit in wanted.items():
                if code in water:
                    place = SHORT_PLACES[where]
                    self.note(f"goal_{code}_{where}", f"{ANALYTES[code].name} {place}", water[code], limit, "max")
        if "ph" in entry:
            for code, bound, sense in (("ph_low", goals.ph_low, "min"), ("ph_high", goals.ph_high, "max")):
                if bound is not None:
                    self.note(f"goal_{code}", "pH at the entry", entry["ph"], bound, sense)


def _value(limit: FeedLimit, water: Water, duty: Duty) -> Number | None:
    if limit.analyte == "flow":
        return duty.flow_l_min
    if limit.analyte == "temperature":
        return duty.temperature_c
    value: Number | None = water.get(limit.analyte)
    return value


def _shared(duty: Duty, count: int) -> Duty:
    if count == 1:
        return duty
    return replace(
        duty, flow_l_min=duty.flow_l_min / count, peak_l_min=duty.peak_l_min / count, daily_l=duty.daily_l / count,
        tap_l_d=duty.tap_l_d / count, people=duty.people / count,
    )  # fmt: skip


def _certified(product: Product, before: Water, after: Water) -> Water:
    """Health contaminants are lowered only where the certified claim covers them."""
    kept = {
        code: np.maximum(after[code], before[code])
        for code in CERTIFIED_ONLY
        if code in after and code in before and code not in product.certified_for
    }
    return after.with_values(**kept) if kept else after


def rank_correlation(one: Draws, other: Draws) -> float:
    """Spearman's rank correlation; 0 where one of the two does not vary.

    Units: none.
    Range: arrays of one length; ties share their mean rank.
    Raises: ``ValueError`` for unequal lengths.
    Source: Spearman 1904: the correlation of the ranks (computed).

    >>> round(rank_correlation(np.array([1.0, 2.0, 3.0]), np.array([1.0, 8.0, 27.0])), 9)
    1.0
    """
    ranks = [_ranks(np.asarray(values, dtype=float)) for values in (one, other)]
    if len(ranks[0]) != len(ranks[1]):
        raise ValueError(f"{len(ranks[0])} values against {len(ranks[1])}")
    first, second = (row - row.mean() for row in ranks)
    size = float(np.sqrt((first @ first) * (second @ second)))
    return float(first @ second) / size if size > 0 else 0.0


def _ranks(values: Draws) -> Draws:
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    ends = np.cumsum(counts)
    return np.asarray((ends - (counts - 1) / 2.0)[inverse], dtype=float)


def confidence(request: DesignRequest, train: Train, rng: np.random.Generator, draws: int = 10_000) -> Confidence:
    """Share of plausible peaks in which every limit of a train is kept, and what decides the misses.

    The water, the pump and the temperature are drawn from their stated uncertainties and passed through the same
    stage code as the design, all draws at once. The same generator state gives the same answer.
    Units: canonical.
    Range: as ``plausible``.
    Raises: as ``plausible``, and as the stages.
    Source: Monte-Carlo propagation; Spearman rank correlation.

    >>> from sizing.engine.design import *
    >>> request = DesignRequest(Water({"iron": 0.2}), SourceType.DRILLED_WELL,
    ...     SupplySide(Measured(30.0, 1.0), 276.0, 414.0, 150.0), (Fixture("shower", 1),), Occupancy(2, 4),
    ...     SiteLimits(), Goals(at_entry={"iron": 0.3}), (), water_sd={"iron": 0.05})
    >>> from sizing.engine.train import choose_train
    >>> round(confidence(request, choose_train(request).trains[0], np.random.default_rng(7)).share, 2)
    0.98
    """
    placed = [(stage_for(stage.product), stage.at, stage.count) for stage in train.stages]
    return judged(request, placed, plausible(request, rng, draws))


def judged(request: DesignRequest, stages: Sequence[tuple[Stage, str, int]], drawn: Plausible) -> Confidence:
    """The same for stages already built (stage, where it stands, units side by side) and draws already made.

    Units: canonical.
    Range: any line.
    Raises: as the stages.
    Source: as ``confidence``.

    >>> judged.__name__
    'judged'
    """
    brief = brief_of(request)
    for stage, _, _ in stages:
        if stage.kind is StageKind.RESTRICTOR:
            brief = brief.held(stage.product.code, float(stage.product.ratings["flow_l_min"]))
    judge = Judge(brief, drawn)
    judge.walk(stages)
    shape = drawn.pump_l_min.shape
    tightest = np.full(shape, np.inf)
    for _, slack in judge.slack.values():
        tightest = np.minimum(tightest, slack)
    missed = tightest < -1e-9
    misses = int(missed.sum())
    limits = [
        LimitShare(
            code, label, float((slack >= -1e-9).mean()), float((slack < -1e-9).sum() / misses) if misses else 0.0
        )
        for code, (label, slack) in judge.slack.items()
    ]
    limits.sort(key=lambda limit: (limit.kept, limit.code))
    drivers = [Driver(code, label, rank_correlation(values, tightest)) for code, label, values in drawn.inputs]
    drivers.sort(key=lambda driver: (-abs(driver.correlation), driver.code))
    return Confidence(1.0 - misses / len(tightest), len(tightest), tuple(limits), tuple(drivers))
