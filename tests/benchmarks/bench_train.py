"""How long the choice of a train takes, the confidence of one, and the search against full enumeration."""

import numpy as np
import pytest

from sizing.engine.confidence import confidence
from sizing.engine.train import choose_train
from sizing.engine.train_bound import Bound
from sizing.engine.train_duty import brief_of
from sizing.engine.train_path import Line
from sizing.engine.train_search import Search, options_of
from tests.engine.train.enumeration import admissible, front
from tests.engine.train.fakes import Fake
from tests.engine.train.households import hard_well, hopeless, iron_well, lake_cabin, nitrate_well
from tests.engine.train.test_confidence import uncertain


@pytest.mark.parametrize("household", [hard_well, nitrate_well, lake_cabin, iron_well])
def test_choose_train(benchmark, household):
    request = household()
    found = benchmark(choose_train, request)
    assert found.trains


def test_nothing_passes(benchmark):
    found = benchmark.pedantic(choose_train, (hopeless(),), rounds=1)
    assert not found.trains


def test_confidence(benchmark):
    request = uncertain(iron_well())
    train = choose_train(request).trains[0]
    found = benchmark(lambda: confidence(request, train, np.random.default_rng(1)))
    assert 0.0 < found.share <= 1.0


def _line():
    from tests.engine.train.bench_catalogue import CATALOGUE, REQUEST

    brief = brief_of(REQUEST)
    return Line(brief, options_of([Fake(recipe) for recipe in CATALOGUE], brief))


def test_search(benchmark):
    paths = benchmark.pedantic(
        lambda line: Search(line, Bound(line)).run().paths, setup=lambda: ((_line(),), {}), rounds=5
    )
    assert {path.costs[:3] for path in paths} == front(costs for costs, _ in admissible(_line()))


def test_enumeration(benchmark):
    benchmark.pedantic(admissible, setup=lambda: ((_line(),), {}), rounds=1)
