"""Reading quotes and adding them up."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet

from customers.households.models import Site
from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from sizing.quotes.models import Quote, QuoteLine, QuoteState

CENT = Decimal("0.01")


@dataclass(frozen=True)
class Totals:
    """What a quote comes to, in its currency: chosen lines before tax, tax, total; and options not chosen."""

    net: Decimal
    tax: Decimal
    total: Decimal
    options: Decimal


def totals_of(lines: list[QuoteLine], tax_rate: Decimal) -> Totals:
    """Add up lines; tax is taken on the sum and rounded once, half up (common practice)."""
    net = sum((line.amount for line in lines if line.chosen), Decimal("0.00"))
    options = sum((line.amount for line in lines if line.optional and not line.chosen), Decimal("0.00"))
    tax = (net * tax_rate / 100).quantize(CENT, ROUND_HALF_UP)
    return Totals(net=net, tax=tax, total=net + tax, options=options)


def totals(quote: Quote) -> Totals:
    """What the quote comes to."""
    return totals_of(list(quote.lines.all()), quote.tax_rate)


def quotes() -> QuerySet[Quote]:
    """All quotes of the dealer in scope, with household."""
    return Quote.objects.select_related("site", "site__customer", "dealer")


def quote_for(actor: Actor, public_id: UUID) -> Quote:
    """One quote: any for desk staff, an issued one of their own household for customers; else 404 or 403."""
    if actor.is_customer:
        own = quotes().filter(site_id__in=actor.site_ids).exclude(state=QuoteState.DRAFTED)
        return get_public(own, public_id)
    if not actor.may("quote.read"):
        raise PermissionDenied("quotes are for the office")
    return get_public(quotes(), public_id)


def open_quote_of_site(site: Site) -> Quote | None:
    """The quote the household can answer now, if any."""
    return Quote.objects.filter(site=site, state=QuoteState.ISSUED).order_by("-number", "-version").first()
