"""Rules in a few words: what is said before any cause, and what cannot both be true."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sizing.engine.design import SourceType
from sizing.engine.diagnosis_results import IRON_SHARE, Result
from sizing.engine.diagnosis_tables import Answer, Rule
from sizing.engine.errors import UnreadableValue
from sizing.engine.water import ANALYTES

SEVERITIES = ("danger", "do_not_drink", "refer", "caution")
WORD = re.compile(
    r"(?P<turned>!?)(?P<kind>yes|no|fact|source|open|result|untested|cause):"
    r"(?P<code>[a-z0-9_,]+)(?P<sign>>=|<=|>|<)?(?P<number>[0-9.]+)?"
)


@dataclass(frozen=True)
class Known:
    """What a rule may ask about: everything known of one water, and the shares of its causes."""

    source: SourceType
    answers: Mapping[str, Answer]
    results: Mapping[str, Result]
    facts: frozenset[str]
    opened: frozenset[str]
    causes: Mapping[str, float]


def checked_line(line: Sequence[str]) -> tuple[str, ...]:
    """The words of one line of a rule, refused where one cannot be read.

    Why: a misspelt rule would be silent for ever.
    Units: results in the engine's units, causes as shares.
    Range: the words named in the head of ``diagnosis-rules.toml``.
    Raises: ``UnreadableValue`` naming the word.
    Source: none needed (a form, not a figure).

    >>> checked_line(["source:lake,river", "result:iron_dissolved>0.3"])
    ('source:lake,river', 'result:iron_dissolved>0.3')
    """
    for word in line:
        found = WORD.fullmatch(word)
        numbered = found is not None and found["kind"] in ("result", "cause")
        if found is None or numbered != (found["number"] is not None) or numbered != (found["sign"] is not None):
            raise UnreadableValue(
                "rule", word, "yes:, no:, fact:, source:, open:, untested:, result:x>=1, cause:x>=0.1"
            )
        codes = set(found["code"].split(","))
        if found["kind"] == "source" and not codes <= {kind.value for kind in SourceType}:
            raise UnreadableValue("rule", word, ", ".join(kind.value for kind in SourceType))
        if found["kind"] in ("result", "untested") and not codes <= {*ANALYTES, IRON_SHARE}:
            raise UnreadableValue("rule", word, "an analyte the engine knows")
    return tuple(line)


def holding(rules: Iterable[Rule], kind: str, known: Known) -> tuple[Rule, ...]:
    """The rules of a kind that hold, gravest first, otherwise as listed.

    Why: health is said first, whatever ranks first among the causes.
    Units: none.
    Range: rules whose lines passed ``checked_line``.
    Raises: nothing; what is not known makes a word false.
    Source: the rules' own file.

    >>> rule = Rule("x", "interlock", "", "", "caution", True, (("fact:infants", "untested:nitrate"),))
    >>> known = Known(SourceType.LAKE, {}, {}, frozenset({"infants"}), frozenset(), {})
    >>> [one.code for one in holding([rule], "interlock", known)]
    ['x']
    """
    found = [
        rule
        for rule in rules
        if rule.kind == kind and any(all(_holds(word, known) for word in line) for line in rule.when)
    ]
    grades = {severity: grade for grade, severity in enumerate(SEVERITIES)}
    return tuple(sorted(found, key=lambda rule: grades.get(rule.severity, len(grades))))


def _holds(word: str, known: Known) -> bool:
    found = WORD.fullmatch(word)
    if found is None:  # cannot be: lines are checked when read
        return False
    code, kind = found["code"], found["kind"]
    if kind in ("yes", "no"):
        truth = known.answers.get(code) == kind
    elif kind == "fact":
        truth = code in known.facts
    elif kind == "source":
        truth = known.source.value in code.split(",")
    elif kind == "open":
        truth = code in known.opened
    elif kind == "untested":
        truth = code not in known.results
    elif kind == "cause":
        truth = known.causes.get(code, 0.0) >= float(found["number"])
    else:
        truth = _compares(known.results.get(code), found["sign"], float(found["number"]))
    return truth != bool(found["turned"])


def _compares(result: Result | None, sign: str, number: float) -> bool:
    if result is None:
        return False
    if sign == ">=":
        return result.at_least(number)
    if sign == ">":
        return result.over(number)
    if sign == "<":
        return result.under(number)
    return result.under(number) or (result.sign == "=" and result.value == number)
