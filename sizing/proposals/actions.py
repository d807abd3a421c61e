"""Asking the engine for a design and keeping both question and answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from time import perf_counter
from uuid import uuid4

from django.db import transaction
from django.db.models import Max

from customers.dealers.queries import today_at
from customers.households.log import add_log
from customers.households.models import Site
from customers.households.queries import units_of
from sizing.engine import VERSION
from sizing.engine.confidence import Confidence
from sizing.engine.design import DesignOutcome, DesignRequest
from sizing.engine.figures import figures_version
from sizing.engine.storage import to_data
from sizing.engine.train import choose_train
from sizing.proposals.adapters import RawReading, Wishes, request_for
from sizing.proposals.copies import keep_catalogue
from sizing.proposals.keeping import carry_pinned
from sizing.proposals.models import Proposal, ProposedTrain
from sizing.proposals.queries import latest_proposal
from sizing.proposals.rows import LETTERS, columns_of, sure_of, write_stages


def make_design(
    *, site: Site, actor_name: str, now: datetime, wishes: Wishes, keep: int = 3, raw: RawReading | None = None
) -> Proposal:
    """Design for a household from its newest evidence; keeps the whole request, outcome and both versions.

    Pinned lines of the design before are checked anew and stand beside the new ones. Raises ``MissingEvidence``
    naming what must be measured first, or ``OutsideValidRange`` naming a field that cannot be. A design for which
    nothing passes is kept too: it says which constraints conflict. The engine reckons before the transaction
    begins, so that a long search keeps nobody else from writing.
    """
    request = request_for(site=site, wishes=wishes, on=today_at(site.dealer, now), raw=raw)
    started = perf_counter()
    outcome = choose_train(request, keep=keep)
    seconds = perf_counter() - started
    sure = [sure_of(request, train) for train in outcome.trains]
    found = f"{len(outcome.trains)} trains" if outcome.trains else "no train passes"
    with transaction.atomic():
        last = latest_proposal(site)
        proposal = keep_outcome(
            site=site, request=request, outcome=outcome, sure=sure, actor_name=actor_name, now=now, seconds=seconds
        )
        if last is not None:
            carried = carry_pinned(old=last, new=proposal, now=now)
            found += f", {len(carried)} pinned carried over" if carried else ""
        add_log(site=site, who=actor_name, what=f"design {proposal.number}: {found}", at=now)
    return proposal


@transaction.atomic
def keep_outcome(
    *,
    site: Site,
    request: DesignRequest,
    outcome: DesignOutcome,
    sure: Sequence[Confidence],
    actor_name: str,
    now: datetime,
    seconds: float,
) -> Proposal:
    """Store a request with its outcome and how sure each train is."""
    last = Proposal.objects.filter(site=site).aggregate(last=Max("number"))["last"] or 0
    data = to_data(outcome)
    data.pop("trains")
    proposal = Proposal.objects.create(
        dealer_id=site.dealer_id,
        site=site,
        number=last + 1,
        request=to_data(replace(request, catalogue=())),
        catalogue=keep_catalogue(dealer_id=site.dealer_id, products=request.catalogue, now=now),
        outcome=data,
        unit_system=units_of(site),
        engine_version=VERSION,
        figures_version=figures_version(),
        searched=outcome.searched,
        seconds=round(seconds, 4),
        made_by=actor_name,
        made_at=now,
    )
    for letter, train, how_sure in zip(LETTERS, outcome.trains, sure, strict=False):
        row = ProposedTrain.objects.create(
            dealer_id=proposal.dealer_id,
            proposal=proposal,
            letter=letter,
            name=train.name,
            origin=uuid4(),
            **columns_of(train, how_sure),
        )
        write_stages(row, train)
    return proposal
