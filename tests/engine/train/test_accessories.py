"""Booster, reducing valve and tank jacket: chosen where pressure or damp calls for them, and only there."""

from dataclasses import replace

import pytest

from sizing.engine.design import Goals, SiteLimits, StageKind
from sizing.engine.errors import MissingEvidence
from sizing.engine.train import choose_train, recheck, why_not
from sizing.engine.train_hand import lay_out

from .households import drilled, hard_well

PSI = 6.894757293168
MOST = 80.0 * PSI  # static pressure the plumbing may bear: IRC P2903.3.1 (published)


def supplied(request, **changed):
    return replace(request, supply=replace(request.supply, **changed))


def kinds(train):
    return [stage.kind for stage in train.stages]


def weak(**changed):
    """The hard well at 20 to 40 psi, its worst shower 6 m up: too little is left for a softener."""
    low = supplied(hard_well(), cut_in_kpa=20 * PSI, cut_out_kpa=40 * PSI, worst_fixture_height_m=6.0, **changed)
    return replace(low, supply=replace(low.supply, worst_fixture_min_kpa=75.0))


def test_where_pressure_suffices_there_is_neither_booster_nor_valve():
    for train in choose_train(hard_well()).trains:
        assert not {StageKind.BOOSTER, StageKind.REDUCER, StageKind.JACKET} & set(kinds(train))


def test_where_no_line_has_pressure_enough_a_booster_is_chosen():
    without = replace(weak(), catalogue=tuple(p for p in weak().catalogue if p.kind is not StageKind.BOOSTER))
    assert choose_train(without).trains == ()
    for train in choose_train(weak()).trains:
        assert kinds(train)[0] is StageKind.BOOSTER
        assert StageKind.SOFTENER in kinds(train)


def test_what_a_booster_lifts_too_high_a_valve_holds_down():
    # 40 psi of cut-out and the pump's shut-off pressure come to more than 80 psi: the valve stands behind the pump.
    (train, *_) = choose_train(weak()).trains
    pump = train.stages[0].product
    assert weak().supply.cut_out_kpa + pump.ratings["shutoff_kpa"] > MOST
    assert kinds(train)[1] is StageKind.REDUCER
    bare = [stage.product for stage in train.stages if stage.kind is not StageKind.REDUCER]
    assert any(refusal.constraint == "pressure at no flow" for refusal in recheck(weak(), bare))


def test_behind_a_valve_no_more_pressure_counts_than_it_is_set_to():
    (train, *_) = choose_train(weak()).trains
    held = train.stages[1].product.ratings["set_kpa"]
    assert all(pressure <= held + 1e-6 for pressure in train.pressures_kpa[2:])


def test_above_80_psi_at_no_flow_a_reducing_valve_is_part_of_every_line():
    high = supplied(hard_well(), cut_in_kpa=345.0, cut_out_kpa=90 * PSI)
    trains = choose_train(high).trains
    assert trains
    assert all(StageKind.REDUCER in kinds(train) for train in trains)
    below = supplied(hard_well(), cut_in_kpa=345.0, cut_out_kpa=79 * PSI)
    assert all(StageKind.REDUCER not in kinds(train) for train in choose_train(below).trains)


def test_a_stage_that_bears_less_is_refused_where_more_stands_on_it():
    request = hard_well()
    softener = choose_train(request).trains[0].stages[0].product
    for most, refused in ((482.0, True), (484.0, False)):  # cut-out is 483 kPa
        thin = replace(softener, ratings={**softener.ratings, "most_kpa": most})
        found = [b.limit for b in lay_out(request, [thin]).breaches]
        assert ("pressure at no flow" in found) is refused


def damp(celsius, percent, **supply):
    asked = supplied(drilled(temperature=8.0), **supply)
    return replace(asked, site=SiteLimits(room_c=celsius, room_humidity=percent), goals=Goals(dry_tank=True))


def test_a_tank_that_sweats_gets_a_jacket_thick_enough():
    # 8 degC water in air of 25 degC and 60 %: 6.8 mm of foam of 0.054 W/mK (computed, Magnus dew point).
    outcome = choose_train(damp(25.0, 60.0, tank_diameter_m=0.41, tank_height_m=0.76))
    for train in outcome.trains:
        (jacket,) = [stage for stage in train.stages if stage.kind is StageKind.JACKET]
        ratings = jacket.product.ratings
        assert ratings["thickness_m"] / ratings["conductivity_w_mk"] >= 0.00682 / 0.054
        assert (ratings["tank_diameter_m"], ratings["tank_height_m"]) == (0.41, 0.76)


def test_a_tank_in_dry_air_gets_none():
    # Dew point of 20 degC at 30 % is below 2 degC: nothing condenses on 8 degC.
    (train, *_) = choose_train(damp(20.0, 30.0)).trains
    assert kinds(train) == []


def test_no_jacket_that_fits_is_said():
    outcome = choose_train(damp(25.0, 60.0, tank_diameter_m=0.9, tank_height_m=0.3))
    assert outcome.trains == ()
    assert any("sweats" in text for text in outcome.conflict)


def test_without_the_rooms_air_a_dry_tank_cannot_be_judged():
    with pytest.raises(MissingEvidence) as missing:
        choose_train(replace(drilled(), goals=Goals(dry_tank=True)))
    assert "room_air" in missing.value.missing


def test_why_not_a_booster_is_answered_where_none_is_needed():
    train = why_not(hard_well(), "boost-38")
    assert train.name == "Best with Booster pump, 38 L/min, adds 200 kPa"
    assert kinds(train)[:2] == [StageKind.BOOSTER, StageKind.REDUCER]
