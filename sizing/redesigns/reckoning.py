"""One household designed again: asked of today's evidence, prices and engine, and told against its newest design."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from time import perf_counter
from typing import Any

from customers.households.models import Site
from sizing.engine.design import DesignRequest, Product, Train
from sizing.engine.errors import EngineError, MissingEvidence
from sizing.engine.train import choose_train
from sizing.engine.train_best import best_train
from sizing.proposals.adapters import read_raw, request_for
from sizing.proposals.goals import wishes_again
from sizing.proposals.models import ProposedTrain
from sizing.proposals.queries import question_of
from sizing.redesigns.models import Outcome, RedesignRow

CENTS = 0.5  # costs over the years nearer than this are the same


@dataclass(frozen=True)
class Told:
    """What came of one household."""

    outcome: str
    after: dict[str, Any] = field(default_factory=dict)
    words: str = ""
    seconds: float = 0.0


@dataclass(frozen=True)
class Question:
    """What is to be asked for one household, or why it cannot be: read inside the scope, answered outside it."""

    before: dict[str, Any]
    request: DesignRequest | None
    refused: Told | None = None


def question_for(row: RedesignRow, products: tuple[Product, ...], today: date) -> Question:
    """Reads everything one household's design needs. ``products`` are the catalogue at today's prices."""
    site: Site = row.site
    before = best_before(row)
    raw = read_raw(site)
    asked = question_of(row.proposal)
    wishes = wishes_again(asked, raw.water, jurisdiction=site.dealer.jurisdiction)
    try:
        request = request_for(site=site, wishes=wishes, on=today, raw=raw, products=products)
    except MissingEvidence as missing:
        return Question(before, None, Told(Outcome.MISSING, words=str(missing)))
    except EngineError as refused:
        return Question(before, None, Told(Outcome.FAILED, words=str(refused)))
    return Question(before, request)


def answered(question: Question) -> Told:
    """The best train now, told against the best before. No database: this is where the time goes."""
    if question.request is None:
        assert question.refused is not None
        return question.refused
    started = perf_counter()
    try:
        best = best_train(question.request)
        conflict = () if best else choose_train(question.request, keep=1).conflict
    except MissingEvidence as missing:
        return Told(Outcome.MISSING, words=str(missing), seconds=perf_counter() - started)
    except EngineError as refused:
        return Told(Outcome.FAILED, words=str(refused), seconds=perf_counter() - started)
    seconds = perf_counter() - started
    if best is None:
        words = conflict[0] if conflict else ""
        said = Outcome.NOTHING if question.before else Outcome.SAME
        return Told(said, words=words, seconds=seconds)
    after = short(best)
    return Told(_against(question.before, after), after, seconds=seconds)


def _against(before: dict[str, Any], after: dict[str, Any]) -> str:
    if not before:
        return Outcome.OPENED
    if before["codes"] != after["codes"]:
        return Outcome.TRAIN
    return Outcome.SAME if abs(before["life"] - after["life"]) < CENTS else Outcome.COSTS


def best_before(row: RedesignRow) -> dict[str, Any]:
    """The best train over the years of the household's newest design in short; empty where none passed."""
    lines = ProposedTrain.objects.filter(proposal=row.proposal, by_hand=False).order_by("whole_life_cost", "letter")
    best = lines.only("letter", "data", "first_cost", "whole_life_cost", "upkeep_hours_year").first()
    if best is None:
        return {}
    stages = best.data["stages"]
    return {
        "letter": best.letter,
        "codes": [[stage["product"]["code"], stage["count"], stage["at"]] for stage in stages],
        "names": [stage["product"]["name"] for stage in stages],
        "first": float(best.first_cost),
        "life": float(best.whole_life_cost),
        "hours": best.upkeep_hours_year,
    }


def short(train: Train) -> dict[str, Any]:
    """A train in short."""
    return {
        "codes": [[stage.product.code, stage.count, stage.at] for stage in train.stages],
        "names": [stage.product.name for stage in train.stages],
        "first": float(train.first_cost),
        "life": float(train.cost.total),
        "hours": train.upkeep_hours_year,
    }
