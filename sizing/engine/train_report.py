"""A finished line told: each stage with its reasons, waters, pressures, margins, remarks and the worksheet."""

from __future__ import annotations

from decimal import Decimal

from sizing.engine.cost import train_bars
from sizing.engine.design import Margin, PlacedStage, Refusal, Train
from sizing.engine.log_credits import GERM_WORDS, ORGANISMS
from sizing.engine.train_final import judged_waters
from sizing.engine.train_lanes import branches_of
from sizing.engine.train_order import SLOTS
from sizing.engine.train_path import Line, Path, pressure_of
from sizing.engine.train_remarks import remarks
from sizing.engine.train_sheet import worksheet
from sizing.engine.train_spot import Fault, Option, kept, name_of, unit_of
from sizing.engine.train_step import Feed

SHORT_PLACES = {"entry": "at the entry", "hot": "in the hot water", "tap": "at the tap"}
MOST_REASONS = 4
MOST_REFUSALS = 10


def without(line: Line, path: Path, leave_out: int) -> tuple[Fault, ...]:
    """What would be wrong with the line without one of its stages.

    Units: none.
    Range: ``leave_out`` is the stage's place, from 0.
    Raises: nothing.
    Source: the same simulation.

    >>> from types import SimpleNamespace as N
    >>> without(N(walk=lambda options: (None, tuple(options))), N(feeds=[N(option=1), N(option=2)]), 0)
    (2,)
    """
    options = [feed.option for index, feed in enumerate(path.feeds) if index != leave_out]
    return line.walk(options)[1]


def train_of(line: Line, path: Path, name: str) -> Train:
    """The finished train with everything that a screen or a paper shows of it.

    Units: canonical.
    Range: any admissible path of the line.
    Raises: nothing beyond what the stages raise.
    Source: the stages' own answers.

    >>> train_of.__module__
    'sizing.engine.train_report'
    """
    feeds = path.feeds
    missed = [without(line, path, index) for index in range(len(feeds))]
    stages = tuple(_placed(line, path, feed, faults) for feed, faults in zip(feeds, missed, strict=True))
    main = [feed for feed in feeds if not feed.option.at_tap and not feed.option.at_hot]
    tap = next((feed for feed in feeds if feed.option.at_tap), None)
    pressure = pressure_of(line, path)
    request = line.brief.request
    cost = train_bars((feed.bars for feed in feeds), len(line.brief.duty.months_open), request.cost)
    margins = margins_of(line, path)
    return Train(
        name=name,
        stages=stages,
        waters=(request.water, *(feed.out for feed in main)),
        tap_water=None if tap is None else tap.out,
        pressures_kpa=pressure.pressures_kpa[: len(main) + 1],
        margins=margins,
        findings=(*line.brief.findings, *remarks(line, path)),
        first_cost=sum((feed.bars.bought for feed in feeds), Decimal(0)),
        cost=cost,
        upkeep_hours_year=path.hours,
        worksheet=worksheet(line, path, pressure.steps, cost),
        branches=branches_of(
            request,
            line.brief.peak_l_min,
            line.brief.tap_duty.tap_l_d,
            at_tap=tap is not None,
            hot=line.brief.hot if path.hot is not None else None,
        ),
        hot_water=path.hot,
    )


def _placed(line: Line, path: Path, feed: Feed, missed: tuple[Fault, ...]) -> PlacedStage:
    option, upkeep = feed.option, feed.upkeep
    loss, dirty = (0.0, 0.0)
    if not option.at_tap:
        loss = float(option.loss(line.peak_at(option), dirty=False))
        dirty = float(option.loss(line.peak_at(option), dirty=True))
    return PlacedStage(
        kind=option.stage.kind,
        product=option.stage.product,
        at=SLOTS[option.slot].at,
        reasons=_reasons(line, path, feed, missed),
        protects=tuple(dict.fromkeys(fault.label for fault in missed)),
        loss_kpa=loss,
        loss_dirty_kpa=dirty,
        needs=feed.needs,
        settings=feed.sizing.settings,
        numbers=feed.sizing.numbers,
        wear=upkeep.wear,
        salt_kg_year=upkeep.salt_kg_year,
        water_l_year=upkeep.water_l_year,
        power_kwh_year=upkeep.power_kwh_year,
        upkeep_hours_year=upkeep.hours_year,
        count=option.count,
    )


def _reasons(line: Line, path: Path, feed: Feed, missed: tuple[Fault, ...]) -> tuple[str, ...]:
    """What is wrong without the stage; where nothing is, what it spares the others."""
    texts = list(dict.fromkeys(f"Without it {fault.text}" for fault in missed))
    if len(texts) > MOST_REASONS:
        texts = [*texts[:MOST_REASONS], f"and {len(texts) - MOST_REASONS} more limits would not be kept"]
    if texts:
        return tuple(texts)
    options = [other.option for other in path.feeds if other is not feed]
    bare, _ = line.walk(options)
    saved_hours, saved = bare.hours - path.hours, bare.life - path.life
    spared = []
    if saved_hours > 0:
        spared.append(f"It spares {saved_hours:.1f} hours of upkeep a year")
    if saved > 0:
        spared.append(f"It spares {saved / 100:.0f} over {line.brief.request.cost.years} years")
    return tuple(spared) or ("Placed by hand; every limit is kept without it too",)


def margins_of(line: Line, path: Path) -> tuple[Margin, ...]:
    """How far each limit that matters is kept: feed limits the raw water breaks, sizing, backwash, pressure, goals.

    Units: canonical, stated in each margin.
    Range: any path of the line.
    Raises: nothing.
    Source: the stages' own limits and the place's.

    >>> margins_of.__name__
    'margins_of'
    """
    brief = line.brief
    found: list[Margin] = []
    for feed in path.feeds:
        found += _feed_margins(feed)
        found += feed.sizing.margins
    found.append(pressure_of(line, path).margin)
    found += _place_margins(line, path)
    for where, water, wanted in judged_waters(brief, path):
        place = SHORT_PLACES[where]
        for code in sorted(wanted):
            if code in water:
                label = f"{name_of(code)} {place}"
                found.append(
                    Margin(
                        f"goal_{code}_{where}", label[0].upper() + label[1:], float(water[code]), wanted[code],
                        unit_of(code).strip(), "max", _quantity(code),
                    )
                )  # fmt: skip
    return tuple({margin.code: margin for margin in found}.values())


def _quantity(code: str) -> str:
    return code if code in ("hardness", "temperature", "flow") else ""


def _feed_margins(feed: Feed) -> list[Margin]:
    found = []
    for limit in feed.limits:
        value = feed.feed_value(limit)
        if value is None or limit.analyte == "flow" or not limit.hard:
            continue
        before = feed.brief.request.water.get(limit.analyte)
        active = before is not None and not kept(limit, before)
        if active or (limit.analyte in feed.water and not kept(limit, value)):
            kind = feed.option.stage.kind.value
            label = f"{name_of(limit.analyte)} into {feed.option.name}"
            found.append(
                Margin(
                    f"feed_{kind}_{limit.analyte}", label[0].upper() + label[1:], float(value), limit.value,
                    unit_of(limit.analyte).strip(), limit.sense, _quantity(limit.analyte),
                )
            )  # fmt: skip
    return found


def _place_margins(line: Line, path: Path) -> list[Margin]:
    site, brief = line.brief.request.site, line.brief
    found = []
    wash = max((feed.needs.backwash_l_min for feed in path.feeds), default=0.0)
    if wash > 0:
        found.append(
            Margin("backwash", "Largest backwash against the pump", wash, brief.flow_l_min, "L/min", "max", "flow")
        )
    if site.wall_m is not None:
        found.append(Margin("wall", "Length of wall", path.wall, site.wall_m, "m", "max", "length"))
    if site.power_w is not None:
        found.append(Margin("watts", "Power", path.watts, site.power_w, "W", "max"))
    if brief.barrier_dose > 0:
        found.append(Margin("barrier", "UV dose, pump flat out", path.dose, brief.barrier_dose, "mJ/cm2", "min"))
    for organism, wanted, earned in zip(ORGANISMS, brief.logs, path.logs, strict=True):
        if wanted > 0:
            label = f"Log credit against {GERM_WORDS[organism]}"
            found.append(Margin(f"logs_{organism}", label, earned, wanted, "log10", "min"))
    return found


def refusals_of(line: Line, paths: list[Path]) -> tuple[Refusal, ...]:
    """A fair sample of what was refused and why: single stages, the best line less each stage, cheaper products.

    Units: none.
    Range: the paths found, one or more.
    Raises: nothing.
    Source: the same simulation.

    >>> from types import SimpleNamespace as N
    >>> refusals_of(N(options=()), [N(feeds=())])
    ()
    """
    found: list[tuple[str, tuple[Fault, ...]]] = []
    best = paths[0]
    for feed in best.feeds if len(best.feeds) > 1 else ():
        found.append((f"{feed.option.name} alone", line.walk([feed.option])[1]))
    for index, feed in enumerate(best.feeds if len(best.feeds) > 1 else ()):
        found.append((f"Without {feed.option.name}", without(line, best, index)))
    for feed in best.feeds:
        found += _cheaper(line, best, feed)
    unlike: dict[str, Refusal] = {}
    told: set[str] = set()
    for label, faults in found:
        fresh = [fault for fault in faults if fault.text not in told]
        if fresh and label not in unlike:
            told.add(fresh[0].text)
            unlike[label] = Refusal(label, fresh[0].label, fresh[0].text)
    return tuple(unlike.values())[:MOST_REFUSALS]


def _cheaper(line: Line, best: Path, feed: Feed) -> list[tuple[str, tuple[Fault, ...]]]:
    """The dearest cheaper product for the same place that is refused there."""
    options: list[Option] = [other.option for other in best.feeds]
    place = options.index(feed.option)
    cheaper = [
        option
        for option in line.options
        if option.slot == feed.option.slot and option.stage.product.price < feed.option.stage.product.price
    ]
    for option in reversed(cheaper):
        _, faults = line.walk([*options[:place], option, *options[place + 1 :]])
        if faults:
            return [(option.name, faults)]
    return []
