"""A dealer's own tables of causes, and what was laid over the shipped ones."""

from __future__ import annotations

from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import Count, Max, Q, QuerySet

from customers.causes.models import CauseCorrection, Kind
from customers.dealers.models import Dealer
from customers.households.models import Site
from customers.tenancy.getters import get_public
from sizing.engine.diagnosis import Correction, DiagnosisTables, Laid, laid_over, load_tables
from sizing.engine.storage import from_data


def corrections() -> QuerySet[CauseCorrection]:
    """All of the dealer in scope, taken back ones too, newest first."""
    return CauseCorrection.objects.select_related("site")


def standing_rows() -> QuerySet[CauseCorrection]:
    """Those that stand, in the order they are laid."""
    return CauseCorrection.objects.filter(undone_at__isnull=True).order_by("made_at", "pk")


def correction_for(public_id: UUID | str) -> CauseCorrection:
    """One of them; else 404."""
    found: CauseCorrection = get_public(corrections(), public_id)
    return found


def correction_of(row: CauseCorrection) -> Correction:
    """The engine's value of a row."""
    value: Correction = from_data(Correction, row.data)
    return value


def laid_of(dealer: Dealer) -> Laid:
    """The dealer's tables, and the corrections that fit them no more.

    Kept in the process for as long as nothing was written: one small query a call.
    """
    stamp = CauseCorrection.objects.aggregate(
        n=Count("pk"), undone=Count("undone_at"), pk=Max("pk"), made=Max("made_at"), taken=Max("undone_at")
    )
    return _laid(dealer.public_id, **stamp)


@lru_cache(maxsize=64)
def _laid(dealer: UUID, n: int, undone: int, **stamp: Any) -> Laid:
    standing = [correction_of(row) for row in standing_rows()] if n > undone else []
    return laid_over(load_tables(), standing)


def tables_of(dealer: Dealer) -> DiagnosisTables:
    """The tables diagnosis and identification of this dealer read."""
    return laid_of(dealer).tables


def standing_about(about: UUID, site: Site | None = None) -> QuerySet[CauseCorrection]:
    """Confirmed causes that stand about a household or an enquiry; with ``site`` also those of that household."""
    wanted = Q(about=about) | Q(site=site) if site is not None else Q(about=about)
    return CauseCorrection.objects.filter(wanted, kind=Kind.FINISHED, undone_at__isnull=True)
