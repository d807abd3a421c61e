"""What is this thing in the basement: devices in order, look-alikes kept apart, what to look at next.

Model: the thing is exactly one device of the tables, or something else; given the device its features are taken
as independent (naive Bayes); a feature a device does not name is seen at that feature's background rate. How
often a device is asked about and how often it shows a feature is judgement, and says so in its file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sizing.engine.design import SourceType
from sizing.engine.diagnosis_bayes import posterior, question_gains
from sizing.engine.diagnosis_tables import ANSWERS, OTHER, Answer, DiagnosisTables, NotInTables

Array = NDArray[np.float64]
LEAST_SHOWN = 0.005
OTHER_WORDS = "Something that is not in the tables: photograph it whole, its label and every pipe"


@dataclass(frozen=True)
class RankedDevice:
    """One device. ``look_alikes``: codes still open beside it; ``unknowns``: what is to be marked unknown on the
    stage made of it (``stage_kind`` is ``None`` where it is no stage of a design)."""

    code: str
    words: str
    probability: float
    look_alikes: tuple[str, ...]
    tell_apart: str
    confirm: str
    photograph: str
    read_on_it: tuple[str, ...]
    stage_kind: str | None
    unknowns: tuple[str, ...]
    caution: str = ""


@dataclass(frozen=True)
class NextQuestion:
    """One thing to look at: ``worth`` is expected bits for each unit of effort."""

    code: str
    words: str
    ask: str
    picture: str
    gain_bits: float
    effort: float
    worth: float


@dataclass(frozen=True)
class Identification:
    """Devices, likeliest first, and questions, worthiest first."""

    devices: tuple[RankedDevice, ...]
    questions: tuple[NextQuestion, ...]


@dataclass(frozen=True, eq=False)
class _Shelf:
    codes: tuple[str, ...]
    prior: Array
    yes: Array


@lru_cache(maxsize=256)
def _shelf(tables: DiagnosisTables, place: int | None) -> _Shelf:
    weights = [sum(one.weight) / 4.0 if place is None else one.weight[place] for one in tables.devices.values()]
    other = tables.practice.something_else
    low, high = tables.practice.certainty
    total = sum(weights)
    prior = np.array([*((1.0 - other) * weight / total for weight in weights), other])
    yes = np.array(
        [
            [*(device.features.get(code, one.background) for device in tables.devices.values()), one.background]
            for code, one in tables.features.items()
        ]
    ).clip(low, high)
    return _Shelf((*tables.devices, OTHER), prior, yes)


def identify(
    features: Mapping[str, Answer], tables: DiagnosisTables, source: SourceType | None = None
) -> Identification:
    """Which device shows these features, what it could be mistaken for, and what to look at next.

    Why: half the sites have equipment nobody can name; what it is decides what may be done to it.
    Units: shares; bits; effort in the dealer's money.
    Range: features of the tables answered yes, no or unknown.
    Raises: ``OutsideValidRange`` naming an unknown feature or answer.
    Source: ``devices.toml`` and ``device-features.toml`` (judgement).

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> found = identify({"tall_tank": "yes", "salt": "yes", "hardness_unchanged": "yes"}, load_tables())
    >>> sorted(one.code for one in found.devices[:2])
    ['nitrate_anion', 'tannin_anion']
    """
    shelf = _shelf(tables, tables.columns[source.value] if source is not None else None)
    for code, answer in features.items():
        if code not in tables.features:
            raise NotInTables("feature", code)
        if answer not in ANSWERS:
            raise NotInTables(code, answer, f"one of {', '.join(ANSWERS)}")
    seen = [
        yes if features[code] == "yes" else 1.0 - yes
        for code, yes in zip(tables.features, shelf.yes, strict=True)
        if features.get(code, "unknown") != "unknown"
    ]
    now = posterior(shelf.prior, np.array(seen)) if seen else shelf.prior
    return Identification(_ranked(tables, shelf, now), _questions(tables, shelf, now, features))


def _ranked(tables: DiagnosisTables, shelf: _Shelf, now: Array) -> tuple[RankedDevice, ...]:
    shares = dict(zip(shelf.codes, now.tolist(), strict=True))
    ranked = []
    for code, share in shares.items():
        if share < LEAST_SHOWN:
            continue
        device = tables.devices.get(code)
        if device is None:
            ranked.append(RankedDevice(code, OTHER_WORDS, share, (), "", "", "", (), None, ()))
            continue
        ranked.append(
            RankedDevice(
                code=code,
                words=device.words,
                probability=share,
                look_alikes=tuple(other for other in device.look_alikes if shares[other] >= LEAST_SHOWN),
                tell_apart=device.tell_apart,
                confirm=device.confirm,
                photograph=device.photograph,
                read_on_it=device.read_on_it,
                stage_kind=device.stage_kind,
                unknowns=device.unknowns,
                caution=device.caution,
            )
        )
    return tuple(sorted(ranked, key=lambda one: (one.code == OTHER, -one.probability, one.code)))


def _questions(
    tables: DiagnosisTables, shelf: _Shelf, now: Array, done: Mapping[str, Answer]
) -> tuple[NextQuestion, ...]:
    gains = question_gains(now, shelf.yes).tolist()
    found = []
    for one, gain in zip(tables.features.values(), gains, strict=True):
        bits = gain * one.answered
        if one.code in done or bits < tables.practice.least_gain:
            continue
        found.append(NextQuestion(one.code, one.words, one.ask, one.picture, bits, one.effort, bits / one.effort))
    return tuple(sorted(found, key=lambda one: (-one.worth, one.code)))
