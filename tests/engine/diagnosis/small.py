"""Tables small enough that every joint outcome can be written out, and the brute force that does it."""

from __future__ import annotations

import itertools
import math
from decimal import Decimal
from types import SimpleNamespace

import numpy as np

from sizing.engine.diagnosis_tables import (
    OTHER,
    Cause,
    DiagnosisTables,
    Measure,
    Observation,
    Package,
    Practice,
    Share,
)

COLUMNS = {"drilled_well": 0, "dug_well": 1, "lake": 2, "river": 3, "spring": 3, "cistern": 3}
PRACTICE = Practice(4.0, 0.05, (0.01, 0.99), 20.0, 0.0)


def four(value):
    return (value,) * 4


def observation(code, background=0.1, **more):
    return Observation(code, f"{code} holds", f"{code}?", "g", background=four(background), **more)


def random_tables(seed, causes=3, questions=3, cuts=((1.0,), (2.0, 5.0))):
    """Random causes, questions and measured values; one complaint "c0" and a second one "c1" as evidence."""
    rng = np.random.default_rng(seed)
    names = [f"k{i}" for i in range(causes)]
    asked = [f"q{i}" for i in range(questions)]
    measures = {}
    for code, cut in zip(("iron", "manganese"), cuts, strict=False):
        profiles = {}
        for name in ("low", "usual", "high"):
            row = rng.dirichlet(np.ones(len(cut) + 1))
            profiles[name] = tuple(float(part) for part in row)
        measures[code] = Measure(code, cut, "mg/L", profiles)
    table = {
        name: Cause(
            name,
            f"cause {name}",
            name,
            "",
            signs={code: four(float(rng.uniform(0.02, 0.98))) for code in asked if rng.random() < 0.8},
            presents={"c1": four(float(rng.uniform(0.02, 0.98)))},
            results={code: str(rng.choice(["low", "usual", "high"])) for code in measures},
        )
        for name in names
    }
    weights = rng.dirichlet(np.ones(causes)) * 0.95
    shares = tuple(Share(name, four(float(weight)), "", "") for name, weight in zip(names, weights, strict=True))
    observations = {code: observation(code, float(rng.uniform(0.02, 0.5)), answered=1.0) for code in asked}
    observations |= {code: observation(code, 0.05, complaint=True, answered=1.0) for code in ("c0", "c1")}
    return DiagnosisTables(
        causes=table,
        observations=observations,
        shares={"c0": shares, "c1": shares[:1]},
        measures=measures,
        packages={"both": Package("both", "both", tuple(measures), "laboratory", Decimal(10), 2.0, 1.0)},
        rules=(),
        devices={},
        features={},
        groups={"g": "group"},
        columns=COLUMNS,
        practice=PRACTICE,
    )


def joint(tables, complaint="c0", column=0):
    """Every joint outcome of cause, all answers and all measured classes, with its probability, straight from the
    tables: no function of the engine is called."""
    low, high = tables.practice.certainty
    weights = {share.cause: share.weights[column] for share in tables.shares[complaint]}
    rest = max(tables.practice.something_else, 1.0 - sum(weights.values()))
    total = sum(weights.values())
    prior = {cause: weight * (1.0 - rest) / total for cause, weight in weights.items()} | {OTHER: rest}
    asked = [code for code in tables.observations if code != complaint]
    classes = {code: range(len(one.cuts) + 1) for code, one in tables.measures.items()}
    for cause, start in prior.items():
        known = tables.causes.get(cause)
        for answers in itertools.product(("yes", "no"), repeat=len(asked)):
            for cells in itertools.product(*classes.values()):
                chance = start
                for code, answer in zip(asked, answers, strict=True):
                    yes = min(high, max(low, _yes(tables, known, code, column)))
                    chance *= yes if answer == "yes" else 1.0 - yes
                for code, cell in zip(classes, cells, strict=True):
                    profile = known.results.get(code, "usual") if known else "usual"
                    chance *= tables.measures[code].profiles[profile][cell]
                yield SimpleNamespace(
                    cause=cause,
                    answers=dict(zip(asked, answers, strict=True)),
                    cells=dict(zip(classes, cells, strict=True)),
                    chance=chance,
                )


def _yes(tables, cause, code, column):
    one = tables.observations[code]
    if cause is None:
        return one.background[column]
    named = (cause.presents if one.complaint else cause.signs).get(code)
    return one.background[column] if named is None else named[column]


def given(outcomes, answers=None, cells=None):
    """The outcomes that agree with the evidence."""
    return [
        one
        for one in outcomes
        if all(one.answers[code] == answer for code, answer in (answers or {}).items())
        and all(one.cells[code] in cell for code, cell in (cells or {}).items())
    ]


def shares(outcomes):
    """P(cause) over the outcomes."""
    found = {}
    for one in outcomes:
        found[one.cause] = found.get(one.cause, 0.0) + one.chance
    total = sum(found.values())
    return {cause: chance / total for cause, chance in found.items()}


def bits(distribution):
    return -sum(p * math.log2(p) for p in distribution.values() if p > 0.0)


def expected_gain(outcomes, told):
    """Entropy now less the mean entropy once ``told(outcome)`` is known, over the outcomes as they stand."""
    groups = {}
    for one in outcomes:
        groups.setdefault(told(one), []).append(one)
    total = sum(one.chance for one in outcomes)
    later = sum(sum(one.chance for one in group) / total * bits(shares(group)) for group in groups.values())
    return bits(shares(outcomes)) - later
