"""Writing the row of an alternative: the engine's train, its money, its stages."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from itertools import product
from typing import Any

import numpy as np

from sizing.catalogue.queries import items_by_code
from sizing.engine.confidence import Confidence, confidence
from sizing.engine.design import DesignRequest, Train
from sizing.engine.storage import to_data
from sizing.engine.train_hand import LaidOut
from sizing.proposals.models import Proposal, ProposedStage, ProposedTrain

CENT = Decimal("0.01")
SEED, DRAWS, TELLING = 7, 10_000, 3  # the same request gives the same share
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


def sure_of(request: DesignRequest, train: Train) -> Confidence:
    """How sure a train is, by the draws that every line of a request is judged with."""
    return confidence(request, train, np.random.default_rng(SEED), DRAWS)


def telling(sure: Confidence) -> dict[str, object]:
    """What is kept of a confidence: its share, the limits most often broken, the inputs that matter most."""
    return {
        "share": sure.share,
        "draws": sure.draws,
        "words": sure.words,
        "limits": [to_data(limit) for limit in sure.limits if limit.kept < 1.0][:TELLING],
        "drivers": [to_data(driver) for driver in sure.drivers][:TELLING],
    }


def columns_of(train: Train, sure: Confidence | None) -> dict[str, Any]:
    """What the row keeps of a train; without a confidence (of a line that breaks limits) none is shown."""
    kept = replace(train, confidence=sure.share if sure else None)
    return {
        "data": to_data(kept),
        "first_cost": train.first_cost.quantize(CENT),
        "whole_life_cost": train.cost.total.quantize(CENT),
        "upkeep_hours_year": train.upkeep_hours_year,
        "confidence": telling(sure) if sure else {},
    }


def columns_by_hand(request: DesignRequest, laid: LaidOut) -> dict[str, Any]:
    """What the row keeps of a line set by hand: its train, and every limit it breaks."""
    sure = None if laid.breaches else sure_of(request, laid.train)
    return columns_of(laid.train, sure) | {"breaks": [to_data(breach) for breach in laid.breaches]}


def write_stages(row: ProposedTrain, train: Train) -> None:
    """The row's stages anew, each with its catalogue item."""
    row.stages.all().delete()
    items = items_by_code({stage.product.code for stage in train.stages})
    ProposedStage.objects.bulk_create(
        ProposedStage(
            dealer_id=row.dealer_id,
            train=row,
            position=position,
            kind=stage.kind.value,
            item=items[stage.product.code],
            at=stage.at,
            count=stage.count,
        )
        for position, stage in enumerate(train.stages, start=1)
    )


def free_letter(proposal: Proposal) -> str:
    """The first letter no alternative of the design has or had."""
    taken: set[str] = set(ProposedTrain.objects.filter(proposal=proposal).values_list("letter", flat=True))
    return next(letter for letter in _letters() if letter not in taken)


def _letters() -> Iterable[str]:
    yield from LETTERS
    yield from map("".join, product(LETTERS, repeat=2))


def log_words(proposal: Proposal, row: ProposedTrain, what: str) -> str:
    """The household's log about a line of a design."""
    return f"design {proposal.number}, line {row.letter}: {what}"


def stamp(at: datetime, who: str, what: str, before: list[list[Any]]) -> dict[str, Any]:
    """One step of work on a line."""
    return {"at": at.isoformat(), "who": who, "what": what, "before": before}
