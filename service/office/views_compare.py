"""Designs of a household over time: the list, two compared, one asked again; and why a product is not in one."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.households.queries import site_for
from customers.people.gate import acting, require
from customers.water_tests.bar import notice_bar
from service.office.bench_facts import symbol_of
from service.office.bench_inputs import input_changes
from service.office.bench_line import MOST_FOUND, found_products
from service.office.bench_words import reader_of
from sizing.engine.design import Product, Train
from sizing.engine.errors import EngineError, MissingEvidence
from sizing.engine.train import choose_train, why_not
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import read_raw
from sizing.proposals.compare import (
    Pair,
    StageChange,
    SumChange,
    catalogue_change,
    cost_changes,
    pairs_of,
    same_line,
    stage_changes,
)
from sizing.proposals.copies import products_of
from sizing.proposals.goals import wishes_again
from sizing.proposals.handwork import LineRefused, begin_line
from sizing.proposals.line import units_of
from sizing.proposals.models import Proposal
from sizing.proposals.queries import (
    designs_of,
    proposal_for,
    question_of,
    request_value,
    standing,
    train_value,
)


@dataclass(frozen=True)
class Compared:
    """Two lines of two designs, stage by stage and cost by cost."""

    pair: Pair
    same: bool
    stages: tuple[StageChange, ...]
    costs: tuple[SumChange, ...]


@require("design.read")
def design_list(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Every design of a household, newest first, two of them to be compared."""
    actor = acting(request)
    site = site_for(actor, site_id)
    rows = designs_of(site)
    old, new = request.GET.get("old", ""), request.GET.get("new", "")
    if old and new:
        picked = {str(row.public_id): row for row in rows}
        if old in picked and new in picked and old != new:
            first, last = sorted((picked[old], picked[new]), key=lambda row: row.number)
            return redirect("design-against", design_id=last.public_id, other_id=first.public_id)
        messages.error(request, _("Pick two different designs of the list to compare."))
    context = {"site": site, "rows": rows, "notice": notice_bar(site), "symbol": symbol_of(site)}
    return render(request, "office/design/list.html", context)


@require("design.write")
@require_POST
def design_again(request: HttpRequest, design_id: UUID) -> HttpResponse:
    """Ask the same again of today's evidence, prices, figures and engine, and compare."""
    actor = acting(request)
    old = proposal_for(actor, design_id)
    raw = read_raw(old.site)
    wishes = wishes_again(question_of(old), raw.water, jurisdiction=old.site.dealer.jurisdiction)
    try:
        new = make_design(site=old.site, actor_name=actor.name, now=timezone.now(), wishes=wishes, raw=raw)
    except MissingEvidence as missing:
        messages.error(request, str(missing))
        return redirect("design-new", site_id=old.site.public_id)
    except EngineError as refused:
        messages.error(request, str(refused))
        return redirect("design", design_id=old.public_id)
    return redirect("design-against", design_id=new.public_id, other_id=old.public_id)


@require("design.read")
def design_against(request: HttpRequest, design_id: UUID, other_id: UUID) -> HttpResponse:
    """What changed from one design to another; ``?engine=1`` asks today's engine with the old inputs."""
    actor = acting(request)
    new, old = proposal_for(actor, design_id), proposal_for(actor, other_id)
    if new.site_id != old.site_id:
        raise Http404("Not found")
    before, after = list(standing(old)), list(standing(new))
    values = {row.pk: train_value(row) for row in (*before, *after)}
    pairs = [_compared(pair, values[pair.before.pk], values[pair.after.pk]) for pair in pairs_of(before, after)]
    codes = {stage.product.code for train in values.values() for stage in train.stages}
    context = {
        "site": new.site,
        "old": old,
        "new": new,
        "inputs": input_changes(question_of(old), question_of(new), new.unit_system),
        "versions": _versions(old, new),
        "catalogue": catalogue_change(products_of(old), products_of(new), codes),
        "pairs": pairs,
        "head": pairs[0] if pairs and pairs[0].pair.role == "life" else None,
        "lost": [
            side for side, rows in (("old", before), ("new", after)) if not any(not row.by_hand for row in rows)
        ],
        "symbol": symbol_of(new.site),
        "system": new.unit_system,
        "reader": reader_of(new.unit_system, (product.name for product in products_of(new))),
        "notice": notice_bar(new.site),
    }
    if request.GET.get("engine"):
        context["engine_only"] = _engine_only(old)
    return render(request, "office/design/against.html", context)


def _compared(pair: Pair, before: Train, after: Train) -> Compared:
    return Compared(pair, same_line(before, after), stage_changes(before, after), cost_changes(before, after))


def _versions(old: Proposal, new: Proposal) -> list[tuple[str, str, str]]:
    rows = [
        (_("Engine"), old.engine_version, new.engine_version),
        (_("Figures"), old.figures_version[:12], new.figures_version[:12]),
    ]
    return [row for row in rows if row[1] != row[2]]


def _engine_only(old: Proposal) -> Compared | str:
    """The old question, prices and all, asked of today's engine and figures."""
    row = next((row for row in standing(old) if not row.by_hand), None)
    try:
        found = choose_train(request_value(old), keep=1).trains
    except EngineError as refused:
        return str(refused)
    if row is None or not found:
        return _("Nothing passes.") if not found else _("Today a line passes: %(name)s.") % {"name": found[0].name}
    return _compared(Pair("life", row, row), train_value(row), found[0])


@require("design.read", write="design.write")
def design_why(request: HttpRequest, design_id: UUID) -> HttpResponse:
    """Why a product is not in the lines of a design; posting sets the best line with it on the bench."""
    actor = acting(request)
    proposal = proposal_for(actor, design_id)
    typed, code = request.GET.get("q", ""), request.POST.get("code") or request.GET.get("code", "")
    products = products_of(proposal)
    asked = next((product for product in products if product.code == code), None)
    answer = _answer(proposal, asked) if asked else None
    if request.method == "POST" and isinstance(answer, Train) and asked:
        try:
            row = begin_line(
                proposal=proposal,
                units=units_of(answer),
                name=_("Best with %(name)s") % {"name": asked.name},
                actor_name=actor.name,
                now=timezone.now(),
            )
        except LineRefused as refused:
            messages.error(request, str(refused))
        else:
            return redirect("design-line", train_id=row.public_id)
    rows = list(standing(proposal))
    hits = found_products(products, typed)
    context = {
        "site": proposal.site,
        "proposal": proposal,
        "typed": typed,
        "hits": hits[:MOST_FOUND],
        "more": max(len(hits) - MOST_FOUND, 0),
        "code": code,
        "asked": asked,
        "train": answer if isinstance(answer, Train) else None,
        "refusals": answer if isinstance(answer, tuple) else (),
        "refused": answer if isinstance(answer, str) else "",
        "best": next((row for row in rows if not row.by_hand), None),
        "holders": [row for row in rows if asked and any(s["product"]["code"] == code for s in row.data["stages"])],
        "years": question_of(proposal).cost.years,
        "symbol": symbol_of(proposal.site),
        "system": proposal.unit_system,
        "reader": reader_of(proposal.unit_system, (product.name for product in products)),
        "notice": notice_bar(proposal.site),
    }
    return render(request, "office/design/why.html", context)


def _answer(proposal: Proposal, asked: Product) -> object:
    """The engine's answer: the best line with the product, what refuses it, or why it cannot say."""
    try:
        return why_not(request_value(proposal), asked.code)
    except EngineError as refused:
        return str(refused)
