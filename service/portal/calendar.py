"""The household's calendar feed: an address of its own, without sign-in, that can be withdrawn with the access."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.core import signing

from customers.dealers.models import Dealer
from customers.households.models import HouseholdAccess, Site
from customers.tenancy.scope import dealer_scope
from service.upkeep.queries import visits_at

SALT = "household calendar"


class NoSuchFeed(LookupError):
    """The address is not one of ours, or its access has ended."""


def feed_token(access: HouseholdAccess) -> str:
    """The unguessable part of the feed's address."""
    return signing.dumps([access.dealer.public_id.hex, access.public_id.hex], salt=SALT)


def site_of_feed(token: str) -> Site:
    """The household behind a feed's address. Raises ``NoSuchFeed``."""
    try:
        dealer_id, access_id = signing.loads(token, salt=SALT)
    except (signing.BadSignature, ValueError):
        raise NoSuchFeed(token) from None
    dealer = Dealer.objects.filter(public_id=dealer_id).first()
    if dealer is None:
        raise NoSuchFeed(token)
    with dealer_scope(dealer):
        access = (
            HouseholdAccess.objects.filter(public_id=access_id, active=True)
            .select_related("site__dealer", "site__customer")
            .first()
        )
    if access is None:
        raise NoSuchFeed(token)
    return access.site


def calendar_of(site: Site, today: date, now: datetime) -> bytes:
    """Visits to come as iCalendar (RFC 5545), whole days; booked ones confirmed, due ones tentative."""
    from icalendar import Calendar, Event

    feed = Calendar()
    feed.add("prodid", "-//Tarnhouse//Household calendar//EN")
    feed.add("version", "2.0")
    feed.add("x-wr-calname", f"{site.dealer.name}, {site.name}")
    with dealer_scope(site.dealer):
        visits = visits_at(site, today)
    for visit in visits:
        event = Event()
        event.add("uid", f"{visit.reason}-{visit.on:%Y%m%d}-{site.public_id}")
        event.add("dtstamp", now)
        event.add("dtstart", visit.day)
        event.add("dtend", visit.day + timedelta(days=1))
        event.add("summary", f"{site.dealer.name}: {visit.words}")
        event.add("description", visit.when)
        event.add("location", site.name)
        event.add("status", "CONFIRMED" if visit.booked_on else "TENTATIVE")
        feed.add_component(event)
    return bytes(feed.to_ical())
