"""Two designs compared: what was asked otherwise, what costs otherwise, what came of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from service.office.bench_inputs import NAMES, input_changes
from sizing.engine.design import Goals, Measured
from sizing.engine.storage import to_data
from sizing.proposals.compare import catalogue_change, cost_changes, pairs_of, same_line, stage_changes
from sizing.proposals.goals import usual_wishes, wishes_again
from sizing.proposals.queries import question_of, standing, train_value
from tests import factories
from tests.engine.train.households import hard_well, iron_well
from tests.service.factories_service import a_train
from tests.sizing.designed import design, few, measured, stocked


def test_the_same_question_asks_nothing_otherwise() -> None:
    assert input_changes(hard_well(), hard_well(), "us") == ()


def test_each_changed_input_is_told_once_in_the_readers_units() -> None:
    """By hand: 325 mg/L as CaCO3 is 19 grains a gallon, 37.85 L/min are 10 gpm, 206.8 kPa are 30 psi."""
    old = hard_well()
    new = replace(
        old,
        water=old.water.with_values(hardness=325.0, uranium=0.01),
        supply=replace(old.supply, pump_flow_l_min=Measured(37.854, 1.0), cut_in_kpa=206.84),
        goals=Goals(at_entry={"hardness": 60.0}, at_tap=old.goals.at_tap),
        unproven=("uvt",),
    )
    found = {(row.group, row.label): (row.before, row.after) for row in input_changes(old, new, "us")}
    assert found["Raw water", "Hardness"][1].replace("\xa0", " ") == "19 gpg"
    assert found["Raw water", "Uranium"][0] == "not measured"
    assert found["Pump and pipe", "Pump delivers"][1].replace("\xa0", " ") == "10.0 gpm"
    assert found["Pump and pipe", "Cut-in"][1].replace("\xa0", " ") == "30.0 psi"
    assert found["The household", "Results without a number"] == ("none", "uvt")
    same = {code for code in old.water if old.water[code] == new.water.get(code)}
    assert not any(label == "Iron, total" for _group, label in found if "iron" in same)


def test_every_field_of_a_request_has_a_name() -> None:
    """A field that the engine gains is told by its own name until it gets one here; today none lacks one."""
    data = to_data(iron_well())
    nested = {
        f"{start}.{name}.{part}" if isinstance(value, dict) else f"{start}.{name}"
        for start in ("supply", "occupancy", "site", "cost")
        for name, value in data[start].items()
        for part in (value if isinstance(value, dict) else ("",))
    }
    assert {name for name in nested if name not in NAMES} == set()


def test_prices_are_told_by_name_where_they_stand_in_a_line_and_counted_elsewhere() -> None:
    old = few()
    dearer = [replace(p, price=p.price + 10) if n in (0, 1, 2) else p for n, p in enumerate(old[:-1])]
    change = catalogue_change(old, dearer, {old[0].code})
    assert [(row.name, row.before, row.after) for row in change.prices] == [
        (old[0].name, old[0].price, old[0].price + 10)
    ]
    assert (change.other_prices, change.gained, change.lost) == (2, 0, 1)
    assert catalogue_change(old, old, {old[0].code}).any is False
    rated = [replace(old[0], ratings={**old[0].ratings, "loss_kpa": 99.0}), *old[1:]]
    assert catalogue_change(old, rated, {old[0].code}).reworked == (old[0].name,)


def test_two_lines_are_laid_side_by_side_by_the_kinds_of_their_stages() -> None:
    train = a_train()
    sediment, lamp, ro = train.stages
    swapped = replace(lamp, product=replace(lamp.product, code="uv-42", name="UV 42"))
    dearer = replace(sediment, product=replace(sediment.product, price=Decimal("520")))
    other = replace(train, stages=(dearer, swapped))
    what = [(row.what, row.before and row.before.product.code, row.after and row.after.product.code)
            for row in stage_changes(train, other)]  # fmt: skip
    assert what == [("repriced", "sed-20", "sed-20"), ("swapped", "uv-30", "uv-42"), ("gone", "ro-75", None)]
    assert [row.what for row in stage_changes(other, train)] == ["repriced", "swapped", "new"]
    assert not same_line(train, other)
    assert same_line(train, replace(train, stages=(dearer, lamp, ro)))
    paired = replace(train, stages=(replace(sediment, count=2), lamp, ro))
    assert [row.what for row in stage_changes(train, paired)] == ["number", "same", "same"]


def test_costs_add_up_before_and_after() -> None:
    old = a_train()
    new = replace(old, cost=replace(old.cost, salt=old.cost.salt + 100, visits=old.cost.visits + Decimal("7.5")))
    rows = {row.code: row for row in cost_changes(old, new)}
    assert rows["salt"].by == 100
    assert rows["total"].by == pytest.approx(107.5)
    assert sum(rows[name].by for name in ("bought", "salt", "parts", "power", "visits")) == pytest.approx(
        rows["total"].by
    )


def test_a_design_again_after_a_new_result_keeps_the_wishes_and_asks_for_what_is_new(dealer: Any) -> None:
    stocked(dealer)
    site = measured(dealer)
    first = design(site)
    asked = question_of(first)
    left_out = {code: value for code, value in asked.goals.at_entry.items() if code != "tds"}
    asked = replace(asked, goals=replace(asked.goals, at_entry={**left_out, "hardness": 51.0}))
    water = asked.water.with_values(chloride=20.0)
    wishes = wishes_again(asked, water, jurisdiction=site.dealer.jurisdiction)
    assert wishes.at_entry["hardness"] == 51.0
    assert "tds" not in wishes.at_entry  # left out by hand stays out
    assert wishes.at_entry["chloride"] == usual_wishes(site, water).at_entry["chloride"]


def test_lines_are_paired_by_what_they_are_best_at(dealer: Any, now: datetime) -> None:
    stocked(dealer)
    site = measured(dealer)
    first = design(site)
    factories.WaterTestFactory(site=site, results={"hardness": 200.0}, entered_at=now)
    second = design(site, now + timedelta(days=2))
    before, after = list(standing(first)), list(standing(second))
    pairs = pairs_of(before, after)
    assert pairs[0].role == "life"
    assert pairs[0].before.whole_life_cost == min(row.whole_life_cost for row in before)
    assert pairs[0].after.whole_life_cost == min(row.whole_life_cost for row in after)
    assert len({(pair.before.pk, pair.after.pk) for pair in pairs}) == len(pairs)
    assert train_value(pairs[0].after).cost.salt <= train_value(pairs[0].before).cost.salt  # softer water, less salt
