"""Asking the engine for a design and keeping both question and answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from time import perf_counter

import numpy as np
from django.db import transaction
from django.db.models import Max

from customers.households.models import LogEntry, Site
from customers.households.queries import units_of
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.queries import items_by_code
from sizing.engine import VERSION
from sizing.engine.confidence import Confidence, confidence
from sizing.engine.design import DesignOutcome, DesignRequest, Train
from sizing.engine.figures import figures_version
from sizing.engine.storage import to_data
from sizing.engine.train import choose_train
from sizing.proposals.adapters import Wishes, request_for
from sizing.proposals.models import Proposal, ProposedStage, ProposedTrain

CENT = Decimal("0.01")
SEED, DRAWS, TELLING = 7, 10_000, 3  # the same request gives the same share
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


def make_design(*, site: Site, actor_name: str, now: datetime, wishes: Wishes, keep: int = 3) -> Proposal:
    """Design for a household from its newest evidence; keeps the whole request, outcome and both versions.

    Raises ``MissingEvidence`` naming what must be measured first, or ``OutsideValidRange`` naming a field
    that cannot be. A design for which nothing passes is kept too: it says which constraints conflict. The engine
    reckons before the transaction begins, so that a long search keeps nobody else from writing.
    """
    request = request_for(site=site, wishes=wishes)
    started = perf_counter()
    outcome = choose_train(request, keep=keep)
    seconds = perf_counter() - started
    sure = [confidence(request, train, np.random.default_rng(SEED), DRAWS) for train in outcome.trains]
    found = f"{len(outcome.trains)} trains" if outcome.trains else "no train passes"
    with transaction.atomic():
        proposal = keep_outcome(
            site=site, request=request, outcome=outcome, sure=sure, actor_name=actor_name, now=now, seconds=seconds
        )
        LogEntry.objects.create(
            dealer_id=site.dealer_id, site=site, at=now, who=actor_name, what=f"design {proposal.number}: {found}"
        )
    return proposal


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
    """Store a request with its outcome and how sure each train is (inside the caller's transaction)."""
    last = Proposal.objects.filter(site=site).aggregate(last=Max("number"))["last"] or 0
    data = to_data(outcome)
    data.pop("trains")
    proposal = Proposal.objects.create(
        dealer_id=site.dealer_id,
        site=site,
        number=last + 1,
        request=to_data(request),
        outcome=data,
        unit_system=units_of(site),
        engine_version=VERSION,
        figures_version=figures_version(),
        searched=outcome.searched,
        seconds=round(seconds, 4),
        made_by=actor_name,
        made_at=now,
    )
    items = items_by_code({stage.product.code for train in outcome.trains for stage in train.stages})
    for letter, train, how_sure in zip(LETTERS, outcome.trains, sure, strict=False):
        _keep_train(proposal, letter, replace(train, confidence=how_sure.share), how_sure, items)
    return proposal


def telling(sure: Confidence) -> dict[str, object]:
    """What is kept of a confidence: its share, the limits most often broken, the inputs that matter most."""
    return {
        "share": sure.share,
        "draws": sure.draws,
        "words": sure.words,
        "limits": [to_data(limit) for limit in sure.limits if limit.kept < 1.0][:TELLING],
        "drivers": [to_data(driver) for driver in sure.drivers][:TELLING],
    }


def _keep_train(
    proposal: Proposal, letter: str, train: Train, sure: Confidence, items: dict[str, CatalogueItem]
) -> ProposedTrain:
    row = ProposedTrain.objects.create(
        dealer_id=proposal.dealer_id,
        proposal=proposal,
        letter=letter,
        name=train.name,
        data=to_data(train),
        first_cost=train.first_cost.quantize(CENT),
        whole_life_cost=train.cost.total.quantize(CENT),
        upkeep_hours_year=train.upkeep_hours_year,
        confidence=telling(sure),
    )
    ProposedStage.objects.bulk_create(
        ProposedStage(
            dealer_id=proposal.dealer_id,
            train=row,
            position=position,
            kind=stage.kind.value,
            item=items[stage.product.code],
            at=stage.at,
        )
        for position, stage in enumerate(train.stages, start=1)
    )
    return row
