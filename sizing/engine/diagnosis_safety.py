"""What is said first: health and safety, by rule and by limit, whatever ranks first among the causes."""

from __future__ import annotations

from dataclasses import dataclass

from sizing.engine.diagnosis_results import Result
from sizing.engine.diagnosis_rules import SEVERITIES, Known, holding
from sizing.engine.diagnosis_tables import DiagnosisTables, Rule
from sizing.engine.limits import Limit, limit_set
from sizing.engine.water import ANALYTES

OVER_LIMIT = (
    "Not for drinking or cooking until it is treated at the tap and tested again, or another supply is used; "
    "boiling does not take it out. The health unit or a doctor says what it means for this household."
)
ALREADY = {  # analyte to the rule that says it with its own words
    "e_coli": "e_coli",
    "total_coliform": "coliform",
    "nitrate": "nitrate_infants",
    "nitrite": "nitrite",
    "free_chlorine": "chlorine_high",
}


@dataclass(frozen=True)
class Interlock:
    """One hazard: ``severity`` danger, do_not_drink, refer or caution; ``do`` says what to do now.

    ``blocks_sizing``: refer, do not size, until it is settled. ``plain`` is ``do`` for the household to read.
    """

    code: str
    severity: str
    words: str
    do: str
    blocks_sizing: bool
    plain: str = ""


def interlocks(tables: DiagnosisTables, known: Known, jurisdiction: str) -> tuple[Interlock, ...]:
    """Every hazard the evidence names, gravest first.

    Why: a stain is what people ring about; a hazard is what hurts them. Where boiling does harm or no good (a
    bloom, fuel) no line tells people to boil.
    Units: results in the engine's units.
    Range: a jurisdiction of ``limits`` (its health limits in force judge what was measured).
    Raises: ``OutsideValidRange`` for another jurisdiction.
    Source: ``diagnosis-rules.toml`` (common practice, after the documents named there) and the limit documents.

    >>> from sizing.engine.design import SourceType
    >>> from sizing.engine.diagnosis_load import load_tables
    >>> facts = frozenset({"no_barrier"})
    >>> known = Known(SourceType.LAKE, {"white_scale": "yes"}, {}, facts, frozenset({"white_scale"}), {})
    >>> [one.code for one in interlocks(load_tables(), known, "us")]
    ['open_water']
    """
    rules = holding(tables.rules, "interlock", known)
    unboiled = any(rule.no_boiling for rule in rules)
    found = [_said(rule, unboiled=unboiled) for rule in rules]
    said = {one.code for one in found}
    worst: dict[str, Limit] = {}
    for limit in limit_set(jurisdiction):
        result = known.results.get(limit.analyte)
        if result is None or limit.kind != "health" or ALREADY.get(limit.analyte) in said:
            continue
        if _past(result, limit) and _stricter(limit, worst.get(limit.analyte)):
            worst[limit.analyte] = limit
    for analyte, limit in worst.items():
        words = f"{known.results[analyte].words}, past the {limit.authority} {limit.name} of {limit.printed}"
        found.append(Interlock(f"over_{analyte}", "do_not_drink", words, OVER_LIMIT, True, OVER_LIMIT))
    order = {severity: place for place, severity in enumerate(SEVERITIES)}
    return tuple(sorted(found, key=lambda one: order[one.severity]))


def _said(rule: Rule, *, unboiled: bool) -> Interlock:
    do = rule.do_unboiled if unboiled and rule.do_unboiled else rule.do
    plain = rule.plain_unboiled if unboiled and rule.plain_unboiled else rule.plain
    return Interlock(rule.code, rule.severity, rule.words, do, not rule.sizing, plain or do)


def _past(result: Result, limit: Limit) -> bool:
    if limit.sense == "min":
        return result.under(limit.value)
    if ANALYTES[limit.analyte].group == "microbes" and limit.value <= 0.0:
        return result.at_least(1.0)
    return result.over(limit.value)


def _stricter(limit: Limit, other: Limit | None) -> bool:
    return other is None or limit.value < other.value
