from __future__ import annotations

import smtplib
from datetime import date, timedelta
from typing import Any

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend

from service.reminders.actions import (
    LEASE,
    MessageRefused,
    claim_messages,
    drop_message,
    queue_message,
    retry_message,
    suppress,
    tell,
)
from service.reminders.models import Message, Suppression
from service.reminders.queries import counts, oldest_waiting
from service.reminders.sending import MOST_ATTEMPTS, send_claimed, wait_after
from tests import factories


class Trouble(EmailBackend):
    """A mail server that answers every message with one error."""

    def __init__(self, error: Exception) -> None:
        super().__init__()
        self.error = error

    def send_messages(self, messages: Any) -> int:
        raise self.error


def queue(site: Any, now: Any, **changes: Any) -> Message | None:
    """One message about a visit of 19 May, unless told otherwise."""
    fields: dict[str, Any] = {
        "site": site,
        "rule": "service_due",
        "subject_key": "visit",
        "due_on": date(2026, 6, 12),
        "to_address": "tamsin@home.example",
        "subject": "Next visit",
        "body": "On 12 June.",
        "now": now,
    }
    return queue_message(**{**fields, **changes})


def claimed(now: Any) -> Message:
    """The one message claimed now."""
    (message,) = claim_messages(now=now)
    return message


def test_the_same_thing_is_said_once(site: Any, now: Any) -> None:
    assert queue(site, now) is not None
    assert queue(site, now, subject="Said otherwise") is None
    assert Message.objects.count() == 1
    assert queue(site, now, due_on=date(2027, 6, 12)) is not None


def test_message_id_is_fixed_when_queued(site: Any, now: Any) -> None:
    message = queue(site, now)
    assert message is not None
    assert message.message_id == f"<{message.public_id}@tarnhouse.example>"


def test_sent_with_sender_reply_address_and_one_click_unsubscribe(site: Any, now: Any) -> None:
    queue(site, now)
    send_claimed(message=claimed(now), now=now)
    (sent,) = mail.outbox
    assert sent.from_email == '"Tern Island Water" <post@tarnhouse.example>'
    assert sent.reply_to == ["office@tern-island.example"]
    message = Message.objects.get()
    assert (message.state, message.sent_at, message.attempts) == ("sent", now, 1)
    assert sent.extra_headers["Message-ID"] == message.message_id
    # RFC 8058, section 3.1: both headers, the value of the second fixed, the address an HTTPS (here: own) URL
    assert sent.extra_headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert "/unsubscribe/" in sent.extra_headers["List-Unsubscribe"]


def test_two_senders_never_hold_the_same_message(site: Any, now: Any) -> None:
    for day in range(5):
        queue(site, now, due_on=date(2026, 6, 12) + timedelta(days=day))
    first = claim_messages(now=now, limit=3)
    second = claim_messages(now=now)
    assert {m.pk for m in first} & {m.pk for m in second} == set()
    assert len(first) + len(second) == 5
    assert claim_messages(now=now) == []


def test_a_sender_that_died_before_sending_loses_its_lease(site: Any, now: Any) -> None:
    queue(site, now)
    dead = claimed(now)
    assert claim_messages(now=now + LEASE - timedelta(seconds=1)) == []
    heir = claimed(now + LEASE + timedelta(seconds=1))
    send_claimed(message=heir, now=now + LEASE)
    send_claimed(message=dead, now=now + LEASE)  # wakes up late: its claim is no longer its own
    assert len(mail.outbox) == 1
    assert Message.objects.get().attempts == 2


def test_a_crash_after_the_server_took_it_doubles_that_message_at_most_once(site: Any, now: Any) -> None:
    """The one window left open: the same Message-ID goes out again, then it is written down as sent."""
    queue(site, now)
    crashed = claimed(now)
    mail.outbox.append(mail.EmailMessage(headers={"Message-ID": crashed.message_id}))  # taken, not noted
    send_claimed(message=claimed(now + LEASE + timedelta(seconds=1)), now=now)
    assert [m.extra_headers["Message-ID"] for m in mail.outbox] == [crashed.message_id] * 2
    assert claim_messages(now=now + timedelta(days=30)) == []


@pytest.mark.parametrize(
    "error",
    [
        smtplib.SMTPDataError(451, b"try later"),
        smtplib.SMTPServerDisconnected("gone"),
        ConnectionRefusedError("nobody listens"),
        smtplib.SMTPRecipientsRefused({"tamsin@home.example": (450, b"greylisted")}),
    ],
)
def test_a_passing_failure_waits_longer_each_time(site: Any, now: Any, error: Exception) -> None:
    queue(site, now)
    message = send_claimed(message=claimed(now), now=now, connection=Trouble(error))
    assert (message.state, message.send_after) == ("failed", now + timedelta(minutes=1))
    assert claim_messages(now=now + timedelta(seconds=59)) == []
    later = now + timedelta(minutes=1)
    message = send_claimed(message=claimed(later), now=later, connection=Trouble(error))
    assert message.send_after == later + timedelta(minutes=2)
    send_claimed(message=claimed(now + timedelta(hours=1)), now=now)
    assert Message.objects.get().state == "sent"
    assert len(mail.outbox) == 1


def test_waits_double_up_to_six_hours() -> None:
    minutes = [wait_after(n).total_seconds() / 60 for n in range(1, 12)]
    assert minutes == [1, 2, 4, 8, 16, 32, 64, 128, 256, 360, 360]


def test_a_failure_that_never_ends_is_given_up_and_shown(site: Any, now: Any) -> None:
    message = queue(site, now)
    assert message is not None
    Message.objects.update(attempts=MOST_ATTEMPTS - 1)
    message = send_claimed(message=claimed(now), now=now, connection=Trouble(OSError("no route")))
    assert message.state == "dead"
    assert "no route" in message.last_error


def test_a_refused_recipient_is_given_up_and_gets_no_more_reminders(site: Any, now: Any) -> None:
    queue(site, now)
    refused = smtplib.SMTPRecipientsRefused({"tamsin@home.example": (550, b"no such user")})
    message = send_claimed(message=claimed(now), now=now, connection=Trouble(refused))
    assert (message.state, message.last_error) == ("dead", "550 no such user")
    assert Suppression.objects.get().address == "tamsin@home.example"
    assert queue(site, now, subject_key="other").state == "suppressed"  # type: ignore[union-attr]


def test_safety_notices_go_to_suppressed_addresses_all_the_same(site: Any, now: Any) -> None:
    queue(site, now)
    suppress(dealer=site.dealer, address="Tamsin@home.example", reason="asked for no reminders", now=now)
    assert Message.objects.get().state == "suppressed"
    notice = queue(site, now, rule="do_not_drink")
    assert notice is not None
    assert notice.state == "queued"
    send_claimed(message=claimed(now), now=now)
    assert "List-Unsubscribe" not in mail.outbox[0].extra_headers


def test_suppressing_twice_changes_nothing_and_names_a_bad_address(dealer: Any, now: Any) -> None:
    for _ in range(2):
        suppress(dealer=dealer, address="a@b.example", reason="asked", now=now)
    assert Suppression.objects.count() == 1
    with pytest.raises(MessageRefused, match="'nowhere', accepted is an e-mail address"):
        suppress(dealer=dealer, address="nowhere", reason="asked", now=now)


def test_a_stale_reminder_goes_to_a_person(site: Any, now: Any, today: date) -> None:
    fresh = queue(site, now, due_on=today - timedelta(days=14))
    stale = queue(site, now, due_on=today - timedelta(days=15))
    assert fresh is not None
    assert stale is not None
    assert (fresh.state, stale.state) == ("queued", "held")
    assert stale.last_error.startswith("15 days past its date")


def test_without_an_address_it_is_held(site: Any, now: Any) -> None:
    message = queue(site, now, to_address="")
    assert message is not None
    assert message.state == "held"
    with pytest.raises(MessageRefused, match="no address"):
        retry_message(message=message, actor_name="Maren", now=now)


def test_a_person_lets_a_message_go_or_drops_it(site: Any, now: Any, today: date) -> None:
    held = queue(site, now, due_on=today - timedelta(days=40))
    assert held is not None
    assert retry_message(message=held, actor_name="Maren", now=now).state == "queued"
    with pytest.raises(MessageRefused, match="only one that failed or is held"):
        retry_message(message=held, actor_name="Maren", now=now)
    other = queue(site, now, due_on=today - timedelta(days=41))
    assert other is not None
    assert drop_message(message=other, actor_name="Maren", now=now).state == "dead"
    send_claimed(message=claimed(now), now=now)
    with pytest.raises(MessageRefused):
        drop_message(message=held, actor_name="Maren", now=now)


def test_a_sign_in_token_does_not_stay_in_the_outbox(site: Any, now: Any) -> None:
    token = "0123456789abcdef0123456789abcdef." + "k" * 43
    queue(site, now, rule="sign_in_link", body=f"Open http://127.0.0.1:8000/home/link/{token}/ once")
    send_claimed(message=claimed(now), now=now)
    assert token in str(mail.outbox[0].body)
    assert token not in Message.objects.get().body


def test_every_message_names_the_sender_and_the_way_out(site: Any, now: Any, today: date) -> None:
    contexts: dict[str, dict[str, Any]] = {
        "do_not_drink": {"cause": "Total coliform present"},
        "notice_lifted": {},
        "sign_in_link": {"link": "http://127.0.0.1/x"},
        "install_booked": {"day": "12 Jun 2026", "what": "installation"},
        "quote_issued": {"quote": factories.IssuedQuoteFactory(site=site), "until": "9 Jul", "link": "http://x"},
    }
    for event, context in contexts.items():
        message = tell(site=site, event=event, subject_key="k", due_on=today, now=now, context=context)
        assert message is not None
        for body in (message.body, message.body_html):
            assert "Tern Island Water" in body
            assert "1 Slipway, Tern Island" in body
            assert "555 0100" in body
            assert "office@tern-island.example" in body
            assert ("/unsubscribe/" in body) is (event not in ("do_not_drink", "notice_lifted"))
            assert "safe to drink" not in body.lower()


def test_a_standing_notice_leads_every_message(site: Any, now: Any, today: date) -> None:
    factories.DrinkNoticeFactory(site=site)
    message = tell(
        site=site,
        event="install_booked",
        subject_key="k",
        due_on=today,
        now=now,
        context={"day": "12 Jun 2026", "what": "installation"},
    )
    assert message is not None
    assert message.subject.startswith("Do not drink the water.")
    assert message.body.startswith("DO NOT DRINK THE WATER")


@pytest.mark.parametrize(("height", "minutes"), [(None, "3 minutes"), (20.0, "1 minute,"), (1800.0, "3 minutes")])
def test_boiling_time_follows_the_height(
    site: Any, now: Any, today: date, height: float | None, minutes: str
) -> None:
    site.elevation_m = height
    message = tell(
        site=site, event="do_not_drink", subject_key="k", due_on=today, now=now, context={"cause": "E. coli"}
    )
    assert message is not None
    assert minutes in message.body


def test_counts_and_the_oldest_waiting(site: Any, now: Any) -> None:
    queue(site, now - timedelta(minutes=9))
    queue(site, now, subject_key="later", send_after=now + timedelta(hours=1))
    assert counts() == {"queued": 2}
    assert oldest_waiting(now) == now - timedelta(minutes=9)
