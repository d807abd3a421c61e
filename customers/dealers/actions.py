"""Writes about the dealer itself."""

from __future__ import annotations

from django.db import transaction
from django.db.models import F

from customers.dealers.models import Counter, Dealer


@transaction.atomic
def next_number(*, dealer: Dealer, kind: str) -> int:
    """The next number of ``kind`` for the dealer (1, 2, ...), taken for good; safe under concurrency."""
    counter, _made = Counter.objects.get_or_create(dealer=dealer, kind=kind)
    Counter.objects.filter(pk=counter.pk).update(last=F("last") + 1)
    counter.refresh_from_db()
    return int(counter.last)
