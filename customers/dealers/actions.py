"""Writes about the dealer itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils.text import slugify
from django.utils.translation import gettext as _

from customers.dealers.models import Counter, Dealer


@transaction.atomic
def next_number(*, dealer: Dealer, kind: str) -> int:
    """The next number of ``kind`` for the dealer (1, 2, ...), taken for good; safe under concurrency."""
    counter, _made = Counter.objects.get_or_create(dealer=dealer, kind=kind)
    Counter.objects.filter(pk=counter.pk).update(last=F("last") + 1)
    counter.refresh_from_db()
    return int(counter.last)


class DealerRefused(ValidationError):
    """A dealer could not be made; ``message_dict`` names each field and what would do."""


@transaction.atomic
def create_dealer(*, name: str, slug: str = "", file_prefix: str = "", **values: Any) -> Dealer:
    """A new dealer. ``slug`` and ``file_prefix`` follow from the name unless given; other columns by name.

    Raises ``DealerRefused`` naming the field, also for a time zone that is not in the zone table.
    """
    words = [word for word in name.split() if word]
    initials = "".join(word[0] for word in words)[:2].upper()
    dealer = Dealer(
        name=name.strip(), slug=slug or slugify(name), file_prefix=(file_prefix or initials).upper(), **values
    )
    _check(dealer)
    dealer.save()
    return dealer


@transaction.atomic
def change_settings(*, dealer: Dealer, values: Mapping[str, Any]) -> Dealer:
    """Change columns of the dealer by name; the others are left as they are now, whoever changed them meanwhile.

    Raises ``DealerRefused`` naming the field; nothing is changed then.
    """
    row = Dealer.objects.select_for_update().get(pk=dealer.pk)
    for name, value in values.items():
        setattr(row, name, value)
    _check(row)
    row.save(update_fields=list(values))
    return row


def _check(dealer: Dealer) -> None:
    try:
        dealer.full_clean()
    except ValidationError as refused:
        raise DealerRefused(refused.message_dict) from refused
    if dealer.time_zone not in available_timezones():
        accepted = _('%(zone)s is not a time zone; accepted are names such as "America/Vancouver"')
        raise DealerRefused({"time_zone": accepted % {"zone": dealer.time_zone}})
