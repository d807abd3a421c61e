"""Writes of an enquiry itself: begun, its details, sent in, in hand, closed, its cause confirmed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.utils.translation import gettext as _

from customers.dealers.actions import next_number
from customers.dealers.queries import id_from
from customers.enquiries.counting import count_cause
from customers.enquiries.keeping import EnquiryRefused, Sayer, caller_of, enter, hold, sent_in_by, touch
from customers.enquiries.models import Enquiry, EnquiryState
from customers.households.models import Source
from customers.people.actors import Actor
from sizing.engine.diagnosis_tables import OTHER, DiagnosisTables

#: Columns a person may type, with the most characters each takes.
DETAILS = {"name": 120, "phone": 40, "email": 254, "place": 160, "source": 16, "note": 4000, "told": 4000}


@transaction.atomic
def start_enquiry(
    *, actor: Actor, now: datetime, details: Mapping[str, str] | None = None, form_token: UUID | str | None = None
) -> Enquiry:
    """A new enquiry, numbered. The same ``form_token`` twice gives the one begun first.

    Raises ``EnquiryRefused`` naming each field; nothing is kept then.
    """
    made_id = id_from(actor.dealer, form_token) if form_token else uuid4()
    earlier: Enquiry | None = Enquiry.objects.filter(public_id=made_id).first() if form_token else None
    if earlier is not None:
        return earlier
    enquiry = Enquiry(
        dealer=actor.dealer,
        public_id=made_id,
        started_by=actor.name,
        started_at=now,
        changed_at=now,
        **_checked(details or {}),
    )
    enquiry.number = next_number(dealer=actor.dealer, kind="enquiry")
    enquiry.save()
    enter(enquiry, actor.name, _("begun"), now)
    return enquiry


def _checked(details: Mapping[str, str]) -> dict[str, str]:
    """The columns, trimmed. Raises ``EnquiryRefused`` naming each field, what was typed and what would do."""
    errors, kept = {}, {}
    for name, typed in details.items():
        if name not in DETAILS:
            raise EnquiryRefused({name: _("%(name)s is no detail of an enquiry") % {"name": name}})
        text, most = typed.strip(), DETAILS[name]
        kept[name] = text
        if len(text) > most:
            counts = {"n": len(text), "most": most}
            errors[name] = _("%(n)s characters typed; accepted is at most %(most)s") % counts
        elif name == "source" and text and text not in Source.values:
            told = {"text": text, "all": ", ".join(str(label) for label in Source.labels)}
            errors[name] = _("“%(text)s” chosen; accepted is %(all)s") % told
        elif name == "email" and text and not _is_address(text):
            errors[name] = _("“%(text)s” typed; accepted is an address such as name@mail.example") % {"text": text}
    if errors:
        raise EnquiryRefused(errors)
    return kept


def _is_address(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return True


@transaction.atomic
def change_details(*, enquiry: Enquiry, by: Sayer, now: datetime, details: Mapping[str, str]) -> list[str]:
    """Write the columns that differ; returns their names. Raises ``EnquiryRefused``; nothing is kept then."""
    values = _checked(details)
    held = hold(enquiry)
    changed = [name for name, value in values.items() if getattr(held, name) != value]
    for name in changed:
        setattr(held, name, values[name])
        setattr(enquiry, name, values[name])
    if changed:
        touch(held, by, now, *changed)
        enquiry.state, enquiry.changed_at = held.state, held.changed_at
    return changed


@transaction.atomic
def send_in(*, enquiry: Enquiry, now: datetime) -> Enquiry:
    """The caller is done with the mailed page: the office sees it waiting. Sending twice is sending once.

    Raises ``EnquiryRefused`` for one the dealer has closed.
    """
    held = hold(enquiry)
    if held.state == EnquiryState.ARRIVED:
        return held
    held.came_by = sent_in_by(held)
    held.state, held.arrived_at = EnquiryState.ARRIVED, now
    touch(held, caller_of(held), now, "came_by", "arrived_at")
    enter(held, caller_of(held).name, _("sent in from the mailed page"), now)
    return held


@transaction.atomic
def take_in_hand(*, enquiry: Enquiry, actor: Actor, now: datetime) -> Enquiry:
    """The office has read it and sees to it. Taking it twice changes nothing."""
    held = hold(enquiry)
    if held.state != EnquiryState.IN_HAND:
        held.state = EnquiryState.IN_HAND
        touch(held, Sayer(actor.name), now)
        enter(held, actor.name, _("taken in hand"), now)
    return held


@transaction.atomic
def close_enquiry(*, enquiry: Enquiry, actor: Actor, now: datetime, reason: str) -> Enquiry:
    """Close it, saying why; its mailed pages stop working. Raises ``EnquiryRefused`` without a reason."""
    why = reason.strip()
    if not why or len(why) > 240:
        message = _("%(n)s characters typed; accepted is a reason of 1 to 240") % {"n": len(why)}
        raise EnquiryRefused({"reason": message})
    held = hold(enquiry)
    held.state, held.closed_at = EnquiryState.CLOSED, now
    held.closed_by, held.closed_reason = actor.name, why
    held.changed_at = now
    held.save(update_fields=["state", "closed_at", "closed_by", "closed_reason", "changed_at"])
    held.links.filter(revoked_at__isnull=True).update(revoked_at=now)
    enter(held, actor.name, _("closed: %(why)s") % {"why": why}, now)
    return held


@transaction.atomic
def open_again(*, enquiry: Enquiry, actor: Actor, now: datetime) -> Enquiry:
    """Open a closed one again; what was opened already stays as it is."""
    held: Enquiry = Enquiry.objects.select_for_update().get(pk=enquiry.pk)
    if held.open:
        return held
    held.state = EnquiryState.IN_HAND
    held.closed_at, held.closed_by, held.closed_reason, held.changed_at = None, "", "", now
    held.save(update_fields=["state", "closed_at", "closed_by", "closed_reason", "changed_at"])
    enter(held, actor.name, _("opened again"), now)
    return held


@transaction.atomic
def confirm_cause(
    *, enquiry: Enquiry, actor: Actor, now: datetime, cause: str, tables: DiagnosisTables, note: str = ""
) -> Enquiry:
    """Say what it was in the end: a cause of the dealer's tables or ``something_else``; "" takes it back.

    A closed enquiry may be told its cause too: the job often ends later. It counts in the dealer's tables of
    causes from then on. Raises ``EnquiryRefused``.
    """
    if cause and cause not in tables.causes and cause != OTHER:
        raise EnquiryRefused({"cause": _("“%(cause)s” is no cause of the tables") % {"cause": cause}})
    if len(note.strip()) > 240:
        message = _("%(n)s characters typed; accepted is at most 240") % {"n": len(note.strip())}
        raise EnquiryRefused({"note": message})
    held: Enquiry = Enquiry.objects.select_for_update().get(pk=enquiry.pk)
    if held.confirmed_cause == cause and held.confirmed_note == note.strip():
        return held
    held.confirmed_cause, held.confirmed_note = cause, note.strip() if cause else ""
    held.confirmed_by, held.confirmed_at = (actor.name, now) if cause else ("", None)
    held.changed_at = now
    columns = ["confirmed_cause", "confirmed_note", "confirmed_by", "confirmed_at", "changed_at"]
    held.save(update_fields=columns)
    count_cause(enquiry=held, tables=tables, actor_name=actor.name, now=now)
    words: Any = tables.causes[cause].words if cause in tables.causes else _("something that is not in the tables")
    told = _("cause confirmed: %(words)s") % {"words": words} if cause else _("confirmed cause taken back")
    enter(held, actor.name, told, now)
    return held
