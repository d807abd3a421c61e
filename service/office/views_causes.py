"""The tables of causes at the desk: read them, correct them, add to them, take corrections back, confirm a cause."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.causes import readings
from customers.causes.actions import (
    About,
    CorrectionRefused,
    confirm_cause,
    make_correction,
    put_back,
    undo_correction,
)
from customers.causes.forms import ConfirmForm, CorrectionForm, LikelihoodForm, SeenOnForm, ShareForm
from customers.causes.own_forms import OWN
from customers.causes.queries import correction_for, corrections, laid_of, standing_about, standing_rows, tables_of
from customers.households.queries import site_for
from customers.observations.queries import open_observations
from customers.people.actors import Actor
from customers.people.gate import acting, require
from service.office.household_file import bar_for
from sizing.engine.diagnosis import load_tables

ROWS = 40


def _kept(actor: Actor, form: CorrectionForm) -> bool:
    """Lay what the form says over the dealer's tables; a refusal stands at its field."""
    try:
        make_correction(
            dealer=actor.dealer,
            correction=form.made(),
            why=form.cleaned_data["why"],
            actor_name=actor.name,
            now=timezone.now(),
            form_token=form.cleaned_data["form_token"],
        )
    except CorrectionRefused as refused:
        form.take(refused)
        return False
    return True


@require("causes.read")
def causes(request: HttpRequest) -> HttpResponse:
    """Every complaint with its causes, and how much of it is the dealer's own."""
    laid = laid_of(acting(request).dealer)
    rows = list(standing_rows())
    misfits = [(rows[one.place], one.reason) for one in laid.misfits]
    context = {
        "groups": readings.complaint_groups(laid.tables),
        "own": sum(row.kind != "finished" for row in rows),
        "jobs": sum(row.kind == "finished" for row in rows),
        "misfits": [(readings.told_in_words(laid.tables, row), reason, row) for row, reason in misfits],
        "strength": laid.tables.practice.prior_strength,
    }
    return render(request, "office/causes/list.html", context)


@require("causes.read", write="causes.write")
def complaint(request: HttpRequest) -> HttpResponse:
    """The causes behind one complaint (``?code=``), by source; setting a share."""
    actor = acting(request)
    tables = tables_of(actor.dealer)
    code = request.GET.get("code") or next(iter(tables.shares))
    if code not in tables.shares:
        raise Http404("Not found")
    form = ShareForm(request.POST or None, tables=tables, complaint=code)
    if request.method == "POST" and form.is_valid() and _kept(actor, form):
        messages.success(request, _("Set. The record of corrections takes it back."))
        return redirect(f"{reverse('causes-complaint')}?code={code}")
    context = {
        "code": code,
        "words": tables.observations[code].words,
        "rows": readings.share_rows(tables, code),
        "columns": readings.COLUMN_WORDS,
        "jobs": [tables.counts.seen(code, place) for place in range(4)],
        "form": form,
    }
    return render(request, "office/causes/complaint.html", context, status=422 if form.errors else 200)


@require("causes.read", write="causes.write")
def cause(request: HttpRequest) -> HttpResponse:
    """One cause (``?code=``): what it shows, what it would measure; setting a likelihood."""
    actor = acting(request)
    tables = tables_of(actor.dealer)
    code = request.GET.get("code") or next(iter(tables.causes))
    if code not in tables.causes:
        raise Http404("Not found")
    form = LikelihoodForm(request.POST or None, tables=tables, cause=code)
    if request.method == "POST" and form.is_valid() and _kept(actor, form):
        messages.success(request, _("Set. The record of corrections takes it back."))
        return redirect(f"{reverse('causes-cause')}?code={code}")
    behind = [
        (complaint, tables.observations[complaint].words)
        for complaint, shares in tables.shares.items()
        if any(one.cause == code for one in shares)
    ]
    context = {
        "cause": tables.causes[code],
        "own": code not in load_tables().causes,
        "behind": behind,
        "signs": readings.sign_rows(tables, code),
        "results": readings.result_lines(tables, code),
        "columns": readings.COLUMN_WORDS,
        "form": form,
    }
    return render(request, "office/causes/cause.html", context, status=422 if form.errors else 200)


@require("causes.read")
def questions(request: HttpRequest) -> HttpResponse:
    """Every question, check and test of the tables, by group."""
    dealer = acting(request).dealer
    context = {"groups": readings.question_groups(tables_of(dealer)), "currency": dealer.currency}
    return render(request, "office/causes/questions.html", context)


@require("causes.read")
def devices(request: HttpRequest) -> HttpResponse:
    """Every device with its surest features."""
    rows = readings.device_rows(tables_of(acting(request).dealer))
    return render(request, "office/causes/devices.html", {"rows": rows})


@require("causes.read", write="causes.write")
def device(request: HttpRequest) -> HttpResponse:
    """One device (``?code=``) with its features; setting how often it shows one."""
    actor = acting(request)
    tables = tables_of(actor.dealer)
    code = request.GET.get("code") or next(iter(tables.devices))
    if code not in tables.devices:
        raise Http404("Not found")
    form = SeenOnForm(request.POST or None, tables=tables, device=code)
    if request.method == "POST" and form.is_valid() and _kept(actor, form):
        messages.success(request, _("Set. The record of corrections takes it back."))
        return redirect(f"{reverse('causes-device')}?code={code}")
    one = tables.devices[code]
    context = {
        "device": one,
        "own": code not in load_tables().devices,
        "rows": readings.feature_rows(tables, code),
        "alike": [tables.devices[other].words for other in one.look_alikes if other in tables.devices],
        "form": form,
    }
    return render(request, "office/causes/device.html", context, status=422 if form.errors else 200)


@require("causes.write")
def own(request: HttpRequest) -> HttpResponse:
    """Add a cause, a question, a device or a feature of the dealer's own (``?kind=``)."""
    actor = acting(request)
    kind = request.GET.get("kind") or "cause"
    if kind not in OWN:
        raise Http404("Not found")
    form = OWN[kind](request.POST or None, tables=tables_of(actor.dealer))
    if request.method == "POST" and form.is_valid() and _kept(actor, form):
        messages.success(request, _("Added. It is asked and ranked like any other from now on."))
        return redirect("causes-record")
    heading = {
        "cause": _("A cause of our own"),
        "question": _("A question of our own"),
        "device": _("A device of our own"),
        "feature": _("A feature of our own"),
    }
    pairs = [(form[f"which_{n}"], form[f"often_{n}"]) for n in range(1, 5)]
    paired = {field.name for pair in pairs for field in pair}
    context = {
        "form": form,
        "kind": kind,
        "heading": heading[kind],
        "heads": heading.items(),
        "pairs": pairs,
        "fields": [field for field in form.visible_fields() if field.name not in paired and field.name != "why"],
    }
    return render(request, "office/causes/own.html", context, status=422 if form.errors else 200)


@require("causes.read")
def record(request: HttpRequest) -> HttpResponse:
    """Who corrected what, when and why, newest first; taken back ones stay readable."""
    actor = acting(request)
    tables = tables_of(actor.dealer)
    page = Paginator(corrections(), ROWS).get_page(request.GET.get("page"))
    rows = [(row, readings.told_in_words(tables, row)) for row in page.object_list]
    context = {"rows": rows, "page": page, "may_write": actor.may("causes.write")}
    return render(request, "office/causes/record.html", context)


@require("causes.write")
@require_POST
def undo(request: HttpRequest, correction_id: UUID) -> HttpResponse:
    """Take a correction back."""
    row = correction_for(correction_id)
    try:
        undo_correction(correction=row, actor_name=acting(request).name, now=timezone.now())
    except CorrectionRefused as refused:
        messages.error(request, _("Not taken back: %(why)s") % {"why": refused.accepted})
    else:
        messages.success(request, _("Taken back."))
    return redirect("causes-record")


@require("causes.write")
@require_POST
def again(request: HttpRequest, correction_id: UUID) -> HttpResponse:
    """Lay a correction that was taken back once more."""
    row = correction_for(correction_id)
    try:
        put_back(correction=row, actor_name=acting(request).name, now=timezone.now())
    except CorrectionRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("Laid again."))
    return redirect("causes-record")


@require("household.read", write="observation.write")
def household_cause(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Say what a complaint of a household turned out to come from."""
    actor = acting(request)
    site = site_for(actor, site_id)
    tables = tables_of(site.dealer)
    said = [row.code for row in open_observations(site) if row.code in tables.observations]
    heard = [code for code in dict.fromkeys(said) if code in tables.shares]
    form = ConfirmForm(request.POST or None, tables=tables, heard=heard)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            confirm_cause(
                dealer=site.dealer,
                about=About.household(site),
                complaint=data["complaint"],
                cause=data["cause"],
                answers=dict.fromkeys(said, "yes"),
                why=data["why"],
                actor_name=actor.name,
                now=timezone.now(),
                form_token=data["form_token"],
            )
        except CorrectionRefused as refused:
            form.take(refused)
        else:
            messages.success(request, _("Recorded. It counts in the tables of causes from now on."))
            return redirect("household", site_id=site.public_id)
    standing = [(row, readings.told_in_words(tables, row)) for row in standing_about(site.public_id, site)]
    context = {"form": form, "site": site, "standing": standing, "notice": bar_for(actor, site)}
    return render(request, "office/causes/confirm.html", context, status=422 if form.errors else 200)
