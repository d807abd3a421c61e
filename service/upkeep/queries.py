"""What is due when: the one place every surface asks for the next date."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from django.db.models import Q, QuerySet

from customers.dealers.models import Dealer
from customers.households.models import Site
from service.installs.models import FittedPart, StageState
from service.upkeep.visits import Visit, visits_of

COMING = ("booked", "under_way")


def parts_at_work() -> QuerySet[FittedPart]:
    """Parts of the dealer in scope that wear: in stages in service or laid up, with household."""
    return (
        FittedPart.objects.filter(stage__state__in=[StageState.IN_SERVICE, StageState.LAID_UP])
        .exclude(renewed_on=None)
        .select_related("stage__site__customer", "stage__site__dealer")
        .order_by("stage__site_id", "stage__position", "pk")
    )


def overdue_parts(today: date) -> QuerySet[FittedPart]:
    """Parts whose day has come, longest overdue first."""
    return parts_at_work().filter(next_due_on__lte=today).order_by("next_due_on", "pk")


def visits_at(site: Site, today: date) -> tuple[Visit, ...]:
    """Every visit the household's stages ask for from now on, and what is overdue."""
    parts = list(parts_at_work().filter(stage__site=site))
    return visits_of(site, parts, today, _booked([site], today)[site.pk])


def next_visit(site: Site, today: date) -> Visit | None:
    """When somebody comes next and why: the same answer for office, household, papers and reminders.

    A booked job counts even where it renews nothing that is due: the remedy of tomorrow comes before the lamp of
    next spring.
    """
    visits = list(visits_at(site, today))
    served = {visit.booked_on for visit in visits}
    rows = site.jobs.filter(state__in=COMING, day__gte=today).exclude(day__in=served - {None})
    other = rows.order_by("day", "pk").first()
    if other is not None and other.day is not None:
        visits.append(Visit(site, other.day, "service", (), other.day, other.what))
    return min(visits, key=lambda visit: (visit.day, visit.on), default=None)


def due_visits(dealer: Dealer, today: date, until: date) -> list[Visit]:
    """One visit for each household and trip that falls due by ``until``, overdue ones included.

    Three queries, however many households.
    """
    by_site: dict[int, list[FittedPart]] = defaultdict(list)
    for part in parts_at_work().filter(dealer=dealer):
        by_site[part.stage.site_id].append(part)
    sites = [parts[0].stage.site for parts in by_site.values()]
    booked = _booked(sites, today)
    found = [
        visit
        for site in sites
        for visit in visits_of(site, by_site[site.pk], today, booked[site.pk])
        if visit.on <= until
    ]
    return sorted(found, key=lambda visit: (visit.on, visit.site.name, visit.site.pk))


def _booked(sites: Sequence[Site], today: date) -> dict[int, list[date]]:
    """Days from today on for which a job is booked, by household."""
    days: dict[int, list[date]] = defaultdict(list)
    rows = Site.objects.filter(Q(pk__in=[site.pk for site in sites]), jobs__state__in=COMING, jobs__day__gte=today)
    for pk, day in rows.values_list("pk", "jobs__day").order_by("jobs__day"):
        days[pk].append(day)
    return days
