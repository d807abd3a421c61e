"""The tablet's pages, online for now: today's stops, a job step by step, its lines, the flow test, the end."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.flow_tests.actions import FlowRefused
from customers.flow_tests.forms import FlowTestForm
from customers.people.actors import Actor
from customers.people.gate import acting, require
from service.field.pages import entries_of, frame_of, steps_of
from service.jobs.actions import JobRefused, JobUnfinished, start_job
from service.jobs.checklist import FLOW_TEST
from service.jobs.entries import enter_flow_test, reopen_task, tick_task
from service.jobs.forms import FinishForm, TaskForm
from service.jobs.models import Job, JobTask
from service.jobs.queries import job_for, stops_after, stops_on, task_for
from service.milestones.actions import finish_job


def _now(actor: Actor) -> tuple[datetime, date]:
    now = timezone.now()
    return now, today_at(actor.dealer, now)


@require("field.read")
def today(request: HttpRequest) -> HttpResponse:
    """The stops of today, and what comes in the next days."""
    actor = acting(request)
    _moment, day = _now(actor)
    context = {"stops": stops_on(actor, day), "later": stops_after(actor, day), "day": day}
    return render(request, "field/today.html", context)


def _tasks(job: Job) -> list[JobTask]:
    return list(job.tasks.select_related("stage", "part"))


@require("field.read")
def job(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """One job: its steps on the left, the lines of the current one."""
    actor = acting(request)
    row = job_for(actor, job_id)
    _moment, day = _now(actor)
    asked = request.GET.get("step", "")
    steps = steps_of(row, _tasks(row), int(asked) if asked.isdecimal() and len(asked) < 4 else None)
    current = next((step for step in steps if step.current), None)
    context = {
        **frame_of(row, steps, None, day),
        "step": current,
        "entries": entries_of(current, row.site.unit_system) if current else [],
        "next_step": next((s for s in steps if current and s.number == current.number + 1), None),
        "bring": list(row.bring.all()),
    }
    return render(request, "field/job.html", context)


@require("field.write")
@require_POST
def start(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Begin the job."""
    actor = acting(request)
    row = job_for(actor, job_id)
    try:
        start_job(job=row, actor_name=actor.name, now=timezone.now())
    except JobRefused as refused:
        messages.error(request, str(refused))
    return redirect("field-job", job_id=row.public_id)


def _step_page(row: JobTask, *, stay: bool) -> str:
    """The job's page at this line's step; without ``stay`` at the first step with something to do."""
    page = reverse("field-job", args=[row.job.public_id])
    if not stay:
        return page
    groups = list(dict.fromkeys(row.job.tasks.values_list("group", flat=True)))
    return f"{page}?step={groups.index(row.group) + 1}"


def _after(row: JobTask) -> str:
    """Stay at the step until all its lines are done, then go on."""
    open_lines = row.job.tasks.filter(group=row.group, done_at=None).exists()
    return _step_page(row, stay=open_lines)


@require("field.read", write="field.write")
def task(request: HttpRequest, task_id: UUID) -> HttpResponse:
    """One line: tick it, or give its reading, number or note."""
    actor = acting(request)
    row = task_for(actor, task_id)
    now, day = _now(actor)
    if row.code == FLOW_TEST:
        return redirect("field-flow", task_id=row.public_id)
    form = TaskForm(request.POST or None, task=row, system=row.job.site.unit_system)
    if request.method == "POST":
        form = TaskForm(request.POST, task=row, system=row.job.site.unit_system)
        if form.is_valid():
            data = form.cleaned_data
            try:
                tick_task(
                    task=row,
                    value=data.get("value"),
                    text=data.get("text") or "",
                    actor_name=actor.name,
                    now=now,
                )
            except JobRefused as refused:
                form.add_error(None, str(refused))
            else:
                return redirect(_after(row))
    groups = list(dict.fromkeys(row.job.tasks.values_list("group", flat=True)))
    steps = steps_of(row.job, _tasks(row.job), groups.index(row.group) + 1)
    context = {**frame_of(row.job, steps, row, day), "task": row, "form": form}
    return render(request, "field/task.html", context, status=422 if form.errors else 200)


@require("field.write")
@require_POST
def reopen(request: HttpRequest, task_id: UUID) -> HttpResponse:
    """Take a line back."""
    row = task_for(acting(request), task_id)
    try:
        reopen_task(task=row)
    except JobRefused as refused:
        messages.error(request, str(refused))
    return redirect(_step_page(row, stay=True))


@require("field.read", write="flow_test.write")
def flow(request: HttpRequest, task_id: UUID) -> HttpResponse:
    """The flow test of a job: runs by stopwatch or typed; the result is kept as a test and on the line."""
    actor = acting(request)
    row = task_for(actor, task_id)
    now, day = _now(actor)
    site = row.job.site
    form = FlowTestForm(request.POST or None, site=site, system=site.unit_system, today=day, tested_by=actor.name)
    if request.method == "POST" and form.is_valid():
        try:
            enter_flow_test(
                task=row,
                actor_name=actor.name,
                now=now,
                **form.details(),
            )
        except FlowRefused as refused:
            form.take_errors(refused.errors)
        except JobRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("Flow test saved."))
            return redirect(_after(row))
    groups = list(dict.fromkeys(row.job.tasks.values_list("group", flat=True)))
    steps = steps_of(row.job, _tasks(row.job), groups.index(row.group) + 1)
    context = {**frame_of(row.job, steps, row, day), "task": row, "form": form}
    return render(request, "field/flow.html", context, status=422 if form.errors else 200)


@require("field.read", write="field.write")
def finish(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """The end of a job: what is still missing, else name and signature."""
    actor = acting(request)
    row = job_for(actor, job_id)
    now, day = _now(actor)
    form = FinishForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            finish_job(job=row, actor_name=actor.name, now=now, **form.cleaned_data)
        except JobUnfinished:
            messages.error(request, _("Not finished: some lines are still to do."))
        except JobRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("Finished: %(place)s.") % {"place": row.site.name})
            return redirect("field-today")
    steps = [replace(step, current=False) for step in steps_of(row, _tasks(row), None)]
    frame = frame_of(row, steps, None, day)
    context = {**frame, "here": None, "form": form, "finishing": True}
    status = 422 if form.errors else 409 if request.method == "POST" else 200
    return render(request, "field/finish.html", context, status=status)
