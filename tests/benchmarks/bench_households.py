"""Five thousand random households, the whole starter catalogue: no train breaks a constraint. Counted and printed.

``HOUSEHOLDS=500`` runs fewer.
"""

import os
from collections import Counter
from types import SimpleNamespace

from sizing.engine.errors import MissingEvidence
from sizing.engine.stages.starter import load_starter
from sizing.engine.train import choose_train
from tests.engine.train.independent.inspector import violations
from tests.engine.train.independent.random_households import household

HOUSEHOLDS = int(os.environ.get("HOUSEHOLDS", "5000"))


def test_no_design_breaks_a_constraint(benchmark, monkeypatch, capsys):
    monkeypatch.setattr("sizing.engine.train._nothing", lambda line, looked_at: SimpleNamespace(trains=()))
    catalogue, counted, broken = load_starter(), Counter(), []

    def all_of_them():
        for seed in range(HOUSEHOLDS):
            request = household(seed, catalogue)
            try:
                trains = choose_train(request).trains
            except MissingEvidence:
                trains = ()
            counted["with a train" if trains else "without"] += 1
            for train in trains:
                counted["trains"] += 1
                broken.extend((seed, *found) for found in violations(request, train))

    benchmark.pedantic(all_of_them, rounds=1)
    with capsys.disabled():
        print(f"\n{HOUSEHOLDS} households: {dict(counted)}; constraints broken: {len(broken)}")
    assert not broken, broken[:10]
