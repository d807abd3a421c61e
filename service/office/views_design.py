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
from service.office.bench import bench_of, goal_fields
from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import missing_evidence, raw_water
from sizing.proposals.forms import WishesForm
from sizing.proposals.goals import default_wishes
from sizing.proposals.models import Proposal
from sizing.proposals.queries import (
    latest_proposal,
    outcome_value,
    proposal_for,
    request_value,
    train_for,
    train_value,
)
from sizing.quotes.actions import draft_quote


def _form(site: Site, data: Any = None, proposal: Proposal | None = None) -> WishesForm:
    """The wishes form, filled with what the last design was asked, else with the limits in force."""
    water, _unusable = raw_water(site)
    wishes = default_wishes(water, jurisdiction=site.dealer.jurisdiction)
    least, years = site.worst_fixture_min_kpa, site.dealer.cost_years
    if proposal is not None:
        asked = request_value(proposal)
        wishes = type(wishes)(
            at_entry={**wishes.at_entry, **asked.goals.at_entry}, at_tap={**wishes.at_tap, **asked.goals.at_tap}
        )
        least, years = asked.supply.worst_fixture_min_kpa, asked.cost.years
    wishes = type(wishes)(at_entry=wishes.at_entry, at_tap=wishes.at_tap, min_fixture_kpa=least, years=years)
    return WishesForm(
        data, defaults=wishes, water=water, system=units_of(site), worst=site.worst_fixture, years=years
    )


@require("design.read", write="design.write")
def design_new(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """What will be asked of the engine and what is still missing; posting asks it."""
    actor = acting(request)
    site = site_for(actor, site_id)
    now = timezone.now()
    form = _form(site, request.POST or None)
    missing: list[tuple[str, str]] = missing_evidence(site, latest_flow(site), raw_water(site)[0])
    problem = ""
    if request.method == "POST" and form.is_valid():
        try:
            proposal = make_design(site=site, actor_name=actor.name, now=now, wishes=form.wishes())
        except MissingEvidence as error:
            problem = str(error)
        except OutsideValidRange as error:
            problem = str(error)
        else:
            return redirect("design", design_id=proposal.public_id)
    last = latest_proposal(site)
    context = {
        "site": site,
        "form": form,
        "groups": goal_fields(form),
        "missing": missing,
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
    today = today_at(site.dealer, timezone.now())
    form = _form(site, proposal=proposal)
    bench = bench_of(proposal, today)
    context = {
        "site": site,
        "proposal": proposal,
        "bench": bench,
        "outcome": outcome_value(proposal),
        "form": form,
        "groups": goal_fields(form),
        "system": proposal.unit_system,
        "flow": latest_flow(site),
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
    """Draft a quote from an alternative."""
    actor = acting(request)
    train = train_for(actor, train_id)
    quote = draft_quote(train=train, actor_name=actor.name, now=timezone.now())
    messages.success(request, _("Drafted %(quote)s. Check the lines, then issue it.") % {"quote": quote})
    return redirect("quote-edit", quote_id=quote.public_id)
