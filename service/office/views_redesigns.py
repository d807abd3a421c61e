"""Designing many households again: begin a round, watch it, and see where the best train would now differ."""

from __future__ import annotations

from contextlib import suppress
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.people.gate import acting, require
from service.celery import app
from service.office.bench_facts import SYMBOLS
from sizing.redesigns.actions import RedesignRefused, start_redesign, stop_redesign
from sizing.redesigns.models import Outcome, Redesign, Why
from sizing.redesigns.queries import (
    chosen_by,
    counts_by_reason,
    now_of,
    progress_of,
    rows_of_run,
    run_for,
)

PER_PAGE = 50
A_WORKER = 25  # households that are worth waking one more worker for
MOST_WORKERS = 32
BUTTONS = (Why.EVIDENCE, Why.CATALOGUE, Why.FIGURES, Why.ALL)


def _wake(dealer_id: int, total: int) -> None:
    """Wake as many workers as have something to do; each goes on until nothing waits."""
    for _worker in range(min(-(-total // A_WORKER), MOST_WORKERS)):
        app.send_task("service.tasks.redesign_households", args=[dealer_id])


@require("design.read", write="design.write")
def redesigns(request: HttpRequest) -> HttpResponse:
    """Households with a design and what changed since; a button designs them again. ``?why=`` narrows the list."""
    actor = acting(request)
    at = timezone.now()
    now = now_of(today_at(actor.dealer, at))
    if request.method == "POST":
        sites = []
        for text in request.POST.getlist("site"):
            with suppress(ValueError):
                sites.append(UUID(text))
        try:
            run = start_redesign(
                dealer=actor.dealer,
                why=request.POST.get("why", ""),
                actor_name=actor.name,
                at=at,
                now=now,
                sites=sites,
            )
        except RedesignRefused as refused:
            messages.error(request, str(refused))
            return redirect("redesigns")
        dealer_id, total = actor.dealer.pk, run.total
        transaction.on_commit(lambda: _wake(dealer_id, total), robust=True)
        return redirect("redesign", run_id=run.public_id)
    why = request.GET.get("why", "")
    rows = chosen_by(why if why in BUTTONS else Why.ALL, now)
    counts = counts_by_reason(now)
    context = {
        "page": Paginator(rows, PER_PAGE).get_page(request.GET.get("page")),
        "why": why,
        "buttons": [(code.value, code.label, counts[code.value]) for code in BUTTONS],
        "runs": list(Redesign.objects.all()[:10]),
    }
    return render(request, "office/redesign/start.html", context)


@require("design.read")
def redesign(request: HttpRequest, run_id: UUID) -> HttpResponse:
    """One round: how far it is and what came of each household. Asked by htmx it answers with the part that moves."""
    actor = acting(request)
    run = run_for(actor, run_id)
    outcome = request.GET.get("outcome", "")
    progress = progress_of(run)
    rows = rows_of_run(run, outcome if outcome in Outcome.values else "")
    context = {
        "run": run,
        "progress": progress,
        "outcomes": [(code, label, progress.by_outcome[code]) for code, label in Outcome.choices],
        "outcome": outcome,
        "page": Paginator(rows, PER_PAGE).get_page(request.GET.get("page")),
        "symbol": SYMBOLS.get(actor.dealer.currency, ""),
    }
    part = request.htmx  # type: ignore[attr-defined]
    return render(request, "office/redesign/rows.html" if part else "office/redesign/run.html", context)


@require("design.write")
@require_POST
def redesign_stop(request: HttpRequest, run_id: UUID) -> HttpResponse:
    """Leave out what still waits."""
    run = run_for(acting(request), run_id)
    left = stop_redesign(run=run, now=timezone.now())
    messages.success(request, _("%(n)s households left out.") % {"n": left})
    return redirect("redesign", run_id=run.public_id)
