from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.conf import settings
from django.core import mail

from customers.tenancy.scope import dealer_scope
from service import tasks
from service.celery import app
from service.installs.models import FittedPart
from service.reminders.actions import claim_messages
from service.reminders.models import Message
from service.upkeep.models import Tick
from tests import factories
from tests.service.factories_service import commissioned


@pytest.fixture
def two_dealers(dealer: Any, other_dealer: Any, today: date) -> list[Any]:
    """A household each whose lamp falls due in ten days."""
    sites = [factories.SiteFactory(dealer=dealer), factories.SiteFactory(dealer=other_dealer)]
    for site in sites:
        commissioned(site, on=date(2026, 1, 4))
        with dealer_scope(site.dealer):
            FittedPart.objects.exclude(code="lamp").update(life_kind="calendar", life_amount=60)
            FittedPart.objects.filter(code="lamp").update(renewed_on=date(2025, 6, 19))
    return sites


def test_the_schedule_names_these_tasks() -> None:
    app.loader.import_default_modules()
    names = {entry["task"] for entry in settings.CELERY_BEAT_SCHEDULE.values()}
    assert names == {"service.tasks.tick", "service.tasks.send_messages"}
    assert names <= set(app.tasks)


def test_everything_twice_sends_nothing_twice(two_dealers: list[Any], clock: Any) -> None:
    for _ in range(2):
        tasks.tick()
        tasks.tick()
        tasks.send_messages()
        tasks.send_messages()
    assert len(mail.outbox) == 2
    assert {m.to[0] for m in mail.outbox} == {site.customer.email for site in two_dealers}
    assert set(Tick.objects.values_list("name", flat=True)) == {"tick", "post"}


def test_each_dealer_speaks_in_its_own_name(two_dealers: list[Any], clock: Any) -> None:
    tasks.tick()
    tasks.send_messages()
    by_address = {m.to[0]: m for m in mail.outbox}
    for site in two_dealers:
        assert site.dealer.name in by_address[site.customer.email].from_email


def test_a_worker_killed_between_claim_and_send_loses_nothing(
    two_dealers: list[Any], clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    tasks.tick()
    for site in two_dealers:
        with dealer_scope(site.dealer):
            assert len(claim_messages(now=clock)) == 1  # claimed, then killed
    tasks.send_messages()
    assert mail.outbox == []
    monkeypatch.setattr("django.utils.timezone.now", lambda: clock + timedelta(minutes=6))
    tasks.send_messages()
    tasks.send_messages()
    assert len(mail.outbox) == 2


def test_one_dealers_trouble_stops_no_other(
    two_dealers: list[Any], clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = two_dealers[0].dealer
    real = tasks.remind_due

    def trip(*, dealer: Any, now: Any) -> int:
        if dealer.pk == first.pk:
            raise RuntimeError("a row that cannot be read")
        return real(dealer=dealer, now=now)

    monkeypatch.setattr(tasks, "remind_due", trip)
    with pytest.raises(ExceptionGroup):
        tasks.tick()
    with dealer_scope(two_dealers[1].dealer):
        assert Message.objects.count() == 1


def test_quotes_lapse_at_the_dealers_own_midnight(
    site: Any, dealer: Any, clock: Any, monkeypatch: pytest.MonkeyPatch, today: date
) -> None:
    quote = factories.IssuedQuoteFactory(site=site, valid_until=today)
    # 06:30 in UTC of 10 June is still 9 June in Vancouver
    monkeypatch.setattr("django.utils.timezone.now", lambda: clock.replace(day=10, hour=6, minute=30))
    tasks.tick()
    quote.refresh_from_db()
    assert quote.state == "issued"
    monkeypatch.setattr("django.utils.timezone.now", lambda: clock.replace(day=10, hour=7, minute=30))
    tasks.tick()
    quote.refresh_from_db()
    assert quote.state == "lapsed"
