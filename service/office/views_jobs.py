"""Jobs at the desk: the list, one job, planning, booking, calling off."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from customers.dealers.queries import today_at
from customers.households.queries import site_for
from customers.people.gate import acting, require
from customers.water_tests.bar import notice_bar
from service.documents.models import Paper
from service.jobs.actions import JobRefused, call_off, plan_job
from service.jobs.forms import BookForm, CallOffForm, JobForm
from service.jobs.models import Job, JobKind, JobState
from service.jobs.queries import OPEN, clashes, job_for, jobs_for
from service.milestones.actions import book_visit

PER_PAGE = 50


@require("job.read")
def job_list(request: HttpRequest) -> HttpResponse:
    """Jobs by day; those open unless ``?state=`` asks for others."""
    state = request.GET.get("state", "")
    rows = jobs_for(acting(request)).order_by("day", "start_at", "wanted_from", "pk")
    if state in JobState.values:
        rows = rows.filter(state=state).order_by("-day", "-pk")
    else:
        rows = rows.filter(state__in=OPEN)
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    today = today_at(acting(request).dealer, timezone.now())
    context = {"page": page, "state": state, "states": JobState.choices, "today": today}
    return render(request, "office/jobs/list.html", context)


def _groups(job: Job) -> list[dict[str, Any]]:
    """The checklist by group, with how far each is."""
    groups: dict[str, list[Any]] = {}
    for task in job.tasks.all():
        groups.setdefault(task.group, []).append(task)
    return [
        {"name": name, "tasks": tasks, "done": sum(task.done_at is not None for task in tasks)}
        for name, tasks in groups.items()
    ]


def _papers(job: Job) -> list[Paper]:
    """Papers made from the job or from its install, newest first."""
    about = [job.public_id, *([job.install.public_id] if job.install else [])]
    return list(Paper.objects.filter(site=job.site, about__in=about))


@require("job.read")
def job(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """One job: where, when, who, its checklist, what to bring, its papers."""
    row = job_for(acting(request), job_id)
    groups = _groups(row)
    context = {
        "job": row,
        "site": row.site,
        "units": row.site.unit_system,
        "groups": groups,
        "done": sum(group["done"] for group in groups),
        "lines": sum(len(group["tasks"]) for group in groups),
        "bring": list(row.bring.all()),
        "papers": _papers(row),
        "notice": notice_bar(row.site),
        "may_book": row.state in (JobState.PLANNED, JobState.BOOKED),
        "call_off": CallOffForm(),
        "facts": _facts(row),
    }
    return render(request, "office/jobs/job.html", context)


def _facts(row: Job) -> list[tuple[str, str]]:
    """The head of the job's page."""
    crew = ", ".join(one.staff.name for one in row.crew.all()) or _("nobody yet")
    at = f", {row.start_at:%H:%M}" if row.start_at else ""
    day = f"{row.day:%-d} {row.day:%b} {row.day:%Y}{at}" if row.day else _("no day yet")
    way = row.site.access_note or str(row.site.get_access_by_display())
    return [
        (_("State"), str(row.get_state_display())),
        (_("Day"), day),
        (_("Who goes"), crew),
        (_("Way there"), way),
    ]


@require("job.write")
def job_new(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Plan a visit to a household; the season board sends ``?kind=`` and ``?from=``, the bench also what to do."""
    actor = acting(request)
    site = site_for(actor, site_id)
    now = timezone.now()
    today = today_at(site.dealer, now)
    form = JobForm(request.POST or None, today=today, initial=_proposed(request))
    if request.method == "POST" and form.is_valid():
        try:
            made = plan_job(site=site, actor_name=actor.name, now=now, **form.cleaned_data)
        except JobRefused as refused:
            form.add_error(None, str(refused))
        else:
            return redirect("job-book", job_id=made.public_id)
    context = {"form": form, "site": site, "notice": notice_bar(site)}
    return render(request, "office/jobs/new.html", context, status=422 if form.errors else 200)


def _proposed(request: HttpRequest) -> dict[str, Any]:
    """What the address proposes for a new job; anything unreadable is left out."""
    found: dict[str, Any] = {}
    kind = request.GET.get("kind", "")
    if kind in JobKind.values:
        found["kind"] = kind
        found["what"] = request.GET.get("what", "")[:200] or str(JobKind(kind).label).capitalize()
        found["note"] = request.GET.get("note", "")[:2000]
    with suppress(ValueError):
        found["wanted_from"] = date.fromisoformat(request.GET.get("from", ""))
    return found


@require("job.read", write="job.write")
def job_book(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Give a job a day and people. A double booking is shown first, and booked only when asked again."""
    actor = acting(request)
    row = job_for(actor, job_id)
    now = timezone.now()
    today = today_at(row.dealer, now)
    if row.state not in (JobState.PLANNED, JobState.BOOKED):
        return redirect("job", job_id=row.public_id)
    found: list[Job] = []
    form = BookForm(request.POST or None, job=row, today=today)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        staff = list(data["staff"])
        found = clashes(staff, data["day"], data["start_at"], row.hours, row)
        if found and not data["anyway"]:
            form = BookForm(request.POST, job=row, today=today, warn=True)
        elif _book(form, row, actor.name, now, staff):
            messages.success(request, _("Booked."))
            return redirect("job", job_id=row.public_id)
    context = {"form": form, "job": row, "site": row.site, "clashes": found, "notice": notice_bar(row.site)}
    status = 422 if form.errors else 409 if found else 200
    return render(request, "office/jobs/book.html", context, status=status)


def _book(form: BookForm, row: Job, actor_name: str, now: Any, staff: list[Any]) -> bool:
    data = form.cleaned_data
    try:
        book_visit(
            job=row,
            day=data["day"],
            start_at=data["start_at"],
            staff=staff,
            tell_household=data["tell"],
            actor_name=actor_name,
            now=now,
        )
    except JobRefused as refused:
        form.add_error(None, str(refused))
        return False
    return True


@require("job.write")
def job_call_off(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Call a job off, with the reason."""
    actor = acting(request)
    row = job_for(actor, job_id)
    form = CallOffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            call_off(job=row, actor_name=actor.name, now=timezone.now(), **form.cleaned_data)
        except JobRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("Called off."))
            return redirect("job", job_id=row.public_id)
    context = {"form": form, "job": row, "site": row.site, "notice": notice_bar(row.site)}
    return render(request, "office/jobs/call_off.html", context, status=422 if form.errors else 200)
