"""Remarks a line carries: soft limits passed, tests not made, what must be proven after fitting."""

from __future__ import annotations

from collections.abc import Iterator

from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import FeedLimit
from sizing.engine.stages.order import breaches, order_code
from sizing.engine.train_hot import told_hot
from sizing.engine.train_path import Line, Path, pressure_of
from sizing.engine.train_spot import kept, name_of, unit_of
from sizing.engine.train_step import CERTIFIED_ONLY, Feed


def remarks(line: Line, path: Path) -> tuple[Finding, ...]:
    """All remarks of a line, health first, each once.

    Units: none.
    Range: any path of the line.
    Raises: nothing.
    Source: stated in each remark.

    >>> remarks.__name__
    'remarks'
    """
    found: dict[tuple[str, str], Finding] = {}
    for finding in _all(line, path):
        found.setdefault((finding.code, finding.message), finding)
    return tuple(sorted(found.values(), key=lambda finding: finding.severity.rank))


def _all(line: Line, path: Path) -> Iterator[Finding]:
    known = {(finding.code, finding.message) for finding in line.brief.findings}
    for feed in path.feeds:
        said = (told_hot(f) if feed.option.at_hot else f for f in feed.sizing.findings)
        yield from (f for f in said if (f.code, f.message) not in known)
        for limit in feed.limits:
            yield from _soft(feed, limit)
        yield from _certified(feed)
        yield from _well(feed)
    yield from pressure_of(line, path).findings
    yield from _goals(line, path)
    yield from _salted(line, path)
    yield from _in_soft_order(path)


def _soft(feed: Feed, limit: FeedLimit) -> Iterator[Finding]:
    value, name = feed.feed_value(limit), name_of(limit.analyte)
    if value is None:
        if not limit.required and limit.hard:
            yield Finding(
                "feed_not_tested",
                Severity.EQUIPMENT,
                f"{name[0].upper()}{name[1:]} was not measured; {feed.option.name} has a feed limit of "
                f"{limit.value:.3g}{unit_of(limit.analyte)} for it.",
                f"Book a test for {name}.",
                limit.analyte,
                limit.source,
            )
    elif not limit.hard and not kept(limit, value):
        word = "at most" if limit.sense == "max" else "at least"
        yield Finding(
            "feed_outside_soft_limit",
            Severity.EQUIPMENT,
            f"{name[0].upper()}{name[1:]} {float(value):.3g}{unit_of(limit.analyte)} into {feed.option.name}, {word} "
            f"{limit.value:.3g}{unit_of(limit.analyte)} is advised: {limit.reason}.",
            "Watch it at the first services.",
            limit.analyte,
            limit.source,
        )


def _certified(feed: Feed) -> Iterator[Finding]:
    for code in CERTIFIED_ONLY:
        if code in feed.out and code in feed.water and feed.out[code] < feed.water[code]:
            name = name_of(code)
            yield Finding(
                "test_after",
                Severity.HEALTH,
                f"{feed.option.name} is counted on for {name} by its certified claim.",
                f"Test the treated water for {name} after commissioning; it is not proven before.",
                code,
                "common practice",
            )


def _goals(line: Line, path: Path) -> Iterator[Finding]:
    goals = line.brief.request.goals
    for where, water, wanted in (("entry", path.entry, goals.at_entry), ("tap", path.water, goals.at_tap)):
        for code in sorted(wanted):
            if code not in water:
                name = name_of(code)
                yield Finding(
                    "goal_not_tested",
                    Severity.HEALTH if code in CERTIFIED_ONLY else Severity.NOTE,
                    f"{name[0].upper()}{name[1:]} was not measured, so it cannot be told whether the goal at the "
                    f"{where} is met.",
                    f"Book a test for {name}.",
                    code,
                    "not tested",
                )
    nitrate = path.water.get("nitrate", path.water.get("nitrite", 0.0))
    raw = line.brief.request.water.get("nitrate", 0.0)
    if max(nitrate, raw) > goals.at_tap.get("nitrate", float("inf")):
        yield Finding(
            "nitrate_boiling",
            Severity.HEALTH,
            "Boiling concentrates nitrate and metals; it is no remedy for them.",
            "Use another supply for infants and in pregnancy until the treated water is tested.",
            "nitrate",
            "common practice",
        )


def _well(feed: Feed) -> Iterator[Finding]:
    """A backwash faster than the well yields, where nobody knows what the well holds."""
    supply, wash = feed.brief.request.supply, feed.needs.backwash_l_min
    if supply.well_yield_l_min is None or supply.well_storage_l is not None or wash <= supply.well_yield_l_min:
        return
    litres = feed.needs.backwash_l
    short = litres * (1.0 - supply.well_yield_l_min / wash)
    yield Finding(
        "well_storage_unknown",
        Severity.EQUIPMENT,
        f"{feed.option.name} takes {wash:.3g} L/min to backwash, the well yields {supply.well_yield_l_min:.3g} "
        f"L/min: {short:.0f} L of {litres:.0f} L must stand in the well, and how much does is not known.",
        "Measure the standing water above the pump and the bore of the well before this is quoted.",
        "well",
        "balance of the well over the backwash, computed",
    )


def _salted(line: Line, path: Path) -> Iterator[Finding]:
    """Salt to a septic tank, and sodium that treatment adds to what people drink."""
    brine = [feed for feed in path.feeds if feed.upkeep.salt_kg_year > 0]
    if brine and line.brief.request.site.septic:
        salt = sum(feed.upkeep.salt_kg_year for feed in brine)
        yield Finding(
            "brine_to_septic",
            Severity.EQUIPMENT,
            f"About {salt:.0f} kg of salt a year leaves {brine[0].option.name} with the rinse water, and the house "
            "has a septic tank.",
            "Ask the local code and whoever looks after the septic tank where the rinse may go.",
            "septic",
            "mass balance, computed; where it may go is for the local code",
        )
    raw, tap = line.brief.request.water.get("sodium"), path.water.get("sodium")
    if raw is None or tap is None or tap <= raw:
        return
    diet, taste = figure("us-epa-limits", "sodium_advisory"), figure("health-canada-limits", "sodium_ao")
    for limit, severity, words, todo in (
        (diet, Severity.NOTE, "the advisory for people on a diet very low in sodium",
         "Ask who in the house is on such a diet; leave the kitchen's cold tap hard, or give it reverse osmosis."),
        (taste, Severity.COMFORT, "the aesthetic limit", "Leave a tap for drinking out of the softened water."),
    ):  # fmt: skip
        if tap > limit.value:
            yield Finding(
                "sodium_above_diet" if limit is diet else "sodium_above_taste",
                severity,
                f"Treatment brings sodium at the drinking tap from {float(raw):.0f} to {float(tap):.0f} mg/L, above "
                f"{limit.value:g} mg/L, {words}.",
                todo,
                "sodium",
                f"{limit.citation} ({limit.status})",
            )


def _in_soft_order(path: Path) -> Iterator[Finding]:
    """Places in the line that the trade would rather have the other way round."""
    feeds = path.feeds
    for breach in breaches([order_code(feed.option.stage) for feed in feeds], strengths=("soft",)):
        ahead, behind = feeds[breach.second].option.name, feeds[breach.first].option.name
        yield Finding(
            "order_unusual",
            Severity.NOTE,
            f"{ahead} usually stands ahead of {behind}: {breach.rule.reason}.",
            "Turn them round unless the place forbids it.",
            "order",
            f"{breach.rule.source}: {breach.rule.status}",
        )
