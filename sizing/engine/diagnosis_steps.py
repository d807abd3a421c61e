"""What to do next: every question, check, field test and laboratory set by information per cost and delay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sizing.engine.design import SourceType
from sizing.engine.diagnosis_bayes import outcome_gain, question_gains
from sizing.engine.diagnosis_model import ANY, Lens
from sizing.engine.diagnosis_results import telling
from sizing.engine.diagnosis_tables import Asked, DiagnosisTables

Array = NDArray[np.float64]
Kind = Literal["ask", "home check", "field test", "laboratory"]
KINDS: dict[Asked, Kind] = {
    "phone": "ask",
    "home": "home check",
    "visit": "field test",
    "laboratory": "laboratory",
}


@dataclass(frozen=True)
class NextStep:
    """One thing to do next.

    ``gain_bits``: what it is expected to tell, over all open complaints, times the chance of an answer at all.
    ``worth``: bits for each unit of money, delay counted as money. ``words`` for the office, ``ask`` plain.
    """

    code: str
    kind: Kind
    words: str
    ask: str
    group: str
    picture: str
    gain_bits: float
    cost: Decimal
    days: float
    worth: float
    analytes: tuple[str, ...] = ()


def next_steps(
    tables: DiagnosisTables,
    source: SourceType,
    views: Sequence[tuple[Lens, Array]],
    done: frozenset[str],
    results: frozenset[str],
) -> tuple[NextStep, ...]:
    """Every step that is still expected to tell something, worthiest first.

    Why: the next question on the phone, and which bottles are worth their money.
    Units: bits, the dealer's money, days; worth in bits for each unit of money.
    Range: ``views`` pairs each open lens with the shares it holds now; ``done`` observations already answered
    (also with "unknown"), ``results`` analytes already measured.
    Raises: nothing.
    Source: expected information, exact by enumeration within each complaint, added over complaints (bits that
    settle two complaints count for both); costs and the price of a day from the tables (judgement). While no
    complaint is open, only questions are weighed: what to test follows from what is noticed.

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> from sizing.engine.diagnosis_model import lens_of
    >>> lens = lens_of(load_tables(), SourceType.DRILLED_WELL, "milky")
    >>> next_steps(load_tables(), SourceType.DRILLED_WELL, [(lens, lens.prior)], frozenset(), frozenset())[0].kind
    'ask'
    """
    found = [*_questions(tables, source, views, done), *_packages(tables, views, results)]
    least = tables.practice.least_gain
    kept = [step for step in found if step.gain_bits >= least]
    return tuple(sorted(kept, key=lambda step: (-step.worth, step.code)))


def _questions(
    tables: DiagnosisTables, source: SourceType, views: Sequence[tuple[Lens, Array]], done: frozenset[str]
) -> list[NextStep]:
    gains = np.zeros(len(tables.observations))
    for lens, now in views:
        gains += question_gains(now, lens.yes)
    opened = {lens.complaint for lens, _ in views}
    steps = []
    for one, gain in zip(tables.observations.values(), gains.tolist(), strict=True):
        if one.code in done or one.code in opened or (one.sources and source.value not in one.sources):
            continue
        bits = gain * one.answered
        steps.append(
            NextStep(
                code=one.code,
                kind=KINDS[one.asked],
                words=one.words,
                ask=one.ask,
                group=one.group,
                picture=one.picture,
                gain_bits=bits,
                cost=one.cost,
                days=one.days,
                worth=_worth(bits, one.cost, one.days, tables),
            )
        )
    return steps


def _packages(
    tables: DiagnosisTables, views: Sequence[tuple[Lens, Array]], results: frozenset[str]
) -> list[NextStep]:
    told = set(telling(results, tables.measures))
    views = [(lens, now) for lens, now in views if lens.complaint != ANY]
    steps = []
    for one in tables.packages.values():
        news = [code for code in telling(results | set(one.analytes), tables.measures) if code not in told]
        gain = sum(
            outcome_gain(now, [lens.classes[code] for code in news if code in lens.tells]) for lens, now in views
        )
        bits = gain * one.answered
        steps.append(
            NextStep(
                code=one.code,
                kind=KINDS[one.asked],
                words=one.words,
                ask=one.words,
                group="",
                picture="",
                gain_bits=bits,
                cost=one.cost,
                days=one.days,
                worth=_worth(bits, one.cost, one.days, tables),
                analytes=tuple(code for code in one.analytes if code not in results),
            )
        )
    return steps


def _worth(bits: float, cost: Decimal, days: float, tables: DiagnosisTables) -> float:
    return bits / (float(cost) + tables.practice.day_cost * days)
