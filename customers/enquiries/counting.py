"""What a cause confirmed in an enquiry adds to the dealer's tables of causes."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from customers.causes.actions import About, confirm_cause, take_back_about
from customers.causes.queries import standing_about, tables_of
from customers.enquiries.models import Enquiry
from customers.enquiries.queries import answers_of
from sizing.engine.diagnosis_tables import OTHER, Answer, DiagnosisTables


def complaints_explained(answers: Mapping[str, Answer], cause: str, tables: DiagnosisTables) -> list[str]:
    """The complaints said that the cause stands behind in the tables; where it stands behind none, the one
    complaint said, if it is one: what else would it explain?"""
    said = [code for code in tables.shares if answers.get(code) == "yes"]
    listed = [code for code in said if any(one.cause == cause for one in tables.shares[code])]
    return listed or (said if len(said) == 1 else [])


def count_cause(
    *, enquiry: Enquiry, tables: DiagnosisTables, actor_name: str, now: datetime, leave: Collection[str] = ()
) -> list[str]:
    """Bring the dealer's counts in line with what the enquiry confirms now; the complaints counted.

    Counted is only where the source is known: the tables are by source. Answers to questions that are no longer
    in the tables are left aside, and the complaints in ``leave``, which are counted elsewhere.
    """
    source = enquiry.source or (enquiry.site.source if enquiry.site else "")
    answers = {code: a for code, a in answers_of(enquiry).observations.items() if code in tables.observations}
    cause = enquiry.confirmed_cause
    explained = complaints_explained(answers, cause, tables) if cause and source else []
    counted = [complaint for complaint in explained if complaint not in leave]
    take_back_about(about=enquiry.public_id, actor_name=actor_name, now=now, keep=counted)
    for complaint in counted:
        confirm_cause(
            dealer=enquiry.dealer,
            about=About(enquiry.public_id, enquiry.label, source, enquiry.site),
            complaint=complaint,
            cause=cause,
            answers=answers,
            why=enquiry.confirmed_note,
            actor_name=actor_name,
            now=now,
        )
    return counted


def count_in_household(*, enquiry: Enquiry, actor_name: str, now: datetime) -> list[str]:
    """The enquiry has joined a household: what it confirmed is the household's from now on, and counts once.

    Where the household's file confirmed a cause of the same complaint later than the enquiry did, the file's stands.
    """
    tables = tables_of(enquiry.dealer)
    if enquiry.site is None or enquiry.confirmed_cause not in {*tables.causes, OTHER}:
        return []
    of_file = standing_about(enquiry.site.public_id, enquiry.site).filter(made_at__gte=enquiry.confirmed_at)
    leave = set(of_file.exclude(about=enquiry.public_id).values_list("target", flat=True))
    return count_cause(enquiry=enquiry, tables=tables, actor_name=actor_name, now=now, leave=leave)
