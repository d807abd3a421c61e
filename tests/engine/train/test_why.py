"""Why a product is not in a line: equal to enumeration, and the limits named are really broken."""

from dataclasses import replace
from types import MappingProxyType

import pytest
from hypothesis import HealthCheck, given, settings

from sizing.engine.design import Refusal, StageKind, Train
from sizing.engine.errors import OutsideValidRange
from sizing.engine.train import recheck, why_not
from sizing.engine.train_why import best_with

from .enumeration import admissible
from .households import hard_well, hopeless, iron_well, lake_cabin
from .test_search import cases, lines


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_the_best_line_with_a_product_is_the_best_of_those_that_hold_it(case):
    _, stages = case
    _, line, _ = lines(case)
    every = admissible(line)
    for stage in stages[:4]:
        held = [costs[1] for costs, options in every if any(option.stage is stage for option in options)]
        found = best_with(line, stage)
        assert (found.life if found else None) == (min(held) if held else None)


def test_a_product_that_fits_gives_the_line_that_holds_it():
    request = hard_well()
    unit = next(p for p in request.catalogue if p.kind is StageKind.RO)
    train = why_not(request, unit.code)
    assert isinstance(train, Train)
    assert unit.code in {stage.product.code for stage in train.stages}
    assert train.name == f"Best with {unit.name}"


def test_a_unit_too_small_is_refused_with_the_numbers():
    request = lake_cabin()
    small = min((p for p in request.catalogue if p.kind is StageKind.CATALYTIC), key=lambda p: p.price)
    found = why_not(request, small.code)
    assert found
    assert all(isinstance(refusal, Refusal) and refusal.reason for refusal in found)
    assert any("tannin 1.2 mg/L" in refusal.reason for refusal in found)


def test_where_nothing_passes_the_product_is_judged_alone():
    request = hopeless()
    softener = next(p for p in request.catalogue if p.kind is StageKind.SOFTENER)
    found = why_not(request, softener.code)
    assert any("needs a drain" in refusal.reason for refusal in found)


def test_a_code_that_is_not_in_the_catalogue_is_refused_by_name():
    with pytest.raises(OutsideValidRange, match="no such thing"):
        why_not(hard_well(), "no such thing")


def test_two_beds_side_by_side_are_judged_as_two():
    request = iron_well()
    bed = next(p for p in request.catalogue if p.kind is StageKind.BACKWASH)
    text = "peak flow against rated flow"
    fitted = replace(bed, ratings=MappingProxyType({**bed.ratings, "rated_flow_l_min": 20.0}))
    single = [r for r in recheck(request, [fitted]) if text in r.reason]
    double = [r for r in recheck(request, [fitted], (), [2]) if text in r.reason]
    assert single
    assert not double


@pytest.mark.parametrize("counts", [[0], [3], [1, 1]])
def test_impossible_counts_are_refused(counts):
    bed = next(p for p in iron_well().catalogue if p.kind is StageKind.BACKWASH)
    with pytest.raises(OutsideValidRange):
        recheck(iron_well(), [bed], (), counts)


def test_only_beds_stand_in_pairs():
    lamp = next(p for p in iron_well().catalogue if p.kind is StageKind.UV)
    with pytest.raises(OutsideValidRange, match="number of"):
        recheck(iron_well(), [lamp], (), [2])
