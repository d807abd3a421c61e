"""Reading the tables of diagnosis out of the figure files."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from typing import Any

from sizing.engine import figures
from sizing.engine.diagnosis_rules import checked_line
from sizing.engine.diagnosis_tables import (
    PROFILES,
    Cause,
    Column,
    Device,
    DiagnosisTables,
    Feature,
    Measure,
    Observation,
    Package,
    Practice,
    Rule,
    Share,
)
from sizing.engine.errors import OutsideValidRange


def column(value: float | list[float]) -> Column:
    """A share for each column of source, out of one number or four.

    Why: most likelihoods do not depend on the source, some do.
    Units: shares.
    Range: from 0 to 1; one number, or four for drilled well, dug well, lake, river / spring / cistern.
    Raises: ``OutsideValidRange`` otherwise.
    Source: none needed (a form, not a figure).

    >>> column(0.3)
    (0.3, 0.3, 0.3, 0.3)
    """
    parts = [float(part) for part in value] if isinstance(value, list | tuple) else [float(value)] * 4
    if len(parts) != 4:
        raise OutsideValidRange(
            "number of shares", len(parts), low=4, high=4, source="one, or one a column of source"
        )
    for part in parts:
        if not 0.0 <= part <= 1.0:
            raise OutsideValidRange("share", part, low=0.0, high=1.0)
    return parts[0], parts[1], parts[2], parts[3]


def _columns(row: Mapping[str, Any]) -> dict[str, Column]:
    return {code: column(value) for code, value in row.items()}


def _causes() -> dict[str, Cause]:
    return {
        code: Cause(
            code=code,
            words=row["value"],
            plain=row["plain"],
            confirm=row["confirm"],
            health=row.get("health", ""),
            signs=_columns(row.get("signs", {})),
            presents=_columns(row.get("presents", {})),
            results=row.get("results", {}),
        )
        for code, row in figures.rows("diagnosis-causes").items()
    }


def _observations() -> dict[str, Observation]:
    effort = figures.figure("diagnosis-practice", "effort").value
    shy = column(figures.figure("diagnosis-practice", "complaint_background").value)
    asks = figures.figure("symptoms", "questions").value
    found = {}
    cost, days, answered = effort["phone"]
    for code, group, words, urgent in figures.figure("symptoms", "symptoms").value:
        found[code] = Observation(
            code, words, asks[code], group, "complaint", "phone", shy, Decimal(str(cost)), days, answered,
            complaint=True, urgent=urgent,
        )  # fmt: skip
    for code, row in figures.rows("diagnosis-observations").items():
        cost, days, answered = effort[row["asked"]]
        found[code] = Observation(
            code=code,
            words=row["value"],
            ask=row["ask"],
            group=row["group"],
            picture=row["picture"],
            asked=row["asked"],
            background=column(row["background"]),
            cost=Decimal(str(row.get("cost", cost))),
            days=float(row.get("days", days)),
            answered=float(row.get("answered", answered)),
            sources=frozenset(row.get("sources", ())),
        )
    return found


def _shares() -> dict[str, tuple[Share, ...]]:
    tables = figures.rows("diagnosis-weights")
    tables.pop("columns")
    return {
        complaint: tuple(Share(row[0], column(row[1:5]), row[5], row[6]) for row in table["value"])
        for complaint, table in tables.items()
    }


def _measures() -> dict[str, Measure]:
    found = {}
    for code, row in figures.rows("diagnosis-results").items():
        opens = row.get("stands_for", {})
        found[code] = Measure(
            code=code,
            cuts=tuple(row["value"]),
            unit=row["unit"],
            profiles={name: tuple(row[name]) for name in PROFILES if name in row},
            yields_to=row.get("yields_to", ""),
            complaint=opens.get("complaint", ""),
            opens_from=opens.get("from"),
            opens_to=opens.get("to"),
        )
    return found


def _packages() -> dict[str, Package]:
    effort = figures.figure("diagnosis-practice", "effort").value
    return {
        code: Package(
            code=code,
            words=row["value"],
            analytes=tuple(row["analytes"]),
            asked=row["by"],
            cost=Decimal(str(row["cost"])),
            days=row["days"],
            answered=effort[row["by"]][2],
        )
        for code, row in figures.rows("diagnosis-packages").items()
    }


def _rules() -> tuple[Rule, ...]:
    return tuple(
        Rule(
            code=code,
            kind=row["kind"],
            words=row["value"],
            do=row.get("do", ""),
            severity=row.get("severity", ""),
            sizing=row.get("sizing", True),
            when=tuple(checked_line(line) for line in row["when"]),
            no_boiling=row.get("no_boiling", False),
            do_unboiled=row.get("do_unboiled", ""),
            plain=row.get("plain", ""),
            plain_unboiled=row.get("plain_unboiled", ""),
        )
        for code, row in figures.rows("diagnosis-rules").items()
    )


def _practice() -> Practice:
    def number(key: str) -> Any:
        return figures.figure("diagnosis-practice", key).value

    low, high = number("certainty")
    return Practice(
        day_cost=number("day_cost"),
        something_else=number("something_else"),
        certainty=(low, high),
        prior_strength=number("prior_strength"),
        least_gain=number("least_gain"),
    )


def _devices() -> tuple[dict[str, Device], dict[str, Feature]]:
    devices = {
        code: Device(
            code=code,
            words=row["value"],
            stage_kind=row.get("stage"),
            weight=column(row["weight"]),
            features=dict(row["features"]),
            look_alikes=tuple(row["look_alikes"]),
            tell_apart=row["tell_apart"],
            confirm=row["confirm"],
            photograph=row["photograph"],
            read_on_it=tuple(row["read"]),
            unknowns=tuple(row.get("unknowns", ())),
            caution=row.get("caution", ""),
        )
        for code, row in figures.rows("devices").items()
    }
    features = {
        code: Feature(
            code=code,
            words=row["value"],
            ask=row["ask"],
            picture=row["picture"],
            background=row["background"],
            effort=row["effort"],
            answered=row["answered"],
        )
        for code, row in figures.rows("device-features").items()
    }
    return devices, features


@cache
def load_tables() -> DiagnosisTables:
    """The tables as the house ships them, before any dealer's corrections.

    Why: one set of tables for every surface; a dealer's own are made from it by ``tables_with``.
    Units: shares, money of the dealer, days; cut points in the engine's units.
    Range: the figure files ``diagnosis-*``, ``symptoms``, ``devices`` and ``device-features``.
    Raises: ``OutsideValidRange`` where a file holds a share outside 0 to 1 or a rule cannot be read.
    Source: ``sizing/figures`` (every share is judgement and says so; links cite their documents).

    >>> tables = load_tables()
    >>> tables.causes["hardness"].words
    'Calcium and magnesium (hard water)'
    >>> len(tables.shares) == sum(one.complaint for one in tables.observations.values())
    True
    """
    devices, features = _devices()
    groups = dict(figures.figure("symptoms", "groups").value) | dict(
        figures.figure("diagnosis-practice", "groups").value
    )
    return DiagnosisTables(
        causes=_causes(),
        observations=_observations(),
        shares=_shares(),
        measures=_measures(),
        packages=_packages(),
        rules=_rules(),
        devices=devices,
        features=features,
        groups=groups,
        columns=figures.figure("diagnosis-weights", "columns").value,
        practice=_practice(),
    )
