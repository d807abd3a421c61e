"""Evidence at the desk: symptoms and flow tests."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.flow_tests.actions import FlowRefused, record_flow_test
from customers.flow_tests.forms import FlowTestForm
from customers.flow_tests.models import FlowTest
from customers.flow_tests.queries import allowances, findings_of, worksheet_of
from customers.households.queries import site_for, sites_for, units_of
from customers.observations.actions import ObservationRefused, clear_observation, note_observations
from customers.observations.forms import SymptomsForm
from customers.observations.models import Observation
from customers.people.gate import acting, require
from customers.tenancy.getters import get_public
from service.office.household_file import bar_for, flow_words


@require("household.read", write="observation.write")
def symptoms(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Tick what the caller says."""
    actor = acting(request)
    site = site_for(actor, site_id)
    form = SymptomsForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            note_observations(
                site=site,
                actor_name=actor.name,
                now=timezone.now(),
                said=form.said(),
                form_token=form.cleaned_data["form_token"],
            )
        except ObservationRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("Noted."))
            return redirect("household", site_id=site.public_id)
    context = {"form": form, "site": site, "notice": bar_for(actor, site)}
    return render(request, "office/evidence/symptoms.html", context, status=422 if form.errors else 200)


@require("observation.write")
@require_POST
def symptom_gone(request: HttpRequest, observation_id: UUID) -> HttpResponse:
    """Say that a symptom is gone."""
    actor = acting(request)
    rows = Observation.objects.filter(site__in=sites_for(actor)).select_related("site")
    row: Observation = get_public(rows, observation_id)
    clear_observation(observation=row, actor_name=actor.name, now=timezone.now())
    return redirect("household", site_id=row.site.public_id)


@require("household.read", write="flow_test.write")
def flow_test_new(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Enter a flow test."""
    actor = acting(request)
    site = site_for(actor, site_id)
    now = timezone.now()
    form = FlowTestForm(
        request.POST or None,
        site=site,
        system=units_of(site),
        today=today_at(site.dealer, now),
        tested_by=actor.name,
    )
    if request.method == "POST" and form.is_valid():
        try:
            test = record_flow_test(
                site=site,
                actor_name=actor.name,
                now=now,
                **form.details(),
            )
        except FlowRefused as refused:
            form.take_errors(refused.errors)
        else:
            return redirect("flow-test", test_id=test.public_id)
    context = {"form": form, "site": site, "notice": bar_for(actor, site)}
    return render(request, "office/evidence/flow_form.html", context, status=422 if form.errors else 200)


@require("household.read")
def flow_test(request: HttpRequest, test_id: UUID) -> HttpResponse:
    """A flow test: the result with its uncertainty, what it allows, and the calculation."""
    actor = acting(request)
    rows = FlowTest.objects.filter(site__in=sites_for(actor)).select_related("site__customer", "site__dealer")
    test: FlowTest = get_public(rows, test_id)
    site = test.site
    context = {
        "site": site,
        "test": test,
        "system": units_of(site),
        "result": flow_words(test, units_of(site)),
        "low": max(0.0, test.flow_l_min - 2 * test.sd_l_min),
        "high": test.flow_l_min + 2 * test.sd_l_min,
        "allowances": allowances(site, test),
        "findings": findings_of(test),
        "sections": worksheet_of(test).sections,
        "runs": list(test.runs.all()),
        "desk": actor.may("design.read"),
        "notice": bar_for(actor, site),
    }
    return render(request, "office/evidence/flow.html", context)
