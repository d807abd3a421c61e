"""Handing claimed messages to the mail server, and writing down what became of them."""

from __future__ import annotations

import re
import smtplib
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction
from django.utils.html import escape

from service.reminders.actions import suppress
from service.reminders.models import Message, MessageState
from service.reminders.writing import SAFETY, unsubscribe_url

MOST_ATTEMPTS = 12
FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(hours=6)
SECRET = re.compile(r"[0-9a-f]{32}\.[A-Za-z0-9_-]{20,}")  # a sign-in token


def wait_after(attempts: int) -> timedelta:
    """How long to wait after a passing failure: doubling from a minute to six hours."""
    return min(FIRST_WAIT * (2 ** max(attempts - 1, 0)), LONGEST_WAIT)


def email_of(message: Message) -> EmailMultiAlternatives:
    """The mail as sent: the dealer's name and reply address, a stable Message-ID, one-click unsubscribe."""
    dealer = message.dealer
    sender = re.sub(r'[\r\n"<>]', " ", dealer.name)
    headers = {"Message-ID": message.message_id, "Auto-Submitted": "auto-generated"}
    if message.rule not in SAFETY:
        headers["List-Unsubscribe"] = f"<{unsubscribe_url(dealer, message.to_address)}>"
        headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    mail = EmailMultiAlternatives(
        subject=" ".join(message.subject.split()),
        body=message.body,
        from_email=f'"{sender}" <{settings.DEFAULT_FROM_EMAIL}>',
        to=[message.to_address],
        reply_to=[dealer.email],
        headers=headers,
    )
    if message.body_html:
        mail.attach_alternative(message.body_html, "text/html")
    paper = message.attachment
    if paper is not None:
        with paper.file.open("rb") as held:
            mail.attach(f"{paper.number}-{paper.version}.pdf", held.read(), "application/pdf")
    return mail


@transaction.atomic
def send_claimed(*, message: Message, now: datetime, connection: BaseEmailBackend | None = None) -> Message:
    """Send a message this caller has claimed, and write down the outcome under the claim's own number.

    A passing failure (4xx, no connection) waits and tries again, twelve times at most; a refusal (5xx) is
    given up, and a refused recipient gets no more reminders. Does nothing when the claim was lost.
    """
    mine = Message.objects.filter(pk=message.pk, state=MessageState.CLAIMED, attempts=message.attempts)
    if not mine.exists():
        message.refresh_from_db()
        return message
    mail = email_of(message)
    mail.connection = connection
    try:
        mail.send()
    except smtplib.SMTPRecipientsRefused as refused:
        code, words = next(iter(refused.recipients.values()), (550, b""))
        _failed(message, now, int(code), _text(words), recipient=True)
    except smtplib.SMTPResponseException as refused:
        _failed(message, now, int(refused.smtp_code), _text(refused.smtp_error))
    except (smtplib.SMTPException, OSError) as trouble:
        _failed(message, now, 421, f"{type(trouble).__name__}: {trouble}")
    else:
        mine.update(
            state=MessageState.SENT,
            sent_at=now,
            lease_until=None,
            last_error="",
            body=SECRET.sub("…", message.body),
            body_html=SECRET.sub("…", message.body_html),
        )
    message.refresh_from_db()
    return message


def _text(words: bytes | str) -> str:
    return words.decode(errors="replace") if isinstance(words, bytes) else str(words)


def _failed(message: Message, now: datetime, code: int, words: str, *, recipient: bool = False) -> None:
    hard = code >= 500
    worn_out = message.attempts >= MOST_ATTEMPTS
    mine = Message.objects.filter(pk=message.pk, state=MessageState.CLAIMED, attempts=message.attempts)
    mine.update(
        state=MessageState.DEAD if hard or worn_out else MessageState.FAILED,
        lease_until=None,
        send_after=now + wait_after(message.attempts),
        last_error=f"{code} {escape(words)}"[:300],
    )
    if hard and recipient:
        suppress(dealer=message.dealer, address=message.to_address, reason="the address refused mail", now=now)
