"""A line set by hand: what it gives, kept limits or not, and which stage breaks which limit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sizing.engine.design import DesignRequest, PlacedStage, Product, StageKind, Train
from sizing.engine.ranges import within
from sizing.engine.stages.base import Stage
from sizing.engine.stages.registry import stage_for
from sizing.engine.train_duty import Brief, brief_of
from sizing.engine.train_path import Line, Path
from sizing.engine.train_report import train_of
from sizing.engine.train_search import SIDE_BY_SIDE
from sizing.engine.train_spot import Fault, Option, breaches_in, laid

AS_SET = "As set"


@dataclass(frozen=True)
class Breach:
    """A limit the line does not keep. ``place`` is the stage concerned, from 0; -1 = the line as a whole.

    ``remedy`` says what would open the way, in words; empty where only another order would.
    """

    place: int
    limit: str
    text: str
    remedy: str = ""


@dataclass(frozen=True)
class LaidOut:
    """A line by hand: its train with every number, and every limit it breaks (none = it may be quoted)."""

    train: Train
    breaches: tuple[Breach, ...]


def lay_out(request: DesignRequest, products: Sequence[Product], counts: Sequence[int] = ()) -> LaidOut:
    """One line of products in the order given, told whole whether it keeps every limit or not.

    Where ``recheck`` gives the train or the refusals, this gives both, each refusal with the place of its stage: what
    a bench shows of a line that is being worked on. Units: canonical. Range: counts 1, or 2 for beds that may stand
    in pairs; ``counts`` empty = one of each. Raises: ``OutsideValidRange`` as ``recheck``. Source: the same
    simulation as the search.

    >>> from sizing.engine.design import *
    >>> from sizing.engine.water import Water
    >>> request = DesignRequest(Water({}), SourceType.LAKE, SupplySide(Measured(30.0), 276.0, 414.0, 150.0),
    ...     (Fixture("shower", 1),), Occupancy(2, 4), SiteLimits(), Goals(), ())
    >>> [(breach.place, breach.limit) for breach in lay_out(request, ()).breaches]
    [(-1, 'barrier against germs')]
    """
    stages = [stage_for(product) for product in products]
    units = list(counts) or [1] * len(stages)
    within("number of counts", len(units), low=len(stages), high=len(stages))
    for stage, count in zip(stages, units, strict=True):
        within(f"number of {stage.product.name}", count, low=1, high=2 if stage.kind in SIDE_BY_SIDE else 1)
    brief = _brief(request, stages)
    line = Line(brief, laid(stages, units, hot=brief.hot is not None))
    path, faults = line.walk(line.options)
    train = train_of(line, path, AS_SET)
    if faults:
        train = replace(train, stages=tuple(_told_of(stage, faults) for stage in train.stages))
    return LaidOut(train, (*_order(line.options), *_placed(line, path, faults)))


def _brief(request: DesignRequest, stages: Sequence[Stage]) -> Brief:
    """The place, the household content with what the line's restrictors hold."""
    brief = brief_of(request)
    for stage in stages:
        if stage.kind is StageKind.RESTRICTOR:
            brief = brief.held(stage.product.code, float(stage.product.ratings["flow_l_min"]))
    return brief


def _order(options: Sequence[Option]) -> tuple[Breach, ...]:
    return tuple(
        Breach(
            breach.second,
            "order of the stages",
            f"{options[breach.second].name} belongs ahead of {options[breach.first].name}: {breach.rule.reason}",
        )
        for breach in breaches_in(options)
    )


def _placed(line: Line, path: Path, faults: Sequence[Fault]) -> tuple[Breach, ...]:
    """Each fault with the last stage that has it: what a stage is fed, or what the line came to behind it."""
    at: dict[Fault, int] = {}
    longer: Path | None = path
    place = len(path.feeds) - 1
    while longer is not None and longer.feed is not None:
        for fault in (*longer.feed.faults, *line.step_faults(longer)):
            at.setdefault(fault, place)
        longer, place = longer.parent, place - 1
    return tuple(Breach(at.get(fault, -1), fault.label, fault.text, fault.remedy) for fault in dict.fromkeys(faults))


def _told_of(stage: PlacedStage, faults: Sequence[Fault]) -> PlacedStage:
    """The stage with the reasons that are its own: what the line breaks with it too is no reason for it."""
    broken = {f"Without it {fault.text}" for fault in faults}
    labels = {fault.label for fault in faults}
    reasons = tuple(reason for reason in stage.reasons if reason not in broken)
    return replace(stage, reasons=reasons, protects=tuple(label for label in stage.protects if label not in labels))
