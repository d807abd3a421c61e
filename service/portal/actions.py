"""What a household does by itself: ask for a visit, say when it opens and closes, choose messages."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from customers.dealers.queries import today_at
from customers.households.log import add_log
from customers.households.models import Site
from customers.people.actors import Actor
from service.jobs.actions import plan_job
from service.jobs.models import Job, JobKind, JobState
from service.reminders.models import Suppression
from service.upkeep.actions import refresh_due


@transaction.atomic
def ask_for_visit(*, site: Site, actor: Actor, words: str, wanted_from: date | None, now: datetime) -> Job:
    """Plan a visit from the household's own words; the office sees it as not yet booked.

    The same words again, while nobody has answered them, are the same request.
    """
    note = words.strip()[:2000]
    open_ones = Job.objects.filter(site=site, kind=JobKind.SURVEY, state=JobState.PLANNED, note=note)
    if earlier := open_ones.filter(wanted_from=wanted_from).first():
        return earlier
    what = " ".join(words.split())[:180] or "asked for a visit"
    return plan_job(
        site=site,
        kind=JobKind.SURVEY,
        what=f"Asked: {what}",
        actor_name=actor.name,
        now=now,
        wanted_from=wanted_from,
        note=note,
    )


@transaction.atomic
def set_season(*, site: Site, actor: Actor, opens: tuple[int, int], closes: tuple[int, int], now: datetime) -> Site:
    """Change the days a seasonal place opens and closes (month, day); next service dates follow at once."""
    site.opens_month, site.opens_day = opens
    site.closes_month, site.closes_day = closes
    site.full_clean()
    site.save(update_fields=["opens_month", "opens_day", "closes_month", "closes_day"])
    refresh_due(site=site, today=today_at(site.dealer, now))
    days = f"opens {opens[1]}.{opens[0]}., closes {closes[1]}.{closes[0]}."
    add_log(site=site, who=actor.name, what=f"season changed by the household: {days}", at=now)
    return site


@transaction.atomic
def choose_messages(*, site: Site, actor: Actor, reminders: bool, now: datetime) -> None:
    """Switch service reminders on or off for the person's own address. Safety notices always go."""
    address = actor.user.email
    if reminders:
        Suppression.objects.filter(address=address).delete()
    else:
        Suppression.objects.get_or_create(
            dealer=site.dealer, address=address, defaults={"reason": "chosen by the household", "since": now}
        )
    add_log(site=site, who=actor.name, what=f"reminders {'on' if reminders else 'off'} for {address}", at=now)
