"""Water tests at the desk: entered, judged while typed, read, and looked at over time."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at, zone_of
from customers.households.models import Site
from customers.households.queries import site_for, sites_for, units_of
from customers.lab_files.queries import file_of_test
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
from service.office.household_file import bar_for
from service.office.timelines import timelines_of


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
