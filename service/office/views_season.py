"""The season board and the parts of the coming weeks."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from customers.dealers.queries import today_at
from customers.people.gate import acting, require
from service.installs.words import day_words
from service.jobs.actions import JobRefused, move_job
from service.jobs.board import ROWS, WEEKS, board
from service.jobs.forms import MoveForm
from service.jobs.models import JobState
from service.jobs.parts import parts_needed
from service.jobs.queries import job_for

MOST_WEEKS = 26


def _weeks(request: HttpRequest, usual: int) -> int:
    """How many weeks the address asks for, 1 to 26."""
    text = request.GET.get("weeks", "")
    return min(max(int(text), 1), MOST_WEEKS) if text.isdecimal() and len(text) < 4 else usual


@require("job.read", write="job.write")
def season_board(request: HttpRequest) -> HttpResponse:
    """Weeks across, openings, closings and other visits down, crew days asked for against those there are."""
    actor = acting(request)
    now = timezone.now()
    today = today_at(actor.dealer, now)
    count = _weeks(request, WEEKS)
    weeks = board(actor.dealer, today, count)
    movable = [
        job
        for week in weeks
        for found in week.jobs.values()
        for job in found
        if job.state in (JobState.PLANNED, JobState.BOOKED)
    ]
    form = MoveForm(request.POST or None, jobs=movable, today=today)
    if request.method == "POST" and form.is_valid():
        row = job_for(actor, form.cleaned_data["job"])
        try:
            move_job(job=row, day=form.cleaned_data["day"], actor_name=actor.name, now=now)
        except JobRefused as refused:
            form.add_error(None, str(refused))
        else:
            told = {"place": row.site.name, "day": day_words(form.cleaned_data["day"])}
            messages.success(request, _("%(place)s moved to %(day)s.") % told)
            return redirect("season-board")
    names = {"opening": _("Openings"), "closing": _("Closings"), "other": _("Other visits")}
    context = {
        "weeks": weeks,
        "rows": [(row, names[row], [(week, week.jobs[row], week.visits[row]) for week in weeks]) for row in ROWS],
        "form": form,
        "movable": movable,
        "today": today,
        "count": count,
    }
    return render(request, "office/jobs/season.html", context, status=422 if form.errors else 200)


@require("job.read")
def parts(request: HttpRequest) -> HttpResponse:
    """What the coming weeks need, by specification."""
    actor = acting(request)
    today = today_at(actor.dealer, timezone.now())
    count = _weeks(request, 4)
    until = today + timedelta(weeks=count)
    context = {
        "needs": parts_needed(actor.dealer, today, until),
        "today": today,
        "until": until,
        "count": count,
        "choices": (2, 4, 8, 13, 26),
    }
    return render(request, "office/jobs/parts.html", context)
