"""Celery tasks, thin: they find the dealers, enter each one's scope, and call one action. All may run twice."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime

from celery import shared_task
from django.conf import settings
from django.core.mail import get_connection
from django.utils import timezone

from customers.dealers.models import Dealer
from customers.dealers.queries import today_at
from customers.tenancy.scope import dealer_scope
from service.reminders.actions import claim_messages
from service.reminders.due import remind_due
from service.reminders.models import Message, MessageState
from service.reminders.sending import send_claimed
from service.tasks.redesigns import redesign_households
from service.upkeep.actions import refresh_due
from service.upkeep.models import Tick
from sizing.quotes.actions import lapse_quotes
from sizing.redesigns.queries import waiting

MOST_A_TURN = 500
log = logging.getLogger(__name__)


@shared_task(name="service.tasks.tick")
def tick() -> dict[str, int]:
    """One beat: each dealer's due dates, lapsed quotes and reminders. What one dealer trips over stops no other."""
    now = timezone.now()
    done = _each_dealer(_tick_one, now)
    Tick.objects.update_or_create(name="tick", defaults={"last_at": now})
    return done


def _tick_one(dealer: Dealer, now: datetime) -> int:
    today = today_at(dealer, now)
    with dealer_scope(dealer):
        refresh_due(today=today)
        lapse_quotes(today=today, now=now)
        if waiting():
            redesign_households.delay(dealer.pk)
        return remind_due(dealer=dealer, now=now)


@shared_task(name="service.tasks.send_messages")
def send_messages() -> dict[str, int]:
    """Claim what waits in each dealer's outbox and hand it to the mail server, one connection for all."""
    now = timezone.now()
    done = _each_dealer(_send_one, now)
    Tick.objects.update_or_create(name="post", defaults={"last_at": now})
    return done


def _send_one(dealer: Dealer, now: datetime) -> int:
    """The claims are committed before anything is sent, each outcome by itself after it is known.

    Goes on until nothing waits or the turn is over, so that one dealer's flood does not hold the others up.
    """
    sent = 0
    while sent < MOST_A_TURN:
        with dealer_scope(dealer):
            claimed = claim_messages(now=now)
        if not claimed:
            break
        _hand_over(dealer, claimed)
        sent += len(claimed)
    return sent


def _hand_over(dealer: Dealer, claimed: list[Message]) -> None:
    """Send over one connection to the mail server (one file a message where mail goes to a folder)."""
    connection = get_connection() if settings.EMAIL_URL else None
    try:
        for message in claimed:
            with dealer_scope(dealer):
                kept = send_claimed(message=message, now=timezone.now(), connection=connection)
            if connection is not None and kept.state != MessageState.SENT:
                connection.close()  # the next message opens a new one
    finally:
        if connection is not None:
            connection.close()


def _each_dealer(work: Callable[[Dealer, datetime], int], now: datetime) -> dict[str, int]:
    """Do the work for every dealer; raise what went wrong only after all had their turn."""
    done: dict[str, int] = {}
    troubles: list[Exception] = []
    for dealer in Dealer.objects.order_by("pk"):
        try:
            done[dealer.slug] = work(dealer, now)
        except Exception as trouble:
            log.exception("the clock's work failed for %s", dealer.slug)
            troubles.append(trouble)
    if troubles:
        raise ExceptionGroup("the clock's work failed for some dealers", troubles)
    return done
