"""Reading the outbox."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db.models import Count, Min, QuerySet
from django.utils.translation import gettext_lazy as _

from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from service.reminders.models import Message, MessageState

NEEDS_A_PERSON = (MessageState.HELD, MessageState.DEAD, MessageState.FAILED)
RULE_WORDS = {
    "service_due": _("a visit falls due"),
    "quote_issued": _("a quote was issued"),
    "do_not_drink": _("do not drink"),
    "notice_lifted": _("the notice is lifted"),
    "sign_in_link": _("a sign-in link was asked for"),
    "install_booked": _("a visit is booked"),
    "questions": _("the questions were asked for"),
}


def rule_words(rule: str) -> str:
    """Why a message is sent, in words."""
    return str(RULE_WORDS.get(rule, rule.replace("_", " ")))


def outbox(actor: Actor) -> QuerySet[Message]:
    """Every message of the dealer, newest first, with household or enquiry."""
    actor.must("message.read")
    return Message.objects.select_related("site__customer", "enquiry", "attachment").order_by("-queued_at", "-pk")


def message_for(actor: Actor, public_id: UUID | str) -> Message:
    """One message by public id; ``Http404`` to strangers."""
    message: Message = get_public(outbox(actor), public_id)
    return message


def counts() -> dict[str, int]:
    """How many messages stand in each state."""
    return dict(Message.objects.order_by().values_list("state").annotate(n=Count("pk")))


def oldest_waiting(now: datetime) -> datetime | None:
    """Since when the oldest message that should be out is waiting; ``None`` when nothing waits."""
    waiting = Message.objects.filter(state=MessageState.QUEUED, send_after__lte=now)
    moment: datetime | None = waiting.aggregate(first=Min("send_after"))["first"]
    return moment
