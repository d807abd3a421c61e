"""Reads of households: who may see which, search, season, units."""

from __future__ import annotations

import re
from datetime import date
from uuid import UUID

from django.db.models import Case, F, IntegerField, Q, QuerySet, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Concat, Replace

from customers.households.models import Site
from customers.people.actors import Actor
from customers.people.permissions import DESK
from customers.tenancy.getters import get_public
from sizing.engine.design import Occupancy
from sizing.engine.upkeep import ALL_MONTHS, Use


def sites_for(actor: Actor) -> QuerySet[Site]:
    """Households the actor may see: all at the desk, those with a job for a technician, their own for a customer."""
    rows: QuerySet[Site] = Site.objects.select_related("customer", "dealer")
    if actor.role in DESK:
        return rows
    if actor.is_customer:
        return rows.filter(pk__in=actor.site_ids)
    mine = Site.objects.filter(jobs__crew__staff=actor.staff).exclude(jobs__state="called_off")
    return rows.filter(pk__in=mine.values("pk"))


def site_for(actor: Actor, public_id: UUID | str) -> Site:
    """One household; ``Http404`` for a stranger's, a missing and a malformed id alike."""
    site: Site = get_public(sites_for(actor), public_id)
    return site


def _digits(field: str) -> Combinable:
    """A phone column without the marks people put between the digits."""
    bare: Combinable = F(field)
    for mark in " -().+":
        bare = Replace(bare, Value(mark), Value(""))
    return bare


def _hit(word: str) -> Q:
    """Rows where one typed word stands somewhere a person would look for it."""
    hit = (
        Q(name__icontains=word)
        | Q(customer__name__icontains=word)
        | Q(road__icontains=word)
        | Q(file_number__icontains=word)
        | Q(serials__icontains=word)
    )
    digits = re.sub(r"\D", "", word)
    if len(digits) >= 3 and re.fullmatch(r"[\d\s().+-]+", word):
        hit |= Q(phones__contains=digits)
    return hit


def search_sites(actor: Actor, text: str, limit: int = 20) -> list[Site]:
    """Households whose name, customer, road, phone, file number or a stage's serial holds every word typed.

    Names that begin with the text come first. Nothing typed gives the first ``limit`` by name.
    """
    rows = sites_for(actor)
    typed = " ".join(text.split())
    phone = re.sub(r"\D", "", typed)
    words = [typed] if len(phone) >= 5 and re.fullmatch(r"[\d\s().+-]+", typed) else typed.split()
    if words:
        found = Site.objects.annotate(
            phones=Concat(_digits("customer__phone"), Value(" "), _digits("customer__second_phone")),
            serials=F("stages__serial"),
        )
        for word in words:
            found = found.filter(_hit(word))
        rows = rows.filter(pk__in=found.values("pk"))
    begins = Case(
        When(name__istartswith=typed, then=Value(0)),
        When(customer__name__istartswith=typed, then=Value(1)),
        default=Value(2),
        output_field=IntegerField(),
    )
    return list(rows.annotate(rank=begins).order_by("rank", "name", "pk")[:limit])


def months_open(site: Site) -> tuple[int, ...]:
    """Months 1-12 in which the place is used; a month open for part of it counts whole (the careful side)."""
    if site.opens_month is None or site.closes_month is None:
        return ALL_MONTHS
    months = [site.opens_month]
    while months[-1] != site.closes_month and len(months) < 12:
        months.append(months[-1] % 12 + 1)
    return tuple(sorted(months))


def open_on(site: Site, day: date) -> bool:
    """Whether the place is in use on a day of the year by its usual season."""
    opens, closes = (site.opens_month, site.opens_day), (site.closes_month, site.closes_day)
    if None in opens or None in closes:
        return True
    at = (day.month, day.day)
    if opens <= closes:
        return opens <= at <= closes
    return at >= opens or at <= closes


def season_of(site: Site) -> Use:
    """How the place is used, as the engine's upkeep counts it: months open, litres on a usual day."""
    per_person = Occupancy(people_usual=1, people_peak=1).litres_per_person_day
    return Use(months_open=months_open(site), litres_per_day=site.people_usual * per_person)


def units_of(site: Site) -> str:
    """ "metric" or "us": the household's own choice, else the dealer's."""
    return site.unit_system
