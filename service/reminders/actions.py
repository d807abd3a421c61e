"""The outbox: say each thing once, send it by a claim with a lease, and show what failed.

One window stays open and is accepted: when the mail server has taken a message and the sender dies before it
could write that down, the message is sent again once its lease has run out, under the same Message-ID. So a
crash may double at most the message in hand.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.db.models import F, Q

from customers.dealers.models import Dealer
from customers.dealers.queries import today_at
from customers.enquiries.keeping import enter
from customers.enquiries.models import Enquiry
from customers.households.actions import add_log
from customers.households.models import Site
from service.documents.models import Paper
from service.reminders.models import Message, MessageState, Suppression
from service.reminders.writing import ASKED_FOR, SAFETY, Written, write_message, write_to_caller

LEASE = timedelta(minutes=5)
STALE_DAYS = 14  # ours: a reminder found this late goes to a person instead


class MessageRefused(ValueError):
    """A message cannot be moved as asked; says where it stands and what would do."""


@transaction.atomic
def queue_message(
    *,
    site: Site | None = None,
    enquiry: Enquiry | None = None,
    rule: str,
    subject_key: str,
    due_on: date,
    to_address: str,
    subject: str,
    body: str,
    body_html: str = "",
    attachment: Paper | None = None,
    now: datetime,
    send_after: datetime | None = None,
) -> Message | None:
    """Put a message about a household or an enquiry in the outbox; ``None`` when this was already said (same rule,
    subject and due date).

    It is held for a person when its due date is long past or nobody gave an address, and suppressed for an
    address that wants no reminders or bounced; safety notices and links somebody waits for go all the same.
    """
    whose = site if site is not None else enquiry
    if whose is None:
        raise MessageRefused("a message is about a household or an enquiry; neither was given")
    state, why = _first_state(whose.dealer, rule, to_address, due_on, now)
    key = uuid.uuid4()
    message, made = Message.objects.get_or_create(
        dealer=whose.dealer,
        site=site,
        enquiry=enquiry,
        rule=rule,
        subject_key=subject_key,
        due_on=due_on,
        channel="email",
        defaults={
            "public_id": key,
            "to_address": to_address,
            "subject": subject,
            "body": body,
            "body_html": body_html,
            "attachment": attachment,
            "message_id": f"<{key}@{settings.DEFAULT_FROM_EMAIL.rpartition('@')[2]}>",
            "state": state,
            "last_error": why,
            "queued_at": now,
            "send_after": send_after or now,
        },
    )
    return message if made else None


def _first_state(dealer: Dealer, rule: str, address: str, due_on: date, now: datetime) -> tuple[str, str]:
    if not address:
        return MessageState.HELD, "no e-mail address on file; tell them by phone"
    late = (today_at(dealer, now) - due_on).days
    if rule == "service_due" and late > STALE_DAYS:
        return MessageState.HELD, f"{late} days past its date when found; a person decides"
    if rule in SAFETY | ASKED_FOR:
        return MessageState.QUEUED, ""
    stop = Suppression.objects.filter(address__iexact=address).first()
    if stop is not None:
        return MessageState.SUPPRESSED, f"{address}: {stop.reason}"[:300]
    return MessageState.QUEUED, ""


def tell(
    *,
    site: Site,
    event: str,
    subject_key: str,
    due_on: date,
    now: datetime,
    context: Mapping[str, Any],
    to_address: str | None = None,
    attachment: Paper | None = None,
    send_after: datetime | None = None,
) -> Message | None:
    """Write an event's message and queue it, to the customer's address unless told; ``None`` if already said."""
    address = site.customer.email if to_address is None else to_address
    said = Message.objects.filter(site=site, rule=event, subject_key=subject_key, due_on=due_on, channel="email")
    if said.exists():
        return None
    written = write_message(event=event, site=site, to_address=address, context=context)
    return queue_message(
        site=site,
        rule=event,
        subject_key=subject_key,
        due_on=due_on,
        to_address=address,
        subject=written.subject,
        body=written.body,
        body_html=written.body_html,
        attachment=attachment,
        now=now,
        send_after=send_after,
    )


def tell_caller(
    *, enquiry: Enquiry, event: str, subject_key: str, now: datetime, context: Mapping[str, Any], to_address: str
) -> Message | None:
    """Write an event's message to somebody who enquired and queue it; ``None`` if already said today."""
    written: Written = write_to_caller(event=event, enquiry=enquiry, to_address=to_address, context=context)
    return queue_message(
        enquiry=enquiry,
        rule=event,
        subject_key=subject_key,
        due_on=today_at(enquiry.dealer, now),
        to_address=to_address,
        subject=written.subject,
        body=written.body,
        body_html=written.body_html,
        now=now,
    )


def _noted(message: Message, actor_name: str, what: str, now: datetime) -> None:
    """A line in the log of what the message is about."""
    if message.site is not None:
        add_log(site=message.site, who=actor_name, what=what, at=now)
    elif message.enquiry is not None:
        enter(message.enquiry, actor_name, what, now)


@transaction.atomic
def claim_messages(*, now: datetime, limit: int = 20) -> list[Message]:
    """Claim messages whose time has come, or whose claimer's lease ran out; only what was won is returned.

    Each claim is a conditional update that counts the attempt up; the count is the claim's own number, so a
    claimer that lost its lease can no longer write the outcome.
    """
    ready = Q(state__in=[MessageState.QUEUED, MessageState.FAILED], send_after__lte=now)
    left = Q(state=MessageState.CLAIMED, lease_until__lt=now)
    won: list[int] = []
    for pk, state, attempts in (
        Message.objects.filter(ready | left)
        .order_by("send_after", "pk")
        .values_list("pk", "state", "attempts")[:limit]
    ):
        taken = Message.objects.filter(pk=pk, state=state, attempts=attempts).update(
            state=MessageState.CLAIMED, lease_until=now + LEASE, attempts=F("attempts") + 1
        )
        if taken:
            won.append(pk)
    return list(
        Message.objects.filter(pk__in=won).select_related("dealer", "site", "attachment").order_by("send_after", "pk")
    )


@transaction.atomic
def retry_message(*, message: Message, actor_name: str, now: datetime) -> Message:
    """Let a message that failed, was given up or is held go out again. Raises ``MessageRefused`` otherwise."""
    states = [MessageState.DEAD, MessageState.HELD, MessageState.FAILED]
    if not message.to_address:
        raise MessageRefused(f"{message.subject}: no address; put one in the household's file first")
    moved = Message.objects.filter(pk=message.pk, state__in=states).update(
        state=MessageState.QUEUED, send_after=now, attempts=0, lease_until=None, last_error=""
    )
    message.refresh_from_db()
    if not moved:
        raise MessageRefused(
            f"{message.subject} is {message.get_state_display()}; only one that failed or is held is sent again."
        )
    _noted(message, actor_name, f"message to be sent again: {message.subject}", now)
    return message


@transaction.atomic
def drop_message(*, message: Message, actor_name: str, now: datetime) -> Message:
    """Decide that a held or failed message is not sent. Raises ``MessageRefused`` otherwise."""
    moved = Message.objects.filter(pk=message.pk, state__in=[MessageState.HELD, MessageState.FAILED]).update(
        state=MessageState.DEAD, lease_until=None, last_error=f"not sent: decided by {actor_name}"[:300]
    )
    message.refresh_from_db()
    if not moved:
        raise MessageRefused(f"{message.subject} is {message.get_state_display()}; only a held one is dropped.")
    _noted(message, actor_name, f"message not sent: {message.subject}", now)
    return message


@transaction.atomic
def suppress(*, dealer: Dealer, address: str, reason: str, now: datetime) -> Suppression:
    """Send no more reminders to an address; what is queued for it stops too, safety notices excepted.

    Asking twice changes nothing. Raises ``MessageRefused`` for something that is no address.
    """
    try:
        validate_email(address)
    except ValidationError:
        raise MessageRefused(f"address is {address!r}, accepted is an e-mail address") from None
    row, _made = Suppression.objects.get_or_create(
        dealer=dealer, address=address.lower(), defaults={"reason": reason[:120], "since": now}
    )
    Message.objects.filter(
        to_address__iexact=address, state__in=[MessageState.QUEUED, MessageState.FAILED, MessageState.HELD]
    ).exclude(rule__in=SAFETY | ASKED_FOR).update(
        state=MessageState.SUPPRESSED, last_error=f"{address}: {reason}"[:300]
    )
    return row
