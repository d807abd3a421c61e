"""Designing: what is missing, asking the engine, the bench, the worksheet, and on to a quote."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.flow_tests.queries import latest_flow
from customers.households.models import Site
from customers.households.queries import site_for, units_of
from customers.people.gate import acting, require
from customers.water_tests.bar import notice_bar
from service.office.bench import bench_of, ground_of
from service.office.bench_asks import asks_of, wanted_codes
from service.office.bench_facts import goal_fields
from sizing.engine.design import DesignRequest
from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.fixtures import OUTSIDE
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import RawReading, missing_evidence, read_raw
from sizing.proposals.forms import WishesForm
from sizing.proposals.goals import usual_wishes, wishes_again
from sizing.proposals.queries import latest_proposal, proposal_for, question_of, train_for, train_value
from sizing.quotes.actions import LineNotQuotable, draft_quote


def wishes_form(site: Site, raw: RawReading, asked: DesignRequest | None, data: Any = None) -> WishesForm:
    """The wishes form, filled with what the last design was asked, else with the limits in force."""
    usual = usual_wishes(site, raw.water)
    return WishesForm(
        data,
        usual=usual,
        wishes=usual if asked is None else wishes_again(asked, raw.water, jurisdiction=site.dealer.jurisdiction),
        water=raw.water,
        system=units_of(site),
        worst=site.worst_fixture,
        cut_in_kpa=site.cut_in_kpa,
        outside_taps=sum(row.count for row in site.fixtures.all() if row.code in OUTSIDE),
        room_known=site.room_c is not None and site.room_humidity is not None,
    )


@require("design.read", write="design.write")
def design_new(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """What will be asked of the engine and what is still missing; posting asks it."""
    actor = acting(request)
    site = site_for(actor, site_id)
    raw, last = read_raw(site), latest_proposal(site)
    form = wishes_form(site, raw, question_of(last) if last else None, request.POST or None)
    steps = missing_evidence(site, latest_flow(site), raw.water)
    asks = asks_of(site, (), steps)
    problem = ""
    if request.method == "POST" and form.is_valid():
        try:
            proposal = make_design(
                site=site, actor_name=actor.name, now=timezone.now(), wishes=form.wishes(), raw=raw
            )
        except MissingEvidence as error:
            problem = str(error)
            asks = asks_of(site, wanted_codes(error.missing, problem), steps)
        except OutsideValidRange as error:
            problem = str(error)
        else:
            return redirect("design", design_id=proposal.public_id)
    context = {
        "site": site,
        "form": form,
        "groups": goal_fields(form),
        "missing": steps,
        "asks": asks,
        "problem": problem,
        "problems": [problem] if problem else [],
        "last": last,
        "notice": notice_bar(site),
    }
    status = 422 if form.errors or problem else 200
    return render(request, "office/design/new.html", context, status=status)


@require("design.read")
def design(request: HttpRequest, design_id: UUID) -> HttpResponse:
    """The bench: alternatives side by side, or why there is none."""
    proposal = proposal_for(acting(request), design_id)
    site = proposal.site
    ground = ground_of(proposal)
    bench = bench_of(ground, today_at(site.dealer, timezone.now()))
    form = wishes_form(site, ground.raw, ground.request)
    context = {
        "site": site,
        "proposal": proposal,
        "bench": bench,
        "outcome": ground.outcome,
        "reader": ground.reader,
        "form": form,
        "groups": goal_fields(form),
        "system": proposal.unit_system,
        "notice": notice_bar(site),
    }
    return render(request, "office/design/bench.html", context)


@require("design.read")
def design_worksheet(request: HttpRequest, train_id: UUID) -> HttpResponse:
    """Every formula of one alternative, with numbers and sources."""
    train = train_for(acting(request), train_id)
    context = {
        "site": train.proposal.site,
        "proposal": train.proposal,
        "train": train,
        "worksheet": train_value(train).worksheet,
        "system": train.proposal.unit_system,
        "notice": notice_bar(train.proposal.site),
    }
    return render(request, "office/design/worksheet.html", context)


@require("quote.write")
@require_POST
def design_quote(request: HttpRequest, train_id: UUID) -> HttpResponse:
    """Draft a quote from an alternative that keeps every limit."""
    actor = acting(request)
    train = train_for(actor, train_id)
    try:
        quote = draft_quote(train=train, actor_name=actor.name, now=timezone.now())
    except LineNotQuotable as refused:
        messages.error(request, str(refused))
        return redirect("design", design_id=train.proposal.public_id)
    messages.success(request, _("Drafted %(quote)s. Check the lines, then issue it.") % {"quote": quote})
    return redirect("quote-edit", quote_id=quote.public_id)
