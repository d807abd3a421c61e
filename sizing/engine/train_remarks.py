"""Remarks a line carries: soft limits passed, tests not made, what must be proven after fitting."""

from __future__ import annotations

from collections.abc import Iterator

from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import FeedLimit
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
        yield from (f for f in feed.sizing.findings if (f.code, f.message) not in known)
        for limit in feed.limits:
            yield from _soft(feed, limit)
        yield from _certified(feed)
    yield from pressure_of(line, path).findings
    yield from _goals(line, path)


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
