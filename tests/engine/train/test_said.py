"""What is said of a train and of what it misses: names, places, remarks, reasons."""

import re
from dataclasses import replace

import pytest

from sizing.engine.design import LifeKind, LifeRule, StageKind, Train
from sizing.engine.findings import Severity
from sizing.engine.train import choose_train, recheck
from sizing.engine.train_floor import floor_rule
from sizing.engine.water import Water
from tests.engine.train.households import hard_well, iron_well, lake_cabin, nitrate_well

WHAT = r"(over \d+ years|to buy|upkeep)"
NAMES = re.compile(rf"Least {WHAT}(, {WHAT})?( and {WHAT})?|(Next|Another) over \d+ years")


@pytest.mark.parametrize("household", [hard_well, iron_well, lake_cabin, nitrate_well])
def test_a_train_is_named_by_what_it_is_least_in(household):
    trains = choose_train(household()).trains
    assert all(NAMES.fullmatch(train.name) for train in trains), [train.name for train in trains]
    for word, key in (("to buy", "first_cost"), ("upkeep", "upkeep_hours_year")):
        named = [train for train in trains if train.name.startswith("Least") and word in train.name]
        assert all(getattr(train, key) == min(getattr(other, key) for other in trains) for train in named)


def test_a_goal_missed_says_where():
    asked = nitrate_well()
    said = {refusal.constraint: refusal.reason for refusal in recheck(asked, ())}
    tap = [text for label, text in said.items() if "drinking tap" in label]
    assert tap
    assert all("at the drinking tap" in text for text in tap)
    entry = replace(asked, goals=replace(asked.goals, at_entry=asked.goals.at_tap, at_tap={}))
    assert any("at the entry" in refusal.reason for refusal in recheck(entry, ()))


def test_what_uses_a_part_up_has_no_slowest_but_its_cap():
    month = LifeRule(LifeKind.CALENDAR, 12.0)
    assert floor_rule(month) == month
    assert floor_rule(LifeRule(LifeKind.LITRES, 4000.0)) is None
    assert floor_rule(LifeRule(LifeKind.LITRES, 4000.0, 6.0)) == LifeRule(LifeKind.CALENDAR, 6.0)


@pytest.mark.parametrize("where", ["at_entry", "at_tap"])
def test_a_goal_for_what_was_not_tested_is_said_and_weighs_by_what_it_is(where):
    asked = hard_well()
    goals = replace(asked.goals, **{where: {**getattr(asked.goals, where), "lead": 0.005, "silica": 20.0}})
    best = choose_train(asked).trains[0]
    said = recheck(replace(asked, goals=goals), [stage.product for stage in best.stages])
    assert isinstance(said, Train)
    found = {finding.subject: finding.severity for finding in said.findings if finding.code == "goal_not_tested"}
    assert found == {"lead": Severity.HEALTH, "silica": Severity.NOTE}


def test_nitrate_above_the_goal_is_never_boiled_even_where_it_is_taken_out():
    asked = nitrate_well()
    for train in choose_train(asked).trains:
        assert "nitrate_boiling" in {finding.code for finding in train.findings}
    low = replace(asked, water=Water({**asked.water.values, "nitrate": 0.5}))
    for train in choose_train(low).trains:
        assert "nitrate_boiling" not in {finding.code for finding in train.findings}


def test_a_needless_stage_is_told_as_needless():
    asked = hard_well()
    best = choose_train(asked).trains[0]
    spare = next(p for p in asked.catalogue if p.kind is StageKind.SCREEN)
    said = recheck(asked, [spare, *(stage.product for stage in best.stages)])
    assert isinstance(said, Train), said
    told = {stage.product.code: stage.reasons for stage in said.stages}
    assert told[spare.code] == ("Placed by hand; every limit is kept without it too",)
    assert all(reasons[0].startswith("Without it") for code, reasons in told.items() if code != spare.code)
