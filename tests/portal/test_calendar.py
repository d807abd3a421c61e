"""The household's calendar feed against RFC 5545."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from customers.households.sign_in import take_access
from service.portal.calendar import NoSuchFeed, feed_token, site_of_feed
from tests import factories
from tests.service.factories_service import commissioned


@pytest.fixture
def feed(dealer: Any, clock: Any) -> Any:
    """A seasonal household with work coming, one visit booked, and its access row."""
    site = factories.SeasonalSiteFactory(dealer=dealer, name="Alder Point; North, “upper” cabin")
    commissioned(site, on=date(2026, 5, 20))
    factories.JobFactory(site=site, kind="closing", state="booked", day=date(2026, 10, 9))
    return factories.AccessFactory(site=site)


def read(access: Any) -> Any:
    return Client().get(reverse("portal-calendar", args=[feed_token(access)]))


def test_the_feed_is_whole(feed: Any, now: Any) -> None:
    """RFC 5545: CRLF and 75 octets a line (3.1); PRODID and VERSION (3.6); UID and DTSTAMP, once (3.6.1)."""
    answer = read(feed)
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    raw: bytes = answer.content
    assert raw.endswith(b"END:VCALENDAR\r\n")
    lines = raw.split(b"\r\n")
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)
    calendar = Calendar.from_ical(raw)
    assert not calendar.errors
    assert str(calendar["VERSION"]) == "2.0"
    assert str(calendar["PRODID"])
    events = list(calendar.walk("VEVENT"))
    assert events
    assert len({str(event["UID"]) for event in events}) == len(events)
    for event in events:
        start, end = event["DTSTART"].dt, event["DTEND"].dt
        assert event["DTSTART"].params["VALUE"] == "DATE"
        assert end - start == timedelta(days=1)
        assert event["DTSTAMP"].dt == now
        assert not event.errors
        assert str(event["LOCATION"]) == feed.site.name
    booked = [event for event in events if str(event["STATUS"]) == "CONFIRMED"]
    assert [event["DTSTART"].dt for event in booked] == [date(2026, 10, 9)]
    assert {str(event["STATUS"]) for event in events} <= {"CONFIRMED", "TENTATIVE"}


def test_reading_twice_gives_the_same_events(feed: Any) -> None:
    assert read(feed).content == read(feed).content


def test_the_feed_ends_with_the_access(feed: Any, office_actor: Any, now: Any) -> None:
    take_access(site=feed.site, user=feed.user, actor=office_actor, now=now)
    assert read(feed).status_code == 404


def test_each_reader_has_an_address_of_their_own(feed: Any, office_actor: Any, now: Any) -> None:
    second = factories.AccessFactory(site=feed.site)
    assert feed_token(second) != feed_token(feed)
    take_access(site=feed.site, user=feed.user, actor=office_actor, now=now)
    assert read(second).status_code == 200


def test_a_made_up_token_is_no_feed(feed: Any, other_dealer: Any) -> None:
    token = feed_token(feed)
    for wrong in (token[:-1] + ("A" if token[-1] != "A" else "B"), "x", token + ".x"):
        with pytest.raises(NoSuchFeed):
            site_of_feed(wrong)
        assert Client().get(reverse("portal-calendar", args=[wrong])).status_code == 404
