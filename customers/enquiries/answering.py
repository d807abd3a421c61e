"""Writes of answers: a later one ends the earlier, nothing is lost."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from customers.enquiries.actions import change_details
from customers.enquiries.devices import call_device, check_thing
from customers.enquiries.facts import FACTS
from customers.enquiries.forms import SaidIn
from customers.enquiries.keeping import EnquiryRefused, Sayer, hold, touch
from customers.enquiries.models import AnswerKind, Enquiry, EnquiryAnswer, Told
from customers.enquiries.placing import carry_over
from customers.observations.actions import clear_observation
from sizing.engine.diagnosis_tables import DiagnosisTables


def known_codes(kind: str, tables: DiagnosisTables) -> set[str]:
    """Codes of the questions of a kind. Raises ``EnquiryRefused`` for another kind."""
    if kind == AnswerKind.OBSERVATION:
        return set(tables.observations)
    if kind == AnswerKind.FEATURE:
        return set(tables.features)
    if kind == AnswerKind.FACT:
        return set(FACTS)
    accepted = ", ".join(AnswerKind.values)
    raise EnquiryRefused({"kind": _("kind is %(kind)s, accepted is %(all)s") % {"kind": kind, "all": accepted}})


@transaction.atomic
def note_answers(
    *,
    enquiry: Enquiry,
    by: Sayer,
    now: datetime,
    kind: str,
    answers: Mapping[str, str],
    tables: DiagnosisTables,
    thing: int = 1,
) -> list[EnquiryAnswer]:
    """Keep answers to several questions of one kind, all or none; an answer that stands already is not said again.

    ``answers``: code to yes, no or unknown; ``thing``: which of the enquiry's devices, where they are about one.
    Raises ``EnquiryRefused`` naming the question.
    """
    codes = known_codes(kind, tables)
    for code, answer in answers.items():
        if code not in codes:
            raise EnquiryRefused({code: _("“%(code)s” is no question of the tables") % {"code": code}})
        if answer not in Told.values:
            told = {"answer": answer, "all": ", ".join(Told.values)}
            raise EnquiryRefused({code: _("the answer is “%(answer)s”, accepted is %(all)s") % told})
    held = hold(enquiry)
    if kind == AnswerKind.FEATURE:
        check_thing(held, thing)
    earlier = {row.code: row for row in _standing(held, kind, thing, answers)}
    news = {code: answer for code, answer in answers.items() if code not in earlier or earlier[code].answer != answer}
    for code in news:
        if code in earlier:
            _end(earlier[code], by, now)
    made = [
        EnquiryAnswer.objects.create(
            dealer_id=held.dealer_id,
            enquiry=held,
            kind=kind,
            code=code,
            thing=thing,
            answer=answer,
            said_by=by.name,
            by_caller=by.caller,
            said_at=now,
        )
        for code, answer in news.items()
    ]
    if made:
        touch(held, by, now)
        enquiry.state, enquiry.changed_at = held.state, held.changed_at
        if held.site_id is not None:
            carry_over(held, by.name, now)
    return made


@transaction.atomic
def take_answers_back(
    *, enquiry: Enquiry, by: Sayer, now: datetime, kind: str, codes: set[str], thing: int = 1
) -> list[EnquiryAnswer]:
    """Take answers back: the questions are open again, the history keeps them. What was not answered stays so."""
    held = hold(enquiry)
    rows = list(_standing(held, kind, thing, codes))
    for row in rows:
        _end(row, by, now)
    if rows:
        touch(held, by, now)
        enquiry.state, enquiry.changed_at = held.state, held.changed_at
    return rows


@transaction.atomic
def write_down(*, enquiry: Enquiry, by: Sayer, now: datetime, said: SaidIn, tables: DiagnosisTables) -> None:
    """Write everything a page sent, all or nothing. Raises ``EnquiryRefused`` naming each field."""
    if said.details:
        change_details(enquiry=enquiry, by=by, now=now, details=said.details)
    for (kind, thing), answers in said.answers.items():
        note_answers(enquiry=enquiry, by=by, now=now, kind=kind, answers=answers, tables=tables, thing=thing)
    for (kind, thing), codes in said.back.items():
        take_answers_back(enquiry=enquiry, by=by, now=now, kind=kind, codes=set(codes), thing=thing)
    for thing, called in said.called.items():
        call_device(enquiry=enquiry, by=by, now=now, number=thing, called=called)


def _standing(enquiry: Enquiry, kind: str, thing: int, codes: object) -> list[EnquiryAnswer]:
    rows = enquiry.answers.filter(kind=kind, thing=thing, code__in=list(codes), ended_at__isnull=True)  # type: ignore[call-overload]
    return list(rows.select_related("observation__site"))


def _end(row: EnquiryAnswer, by: Sayer, now: datetime) -> None:
    """End an answer; the symptom it left in a household's file is gone with it."""
    row.ended_at, row.ended_by = now, by.name
    row.save(update_fields=["ended_at", "ended_by"])
    if row.observation is not None:
        clear_observation(observation=row.observation, actor_name=by.name, now=now)
