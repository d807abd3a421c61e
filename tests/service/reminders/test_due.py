from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from customers.dealers.models import Dealer
from service.installs.actions import renew_part
from service.installs.models import FittedPart
from service.reminders.due import local_moment, remind_due
from service.reminders.models import Message
from service.upkeep.actions import refresh_due
from tests import factories
from tests.service.factories_service import commissioned

ZONES = ["America/Toronto", "America/St_Johns", "America/Regina", "America/Phoenix", "America/Vancouver"]


def due_soon(site: Any, today: date) -> None:
    """A household whose lamp falls due in ten days and nothing else for years."""
    commissioned(site, on=date(2026, 1, 1))
    FittedPart.objects.filter(stage__site=site).update(next_due_on=date(2030, 1, 1))
    FittedPart.objects.filter(stage__site=site, code="lamp").update(next_due_on=today + timedelta(days=10))


def test_one_reminder_for_each_household_and_visit(dealer: Any, now: Any, today: date) -> None:
    sites = [factories.SiteFactory(dealer=dealer) for _ in range(3)]
    for site in sites:
        due_soon(site, today)
    assert remind_due(dealer=dealer, now=now) == 3
    assert remind_due(dealer=dealer, now=now) == 0
    messages = list(Message.objects.all())
    assert {m.site_id for m in messages} == {s.pk for s in sites}
    assert {m.due_on for m in messages} == {today + timedelta(days=10)}
    assert "19 Jun 2026" in messages[0].subject
    assert "For: lamp." in messages[0].body


def test_a_date_that_moves_a_little_is_the_same_visit(site: Any, dealer: Any, now: Any, today: date) -> None:
    due_soon(site, today)
    remind_due(dealer=dealer, now=now)
    FittedPart.objects.filter(code="lamp").update(next_due_on=today + timedelta(days=3))
    assert remind_due(dealer=dealer, now=now) == 0


def test_the_next_visit_a_season_later_is_said_again(site: Any, dealer: Any, now: Any, today: date) -> None:
    due_soon(site, today)
    remind_due(dealer=dealer, now=now)
    renew_part(part=FittedPart.objects.get(code="lamp"), on=today, actor_name="Birgit Holm")
    later = now + timedelta(days=355)
    assert remind_due(dealer=dealer, now=later) == 1
    assert Message.objects.count() == 2


def test_not_before_the_dealers_days_ahead(site: Any, dealer: Any, now: Any, today: date) -> None:
    due_soon(site, today)
    FittedPart.objects.filter(code="lamp").update(next_due_on=today + timedelta(days=22))
    assert remind_due(dealer=dealer, now=now) == 0
    assert remind_due(dealer=dealer, now=now + timedelta(days=1)) == 1


def test_an_opening_is_announced_even_with_nothing_to_renew(dealer: Any) -> None:
    site = factories.SeasonalSiteFactory(dealer=dealer)
    commissioned(site, on=date(2025, 5, 19))
    FittedPart.objects.update(next_due_on=date(2031, 6, 1))
    now = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)
    assert remind_due(dealer=dealer, now=now) == 1
    message = Message.objects.get()
    assert (message.due_on, message.subject_key) == (date(2026, 5, 19), "visit")
    assert "For: opening." in message.body


def test_the_post_goes_from_nine_in_the_morning_at_the_dealers(site: Any, dealer: Any, today: date) -> None:
    due_soon(site, today)
    night = datetime(2026, 6, 9, 9, 0, tzinfo=UTC)  # two in the morning in Vancouver
    remind_due(dealer=dealer, now=night)
    assert Message.objects.get().send_after == datetime(2026, 6, 9, 16, 0, tzinfo=UTC)


def test_found_weeks_late_it_goes_to_a_person(site: Any, dealer: Any, now: Any, today: date) -> None:
    due_soon(site, today)
    FittedPart.objects.filter(code="lamp").update(next_due_on=today - timedelta(days=20))
    assert remind_due(dealer=dealer, now=now) == 1
    assert Message.objects.get().state == "held"


def test_thirty_days_of_ticks_say_each_thing_once(dealer: Any, now: Any, today: date) -> None:
    for offset in range(6):
        site = factories.SiteFactory(dealer=dealer)
        due_soon(site, today + timedelta(days=offset * 5))
    for tick in range(120):  # four a day
        moment = now + timedelta(hours=6 * tick)
        refresh = moment.hour == 17
        remind_due(dealer=dealer, now=moment)
        if refresh:
            refresh_due(site=site, today=today)
    assert Message.objects.count() == 6
    assert Message.objects.values("site").distinct().count() == 6


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("at", [time(9, 0), time(2, 30), time(1, 30)])
def test_every_day_has_one_moment_at_the_right_local_hour(zone: str, at: time) -> None:
    """2024-2032: a missing local time moves forward within two hours, a repeated one is its first occurrence.

    Checked against the zone database itself: the moment read back in UTC and forth again.
    """
    dealer, day = Dealer(time_zone=zone), date(2024, 1, 1)
    last = datetime(2023, 1, 1, tzinfo=UTC)
    while day.year < 2033:
        moment = local_moment(dealer, day, at)
        back = moment.astimezone(UTC).astimezone(ZoneInfo(zone))
        assert back.date() == day
        wanted = datetime.combine(day, at)
        late = back.replace(tzinfo=None) - wanted
        assert timedelta(0) <= late <= timedelta(hours=1)
        if late:  # the wanted time does not exist that day
            naive = wanted.replace(tzinfo=ZoneInfo(zone))
            assert naive.astimezone(UTC).astimezone(ZoneInfo(zone)).replace(tzinfo=None) != wanted
        assert moment > last
        last, day = moment, day + timedelta(days=1)


def test_a_visit_long_overdue_but_booked_is_said_with_its_booked_day(
    site: Any, dealer: Any, now: Any, today: date
) -> None:
    due_soon(site, today)
    FittedPart.objects.filter(code="lamp").update(next_due_on=today - timedelta(days=90))
    factories.JobFactory(site=site, state="booked", day=today + timedelta(days=4))
    assert remind_due(dealer=dealer, now=now) == 1
    message = Message.objects.get()
    assert (message.state, message.due_on) == ("queued", today + timedelta(days=4))
    assert "We come to Alder Point on 13 Jun 2026." in message.body
