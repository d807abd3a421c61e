"""Flow test, tank, pump and well over their ranges."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sizing.engine.errors import OutsideValidRange
from sizing.engine.liquid import atmosphere_kpa
from sizing.engine.supply import bucket_test, drawdown_test
from sizing.engine.tank import default_precharge_kpa, drawdown_factor, tank_drawdown, tank_for_run_l
from sizing.engine.wells import (
    casing_l_per_m,
    check_well,
    fit_pump_curve,
    minutes_to_empty,
    operating_flow_l_min,
    suction_head_available_m,
    well_storage_l,
)

switches = st.tuples(st.floats(100.0, 400.0), st.floats(40.0, 250.0), st.floats(0.2, 1.0)).map(
    lambda t: (t[0], t[0] + t[1], t[0] * t[2])
)


@given(switches, st.floats(60.0, 103.0))
def test_the_drawdown_is_what_boyle_leaves_of_the_air(switch, air):
    low, high, charge = switch
    factor = drawdown_factor(low, high, charge, air)
    volume_at_low, volume_at_high = (charge + air) / (low + air), (charge + air) / (high + air)
    assert factor == pytest.approx(volume_at_low - volume_at_high)
    assert 0 < factor < 1
    # the air keeps its amount: p V is the same at both ends
    assert (low + air) * volume_at_low == pytest.approx((high + air) * volume_at_high)


@given(switches, st.floats(0.0, 3000.0))
def test_more_altitude_gives_more_drawdown(switch, altitude):
    """While the charge is close to cut-in, as it should be set."""
    low, high, _ = switch
    near = default_precharge_kpa(low)
    assert drawdown_factor(low, high, near, atmosphere_kpa(altitude)) >= drawdown_factor(low, high, near) - 1e-12


@given(switches)
def test_a_lower_charge_never_gives_more(switch):
    low, high, charge = switch
    assert drawdown_factor(low, high, charge * 0.9) < drawdown_factor(low, high, charge)


@given(st.floats(5.0, 100.0), st.floats(0.5, 5.0), st.floats(0.1, 0.6))
def test_the_tank_for_a_run_runs_so_long(flow, run, factor):
    assert tank_for_run_l(flow, run, factor) * factor / flow == pytest.approx(run)


@given(st.floats(5.0, 400.0), st.floats(10.0, 600.0), st.floats(0.0, 3.0), st.floats(0.0, 5.0))
@settings(max_examples=60)
def test_uncertainty_agrees_with_drawing_readings(litres, seconds, litres_sd, seconds_sd):
    assume(seconds_sd < seconds / 12 and litres_sd < litres / 12)
    test = drawdown_test(litres, seconds, litres_sd=litres_sd, seconds_sd=seconds_sd)
    draws = np.random.default_rng(7)
    flows = 60.0 * draws.normal(litres, litres_sd, 40_000) / draws.normal(seconds, seconds_sd, 40_000)
    assert test.flow_l_min == pytest.approx(60.0 * litres / seconds)
    assert test.sd_l_min == pytest.approx(flows.std(), rel=0.05, abs=1e-9)


@given(st.lists(st.floats(40.0, 90.0), min_size=2, max_size=6))
def test_repeating_a_test_never_makes_it_less_certain_than_its_scatter(seconds):
    test = drawdown_test(40.0, seconds)
    single = drawdown_test(40.0, seconds[0])
    runs = np.array(test.runs_l_min)
    assert test.sd_l_min >= runs.std(ddof=1) / runs.size**0.5 - 1e-12
    assert runs.min() - 1e-9 <= test.flow_l_min <= runs.max() + 1e-9
    assert single.sd_l_min > 0


def test_two_buckets_of_the_same_flow_agree():
    assert bucket_test([10.0, 20.0], [30.0, 60.0]).flow_l_min == pytest.approx(20.0)


@pytest.mark.parametrize("seconds", [0.0, -1.0, float("nan"), float("inf"), 7201.0])
def test_an_impossible_refill_time_is_refused(seconds):
    with pytest.raises(OutsideValidRange, match="refill time"):
        drawdown_test(40.0, seconds)


@given(
    st.floats(30.0, 90.0), st.floats(10.0, 29.0), st.floats(10.0, 80.0), st.floats(0.0, 10.0), st.floats(0.0, 250.0)
)
@settings(max_examples=80)
def test_the_operating_point_balances_the_heads(shut_off, drop, flow, lift, tank):
    curve = fit_pump_curve([(0.0, shut_off), (flow, shut_off - drop)])
    at = operating_flow_l_min(curve, lift, tank, lambda q: 0.02 * q**1.8)
    if at:
        needed = lift + (tank + 0.02 * at**1.8) / 9.80665
        assert curve.head_m(at) == pytest.approx(needed, abs=1e-6)
    else:
        assert curve.head_m(0.0) <= lift + tank / 9.80665 + 1e-9


@given(st.floats(100.0, 300.0), st.floats(20.0, 150.0))
def test_a_pump_gives_more_at_cut_in_than_at_cut_out(low, band):
    curve = fit_pump_curve([(0.0, 70.0), (20.0, 64.0), (40.0, 46.0)])
    assert operating_flow_l_min(curve, 15.0, low) >= operating_flow_l_min(curve, 15.0, low + band)


def test_a_curve_that_rises_is_refused():
    with pytest.raises(OutsideValidRange, match="pump curve"):
        fit_pump_curve([(0.0, 30.0), (20.0, 40.0)])
    with pytest.raises(OutsideValidRange, match="pump curve points"):
        fit_pump_curve([(0.0, 30.0)])


@given(st.floats(0.05, 1.5), st.floats(5.0, 100.0), st.floats(0.0, 4.9), st.floats(0.0, 20.0))
def test_a_well_empties_after_its_water_is_drawn(across, depth, level, rate):
    stored = well_storage_l(across, depth, level)
    assert stored == pytest.approx((depth - level) * casing_l_per_m(across))
    minutes = minutes_to_empty(stored, rate + 5.0, rate)
    assert minutes * 5.0 == pytest.approx(stored)
    assert minutes_to_empty(stored, rate, rate) == float("inf")


@given(st.floats(0.0, 2000.0), st.floats(0.1, 30.0), st.floats(10.0, 3000.0))
def test_a_well_is_enough_only_when_both_sums_are(stored, rate, use):
    check = check_well(stored, rate, use)
    assert check.enough == (stored + 120 * rate >= use and 1440 * rate >= use)
    assert bool(check.findings) is not check.enough


@given(st.floats(-8.0, 5.0), st.floats(0.0, 3.0))
def test_lift_and_friction_take_from_the_suction_head(static, friction):
    here = suction_head_available_m(101.3, 1.2, static, friction)
    assert suction_head_available_m(101.3, 1.2, static - 1.0, friction) == pytest.approx(here - 1.0)
    assert suction_head_available_m(90.0, 1.2, static, friction) < here


def test_a_tank_reports_what_is_wrong_with_it():
    codes = {f.code for f in tank_drawdown(20.0, 207.0, 345.0, precharge_kpa=100.0, pump_flow_l_min=40.0).findings}
    assert codes == {"precharge_too_low", "pump_run_short", "pump_starts_often", "acceptance_above_limit"}
