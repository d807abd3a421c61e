"""Writes of rounds: asked for, claimed row by row, told, stopped. Everything may come twice without harm."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q

from customers.dealers.models import Dealer
from sizing.redesigns.models import Outcome, Redesign, RedesignRow, RowState, Why
from sizing.redesigns.queries import Now, chosen_by
from sizing.redesigns.reckoning import Told

LEASE = timedelta(minutes=5)
MOST_ATTEMPTS = 3
OPEN = (RowState.WAITING, RowState.TAKEN)


class RedesignRefused(ValueError):
    """A round cannot be begun as asked; says why and what would do."""


@transaction.atomic
def start_redesign(
    *, dealer: Dealer, why: str, actor_name: str, at: datetime, now: Now, sites: Sequence[UUID] = ()
) -> Redesign:
    """Begin a round for the households that ``why`` takes. Each is designed again and told against its newest design;
    no design is kept and none is changed.

    Raises ``RedesignRefused`` where it would take nobody, or while another round of the dealer is under way.
    """
    if why not in Why.values:
        raise RedesignRefused(f"reason is {why!r}, accepted is one of {', '.join(Why.values)}")
    if RedesignRow.objects.filter(state__in=OPEN).exists():
        raise RedesignRefused("a round is under way; wait until it is done, or stop it")
    rows = list(chosen_by(why, now, list(sites)).values_list("pk", "site_id"))
    if not rows:
        raise RedesignRefused("no household would be taken; pick some, or another reason")
    run = Redesign.objects.create(dealer=dealer, why=why, total=len(rows), asked_by=actor_name, asked_at=at)
    RedesignRow.objects.bulk_create(
        [RedesignRow(dealer=dealer, run=run, site_id=site, proposal_id=proposal) for proposal, site in rows],
        batch_size=500,
    )
    return run


@transaction.atomic
def claim_rows(*, now: datetime, limit: int) -> list[RedesignRow]:
    """Claim households that wait, or whose worker let its lease run out; only what was won is returned.

    Each claim is a conditional update that counts the attempt up; the count is the claim's own number. A household
    that was given up too often is told as failed.
    """
    lost = Q(state=RowState.TAKEN, lease_until__lt=now)
    RedesignRow.objects.filter(lost, attempts__gte=MOST_ATTEMPTS).update(
        state=RowState.DONE, outcome=Outcome.FAILED, done_at=now, lease_until=None,
        words=f"given up after {MOST_ATTEMPTS} attempts",
    )  # fmt: skip
    ready = RedesignRow.objects.filter(Q(state=RowState.WAITING) | lost).order_by("pk")
    won: list[int] = []
    for pk, state, attempts in ready.select_for_update(skip_locked=True).values_list("pk", "state", "attempts")[
        :limit
    ]:
        taken = RedesignRow.objects.filter(pk=pk, state=state, attempts=attempts).update(
            state=RowState.TAKEN, lease_until=now + LEASE, attempts=F("attempts") + 1
        )
        if taken:
            won.append(pk)
    rows = RedesignRow.objects.filter(pk__in=won).select_related("site__dealer", "site__customer", "proposal")
    return list(rows.prefetch_related("site__fixtures").order_by("pk"))


@transaction.atomic
def tell_row(*, row: RedesignRow, before: dict[str, object], told: Told, now: datetime) -> bool:
    """Write what came of a household, if the claim still holds; whether it was written."""
    kept = RedesignRow.objects.filter(pk=row.pk, state=RowState.TAKEN, attempts=row.attempts).update(
        state=RowState.DONE,
        outcome=told.outcome,
        before=before,
        after=told.after,
        words=told.words[:400],
        seconds=round(told.seconds, 4),
        done_at=now,
        lease_until=None,
    )
    return bool(kept)


@transaction.atomic
def finish_runs(*, now: datetime) -> int:
    """Close the rounds in which nothing waits or is in hand any more; how many were closed by this call."""
    still = RedesignRow.objects.filter(state__in=OPEN).values("run")
    return Redesign.objects.filter(finished_at=None).exclude(pk__in=still).update(finished_at=now)


@transaction.atomic
def stop_redesign(*, run: Redesign, now: datetime) -> int:
    """Leave out every household of a round that still waits; what is in hand is told. Returns how many."""
    left = RedesignRow.objects.filter(run=run, state=RowState.WAITING).update(state=RowState.LEFT)
    finish_runs(now=now)
    return left
