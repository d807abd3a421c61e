"""The order of stages as data: which stands before which, how strongly, and why."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from sizing.engine.design import StageKind
from sizing.engine.figures import FOLDER
from sizing.engine.stages.base import Stage

STRENGTHS = ("hard", "soft", "forbidden", "either")


@dataclass(frozen=True)
class OrderRule:
    """``before`` stands before ``after``. Codes are stage kinds, and "sediment_coarse", "sediment_fine",
    "pressure_tank", "plumbing", "outdoor_branch", "air_injection".

    ``strength``: "hard" must, "soft" should, "either" no rule, "forbidden" never so unless one of
    ``unless_between`` stands between.
    """

    before: str
    after: str
    strength: str
    reason: str
    source: str
    status: str
    unless_between: tuple[str, ...] = ()


@dataclass(frozen=True)
class Breach:
    """A rule that a line of stages breaks, with the places (0 = first) of the two stages."""

    rule: OrderRule
    first: int
    second: int


@cache
def order_rules() -> tuple[OrderRule, ...]:
    """All precedences, groups written out, in file order.

    Units: none.
    Range: none.
    Raises: ``KeyError`` where the file lacks a field.
    Source: each rule names its own (published rules and common practice).

    >>> any(rule.before == "softener" and rule.after == "uv" for rule in order_rules())
    True
    """
    with (FOLDER / "order.toml").open("rb") as handle:
        data = tomllib.load(handle)
    groups: dict[str, list[str]] = data["groups"]
    rules: dict[tuple[str, str, str], OrderRule] = {}
    for row in data["rules"]:
        between = tuple(code for name in row.get("unless_between", ()) for code in groups.get(name, [name]))
        for before in groups.get(row["before"], [row["before"]]):
            for after in groups.get(row["after"], [row["after"]]):
                rule = OrderRule(before, after, row["strength"], row["reason"], row["source"], row["status"], between)
                rules.setdefault((before, after, rule.strength), rule)
    return tuple(rules.values())


def order_code(stage: Stage) -> str:
    """The code a stage has in the rules: its kind, a sediment cartridge by its fineness.

    Units: none.
    Range: any stage.
    Raises: nothing.
    Source: 5 um or finer is fine (common practice).

    >>> class Softener: kind = StageKind.SOFTENER
    >>> order_code(Softener())
    'softener'
    """
    if stage.kind is StageKind.SEDIMENT:
        return "sediment_fine" if getattr(stage, "fine", False) else "sediment_coarse"
    return stage.kind.value


def breaches(codes: Sequence[str], *, strengths: Sequence[str] = ("hard", "forbidden")) -> tuple[Breach, ...]:
    """Rules that a line of codes breaks.

    Units: none.
    Range: any codes; unknown ones are under no rule.
    Raises: nothing.
    Source: ``order_rules``.

    >>> [breach.rule.reason for breach in breaches(["uv", "softener"])]
    ['hardness above 7 gpg scales the sleeve']
    """
    found = []
    for rule in order_rules():
        if rule.strength not in strengths:
            continue
        for i, first in enumerate(codes):
            for j in range(i + 1, len(codes)):
                if _breaks(rule, first, codes[j], codes[i + 1 : j]):
                    found.append(Breach(rule, i, j))
    return tuple(found)


def reasons_between(before: str, after: str) -> tuple[OrderRule, ...]:
    """The rules that put one code before another, the strongest first.

    Units: none.
    Range: any codes.
    Raises: nothing.
    Source: ``order_rules``.

    >>> reasons_between("restrictor", "uv")[0].strength
    'hard'
    """
    found = [rule for rule in order_rules() if (rule.before, rule.after) == (before, after)]
    return tuple(sorted(found, key=lambda rule: STRENGTHS.index(rule.strength)))


def _breaks(rule: OrderRule, first: str, second: str, between: Sequence[str]) -> bool:
    if rule.strength == "forbidden":
        same = (rule.before, rule.after) == (first, second)
        return same and not set(rule.unless_between) & set(between)
    return rule.strength in ("hard", "soft") and (rule.before, rule.after) == (second, first)
