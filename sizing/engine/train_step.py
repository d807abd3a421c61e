"""One stage fed with one water at one flow: what is wrong with it, what leaves it, what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from sizing.engine.cost import stage_bars
from sizing.engine.design import CostBars, CostTerms, Margin, Needs, StageKind
from sizing.engine.stages.base import Duty, FeedLimit, Sizing, Stage, Upkeep
from sizing.engine.train_duty import Brief
from sizing.engine.train_order import SLOTS, TAP
from sizing.engine.water import ANALYTES, Number, Water

CERTIFIED_ONLY = ("nitrate", "nitrite", "arsenic", "lead", "uranium", "fluoride", "pfas", "radium", "radon")
"""Health contaminants: a stage's effect on them counts only where its certified claim covers it."""


@dataclass(frozen=True)
class Fault:
    """A limit not kept. ``family`` groups faults that one change would mend ("drain", "backwash", "goal:iron").

    ``label`` names the limit, ``text`` says it with the numbers, ``remedy`` what would open the way, in words.
    """

    family: str
    label: str
    text: str
    remedy: str
    value: float = 0.0
    limit: float = 0.0


@dataclass(frozen=True, eq=False)
class Option:
    """A product (or ``count`` of them side by side) in a slot. ``index`` is its place in the list of options."""

    index: int
    slot: int
    stage: Stage
    count: int = 1

    @property
    def name(self) -> str:
        """Name of the product, with the number of units where there is more than one."""
        name = self.stage.product.name
        return name if self.count == 1 else f"{self.count} x {name}"

    @property
    def at_tap(self) -> bool:
        """Whether it stands at the drinking tap."""
        return SLOTS[self.slot].at == TAP

    def share(self, duty: Duty) -> Duty:
        """The duty of one unit."""
        if self.count == 1:
            return duty
        part = 1.0 / self.count
        return replace(
            duty,
            flow_l_min=duty.flow_l_min * part,
            peak_l_min=duty.peak_l_min * part,
            daily_l=duty.daily_l * part,
            tap_l_d=duty.tap_l_d * part,
            people=duty.people * part,
        )

    def loss(self, flow_l_min: Number, *, dirty: bool) -> Number:
        """Pressure lost at a flow through the whole line, kPa."""
        return self.stage.loss(flow_l_min / self.count, dirty=dirty)


def name_of(analyte: str) -> str:
    """The analyte's name in the middle of a sentence.

    Units: none.
    Range: any code; "flow" and unknown codes are returned as they are.
    Raises: nothing.
    Source: the engine's table of analytes.

    >>> name_of("iron"), name_of("e_coli"), name_of("flow")
    ('iron', 'E. coli', 'flow')
    """
    found = ANALYTES.get(analyte)
    if found is None:
        return analyte.replace("_", " ")
    plain = found.name.split(",")[0]
    keep = analyte in ("ph", "uvt", "e_coli", "pfas") or not plain[1:2].islower()
    return plain if keep else plain[0].lower() + plain[1:]


def unit_of(analyte: str) -> str:
    """The analyte's unit with its basis, ready to stand after a number.

    Units: none.
    Range: any code.
    Raises: nothing.
    Source: the engine's table of analytes.

    >>> unit_of("hardness"), unit_of("ph"), unit_of("flow")
    (' mg/L as CaCO3', '', ' L/min')
    """
    if analyte == "flow":
        return " L/min"
    found = ANALYTES.get(analyte)
    words = " ".join(part for part in (found.unit, found.basis) if part) if found else ""
    return f" {words}" if words else ""


class Feed:
    """An option fed with a water, at the most that can pass there. Everything is worked out when first asked."""

    def __init__(self, brief: Brief, option: Option, water: Water, flow_l_min: float) -> None:
        self.brief = brief
        self.option = option
        self.water = water
        self.flow_l_min = flow_l_min
        base = brief.tap_duty if option.at_tap else brief.at_flow(flow_l_min)
        self.duty = option.share(base)

    @cached_property
    def limits(self) -> tuple[FeedLimit, ...]:
        """The stage's feed limits at this duty."""
        return self.option.stage.feed_limits(self.duty)

    @cached_property
    def sizing(self) -> Sizing:
        """The stage's sizing for this water."""
        return self.option.stage.size(self.water, self.duty)

    @cached_property
    def margins(self) -> tuple[Margin, ...]:
        """The sizing's margins alone: what the search asks of every line it looks at."""
        return self.option.stage.margins(self.water, self.duty)

    @cached_property
    def one(self) -> Needs:
        """What one unit asks of the place."""
        return self.option.stage.needs(self.water, self.duty)

    @property
    def needs(self) -> Needs:
        """What all units ask of the place; they are backwashed one after the other."""
        one, count = self.one, self.option.count
        if count == 1:
            return one
        return replace(
            one, power_w=one.power_w * count, wall_m=one.wall_m * count, holds_litres=one.holds_litres * count
        )

    @cached_property
    def out(self) -> Water:
        """The water leaving; health contaminants are lowered only where the product's certified claim covers them."""
        left = self.option.stage.treat(self.water, self.duty)
        if left is self.water:
            return left
        claims = self.option.stage.product.certified_for
        kept = {
            code: np.maximum(left[code], self.water[code])
            for code in CERTIFIED_ONLY
            if code in left and code not in claims and np.any(left[code] < self.water[code])
        }
        if not kept:
            return left
        return left.with_values(**{code: v if np.ndim(v) else float(v) for code, v in kept.items()})

    @property
    def flow_out(self) -> float:
        """The most that can pass behind it, L/min."""
        if self.option.stage.kind is StageKind.RESTRICTOR:
            return min(self.flow_l_min, float(getattr(self.option.stage, "passes_l_min", self.flow_l_min)))
        return self.flow_l_min

    @cached_property
    def upkeep(self) -> Upkeep:
        """A year of keeping all units; ``wear`` lists the parts of one."""
        one, count = self.option.stage.upkeep(self.water, self.duty), self.option.count
        if count == 1:
            return one
        return Upkeep(
            one.wear,
            one.salt_kg_year * count,
            one.water_l_year * count,
            one.power_kwh_year * count,
            one.hours_year * count,
        )

    @cached_property
    def bars(self) -> CostBars:
        """Whole-life cost, call-outs apart."""
        litres = self.duty.tap_l_d if self.option.at_tap else self.duty.daily_l
        terms: CostTerms = self.brief.request.cost
        product = self.option.stage.product
        return stage_bars(product, self.upkeep, self.duty.months_open, litres, terms, self.option.count)

    @cached_property
    def costs(self) -> tuple[int, int, float]:
        """(first cost, whole-life cost) in cents, call-outs apart, and upkeep hours a year."""
        bars = self.bars
        return int(bars.bought * 100), int(bars.total * 100), round(self.upkeep.hours_year, 6)

    @property
    def dose(self) -> float:
        """UV dose credited as a barrier, mJ/cm2; 0 for anything that is not a class A unit."""
        if not getattr(self.option.stage, "is_barrier", False):
            return 0.0
        if self.unjudged:  # refused for the missing test; that test alone is to be named
            return self.brief.barrier_dose
        return max((float(m.value) for m in self.margins if m.code == "uv_dose"), default=0.0)

    def feed_value(self, limit: FeedLimit) -> Number | None:
        """What is fed of a limit's analyte; ``None`` where it was not measured."""
        if limit.analyte == "flow":
            return self.duty.flow_l_min
        value: Number | None = self.water.get(limit.analyte)
        if value is None and limit.analyte == "temperature":
            return self.duty.temperature_c
        return value

    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        """Every limit of the stage and of the place that is not kept here."""
        return tuple(self._faults())

    @cached_property
    def admissible(self) -> bool:
        """Whether there is no fault; stops at the first, the cheapest checks coming first."""
        return next(self._faults(), None) is None

    def _faults(self) -> Iterator[Fault]:
        yield from self._feed_faults()
        if not self.unjudged:
            yield from self._size_faults()
        yield from place_faults(self)

    @cached_property
    def unjudged(self) -> bool:
        """Whether something the stage must know of its feed was not measured, so that its sizing says nothing."""
        return any(limit.required and self.feed_value(limit) is None for limit in self.limits)

    def _feed_faults(self) -> Iterator[Fault]:
        for limit in self.limits:
            value = self.feed_value(limit)
            if value is None:
                if limit.required:
                    yield self._missing(limit)
            elif limit.hard and not kept(limit, value):
                yield self._fed_outside(limit, float(value))

    def _missing(self, limit: FeedLimit) -> Fault:
        name = name_of(limit.analyte)
        return Fault(
            f"missing:{limit.analyte}",
            f"{name} into {self.option.name}",
            f"{name} was not measured; {self.option.name} cannot be judged without it ({limit.reason})",
            f"a test for {name}",
        )

    def _fed_outside(self, limit: FeedLimit, value: float) -> Fault:
        name, unit = name_of(limit.analyte), unit_of(limit.analyte)
        word = "at most" if limit.sense == "max" else "at least"
        if limit.analyte == "flow":
            return Fault(
                "size",
                f"flow into {self.option.name}",
                f"{value:.3g} L/min can pass into {self.option.name}, its feed limit is {limit.value:.3g} L/min",
                f"a restrictor of {limit.value:.3g} L/min, or a larger unit than {self.option.name}",
                value,
                limit.value,
            )
        step = "brings down" if limit.sense == "max" else "raises"
        return Fault(
            f"feed:{limit.analyte}",
            f"{name} into {self.option.name}",
            f"{name} {value:.3g}{unit} into {self.option.name}, its feed limit is {word} {limit.value:.3g}{unit}: "
            f"{limit.reason}",
            f"a stage that {step} {name} from {value:.3g} to {limit.value:.3g}{unit} ahead of {self.option.name}",
            value,
            limit.value,
        )

    def _size_faults(self) -> Iterator[Fault]:
        """Margins not held. The backwash against the pump is a limit of the place and looked at there."""
        for margin in self.margins:
            if not margin.held and not margin.code.endswith("backwash_supply"):
                yield self._too_small(margin)

    def _too_small(self, margin: Margin) -> Fault:
        word = "at most" if margin.sense == "max" else "at least"
        unit = f" {margin.unit}" if margin.unit else ""
        return Fault(
            "size",
            f"{margin.label[0].lower()}{margin.label[1:]}, {self.option.name}",
            f"{self.option.name}: {margin.label[0].lower()}{margin.label[1:]} {margin.value:.3g}{unit}, "
            f"{word} {margin.limit:.3g}{unit} is needed",
            f"another size than {self.option.name} ({margin.label[0].lower()}{margin.label[1:]} {word} "
            f"{margin.limit:.3g}{unit})",
            margin.value,
            margin.limit,
        )


def kept(limit: FeedLimit, value: Number) -> bool:
    """Whether a value keeps a feed limit (all draws, for an array).

    Units: the limit's.
    Range: any number.
    Raises: nothing.
    Source: comparison.

    >>> kept(FeedLimit("iron", "max", 0.3, "", ""), 0.3), kept(FeedLimit("ph", "min", 6.8, "", ""), 6.5)
    (True, False)
    """
    return bool(np.all(value <= limit.value)) if limit.sense == "max" else bool(np.all(value >= limit.value))


def place_faults(feed: Feed) -> Iterator[Fault]:
    """What the place cannot give a stage: backwash flow, drain, power, warmth, depth and height.

    Units: canonical.
    Range: any feed.
    Raises: nothing.
    Source: needs of the stage against the limits of the place, as given. A tap unit drains into the sink.

    >>> from types import SimpleNamespace as N
    >>> site = N(drain=False, power="mains", winter_heated=True, depth_m=None, height_m=None)
    >>> request = N(site=site, supply=N(well_yield_l_min=None, well_storage_l=None))
    >>> option = N(name="Softener", at_tap=False, stage=N(product=N(ratings={})))
    >>> feed = N(brief=N(request=request), option=option, needs=Needs(drain=True), duty=N(pump_l_min=30.0))
    >>> [fault.text for fault in place_faults(feed)]
    ['Softener needs a drain, there is none']
    """
    request, needs, name = feed.brief.request, feed.needs, feed.option.name
    site, supply, at_tap = request.site, request.supply, feed.option.at_tap
    pump, wash = feed.duty.pump_l_min, needs.backwash_l_min
    if wash > pump:
        text = f"{name} needs {wash:.3g} L/min to backwash, the pump gives {pump:.3g} L/min"
        yield Fault(
            "backwash",
            f"backwash of {name}",
            text,
            f"a pump that gives {wash:.3g} L/min for the backwash",
            wash,
            pump,
        )
    if wash > 0 and supply.well_yield_l_min is not None and supply.well_storage_l is not None:
        has = supply.well_storage_l + supply.well_yield_l_min * needs.backwash_l / wash
        if needs.backwash_l > has:
            text = f"{name} needs {needs.backwash_l:.0f} L for a backwash, the well gives {has:.0f} L in that time"
            yield Fault(
                "well", f"backwash of {name}", text, f"storage for {needs.backwash_l:.0f} L", needs.backwash_l, has
            )
    if needs.drain and not site.drain and not at_tap:
        yield Fault(
            "drain", f"drain for {name}", f"{name} needs a drain, there is none", "a drain with an air gap in reach"
        )
    if needs.power_w > 0:
        supplied = feed.option.stage.product.ratings.get("supply", "mains")
        if site.power == "none":
            text = f"{name} needs {needs.power_w:.3g} W, there is no power"
            yield Fault("power", f"power for {name}", text, f"{needs.power_w:.3g} W of power", needs.power_w)
        elif site.power == "12v" and supplied == "mains":
            yield Fault(
                "power",
                f"power for {name}",
                f"{name} runs on mains, the place has 12 V",
                "mains power, or a 12 V unit",
            )
    if not site.winter_heated and not needs.drainable and not needs.portable:
        text = f"{name} can be neither drained nor carried home, and the place is not heated in winter"
        yield Fault("winter", f"{name} in winter", text, "heat in winter where it stands")
    for what, value, limit in (("depth", needs.depth_m, site.depth_m), ("height", needs.height_m, site.height_m)):
        if limit is not None and value > limit and not at_tap:
            text = f"{name} needs {value:.2f} m of {what}, there is {limit:.2f} m"
            yield Fault(what, f"{what} for {name}", text, f"{value:.2f} m of {what}", value, limit)
