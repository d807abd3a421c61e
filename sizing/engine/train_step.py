"""One stage fed with one water at one flow: what is wrong with it, what leaves it, what it costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

import numpy as np

from sizing.engine.cost import cents, present_values, stage_bars
from sizing.engine.design import CostBars, CostTerms, Margin, Needs
from sizing.engine.log_credits import ORGANISMS, Logs
from sizing.engine.stages.base import FeedLimit, Sizing, Upkeep
from sizing.engine.train_spot import Fault, Option, Spot, kept, name_of, place_faults, together, unit_of
from sizing.engine.water import Number, Water

__all__ = ["CERTIFIED_ONLY", "Fault", "Feed", "Option", "kept", "name_of", "unit_of", "well_faults"]

MILLION = 1_000_000
CERTIFIED_ONLY = ("nitrate", "nitrite", "arsenic", "lead", "uranium", "fluoride", "pfas", "radium", "radon")
"""Health contaminants: a stage's effect on them counts only where its certified claim covers it."""


class Feed:
    """An option in its spot fed with a water. Everything is worked out when first asked."""

    def __init__(self, spot: Spot, water: Water) -> None:
        self.spot = spot
        self.brief = spot.brief
        self.option: Option = spot.option
        self.water = water
        self.flow_l_min = spot.flow_l_min
        self.duty = spot.duty

    @property
    def limits(self) -> tuple[FeedLimit, ...]:
        """The stage's feed limits at this duty."""
        return self.spot.limits

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
        return together(self.one, self.option.count)

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
        return self.spot.flow_out

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

    @property
    def litres_day(self) -> float:
        """What passes one unit on an open day, L."""
        return self.duty.tap_l_d if self.option.at_tap else self.duty.daily_l

    @property
    def bars(self) -> CostBars:
        """Whole-life cost, call-outs apart."""
        terms: CostTerms = self.brief.request.cost
        product, count = self.option.stage.product, self.option.count
        return stage_bars(product, self.upkeep, self.duty.months_open, self.litres_day, terms, count)

    @cached_property
    def running(self) -> tuple[int, int]:
        """Running cost over the years in cents, call-outs apart, and upkeep in millionths of an hour a year."""
        terms, count = self.brief.request.cost, self.option.count
        amounts = present_values(self.upkeep, self.duty.months_open, self.litres_day, terms, count)
        return sum(map(cents, amounts)), round(self.upkeep.hours_year * MILLION)

    @property
    def dose(self) -> float:
        """UV dose credited as a barrier, mJ/cm2; 0 for anything that is not a class A unit."""
        if not getattr(self.option.stage, "is_barrier", False):
            return 0.0
        if self.unjudged:  # refused for the missing test; that test alone is to be named
            return self.brief.barrier_dose
        return max((float(m.value) for m in self.margins if m.code == "uv_dose"), default=0.0)

    @cached_property
    def logs(self) -> Logs:
        """Log credits of this stage, in the order of ``log_credits.ORGANISMS``."""
        stage = self.option.stage
        earned: Mapping[str, Number] = stage.most_credit(self.duty)
        if earned and not self.unjudged:  # as for the dose: where a test is missing, that alone is to be named
            earned = stage.log_credits(self.water, self.duty)
        first, second, third = (float(earned.get(organism, 0.0)) for organism in ORGANISMS)
        return first, second, third

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
        """Whether there is no fault; the cheapest checks come first."""
        return self.spot.sound and self._fed_within() and self._large_enough() and not any(well_faults(self))

    def _fed_within(self) -> bool:
        values = self.water.values
        for limit in self.spot.limits:
            value = values.get(limit.analyte)
            if value is None:
                value = self.feed_value(limit)
                if value is None:
                    if limit.required:
                        return False
                    continue
            if limit.hard and not kept(limit, value):
                return False
        return True

    def _large_enough(self) -> bool:
        return all(margin.held for margin in self.margins if not margin.code.endswith("backwash_supply"))

    def _faults(self) -> Iterator[Fault]:
        yield from self._feed_faults()
        if not self.unjudged:
            yield from self._size_faults()
        elif self.option.stage.too_small(self.duty):
            yield self._too_small_anyway()
        yield from place_faults(self.spot)
        yield from well_faults(self)

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

    def _too_small_anyway(self) -> Fault:
        name, flow, peak = self.option.name, self.duty.flow_l_min, self.duty.peak_l_min
        text = f"{name} is too small for {flow:.3g} L/min, at peak {peak:.3g} L/min, whatever the water"
        return Fault("size", f"size of {name}", text, f"a larger unit than {name}")

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


def well_faults(feed: Feed) -> Iterator[Fault]:
    """A backwash that takes more than the well holds and yields meanwhile.

    Units: L, L/min.
    Range: any feed; places whose well is not known have none.
    Raises: nothing.
    Source: balance of the well over the backwash (computed).

    >>> from types import SimpleNamespace as N
    >>> supply = N(well_yield_l_min=2.0, well_storage_l=100.0)
    >>> feed = N(brief=N(request=N(supply=supply)), option=N(name="Softener"),
    ...     needs=Needs(backwash_l_min=20.0, backwash_l=300.0))
    >>> [fault.text for fault in well_faults(feed)]
    ['Softener needs 300 L for a backwash, the well gives 130 L in that time']
    """
    supply = feed.brief.request.supply
    if supply.well_yield_l_min is None or supply.well_storage_l is None:
        return
    needs, name = feed.needs, feed.option.name
    if needs.backwash_l_min <= 0:
        return
    has = supply.well_storage_l + supply.well_yield_l_min * needs.backwash_l / needs.backwash_l_min
    if needs.backwash_l > has:
        text = f"{name} needs {needs.backwash_l:.0f} L for a backwash, the well gives {has:.0f} L in that time"
        yield Fault(
            "well", f"backwash of {name}", text, f"storage for {needs.backwash_l:.0f} L", needs.backwash_l, has
        )
