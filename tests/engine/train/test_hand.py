"""Lines set by hand: told whole, with the place of every limit they break, and never otherwise than ``recheck``."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

import pytest

from sizing.engine.design import StageKind, Train
from sizing.engine.errors import OutsideValidRange
from sizing.engine.train import choose_train, recheck
from sizing.engine.train_best import best_train
from sizing.engine.train_hand import lay_out
from tests.engine.train.households import hard_well, hopeless, iron_well, lake_cabin, nitrate_well

HOUSEHOLDS = [hard_well, iron_well, lake_cabin, nitrate_well]


def products(train: Train) -> list:
    return [stage.product for stage in train.stages]


@pytest.mark.parametrize("household", HOUSEHOLDS)
def test_what_the_search_found_breaks_nothing_and_comes_out_the_same(household):
    request = household()
    for train in choose_train(request).trains:
        laid = lay_out(request, products(train), [stage.count for stage in train.stages])
        assert laid.breaches == ()
        assert replace(laid.train, name=train.name) == train


@pytest.mark.parametrize("household", HOUSEHOLDS)
def test_any_line_is_told_as_recheck_tells_it(household):
    """Removed, moved, added and swapped at random: the same limits, or the same train, as the check of the search."""
    request, rng = household(), random.Random(11)
    start = products(choose_train(request).trains[0])
    passed = broken = 0
    for _case in range(40):
        line = list(start)
        for _change in range(rng.randint(1, 3)):
            at = rng.randrange(len(line) + 1)
            what = rng.random()
            if what < 0.35 and line:
                line.pop(min(at, len(line) - 1))
            elif what < 0.6 and len(line) > 1:
                at = rng.randrange(len(line) - 1)
                line[at], line[at + 1] = line[at + 1], line[at]
            else:
                line.insert(at, rng.choice(request.catalogue))
        said, laid = recheck(request, line), lay_out(request, line)
        if isinstance(said, Train):
            passed += 1
            assert (laid.train, laid.breaches) == (said, ())
        else:
            broken += 1
            assert Counter(refusal.reason for refusal in said) == Counter(breach.text for breach in laid.breaches)
        assert len(laid.train.stages) == len(line)
        assert all(-1 <= breach.place < len(line) for breach in laid.breaches)
    assert broken > 5
    assert passed or household is not hard_well


def hard_and_positive():
    """The hard well with coliforms found, so that a UV is part of every line."""
    request = hard_well()
    return replace(request, water=request.water.with_values(total_coliform=4.0))


def test_a_limit_is_told_at_the_stage_it_concerns():
    """Order of the trade, common practice: hardness past 7 gpg ahead of a UV scales its sleeve."""
    request = hard_and_positive()
    line = products(choose_train(request).trains[0])
    kinds = [product.kind for product in line]
    uv, softener = kinds.index(StageKind.UV), kinds.index(StageKind.SOFTENER)
    bare = [product for product in line if product.kind is not StageKind.SOFTENER]
    fed = [breach for breach in lay_out(request, bare).breaches if breach.limit.startswith("hardness into UV")]
    assert [bare[breach.place].kind for breach in fed] == [StageKind.UV]
    whole = lay_out(request, []).breaches
    assert whole
    assert {breach.place for breach in whole} == {-1}
    turned = list(line)
    turned[uv], turned[softener] = turned[softener], turned[uv]
    order = [breach for breach in lay_out(request, turned).breaches if breach.limit == "order of the stages"]
    assert any(turned[breach.place].kind is StageKind.SOFTENER for breach in order)


def test_what_is_broken_with_a_stage_is_no_reason_for_it():
    request = hard_and_positive()
    line = products(choose_train(request).trains[0])
    bare = [product for product in line if product.kind is not StageKind.SOFTENER]
    laid = lay_out(request, bare)
    broken = {f"Without it {breach.text}" for breach in laid.breaches}
    assert broken
    assert all(reason not in broken for stage in laid.train.stages for reason in stage.reasons)


def test_two_side_by_side_only_of_beds():
    request = hard_well()
    uv = next(product for product in request.catalogue if product.kind is StageKind.UV)
    with pytest.raises(OutsideValidRange, match="number of"):
        lay_out(request, [uv], [2])
    with pytest.raises(OutsideValidRange, match="number of counts"):
        lay_out(request, [uv], [1, 1])


@pytest.mark.parametrize("household", HOUSEHOLDS)
def test_the_best_alone_is_the_first_of_the_whole_choice(household):
    best, whole = best_train(household()), choose_train(household()).trains[0]
    assert best is not None
    assert products(best) == products(whole)
    assert (best.cost, best.first_cost, best.margins) == (whole.cost, whole.first_cost, whole.margins)


def test_where_nothing_passes_there_is_no_best():
    assert best_train(hopeless()) is None
