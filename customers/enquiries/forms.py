"""What a page of an enquiry sends, one field or all of them: details, answers, answers taken back.

Names of fields: a detail by its own name; ``a-<letter>-<code>`` an answer ("" takes it back); ``shown`` and ``off``
hold ``<letter>-<code>`` of boxes that send nothing when they are not ticked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from django.http import QueryDict

from customers.enquiries.actions import DETAILS
from customers.enquiries.models import AnswerKind
from customers.enquiries.queries import Answers

KINDS: Mapping[str, str] = MappingProxyType(
    {"o": AnswerKind.OBSERVATION.value, "f": AnswerKind.FEATURE.value, "p": AnswerKind.FACT.value}
)
LETTERS = MappingProxyType({kind: letter for letter, kind in KINDS.items()})


@dataclass(frozen=True)
class SaidIn:
    """What was sent: columns, answers and codes taken back, both by kind."""

    details: Mapping[str, str] = field(default_factory=dict)
    answers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    back: Mapping[str, frozenset[str]] = field(default_factory=dict)


def field_name(kind: str, code: str) -> str:
    """The field of a question."""
    return f"a-{LETTERS[kind]}-{code}"


def _split(name: str) -> tuple[str, str] | None:
    """Kind and code of ``<letter>-<code>``, or nothing for a name that is none of ours."""
    letter, dash, code = name.partition("-")
    return (KINDS[letter], code) if dash and code and letter in KINDS else None


def read_said(sent: QueryDict, standing: Answers) -> SaidIn:
    """What a page sent. A box that is not ticked takes back a yes, never a no: that was answered elsewhere."""
    details = {name: str(sent[name]) for name in DETAILS if name in sent}
    answers: dict[str, dict[str, str]] = {}
    back: dict[str, set[str]] = {}
    for name in sent:
        found = _split(name.removeprefix("a-")) if name.startswith("a-") else None
        if found is None:
            continue
        kind, code = found
        if sent[name]:
            answers.setdefault(kind, {})[code] = str(sent[name])
        else:
            back.setdefault(kind, set()).add(code)
    by_kind = {
        AnswerKind.OBSERVATION.value: standing.observations,
        AnswerKind.FEATURE.value: standing.features,
        AnswerKind.FACT.value: standing.facts,
    }
    for name in (*sent.getlist("shown"), *sent.getlist("off")):
        found = _split(name)
        if found and found[1] not in answers.get(found[0], {}) and by_kind[found[0]].get(found[1]) == "yes":
            back.setdefault(found[0], set()).add(found[1])
    return SaidIn(details, answers, {kind: frozenset(codes) for kind, codes in back.items()})
