"""Evidence at the desk: symptoms, flow tests, water tests."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at, zone_of
from customers.flow_tests.actions import FlowRefused, record_flow_test
from customers.flow_tests.forms import FlowTestForm
from customers.flow_tests.models import FlowTest
from customers.flow_tests.queries import allowances, findings_of, worksheet_of
from customers.households.models import Site
from customers.households.queries import site_for, sites_for, units_of
from customers.lab_files.queries import file_of_test
from customers.observations.actions import ObservationRefused, clear_observation, note_observations
from customers.observations.forms import SymptomsForm
from customers.observations.models import Observation
from customers.people.actors import Actor
from customers.people.gate import acting, require
from customers.samplings.actions import SamplingRefused
from customers.samplings.models import Purpose, SamplingDraw
from customers.samplings.queries import answers_of, asked_of_lab, draw_for
from customers.tenancy.getters import get_public
from customers.water_tests.actions import RefusedRows, read_rows
from customers.water_tests.forms import Grid, HeadingForm, site_points, usual_units
from customers.water_tests.models import Place, Result, WaterTest
from customers.water_tests.queries import read_again, remarks_on, rows_of, standings_of_test
from service.documents.sampling_rows import names_of
from service.milestones.actions import take_in_water_test
from service.office.evidence import evidence_row, judged_typed
from service.office.household_file import bar_for, flow_words
from service.office.timelines import timelines_of


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
        data = form.cleaned_data
        try:
            test = record_flow_test(
                site=site,
                actor_name=actor.name,
                now=now,
                tested_on=data["tested_on"],
                tested_by=data["tested_by"],
                method=data["method"],
                runs=form.runs(),
                cut_in_kpa=data["cut_in_kpa"],
                cut_out_kpa=data["cut_out_kpa"],
                note=data["note"],
                form_token=data["form_token"],
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


@require("household.read", write="water_test.write")
def water_test_new(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """The grid; one bad line saves nothing and keeps everything typed."""
    actor = acting(request)
    site = site_for(actor, site_id)
    now = timezone.now()
    today = today_at(site.dealer, now)
    posted = request.POST if request.method == "POST" else None
    draw = asked_draw(actor, site, request)
    form = HeadingForm(posted, today=today, initial=heading_of_draw(draw))
    grid = Grid(posted, usual_units(rows_of(site)))
    if posted is not None:
        _read, errors = read_rows(grid.rows_in())
        grid.take_errors(errors)
        if form.is_valid():
            try:
                test = take_in_water_test(
                    site=site,
                    actor_name=actor.name,
                    now=now,
                    heading=form.heading(),
                    rows=grid.rows_in(),
                    form_token=form.cleaned_data["form_token"],
                    draw=draw,
                )
            except RefusedRows as refused:
                grid.take_errors(refused.rows)
                form.take_errors(refused.heading)
            except SamplingRefused as refused:
                form.take_errors(refused.errors)
            else:
                messages.success(request, _("Saved: %(n)s results.") % {"n": test.results.count()})
                return redirect("water-test", test_id=test.public_id)
    context = {
        "form": form,
        "grid": grid,
        "site": site,
        "points": site_points(site),
        "draw": draw,
        "asked": names_of(asked_of_lab(draw)) if draw else "",
        "problems": grid.wrong() or form.errors,
        "notice": bar_for(actor, site),
    }
    return render(request, "office/evidence/water_form.html", context, status=200 if posted is None else 422)


def asked_draw(actor: Actor, site: Site, request: HttpRequest) -> SamplingDraw | None:
    """The draw the form answers (``draw`` in the address or the form); 404 for one of another household."""
    wanted = request.POST.get("draw") or request.GET.get("draw")
    if not wanted:
        return None
    draw = draw_for(actor, wanted)
    if draw.sampling.site_id != site.pk:
        raise Http404("Not found")
    return draw


def heading_of_draw(draw: SamplingDraw | None) -> dict[str, object]:
    """What the heading of a test begins with: what is known of the draw it answers."""
    if draw is None:
        return {}
    sampling = draw.sampling
    zone = zone_of(sampling.site.dealer)
    return {
        "place": draw.place,
        "point": draw.point,
        "sampled_on": draw.drawn_at.astimezone(zone).date() if draw.drawn_at else sampling.planned_on,
        "sampled_by": sampling.drawer,
        "laboratory": sampling.laboratory.name,
        "proves_install": sampling.purpose == Purpose.PROVE,
    }


@require("water_test.write")
@require_POST
def water_test_check(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """What stands in the grid so far, judged; nothing is saved."""
    site = site_for(acting(request), site_id)
    today = today_at(site.dealer, timezone.now())
    grid = Grid(request.POST)
    rows = grid.rows_in()
    read, errors = read_rows(rows)
    place = request.POST.get("place", "")
    test = WaterTest(site=site, place=place if place in Place.values else Place.TAP, sampled_on=today)
    results = [
        Result(
            test=test,
            analyte=rows[at].analyte,
            text=rows[at].text,
            unit_text=rows[at].unit_text,
            qualifier=one.qualifier,
            value=one.canonical,
        )
        for at, one in read.items()
    ]
    lines = judged_typed(results, site, today)
    context = {
        "errors": list(errors.values()),
        "lines": lines,
        "over": [line for line in lines if line.over],
        "remarks": remarks_on(read.values()),
    }
    return render(request, "office/evidence/water_check.html", context)


@require("household.read")
def history(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Every parameter tested more than once: its results over time, from every place, beside their table."""
    actor = acting(request)
    site = site_for(actor, site_id)
    today = today_at(site.dealer, timezone.now())
    charts = timelines_of(site, rows_of(site), today, most=None)
    context = {"site": site, "charts": charts, "notice": bar_for(actor, site)}
    return render(request, "office/evidence/history.html", context)


@require("household.read")
def water_test(request: HttpRequest, test_id: UUID) -> HttpResponse:
    """One test: its results against the dealer's limits, and what is doubtful in them."""
    actor = acting(request)
    rows = WaterTest.objects.filter(site__in=sites_for(actor)).select_related(
        "site__customer", "site__dealer", "report"
    )
    test: WaterTest = get_public(rows, test_id)
    site = test.site
    today = today_at(site.dealer, timezone.now())
    lines = [evidence_row(row, units_of(site)) for row in standings_of_test(test, today)]
    context = {
        "site": site,
        "test": test,
        "desk": actor.may("design.read"),
        "answers": answers_of(test),
        "lab_file": file_of_test(test),
        "charts": timelines_of(site, rows_of(site), today, only={row.analyte for row in test.results.all()}),
        "lines": lines,
        "over": [line for line in lines if line.over],
        "unclear": [line for line in lines if line.verdict == _("cannot tell")],
        "remarks": remarks_on(read_again(row) for row in test.results.all()),
        "authority": site.dealer.get_jurisdiction_display(),
        "notice": bar_for(actor, site),
    }
    return render(request, "office/evidence/water.html", context)
