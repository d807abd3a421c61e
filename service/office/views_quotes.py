"""Quotes at the desk: list, draft, issue, revise."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.people.gate import acting, require
from customers.tenancy.getters import get_public
from customers.water_tests.bar import notice_bar
from service.documents.queries import newest_paper
from service.installs.water_path import path_of_train
from service.milestones.actions import issue_quote
from service.office.bench_facts import SYMBOLS
from sizing.quotes.actions import QuoteNotOpen, add_line, change_line, change_terms, remove_line, revise_quote
from sizing.quotes.forms import LineForm, TermsForm
from sizing.quotes.models import Quote, QuoteState
from sizing.quotes.queries import quote_for, quotes, totals_of

PER_PAGE = 50


@require("quote.read")
def quote_list(request: HttpRequest) -> HttpResponse:
    """All quotes, newest first; ``?state=`` narrows."""
    state = request.GET.get("state", "")
    rows = quotes().prefetch_related("lines")
    if state in QuoteState.values:
        rows = rows.filter(state=state)
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    listed = [(quote, totals_of(list(quote.lines.all()), quote.tax_rate)) for quote in page]
    context = {"page": page, "listed": listed, "state": state, "states": QuoteState.choices, "symbols": SYMBOLS}
    return render(request, "office/quote/list.html", context)


def _page(quote: Quote, today: date) -> dict[str, Any]:
    lines = list(quote.lines.all())
    return {
        "quote": quote,
        "site": quote.site,
        "lines": lines,
        "totals": totals_of(lines, quote.tax_rate),
        "path": path_of_train(quote.site, quote.train, today) if quote.train else None,
        "symbol": SYMBOLS.get(quote.currency, ""),
        "versions": list(Quote.objects.filter(number=quote.number).order_by("-version")),
        "paper": newest_paper(quote.site, "quote", quote.public_id),
        "notice": notice_bar(quote.site),
        "answer": getattr(quote, "answer", None),
    }


@require("quote.read")
def quote(request: HttpRequest, quote_id: UUID) -> HttpResponse:
    """One version of a quote: lines, totals, drawing, its paper, its answer."""
    row = quote_for(acting(request), quote_id)
    return render(request, "office/quote/quote.html", _page(row, today_at(row.dealer, timezone.now())))


@require("quote.write")
def quote_edit(request: HttpRequest, quote_id: UUID) -> HttpResponse:
    """Change a draft: its terms, a line, a new line."""
    row = quote_for(acting(request), quote_id)
    if row.state != QuoteState.DRAFTED:
        return redirect("quote", quote_id=row.public_id)
    form = TermsForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        change_terms(quote=row, **form.cleaned_data)
        messages.success(request, _("Saved."))
        return redirect("quote-edit", quote_id=row.public_id)
    context = {**_page(row, today_at(row.dealer, timezone.now())), "form": form}
    return render(request, "office/quote/edit.html", context, status=422 if form.errors else 200)


@require("quote.write")
def quote_line(request: HttpRequest, quote_id: UUID, line_id: UUID | None = None) -> HttpResponse:
    """Add a line to a draft, or change one."""
    row = quote_for(acting(request), quote_id)
    line = get_public(row.lines.all(), line_id) if line_id else None
    form = LineForm(request.POST or None, instance=line)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            if line is not None:
                change_line(line=line, **data)
            else:
                data.pop("chosen")
                add_line(quote=row, **data)
        except QuoteNotOpen as error:
            form.add_error(None, str(error))
        else:
            return redirect("quote-edit", quote_id=row.public_id)
    context = {"quote": row, "site": row.site, "line": line, "form": form, "notice": notice_bar(row.site)}
    return render(request, "office/quote/line.html", context, status=422 if form.errors else 200)


@require("quote.write")
@require_POST
def quote_line_remove(request: HttpRequest, quote_id: UUID, line_id: UUID) -> HttpResponse:
    """Take a line out of a draft."""
    row = quote_for(acting(request), quote_id)
    try:
        remove_line(line=get_public(row.lines.all(), line_id))
    except QuoteNotOpen as error:
        messages.error(request, str(error))
    return redirect("quote-edit", quote_id=row.public_id)


@require("quote.write")
@require_POST
def quote_issue(request: HttpRequest, quote_id: UUID) -> HttpResponse:
    """Issue a draft: its PDF is made, the household gets a mailed link."""
    actor = acting(request)
    row = quote_for(actor, quote_id)
    try:
        issue_quote(quote=row, actor=actor, now=timezone.now())
    except QuoteNotOpen as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("%(quote)s is issued; the household gets a link by mail.") % {"quote": row})
    return redirect("quote", quote_id=row.public_id)


@require("quote.write")
@require_POST
def quote_revise(request: HttpRequest, quote_id: UUID) -> HttpResponse:
    """Draft the next version."""
    actor = acting(request)
    row = quote_for(actor, quote_id)
    try:
        later = revise_quote(quote=row, actor_name=actor.name, now=timezone.now())
    except QuoteNotOpen as error:
        messages.error(request, str(error))
        return redirect("quote", quote_id=row.public_id)
    return redirect("quote-edit", quote_id=later.public_id)
