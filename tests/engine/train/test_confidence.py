"""The share of plausible peaks: against a closed form, against the scalar loop, and its drivers."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.stats import spearmanr

from sizing.engine.confidence import Judge, Plausible, confidence, judged, plausible, rank_correlation
from sizing.engine.design import Goals, Measured, StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.stages.registry import stage_for
from sizing.engine.train import choose_train
from sizing.engine.train_duty import brief_of
from sizing.engine.water import Water

from .fakes import Fake, Recipe, request
from .households import hard_well, lake_cabin


def uncertain(asked, share=0.1):
    fixed = ("ph", "uvt", "total_coliform", "e_coli", "free_chlorine")
    sd = {code: share * float(value) for code, value in asked.water.values.items() if code not in fixed}
    return replace(asked, water_sd={**sd, "uvt": 2.0, "ph": 0.1})


@cache
def lake():
    asked = uncertain(lake_cabin())
    return asked, choose_train(asked).trains[0]


def test_one_normal_limit_against_the_normal_distribution():
    # Iron 0.25 +/- 0.05 against a goal of 0.3: P(Z <= 1) = 0.8413 (any table of the normal distribution).
    asked = replace(
        request({"iron": 0.25}, goals=Goals(at_entry={"iron": 0.3}, ph_low=None, ph_high=None)),
        water_sd={"iron": 0.05},
    )
    asked = replace(asked, supply=replace(asked.supply, pump_flow_l_min=Measured(30.0, 0.0)))
    found = judged(asked, [], plausible(asked, np.random.default_rng(3), 40_000))
    assert found.share == pytest.approx(0.5 * (1 + math.erf(1 / math.sqrt(2))), abs=0.01)
    assert found.words == "42 in 50"
    assert found.drivers[0].code == "iron"
    assert found.drivers[0].correlation < -0.99


def test_two_independent_limits_multiply():
    goals = Goals(at_entry={"iron": 0.3, "manganese": 0.05}, ph_low=None, ph_high=None)
    asked = replace(
        request({"iron": 0.25, "manganese": 0.04}, goals=goals), water_sd={"iron": 0.05, "manganese": 0.01}
    )
    found = judged(asked, [], plausible(asked, np.random.default_rng(4), 40_000))
    assert found.share == pytest.approx(0.8413**2, abs=0.012)


def test_the_pump_decides_where_a_unit_is_just_large_enough():
    lamp = Fake(Recipe(StageKind.UV, "lamp", dose=40.0, rated=31.0))
    drawn = plausible(request({"total_coliform": 1.0}), np.random.default_rng(5), 20_000)
    judge = Judge(brief_of(request({"total_coliform": 1.0})), drawn)
    judge.note("flow", "Flow", drawn.pump_l_min, lamp.recipe.rated, "max")
    # Pump 30 +/- 1 against 31 L/min: P(Z <= 1).
    assert float((judge.slack["flow"][1] >= 0).mean()) == pytest.approx(0.8413, abs=0.012)


def test_all_draws_at_once_equal_one_draw_at_a_time():
    asked, train = lake()
    drawn = plausible(asked, np.random.default_rng(6), 40)
    placed = [(stage_for(stage.product), stage.at, stage.count) for stage in train.stages]
    together = judged(asked, placed, drawn)
    single = []
    for i in range(40):
        one = slice(i, i + 1)
        water = Water({code: value[one] for code, value in drawn.water.values.items()})
        single.append(
            judged(asked, placed, Plausible(water, drawn.pump_l_min[one], drawn.temperature_c[one], ())).share
        )
    assert together.share == pytest.approx(float(np.mean(single)))


def test_the_same_generator_state_gives_the_same_answer():
    asked, train = lake()
    one = confidence(asked, train, np.random.default_rng(8), 500)
    assert one == confidence(asked, train, np.random.default_rng(8), 500)


def test_what_is_certain_holds_in_every_draw():
    asked = replace(hard_well(), supply=replace(hard_well().supply, pump_flow_l_min=Measured(38.0, 0.0)))
    train = choose_train(asked).trains[0]
    found = confidence(asked, train, np.random.default_rng(9), 50)
    assert found.share == 1.0
    assert found.words == "50 in 50"
    assert found.drivers == ()


def test_a_share_just_below_one_is_never_rounded_up_to_certainty():
    asked = replace(
        request({"iron": 0.2}, goals=Goals(at_entry={"iron": 0.3}, ph_low=None, ph_high=None)),
        water_sd={"iron": 0.04},
    )
    found = judged(asked, [], plausible(asked, np.random.default_rng(10), 20_000))
    assert 0.985 < found.share < 1.0
    assert found.words == "49 in 50"


def test_less_uncertainty_never_lowers_a_share_above_one_half():
    asked, train = lake()
    shares = [
        confidence(uncertain(lake_cabin(), share), train, np.random.default_rng(11), 4000).share
        for share in (0.02, 0.1, 0.3)
    ]
    assert shares == sorted(shares, reverse=True)
    assert asked.water is not None


def test_ranks_against_scipy():
    rng = np.random.default_rng(12)
    one, other = rng.normal(size=200).round(1), rng.normal(size=200).round(1)
    other = other + one
    assert rank_correlation(one, other) == pytest.approx(spearmanr(one, other).statistic, rel=1e-12)
    assert rank_correlation(one, np.ones(200)) == 0.0


@pytest.mark.parametrize("draws", [0, -5, float("nan")])
def test_impossible_numbers_of_draws_are_refused(draws):
    with pytest.raises(OutsideValidRange, match="draws"):
        plausible(request({"iron": 0.1}), np.random.default_rng(1), draws)


def test_a_negative_uncertainty_is_refused():
    with pytest.raises(OutsideValidRange, match="iron"):
        plausible(replace(request({"iron": 0.1}), water_sd={"iron": -0.1}), np.random.default_rng(1), 5)


def test_a_limit_tells_how_often_it_is_kept_and_how_many_misses_are_its_own():
    # 0.25 +/- 0.05 against 0.3 (P 0.8413), and a pH that is never low enough
    goals = Goals(at_entry={"iron": 0.3}, ph_low=6.5, ph_high=8.5)
    asked = replace(request({"iron": 0.25, "ph": 9.0}, goals=goals), water_sd={"iron": 0.05, "ph": 0.001})
    found = judged(asked, [], plausible(asked, np.random.default_rng(9), 20_000))
    assert found.share == 0.0
    told = {limit.code: limit for limit in found.limits}
    high, iron = told["goal_ph_high"], told["goal_iron_entry"]
    assert (high.kept, high.of_misses) == (0.0, 1.0)
    assert iron.kept == pytest.approx(0.8413, abs=0.012)
    assert iron.of_misses == pytest.approx(0.1587, abs=0.012)


def test_units_side_by_side_are_judged_each_with_its_share_of_the_house():
    asked = hard_well()
    drawn = plausible(asked, np.random.default_rng(10), 50)
    bed = next(stage_for(product) for product in asked.catalogue if product.kind is StageKind.SOFTENER)
    judge = Judge(brief_of(asked), drawn)
    judge.walk([(bed, "main", 2)])
    whole = judge.duty(drawn.pump_l_min, "main")
    half = replace(
        whole, flow_l_min=whole.flow_l_min / 2, peak_l_min=whole.peak_l_min / 2, daily_l=whole.daily_l / 2,
        tap_l_d=whole.tap_l_d / 2, people=whole.people / 2,
    )  # fmt: skip
    other = Judge(brief_of(asked), drawn)
    for margin in bed.margins(drawn.water, half):
        other.note(margin.code, margin.label, margin.value, margin.limit, margin.sense)
    assert other.slack
    for code, (_label, slack) in other.slack.items():
        assert judge.slack[code][1] == pytest.approx(slack), code
