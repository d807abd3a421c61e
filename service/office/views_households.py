"""Households at the desk: list and search, the form, the file, the household's sign-in, the remedy."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Exists, Min, OuterRef, QuerySet
from django.db.models.expressions import Combinable
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.models import UnitSystem
from customers.dealers.queries import today_at
from customers.households.actions import (
    AccessRefused,
    HouseholdRefused,
    create_household,
    give_access,
    update_household,
)
from customers.households.forms import HouseholdForm
from customers.households.models import Site
from customers.households.queries import search_sites, site_for, sites_for, units_of
from customers.people.gate import acting, require
from customers.water_tests.actions import NoOpenNotice, RemedyRefused, record_remedy
from customers.water_tests.forms import RemedyForm
from customers.water_tests.models import DrinkNotice
from service.office.household_file import bar_for, file_of

PER_PAGE = 50
MOST_FOUND = 12


def _marks() -> dict[str, Combinable]:
    """What the list says beside each household: a notice that stands, the next part due."""
    standing = DrinkNotice.objects.filter(site=OuterRef("pk"), lifted_on__isnull=True)
    return {"warned": Exists(standing), "next_due": Min("stages__parts__next_due_on")}


@require("household.list")
def household_list(request: HttpRequest) -> HttpResponse:
    """All households by name, or those that match ``?q=``."""
    actor = acting(request)
    typed = request.GET.get("q", "").strip()
    rows: QuerySet[Site] = sites_for(actor)
    if typed:
        found = [site.pk for site in search_sites(actor, typed, limit=200)]
        rows = rows.filter(pk__in=found)
    page = Paginator(rows.annotate(**_marks()).order_by("name", "pk"), PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "typed": typed, "today": today_at(actor.dealer, timezone.now())}
    return render(request, "office/households/list.html", context)


@require("household.list")
def household_search(request: HttpRequest) -> HttpResponse:
    """The few best matches, as a list of links for the search box; a plain request gets the list page."""
    typed = request.GET.get("q", "").strip()
    if not getattr(request, "htmx", False):
        return household_list(request)
    found = search_sites(acting(request), typed, limit=MOST_FOUND) if typed else []
    context = {"found": found, "typed": typed, "most": MOST_FOUND}
    return render(request, "office/households/found.html", context)


@require("household.write")
def household_new(request: HttpRequest) -> HttpResponse:
    """An empty form; ``?units=us`` to type in US units."""
    actor = acting(request)
    asked = request.GET.get("units", "")
    system = asked if asked in UnitSystem.values else actor.dealer.units
    form = HouseholdForm(request.POST or None, system=system)
    if request.method == "POST" and form.is_valid():
        try:
            site = create_household(
                actor=actor,
                now=timezone.now(),
                customer=form.customer_values(),
                site=form.site_values(),
                fixtures=form.fixture_counts(),
                form_token=form.cleaned_data["form_token"],
            )
        except HouseholdRefused as refused:
            form.take_errors(refused)
        else:
            messages.success(request, _("File %(number)s is open.") % {"number": site.file_number})
            return redirect("household", site_id=site.public_id)
    other = UnitSystem.US if form.system == UnitSystem.METRIC else UnitSystem.METRIC
    context = {"form": form, "other": other, "nav": "household-list"}
    return render(request, "office/households/form.html", context, status=422 if form.errors else 200)


@require("household.write")
def household_edit(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """The form of a household, filled."""
    actor = acting(request)
    site = site_for(actor, site_id)
    form = HouseholdForm(request.POST or None, system=units_of(site), site=site)
    if request.method == "POST" and form.is_valid():
        try:
            update_household(
                actor=actor,
                now=timezone.now(),
                household=site,
                customer=form.customer_values(),
                site=form.site_values(),
                fixtures=form.fixture_counts(),
            )
        except HouseholdRefused as refused:
            form.take_errors(refused)
        else:
            messages.success(request, _("Saved."))
            return redirect("household", site_id=site.public_id)
    shown = site_for(actor, site_id)
    context = {"form": form, "site": shown, "notice": bar_for(actor, shown)}
    return render(request, "office/households/form.html", context, status=422 if form.errors else 200)


@require("household.read")
def household(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """The household file."""
    actor = acting(request)
    site = site_for(actor, site_id)
    context = file_of(actor, site, timezone.now())
    return render(request, "office/households/file.html", context)


@require("household.write")
@require_POST
def household_access(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Give a person of the household a sign-in to its own pages."""
    actor = acting(request)
    site = site_for(actor, site_id)
    try:
        user = give_access(site=site, email=request.POST.get("email", ""), actor=actor, now=timezone.now())
    except AccessRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("%(address)s can sign in with a mailed code.") % {"address": user.email})
    return redirect("household", site_id=site.public_id)


@require("notice.write")
def remedy(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Record when the cause of the do-not-drink notice was remedied."""
    actor = acting(request)
    site = site_for(actor, site_id)
    now = timezone.now()
    form = RemedyForm(request.POST or None, initial={"on": today_at(site.dealer, now)})
    if request.method == "POST" and form.is_valid():
        try:
            record_remedy(site=site, on=form.cleaned_data["on"], actor_name=actor.name, now=now)
        except (NoOpenNotice, RemedyRefused) as refused:
            form.add_error("on", str(refused))
        else:
            messages.success(request, _("Recorded. Clear samples count from the day after."))
            return redirect("household", site_id=site.public_id)
    context = {"form": form, "site": site, "notice": bar_for(actor, site)}
    return render(request, "office/households/remedy.html", context, status=422 if form.errors else 200)
