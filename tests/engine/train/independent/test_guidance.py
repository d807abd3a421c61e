"""Households from public guidance get the stages the guidance asks for, in its order. Sources stand beside each."""

from functools import cache

import pytest

from sizing.engine.design import SourceType, StageKind
from sizing.engine.train import choose_train

from .guidance import CASES, household
from .inspector import violations

BY_NAME = {case.name: case for case in CASES}


@cache
def offered(name):
    return choose_train(household(BY_NAME[name]))


def kinds(train):
    return [stage.kind for stage in train.stages]


def fits(line, wanted):
    """Whether the line is what is wanted, place by place, no stage more."""
    return len(line) == len(wanted) and all(kind in allowed for kind, allowed in zip(line, wanted, strict=True))


def in_order(line, wanted):
    """Whether the line holds a stage of each wanted set, in this order, others between them or not."""
    place = iter(line)
    return all(any(kind in allowed for kind in place) for allowed in wanted)


def test_at_least_twenty_cases_from_every_kind_of_source():
    assert len(CASES) >= 20
    assert {SourceType.DRILLED_WELL, SourceType.DUG_WELL, SourceType.LAKE, SourceType.SPRING, SourceType.CISTERN} <= {
        case.source for case in CASES
    }
    assert all(case.document and case.rule for case in CASES)


@pytest.mark.parametrize("name", BY_NAME)
def test_the_best_line_is_what_the_guidance_asks_for(name):
    case, best = BY_NAME[name], kinds(offered(name).trains[0])
    assert any(fits(best, line) for line in (case.line, *case.others)), (best, case.rule)


@pytest.mark.parametrize("name", BY_NAME)
def test_every_line_offered_keeps_the_order_of_the_rule(name):
    case = BY_NAME[name]
    for train in offered(name).trains:
        assert in_order(kinds(train), case.inside or case.line[-1:]), (kinds(train), case.rule)
        assert violations(household(case), train) == []


@pytest.mark.parametrize("name", [case.name for case in CASES if {StageKind.UV} in case.line])
def test_where_germs_are_to_be_expected_the_lamp_is_class_a_and_stands_last_on_the_main_line(name):
    for train in offered(name).trains:
        main = [stage for stage in train.stages if stage.at == "main"]
        assert main[-1].kind is StageKind.UV
        assert main[-1].product.ratings["uv_class"] == "A"


@pytest.mark.parametrize("name", ["nitrate", "nitrate and coliforms", "lead at the tap"])
def test_health_contaminants_are_left_to_certified_claims_with_a_test_after(name):
    for train in offered(name).trains:
        (code,) = BY_NAME[name].tap
        assert any(code in stage.product.certified_for for stage in train.stages)
        assert "test_after" in {finding.code for finding in train.findings}


def test_boiling_is_warned_against_where_nitrate_is_high():
    assert all("nitrate_boiling" in {f.code for f in train.findings} for train in offered("nitrate").trains)
