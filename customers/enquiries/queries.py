"""Reads of enquiries: who may see which, what stands answered, what is open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import cast
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from customers.enquiries.facts import facts_heard, observations_heard
from customers.enquiries.models import AnswerKind, Enquiry, EnquiryAnswer, EnquiryState
from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from sizing.engine.design import SourceType
from sizing.engine.diagnosis_tables import Answer, Evidence
from sizing.engine.water import Water

OPEN = tuple(state for state in EnquiryState.values if state != EnquiryState.CLOSED)


@dataclass(frozen=True)
class Answers:
    """What stands answered in an enquiry: code to answer, by kind; of devices by the number of the device."""

    observations: Mapping[str, Answer] = field(default_factory=dict)
    things: Mapping[int, Mapping[str, Answer]] = field(default_factory=dict)
    facts: Mapping[str, Answer] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.observations or self.things or self.facts)

    def features(self, thing: int = 1) -> Mapping[str, Answer]:
        """What was seen, or not, on one of the devices."""
        return self.things.get(thing, {})


def standing() -> Prefetch[str, QuerySet[EnquiryAnswer], str]:
    """Prefetch of the answers that stand, as ``enquiry.standing``: one query however many enquiries."""
    rows = EnquiryAnswer.objects.filter(ended_at__isnull=True)
    return Prefetch("answers", queryset=rows, to_attr="standing")


def enquiries_for(actor: Actor) -> QuerySet[Enquiry]:
    """Enquiries the actor may see: all at the desk, none elsewhere."""
    rows: QuerySet[Enquiry] = Enquiry.objects.select_related("site__customer", "dealer")
    return rows if actor.may("enquiry.read") else rows.none()


def enquiry_for(actor: Actor, public_id: UUID | str) -> Enquiry:
    """One enquiry; ``Http404`` for a stranger's, a missing and a malformed id alike."""
    enquiry: Enquiry = get_public(enquiries_for(actor), public_id)
    return enquiry


def open_enquiries(actor: Actor) -> QuerySet[Enquiry]:
    """What is not closed, newest first, with the answers that stand."""
    return enquiries_for(actor).filter(state__in=OPEN).prefetch_related(standing())


def sorted_answers(rows: Iterable[EnquiryAnswer]) -> Answers:
    """Answers that stand, by kind, in the order they were given."""
    found: dict[str, dict[str, Answer]] = {kind: {} for kind in AnswerKind.values}
    things: dict[int, dict[str, Answer]] = {}
    for row in rows:
        if row.ended_at is None:
            about = things.setdefault(row.thing, {}) if row.kind == AnswerKind.FEATURE else found[row.kind]
            about[row.code] = cast(Answer, row.answer)
    return Answers(found[AnswerKind.OBSERVATION], things, found[AnswerKind.FACT])


def answers_of(enquiry: Enquiry) -> Answers:
    """What stands answered; read once where ``standing`` was prefetched."""
    rows = getattr(enquiry, "standing", None)
    if rows is None:
        rows = enquiry.answers.filter(ended_at__isnull=True)
    return sorted_answers(rows)


def evidence_of(
    answers: Answers,
    source: SourceType,
    jurisdiction: str,
    *,
    known: Iterable[str],
    water: Water | None = None,
    below: frozenset[str] = frozenset(),
    above: frozenset[str] = frozenset(),
) -> Evidence:
    """The engine's evidence: answers and facts, with what was measured where the household is known.

    Answers to questions that are no longer in the tables (``known``: their codes) are left aside, not lost.
    """
    codes = set(known)
    heard = observations_heard(answers.facts, answers.observations)
    return Evidence(
        source=source,
        answers={code: answer for code, answer in heard.items() if code in codes},
        water=water,
        facts=facts_heard(answers.facts, answers.observations),
        below=below,
        above=above,
        jurisdiction=jurisdiction,
    )
