"""Finding what falls due and saying it once: the work of the clock's tick for one dealer."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, time, timedelta

from django.db import transaction

from customers.dealers.models import Dealer
from customers.dealers.queries import today_at, zone_of
from service.installs.words import day_words
from service.reminders.actions import tell
from service.reminders.models import Message
from service.upkeep.queries import due_visits
from service.upkeep.visits import WINDOW_DAYS, Visit

POST_HOUR = time(9, 0)


def local_moment(dealer: Dealer, day: date, at: time = POST_HOUR) -> datetime:
    """A time of day at the dealer's, as a moment: one the clocks skip moves forward, one they repeat is its first.

    >>> moment = local_moment(Dealer(time_zone="America/Vancouver"), date(2026, 3, 8), time(2, 30))
    >>> moment.isoformat()
    '2026-03-08T03:30:00-07:00'
    """
    zone = zone_of(dealer)
    naive = datetime.combine(day, at)
    return naive.replace(tzinfo=zone, fold=0).astimezone(UTC).astimezone(zone)


@transaction.atomic
def remind_due(*, dealer: Dealer, now: datetime) -> int:
    """Queue one reminder for each household and visit due within the dealer's days ahead. Returns how many.

    The post goes out from nine in the morning at the dealer's. A visit whose day moved by less than the
    window that makes one trip is the same visit; a booked day counts as its day. Running again says nothing twice.
    """
    today = today_at(dealer, now)
    visits = due_visits(dealer, today, today + timedelta(days=dealer.remind_days_ahead))
    said: dict[tuple[int, str], list[date]] = defaultdict(list)
    told = Message.objects.filter(rule="service_due", site__in=[visit.site.pk for visit in visits])
    for site_id, key, due_on in told.values_list("site_id", "subject_key", "due_on"):
        said[site_id, key].append(due_on)
    queued = 0
    for visit in visits:
        key = subject_of(visit)
        if any(abs((due - visit.day).days) <= WINDOW_DAYS for due in said[visit.site.pk, key]):
            continue
        message = tell(
            site=visit.site,
            event="service_due",
            subject_key=key,
            due_on=visit.day,
            now=now,
            context={"visit": visit, "day": day_words(visit.day)},
            send_after=max(now, local_moment(dealer, today)),
        )
        queued += message is not None
    return queued


def subject_of(visit: Visit) -> str:
    """What a reminder is about: a closing is another visit than one in season, however near."""
    return "closing" if visit.reason == "closing" else "visit"
