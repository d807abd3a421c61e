"""Enquiries at the desk: the list, and the one page on which they are taken down."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.causes.queries import tables_of
from customers.enquiries.actions import start_enquiry
from customers.enquiries.answering import write_down
from customers.enquiries.devices import MOST_DEVICES, begin_device
from customers.enquiries.forms import SaidIn, read_said
from customers.enquiries.keeping import EnquiryRefused, Sayer
from customers.enquiries.models import AnswerKind, Enquiry, EnquiryState
from customers.enquiries.placing import attach_to_household
from customers.enquiries.queries import answers_of, enquiries_for, enquiry_for, open_enquiries, standing
from customers.households.models import Site
from customers.households.queries import site_for
from customers.people.gate import acting, require
from customers.photos.taking import ACCEPT
from service.office import intake
from service.office.household_file import bar_for
from service.office.intake_devices import device_blocks, feature_choices
from sizing.diagnoses.reasoning import Reasoned, leads_of, reason

PER_PAGE = 25


@require("enquiry.read")
def enquiry_list(request: HttpRequest) -> HttpResponse:
    """Open enquiries, newest first, each with its gravest hazard and leading cause; ``?state=closed`` the others."""
    actor = acting(request)
    closed = request.GET.get("state") == EnquiryState.CLOSED
    if closed:
        rows = enquiries_for(actor).filter(state=EnquiryState.CLOSED).prefetch_related(standing())
    else:
        rows = open_enquiries(actor)
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    listed = leads_of(page, tables_of(actor.dealer))
    context = {"page": page, "listed": listed, "closed": closed, "form_token": uuid4()}
    return render(request, "office/enquiries/list.html", context)


@require("enquiry.write")
@require_POST
def enquiry_new(request: HttpRequest) -> HttpResponse:
    """Begin an enquiry, with ``site`` in that household's file; the same form sent twice begins one."""
    actor, now = acting(request), timezone.now()
    about = request.POST.get("site", "")
    site = site_for(actor, about) if about else None
    try:
        enquiry = start_enquiry(
            actor=actor, now=now, details=_details_of(site), form_token=request.POST.get("form_token") or None
        )
    except ValueError:
        messages.error(request, _("The form was not whole. Begin once more."))
        return redirect("enquiry-list")
    if site is not None:
        attach_to_household(enquiry=enquiry, site=site, actor=actor, now=now)
    return redirect("enquiry", enquiry_id=enquiry.public_id)


def _details_of(site: Site | None) -> dict[str, str]:
    """What a household's file knows of whoever rings from it."""
    if site is None:
        return {}
    owner = site.customer
    return {"name": owner.name, "phone": owner.phone, "email": owner.email, "place": site.road, "source": site.source}


@require("enquiry.read", write="enquiry.write")
def enquiry(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """The intake page. Posting writes one field or all of them; by htmx it answers with what follows from it."""
    actor = acting(request)
    row = enquiry_for(actor, enquiry_id)
    if request.method != "POST":
        return _page(request, row)
    said = read_said(request.POST, answers_of(row))
    now = timezone.now()
    errors: dict[str, str] = {}
    try:
        write_down(enquiry=row, by=Sayer(actor.name), now=now, said=said, tables=tables_of(row.dealer))
        if "another" in request.POST:
            begin_device(enquiry=row, by=Sayer(actor.name), now=now)
    except EnquiryRefused as refused:
        errors = refused.errors
    if getattr(request, "htmx", False):
        return _update(request, enquiry_for(actor, enquiry_id), said, errors, now)
    if errors:
        return _page(request, row, errors=errors, typed=said.details)
    back = redirect("enquiry", enquiry_id=row.public_id)
    if "another" in request.POST:
        back.headers["Location"] += "#h-dev"
    return back


def _reasoning(row: Enquiry) -> dict[str, Any]:
    """What the engine says, as the page shows it."""
    reasoned = reason(row)
    asks = intake.ask_steps(reasoned)
    tests = intake.worth_testing(reasoned)
    return {
        "enquiry": row,
        "reasoned": reasoned,
        "stops": reasoned.diagnosis.interlocks,
        "may_size": reasoned.diagnosis.may_size,
        "ask": asks[0] if asks else None,
        "more": asks[1:],
        "checks": intake.ask_steps(reasoned, "home check", 2),
        "tests": tests,
        "analytes": intake.analytes_of(tests),
        "blocks": intake.complaint_blocks(reasoned),
        "contradictions": [_(words) for words in reasoned.diagnosis.contradictions],
        "devices": device_blocks(reasoned, row.devices.all()),
        "answered": intake.answered(reasoned),
    }


def _page(
    request: HttpRequest, row: Enquiry, *, errors: dict[str, str] | None = None, typed: Any = None
) -> HttpResponse:
    told = _reasoning(row)
    reasoned: Reasoned = told["reasoned"]
    for name, value in (typed or {}).items():
        setattr(row, name, value)
    context = {
        **told,
        "groups": intake.complaint_groups(reasoned),
        "sources": intake.source_choices(),
        "facts": intake.fact_choices(reasoned.answers.facts),
        "features": [(block, feature_choices(reasoned, block.number)) for block in told["devices"]],
        "more_devices": len(told["devices"]) < MOST_DEVICES,
        "photos": list(row.photos.all()),
        "links": list(row.links.all()[:5]),
        "said": intake.history_of(reasoned.tables, row.answers.all()),
        "entries": list(row.entries.all()[:20]),
        "causes": sorted(((code, _(one.words)) for code, one in reasoned.tables.causes.items()), key=lambda c: c[1]),
        "notice": bar_for(acting(request), row.site) if row.site else None,
        "accept": ACCEPT,
        "errors": errors or {},
        "problems": list((errors or {}).items()),
        "nav": "enquiry-list",
    }
    return render(request, "office/enquiries/page.html", context, status=422 if errors else 200)


def _update(request: HttpRequest, row: Enquiry, said: SaidIn, errors: dict[str, str], now: datetime) -> HttpResponse:
    """The parts of the page that follow from what was just written."""
    told = _reasoning(row)
    water = (AnswerKind.OBSERVATION.value, 1)
    sent = {*said.answers.get(water, ()), *said.back.get(water, ())}
    groups = intake.complaint_groups(told["reasoned"])
    context = {
        **told,
        "now": now,
        "errors": errors,
        "checked": [(name, errors.get(name, "")) for name in said.details],
        "tiles": [choice for _group, _words, choices in groups for choice in choices if choice.code in sent],
    }
    return render(request, "office/enquiries/update.html", context)
