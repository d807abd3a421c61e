"""Designing many households again: workers claim a few at a time until none waits or their turn is over."""

from __future__ import annotations

import logging
from datetime import datetime
from time import monotonic

from celery import shared_task
from django.utils import timezone

from customers.dealers.models import Dealer
from customers.dealers.queries import today_at
from customers.tenancy.scope import dealer_scope
from sizing.catalogue.queries import active_products
from sizing.engine.design import Product
from sizing.redesigns.actions import claim_rows, finish_runs, tell_row
from sizing.redesigns.models import Outcome, RedesignRow
from sizing.redesigns.queries import waiting
from sizing.redesigns.reckoning import Question, Told, answered, question_for

AT_ONCE = 8
TURN_SECONDS = 60.0
log = logging.getLogger(__name__)


@shared_task(name="service.tasks.redesign_households")
def redesign_households(dealer_id: int) -> int:
    """Design a dealer's waiting households again; how many were told. A turn that ends early wakes the next."""
    dealer = Dealer.objects.get(pk=dealer_id)
    told, ends = 0, monotonic() + TURN_SECONDS
    products: tuple[Product, ...] | None = None
    while monotonic() < ends:
        now = timezone.now()
        with dealer_scope(dealer):
            rows = claim_rows(now=now, limit=AT_ONCE)
            if rows and products is None:
                products = active_products(today_at(dealer, now))
        if not rows or products is None:
            break
        told += sum(_one(dealer, row, products, now) for row in rows)
    with dealer_scope(dealer):
        finish_runs(now=timezone.now())
        more = waiting()
    if more and told:
        redesign_households.delay(dealer_id)
    return told


def _one(dealer: Dealer, row: RedesignRow, products: tuple[Product, ...], now: datetime) -> bool:
    """One household: read in the scope, reckoned outside any transaction, told in the scope."""
    question = Question({}, None)
    try:
        with dealer_scope(dealer):
            question = question_for(row, products, today_at(dealer, now))
        told = answered(question)
    except Exception as trouble:
        log.exception("designing household %s again failed", row.site_id)
        told = Told(Outcome.FAILED, words=f"{type(trouble).__name__}: the log of {now:%Y-%m-%d %H:%M} says more")
    with dealer_scope(dealer):
        return tell_row(row=row, before=question.before, told=told, now=timezone.now())
