"""No train returned breaks a constraint, on random households; and the inspector does find what is broken.

Three hundred here, with part of the starter catalogue each; thousands with all of it in the benchmarks.
"""

from dataclasses import replace
from functools import cache
from random import Random

import pytest

from sizing.engine.design import Measured, SourceType, StageKind
from sizing.engine.stages.starter import load_starter
from sizing.engine.train import choose_train
from tests.engine.train.households import hard_well, iron_well, lake_cabin, nitrate_well

from .guidance import CASES
from .guidance import household as household_of
from .inspector import logs_of_dose, violations
from .random_households import household

STARTER = load_starter()
BY_NAME = {case.name: case for case in CASES}
BATCH, BATCHES, PRODUCTS = 30, 10, 48


@pytest.mark.usefixtures("designs_only")
@pytest.mark.parametrize("batch", range(BATCHES))
def test_no_train_of_a_random_household_breaks_a_constraint(batch):
    seen = 0
    for seed in range(batch * BATCH, (batch + 1) * BATCH):
        catalogue = tuple(Random(seed).sample(STARTER, PRODUCTS))
        request = household(seed, catalogue)
        for train in choose_train(request).trains:
            seen += 1
            assert violations(request, train) == [], (seed, [stage.product.code for stage in train.stages])
    assert seen, "a batch without any train would prove nothing"


@cache
def _train(house):
    return choose_train(house()).trains[0]


def _codes(request, train):
    return {code for code, *_ in violations(request, train)}


@pytest.mark.parametrize("house", [iron_well, lake_cabin, hard_well, nitrate_well])
def test_every_stage_that_is_left_out_is_missed(house):
    request, train = house(), _train(house)
    assert violations(request, train) == []
    for place, stage in enumerate(train.stages):
        main = stage.at == "main"
        less = replace(
            train,
            stages=train.stages[:place] + train.stages[place + 1 :],
            waters=train.waters[: place + 1] + train.waters[place + 2 :] if main else train.waters,
            tap_water=train.tap_water if main else None,
        )
        assert _codes(request, less), stage.product.code


# What is changed at the place, and what the inspector must then find in the iron well's line.
CHANGES = {
    "a pump of 8 L/min": (lambda q: _supply(q, pump_flow_l_min=Measured(8.0)), "backwash"),
    "a pump of 120 L/min": (lambda q: _supply(q, pump_flow_l_min=Measured(120.0)), "uv dose"),
    "cut-in at 150 kPa": (lambda q: _supply(q, cut_in_kpa=150.0), "pressure"),
    "cut-out at 90 psi": (lambda q: _supply(q, cut_out_kpa=620.0), "static"),
    "a spring": (lambda q: replace(q, source=SourceType.SPRING), "no cyst filter ahead of uv"),
    "a damp room": (lambda q: _damp(q), "tank sweats"),
    "the United States rule": (lambda q: _ruled(q, "us_public"), "logs of virus"),
    "a well that gives 1 L/min": (lambda q: _supply(q, well_yield_l_min=1.0, well_storage_l=10.0), "well recovery"),
    "no drain": (lambda q: _site(q, drain=False), "drain"),
    "no power": (lambda q: _site(q, power="none"), "power"),
    "12 V": (lambda q: _site(q, power="12v"), "power"),
    "10 W": (lambda q: _site(q, power_w=10.0), "watts"),
    "a short wall": (lambda q: _site(q, wall_m=0.5), "wall"),
    "a low ceiling": (lambda q: _site(q, height_m=1.2), "height"),
    "a shallow room": (lambda q: _site(q, depth_m=0.2), "depth"),
    "a lake": (lambda q: replace(q, source=SourceType.LAKE), "no cyst filter ahead of uv"),
    "a dose of 120": (lambda q: replace(q, goals=replace(q.goals, uv_dose=120.0)), "barrier"),
    "a goal of no iron": (lambda q: _goal(q, iron=1e-5), "goal iron entry"),
    "acid water": (lambda q: _water(q, ph=6.0), "feed airox ph"),
    "much iron": (lambda q: _water(q, iron=14.0, iron_dissolved=13.0), "feed airox iron"),
    "tannin": (lambda q: _water(q, tannin=2.0), "feed airox tannin"),
    "dark water": (lambda q: _water(q, uvt=60.0), "feed uv uvt"),
    "manganese": (lambda q: _water(q, manganese=2.0), "feed softener manganese"),
    "cloud": (lambda q: _water(q, turbidity=9.0), "feed softener turbidity"),
    "air in the iron": (lambda q: _water(q, iron=9.0, iron_dissolved=8.0), "feed softener iron with oxygen"),
}  # fmt: skip


def _supply(request, **changed):
    return replace(request, supply=replace(request.supply, **changed))


def _site(request, **changed):
    return replace(request, site=replace(request.site, **changed))


def _damp(request):
    wet = _site(request, room_c=25.0, room_humidity=80.0)
    return replace(wet, goals=replace(wet.goals, dry_tank=True))


def _ruled(request, rule):
    return replace(request, goals=replace(request.goals, barrier_rule=rule))


def _goal(request, **entry):
    return replace(request, goals=replace(request.goals, at_entry=entry))


def _water(request, **changed):
    return replace(request, water=request.water.with_values(**changed))


def _air_and_softener():
    """A line of the iron well that begins with an air-charged filter and has a softener."""
    trains = choose_train(iron_well()).trains
    wanted = {StageKind.AIROX, StageKind.SOFTENER, StageKind.UV}
    return next(train for train in trains if wanted <= {stage.kind for stage in train.stages})


@pytest.mark.parametrize("change", sorted(CHANGES))
def test_a_place_that_cannot_give_it_is_noticed(change):
    alter, code = CHANGES[change]
    assert code in _codes(alter(iron_well()), _air_and_softener())


def test_a_wrong_order_is_noticed():
    train = _train(iron_well)
    turned = replace(train, stages=tuple(reversed(train.stages)), waters=tuple(reversed(train.waters)))
    assert "order" in _codes(iron_well(), turned)


def test_a_claim_taken_away_is_noticed():
    request, train = nitrate_well(), _train(nitrate_well)
    bare = tuple(replace(s, product=replace(s.product, certified_for=())) for s in train.stages)
    assert "goal nitrate tap" in _codes(request, replace(train, stages=bare))


def test_a_forged_water_is_noticed():
    request, train = hard_well(), _train(hard_well)
    forged = train.waters[1].with_values(hardness=0.0)
    assert "told softener hardness" in _codes(request, replace(train, waters=(train.waters[0], forged)))


def test_a_train_that_keeps_silent_about_viruses_is_noticed():
    train = _train(lake_cabin)
    silent = tuple(f for f in train.findings if f.code not in ("virus_credit", "uv_weak_on_viruses"))
    assert "virus shortfall not said" in _codes(lake_cabin(), replace(train, findings=silent))


def test_forty_millijoules_are_half_a_log_of_virus_and_four_of_protozoa():
    # US EPA, EPA 815-R-20-003 (June 2020), Table B-9.
    assert [logs_of_dose(40.0, name) for name in ("virus", "giardia", "cryptosporidium")] == [0.5, 4.0, 4.0]
    assert logs_of_dose(186.0, "virus") == 4.0
    assert logs_of_dose(185.9, "virus") == 3.5


def test_chlorine_left_without_contact_or_filter_is_noticed():
    request = household_of(BY_NAME["rotten eggs alone"])
    train = choose_train(request).trains[0]
    assert [stage.kind for stage in train.stages][:2] == [StageKind.CHLORINE, StageKind.RETENTION]
    for kept, code in (
        (train.stages[:1], "chlorine without contact"),
        (train.stages[:2], "chlorine without a filter"),
    ):
        less = replace(train, stages=kept, waters=train.waters[: len(kept) + 1])
        assert any(found.startswith(code) for found in _codes(request, less))


def test_a_membrane_fed_too_low_is_noticed():
    request, train = nitrate_well(), _train(nitrate_well)
    assert "membrane pressure" in _codes(_supply(request, cut_in_kpa=207.0), train)
