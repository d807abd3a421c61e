"""Simulated callers: a true cause and its answers are drawn from the tables, and the questioner must find it.

The same callers are asked by the engine, down a fixed list (the table's own order, only questions some cause of the
complaint speaks of) and in random order of that list. All three stop at 85 % or when nothing is left to ask, so
they end equally sure; what differs is how many questions it took. ``python -m tests.engine.diagnosis.test_callers``
prints the distribution over more callers.
"""

from __future__ import annotations

import numpy as np
import pytest

from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Evidence, diagnose, load_tables
from sizing.engine.diagnosis_bayes import question_gains
from sizing.engine.diagnosis_model import lens_of, pieces, weigh
from sizing.engine.diagnosis_tables import OTHER
from sizing.engine.identify import identify

TABLES = load_tables()
SURE, MOST = 0.85, 25
SOURCES = [SourceType.DRILLED_WELL, SourceType.DUG_WELL, SourceType.LAKE, SourceType.SPRING]


class Caller:
    """A household with one true cause behind its complaint; answers are drawn once and stay as they are."""

    def __init__(self, chance: np.random.Generator) -> None:
        self.source = SOURCES[chance.integers(len(SOURCES))]
        complaints = sorted(TABLES.shares)
        while True:
            self.lens = lens_of(TABLES, self.source, complaints[chance.integers(len(complaints))])
            if len(self.lens.causes) > 2:  # one cause alone needs no question
                break
        place = int(chance.choice(len(self.lens.causes) - 1, p=self.lens.prior[:-1] / self.lens.prior[:-1].sum()))
        self.cause = self.lens.causes[place]
        self.draws = {
            code: "unknown"
            if chance.random() >= one.answered
            else "yes"
            if chance.random() < self.lens.yes[self.lens.rows[code], place]
            else "no"
            for code, one in TABLES.observations.items()
        }
        told = [code for code, row in self.lens.rows.items() if np.ptp(self.lens.yes[row]) > 0.0]
        self.list = [
            code
            for code in told
            if code != self.lens.complaint
            and not (TABLES.observations[code].sources and self.source.value not in TABLES.observations[code].sources)
        ]


def ask_down(caller: Caller, order: list[str]) -> tuple[int, str]:
    """Asks in the given order until sure: how many questions, and the cause named."""
    answers: dict = {}
    for code in order[:MOST]:
        now = weigh(caller.lens, pieces(caller.lens, answers))
        if now[:-1].max() >= SURE:
            break
        answers[code] = caller.draws[code]
    now = weigh(caller.lens, pieces(caller.lens, answers))
    return len(answers), caller.lens.causes[int(now[:-1].argmax())]


def ask_by_gain(caller: Caller) -> tuple[int, str]:
    """Asks what is expected to tell most, until sure."""
    answers: dict = {}
    answered = np.array([one.answered for one in TABLES.observations.values()])
    codes = list(TABLES.observations)
    while len(answers) < MOST:
        now = weigh(caller.lens, pieces(caller.lens, answers))
        if now[:-1].max() >= SURE:
            break
        gains = question_gains(now, caller.lens.yes) * answered
        left = [
            (gain, code)
            for gain, code in zip(gains, codes, strict=True)
            if code in caller.list and code not in answers
        ]
        if not left:
            break
        answers[max(left)[1]] = caller.draws[max(left)[1]]
    now = weigh(caller.lens, pieces(caller.lens, answers))
    return len(answers), caller.lens.causes[int(now[:-1].argmax())]


def compare(callers: int, seed: int) -> dict[str, tuple[np.ndarray, float]]:
    """Questions asked and share of causes found, by way of asking."""
    chance = np.random.default_rng(seed)
    drawn = [Caller(chance) for _ in range(callers)]
    ways = {
        "by information": [ask_by_gain(one) for one in drawn],
        "down a list": [ask_down(one, one.list) for one in drawn],
        "at random": [ask_down(one, list(chance.permutation(one.list))) for one in drawn],
    }
    return {
        way: (
            np.array([asked for asked, _ in found]),
            float(np.mean([cause == one.cause for (_, cause), one in zip(found, drawn, strict=True)])),
        )
        for way, found in ways.items()
    }


@pytest.fixture(scope="module")
def ways():
    return compare(400, 5)


@pytest.mark.parametrize("other", ["down a list", "at random"])
def test_the_questioner_needs_fewer_questions(ways, other):
    asked, found = ways["by information"]
    slower, others_found = ways[other]
    assert asked.mean() < 0.6 * slower.mean()
    assert np.percentile(asked, 90) < np.percentile(slower, 90)
    assert found >= others_found - 0.03


def test_the_questioner_is_as_often_right_as_it_says(ways):
    """It stops at 85 % sure: about that share must be right, drawn from the same tables."""
    assert ways["by information"][1] >= 0.85


def test_the_engine_asks_as_the_simulation_does():
    """The steps of ``diagnose`` and the loop above agree on what tells most, while only questions count."""
    chance = np.random.default_rng(7)
    for _ in range(12):
        caller = Caller(chance)
        steps = diagnose(Evidence(caller.source, {caller.lens.complaint: "yes"}), TABLES).steps
        best = max((step for step in steps if not step.analytes), key=lambda step: step.gain_bits)
        gains = question_gains(caller.lens.prior, caller.lens.yes)
        expected = max(gains[caller.lens.rows[code]] * TABLES.observations[code].answered for code in caller.list)
        assert best.gain_bits == pytest.approx(expected)
        assert OTHER not in {step.code for step in steps}


def name_the_device(chance: np.random.Generator, pick) -> tuple[int, bool]:
    names = list(TABLES.devices)
    weights = np.array([one.weight[0] for one in TABLES.devices.values()])
    true = names[chance.choice(len(names), p=weights / weights.sum())]
    seen: dict = {}
    while len(seen) < MOST:
        found = identify(seen, TABLES, SourceType.DRILLED_WELL)
        if found.devices[0].probability >= SURE or not found.questions:
            break
        code = pick(found.questions, seen, chance)
        share = TABLES.devices[true].features.get(code, TABLES.features[code].background)
        known = chance.random() < TABLES.features[code].answered
        seen[code] = ("yes" if chance.random() < share else "no") if known else "unknown"
    return len(seen), found.devices[0].code == true


PICKS = {
    "by information": lambda questions, _seen, _chance: max(questions, key=lambda one: one.gain_bits).code,
    "down a list": lambda _questions, seen, _chance: next(code for code in TABLES.features if code not in seen),
    "at random": lambda _questions, seen, chance: chance.choice(
        [code for code in TABLES.features if code not in seen]
    ),
}


def test_a_device_is_named_in_fewer_questions_too():
    found = {
        way: [name_the_device(np.random.default_rng(seed), pick) for seed in range(80)] for way, pick in PICKS.items()
    }
    mean = {way: np.mean([asked for asked, _ in rows]) for way, rows in found.items()}
    right = {way: np.mean([hit for _, hit in rows]) for way, rows in found.items()}
    assert mean["by information"] < 0.7 * min(mean["down a list"], mean["at random"])
    assert right["by information"] >= max(right["down a list"], right["at random"]) - 0.05
    assert right["by information"] >= 0.75


if __name__ == "__main__":
    for way, (asked, found) in compare(3000, 11).items():
        spread = ", ".join(f"{share} % {np.percentile(asked, share):.0f}" for share in (10, 25, 50, 75, 90))
        print(f"{way}: mean {asked.mean():.2f} ({spread}), found {found:.1%}")
    for way, pick in PICKS.items():
        rows = [name_the_device(np.random.default_rng(seed), pick) for seed in range(300)]
        print(
            f"device {way}: mean {np.mean([a for a, _ in rows]):.2f}, found {np.mean([hit for _, hit in rows]):.1%}"
        )
