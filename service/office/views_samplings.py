"""Samplings at the desk: the list, the plan, its steps until the results are in."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at, zone_of
from customers.households.queries import site_for
from customers.laboratories.queries import laboratories
from customers.people.gate import acting, require
from customers.samplings.actions import (
    SamplingRefused,
    answer_draw,
    call_off,
    change_plan,
    chase,
    close_short,
    mark_drawn,
    mark_received,
    plan_sampling,
)
from customers.samplings.forms import ChaseForm, DrawnForm, PlanForm, ReasonForm, ReceivedForm, start_of
from customers.samplings.models import Sampling
from customers.samplings.queries import draw_for, sampling_for, samplings_for, stand_of
from customers.tenancy.getters import get_public
from customers.water_tests.notices import is_treated
from customers.water_tests.queries import tests_of
from service.documents.queries import papers_about
from service.documents.sampling_drafts import SAMPLING_PAPERS
from service.documents.sampling_rows import STATE_MARKS, draw_views, lines_of, needs_of, packing_list
from service.office.household_file import bar_for

PER_PAGE = 50
FILTERS = ("open", "all")


@require("sampling.read")
def sampling_list(request: HttpRequest) -> HttpResponse:
    """Samplings on their way, or all of them."""
    actor = acting(request)
    now = timezone.now()
    show = "all" if request.GET.get("show") == "all" else "open"
    rows = samplings_for(actor).order_by("-planned_on", "-pk")
    if show == "open":
        rows = rows.filter(state__in=["planned", "drawn", "at_lab"]).order_by("results_due_on", "pk")
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "lines": lines_of(page, today_at(actor.dealer, now), now), "show": show}
    return render(request, "office/lab/samplings.html", context)


def _plan_page(request: HttpRequest, form: PlanForm, **context: object) -> HttpResponse:
    return render(request, "office/lab/plan.html", {"form": form, **context}, status=422 if form.errors else 200)


@require("sampling.write")
def sampling_new(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Plan a sampling. ``?analytes=a,b&place=raw&purpose=clear`` begin the form; a look keeps nothing."""
    actor = acting(request)
    site, now = site_for(actor, site_id), timezone.now()
    asked = request.GET
    start = start_of(
        today=today_at(site.dealer, now),
        drawer=actor.name,
        analytes=asked.get("analytes", "").split(","),
        place=asked.get("place", ""),
        purpose=asked.get("purpose", ""),
        treated=is_treated(site),
    )
    form = PlanForm(request.POST or None, laboratories=list(laboratories()), start=start)
    if request.method == "POST" and form.is_valid():
        try:
            sampling = plan_sampling(
                site=site,
                plan=form.plan(),
                actor_name=actor.name,
                now=now,
                form_token=form.cleaned_data["form_token"],
            )
        except SamplingRefused as refused:
            form.take_errors(refused.errors)
        else:
            messages.success(request, _("%(number)s is planned.") % {"number": sampling.label})
            return redirect("sampling", sampling_id=sampling.public_id)
    return _plan_page(request, form, site=site, notice=bar_for(actor, site))


@require("sampling.write")
def sampling_change(request: HttpRequest, sampling_id: UUID) -> HttpResponse:
    """Plan it anew, while nothing is drawn."""
    actor = acting(request)
    sampling, now = sampling_for(actor, sampling_id), timezone.now()
    form = PlanForm(request.POST or None, laboratories=list(laboratories()), sampling=sampling)
    if request.method == "POST" and form.is_valid():
        try:
            change_plan(sampling=sampling, plan=form.plan(), actor_name=actor.name, now=now)
        except SamplingRefused as refused:
            form.take_errors(refused.errors)
        else:
            return redirect("sampling", sampling_id=sampling.public_id)
    return _plan_page(request, form, site=sampling.site, sampling=sampling, notice=bar_for(actor, sampling.site))


@require("sampling.write")
@require_POST
def sampling_check(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """What the plan so far would need; nothing is kept."""
    site = site_for(acting(request), site_id)
    form = PlanForm(request.POST, laboratories=list(laboratories()))
    form.is_valid()
    told = form.cleaned_data
    laboratory = form.laboratories.get(told.get("laboratory", ""))
    draws = form.draws() if form.asked() else ()
    needs = None
    if laboratory and draws and told.get("planned_on") and told.get("planned_at"):
        moment = datetime.combine(told["planned_on"], told["planned_at"], tzinfo=zone_of(site.dealer))
        needs = needs_of(laboratory, draws, moment)
    return render(request, "office/lab/needs.html", {"needs": needs, "laboratory": laboratory})


def _page(request: HttpRequest, sampling: Sampling, now: datetime, **forms: object) -> HttpResponse:
    """The sampling with the one form of its next step; ``forms`` are those refused."""
    actor, site = acting(request), sampling.site
    zone, today = zone_of(site.dealer), today_at(site.dealer, now)
    draws = list(sampling.draws.all())
    views = draw_views(sampling, tests_of(site)[:40])
    stand = stand_of(sampling, today, now)
    context = {
        "sampling": sampling,
        "site": site,
        "views": views,
        "packing": packing_list(views),
        "stand": stand,
        "mark": "overdue" if stand.late else STATE_MARKS[sampling.state],
        "drawn_form": DrawnForm(draws=draws, drawer=sampling.drawer or actor.name, zone=zone, now=now),
        "received_form": ReceivedForm(zone=zone, now=now),
        "chase_form": ChaseForm(),
        "off_form": ReasonForm(prefix="off"),
        "short_form": ReasonForm(prefix="short"),
        "desk": actor.may("sampling.write"),
        "answered": any(view.answers for view in views),
        "papers": list(papers_about(site, sampling.public_id)),
        "paper_kinds": [(kind.value, kind.label) for kind in SAMPLING_PAPERS],
        "notice": bar_for(actor, site),
        **forms,
    }
    refused = next((form for form in forms.values() if getattr(form, "errors", None)), None)
    return render(request, "office/lab/sampling.html", {**context, "form": refused}, status=422 if refused else 200)


@require("sampling.read")
def sampling(request: HttpRequest, sampling_id: UUID) -> HttpResponse:
    """One sampling: where it stands, its bottles and hours, its results."""
    return _page(request, sampling_for(acting(request), sampling_id), timezone.now())


@require("sampling.draw")
@require_POST
def sampling_drawn(request: HttpRequest, sampling_id: UUID) -> HttpResponse:
    """The bottles are filled."""
    actor = acting(request)
    row, now = sampling_for(actor, sampling_id), timezone.now()
    zone = zone_of(row.site.dealer)
    form = DrawnForm(request.POST, draws=list(row.draws.all()), drawer=row.drawer, zone=zone, now=now)
    if form.is_valid():
        try:
            mark_drawn(
                sampling=row,
                times=form.times(),
                drawer=form.cleaned_data["drawer"],
                actor_name=actor.name,
                now=now,
            )
        except SamplingRefused as refused:
            form.take_errors(refused.errors)
        else:
            return redirect("sampling", sampling_id=row.public_id)
    return _page(request, row, now, drawn_form=form)


@require("sampling.draw")
@require_POST
def sampling_received(request: HttpRequest, sampling_id: UUID) -> HttpResponse:
    """The laboratory has them."""
    actor = acting(request)
    row, now = sampling_for(actor, sampling_id), timezone.now()
    form = ReceivedForm(request.POST, zone=zone_of(row.site.dealer), now=now)
    if form.is_valid():
        try:
            mark_received(sampling=row, at=form.at("received_at"), actor_name=actor.name, now=now)
        except SamplingRefused as refused:
            form.take_errors(refused.errors)
        else:
            return redirect("sampling", sampling_id=row.public_id)
    return _page(request, row, now, received_form=form)


@require("sampling.write")
@require_POST
def sampling_chase(request: HttpRequest, sampling_id: UUID) -> HttpResponse:
    """The laboratory was asked and named a day."""
    actor = acting(request)
    row, now = sampling_for(actor, sampling_id), timezone.now()
    form = ChaseForm(request.POST)
    if form.is_valid():
        try:
            chase(sampling=row, due_on=form.cleaned_data["due_on"], actor_name=actor.name, now=now)
        except SamplingRefused as refused:
            form.add_error("due_on", str(refused))
        else:
            return redirect("sampling", sampling_id=row.public_id)
    return _page(request, row, now, chase_form=form)


@require("sampling.write")
@require_POST
def sampling_end(request: HttpRequest, sampling_id: UUID) -> HttpResponse:
    """Call it off, or take what came as all that will come (``how`` is "off" or "short")."""
    actor = acting(request)
    row, now = sampling_for(actor, sampling_id), timezone.now()
    how = "short" if request.POST.get("how") == "short" else "off"
    form = ReasonForm(request.POST, prefix=how)
    if form.is_valid():
        act = close_short if how == "short" else call_off
        try:
            act(sampling=row, reason=form.cleaned_data["reason"], actor_name=actor.name, now=now)
        except SamplingRefused as refused:
            form.add_error("reason", str(refused))
        else:
            return redirect("sampling", sampling_id=row.public_id)
    return _page(request, row, now, **{f"{how}_form": form})


@require("sampling.write")
@require_POST
def draw_answered(request: HttpRequest, draw_id: UUID) -> HttpResponse:
    """A test that was entered already is the answer to a draw."""
    actor = acting(request)
    draw = draw_for(actor, draw_id)
    if not request.POST.get("test"):
        messages.error(request, _("no test chosen; accepted is one of the list"))
        return redirect("sampling", sampling_id=draw.sampling.public_id)
    test = get_public(tests_of(draw.sampling.site), request.POST["test"])
    try:
        answer_draw(draw=draw, test=test, actor_name=actor.name, now=timezone.now())
    except SamplingRefused as refused:
        messages.error(request, str(refused))
    return redirect("sampling", sampling_id=draw.sampling.public_id)
