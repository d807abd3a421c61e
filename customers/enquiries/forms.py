"""What a page of an enquiry sends, one field or all of them: details, answers, answers taken back.

Names of fields: a detail by its own name; ``a-<letter>-<code>`` an answer ("" takes it back); ``shown`` and ``off``
hold ``<letter>-<code>`` of boxes that send nothing when they are not ticked. Of a second device the letter is
``f2``, of a third ``f3``; ``called-2`` is what people call it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from django.http import QueryDict
from django.utils.translation import gettext as _

from customers.enquiries.actions import DETAILS
from customers.enquiries.keeping import EnquiryRefused
from customers.enquiries.models import AnswerKind
from customers.enquiries.queries import Answers

KINDS: Mapping[str, str] = MappingProxyType(
    {"o": AnswerKind.OBSERVATION.value, "f": AnswerKind.FEATURE.value, "p": AnswerKind.FACT.value}
)
#: What an answer is about: its kind, and which device where it is about one.
About = tuple[str, int]
_NAME = re.compile(r"([ofp])([2-9]?)-(.+)", re.DOTALL)
_CALLED = re.compile(r"called-([1-9])")
LETTERS = MappingProxyType({kind: letter for letter, kind in KINDS.items()})


@dataclass(frozen=True)
class SaidIn:
    """What was sent: columns, answers and codes taken back, both by what they are about, and names of devices."""

    details: Mapping[str, str] = field(default_factory=dict)
    answers: Mapping[About, Mapping[str, str]] = field(default_factory=dict)
    back: Mapping[About, frozenset[str]] = field(default_factory=dict)
    called: Mapping[int, str] = field(default_factory=dict)


def box_name(kind: str, code: str, thing: int = 1) -> str:
    """A question as ``shown`` and ``off`` name it."""
    return f"{LETTERS[kind]}{thing if thing > 1 else ''}-{code}"


def field_name(kind: str, code: str, thing: int = 1) -> str:
    """The field of a question."""
    return f"a-{box_name(kind, code, thing)}"


def _split(name: str) -> tuple[About, str] | None:
    """What ``<letter>-<code>`` is about and its code, or nothing for a name that is none of ours."""
    found = _NAME.fullmatch(name)
    if found is None or (found[2] and KINDS[found[1]] != AnswerKind.FEATURE):
        return None
    return (KINDS[found[1]], int(found[2] or 1)), found[3]


def read_said(sent: QueryDict, standing: Answers) -> SaidIn:
    """What a page sent. A box that is not ticked takes back a yes, never a no: that was answered elsewhere."""
    details = {name: str(sent[name]) for name in DETAILS if name in sent}
    answers: dict[About, dict[str, str]] = {}
    back: dict[About, set[str]] = {}
    for name in sent:
        found = _split(name.removeprefix("a-")) if name.startswith("a-") else None
        if found is None:
            continue
        about, code = found
        if sent[name]:
            answers.setdefault(about, {})[code] = str(sent[name])
        else:
            back.setdefault(about, set()).add(code)
    for name in (*sent.getlist("shown"), *sent.getlist("off")):
        found = _split(name)
        if found and found[1] not in answers.get(found[0], {}) and _stands(standing, *found) == "yes":
            back.setdefault(found[0], set()).add(found[1])
    named = ((_CALLED.fullmatch(name), sent[name]) for name in sent)
    called = {int(found[1]): str(words) for found, words in named if found}
    return SaidIn(details, answers, {about: frozenset(codes) for about, codes in back.items()}, called)


def _stands(standing: Answers, about: About, code: str) -> str | None:
    kind, thing = about
    if kind == AnswerKind.FEATURE:
        return standing.features(thing).get(code)
    return (standing.observations if kind == AnswerKind.OBSERVATION else standing.facts).get(code)


def thing_of(typed: str) -> int | None:
    """The number of a device as a page sends it, or that it is about none. Raises ``EnquiryRefused``."""
    if not typed:
        return None
    if not re.fullmatch(r"[1-9]", typed):
        raise EnquiryRefused({"device": _("“%(typed)s” is no number of a device") % {"typed": typed}})
    return int(typed)
