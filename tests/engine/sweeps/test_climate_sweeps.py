"""Dew point, jackets, sun, 12 V and frost over their ranges."""

from datetime import date
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine.design import Needs, PlacedStage, Product, StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.freeze import freeze_plan, pipe_volume_l, winter_action
from sizing.engine.power import (
    Load,
    array_w,
    awg_area_mm2,
    battery_ah,
    battery_temperature_factor,
    power_budget,
    smallest_awg,
    voltage_drop_v,
    wire_ohm_per_m,
)
from sizing.engine.sun import clear_sky_kwh_m2, day_length_h, extraterrestrial_kwh_m2, monthly_sun_kwh_m2
from sizing.engine.sweat import (
    check_sweat,
    dew_point_c,
    dew_point_magnus_c,
    film_coefficient,
    jacket_size_m,
    least_jacket_mm,
    surface_c,
)


@given(st.floats(5.0, 35.0), st.floats(30.0, 99.0))
@settings(max_examples=150)
def test_both_dew_points_agree_and_lie_below_the_air(air, humidity):
    first = dew_point_c(air, humidity)
    assert first <= air + 1e-6
    if first > 0.5:
        assert dew_point_magnus_c(air, humidity) == pytest.approx(first, abs=0.05)


@given(st.floats(5.0, 35.0), st.floats(20.0, 90.0))
def test_damper_air_has_a_higher_dew_point(air, humidity):
    assert dew_point_magnus_c(air, humidity + 5.0) > dew_point_magnus_c(air, humidity)
    assert dew_point_magnus_c(air, 100.0) == pytest.approx(air, abs=1e-9)


@given(st.floats(2.0, 15.0), st.floats(16.0, 32.0), st.floats(0.0, 50.0), st.floats(0.15, 0.6))
def test_a_surface_lies_between_water_and_air_and_warms_with_thickness(water, air, thick, across):
    flat = surface_c(water, air, thickness_mm=thick)
    assert water - 1e-9 <= flat <= air
    assert surface_c(water, air, thickness_mm=thick + 1.0) > flat
    assert surface_c(water, air, thickness_mm=thick, tank_m=across) >= flat - 1e-9
    assert surface_c(water, air, thickness_mm=thick, tank_m=3.0) == pytest.approx(flat, abs=0.6)


@given(st.floats(2.0, 12.0), st.floats(18.0, 32.0), st.floats(45.0, 97.0))
def test_the_least_jacket_stands_exactly_at_the_dew_point(water, air, humidity):
    thick = least_jacket_mm(water, air, humidity)
    if 0 < thick <= 200:
        at = surface_c(water, air, thickness_mm=thick)
        assert at == pytest.approx(dew_point_magnus_c(air, humidity), abs=1e-9)


def test_no_jacket_is_enough_in_saturated_air_and_none_is_wanted_in_dry():
    assert least_jacket_mm(8.0, 25.0, 100.0) == np.inf
    assert least_jacket_mm(15.0, 22.0, 30.0) == 0.0
    wet = check_sweat(8.0, 25.0, 100.0, jacket_mm=10.0)
    assert wet.findings[0].what_to_do.startswith("Drier air: no jacket")
    assert check_sweat(12.0, 20.0, 35.0).findings == ()


@given(st.floats(2.0, 18.0), st.floats(19.0, 35.0), st.floats(0.1, 0.85))
def test_a_shiny_cover_gives_the_surface_less_heat(surface, air, emittance):
    assert film_coefficient(surface, air, emittance=emittance) < film_coefficient(surface, air)
    assert 5.0 < film_coefficient(surface, air) < 11.0


def test_a_jacket_goes_round_its_tank():
    round_m, _ = jacket_size_m(0.3, 1.2, 10.0)
    assert np.pi * 0.3 < round_m < np.pi * 0.32


PLACES = [(45.0, -79.4), (50.0, -96.0), (25.0, -80.0), (-42.0, 147.0)]


@pytest.mark.parametrize("month", range(1, 13))
@pytest.mark.parametrize(("latitude", "longitude"), PLACES)
def test_clear_sky_of_every_month_stays_under_the_top_of_the_air(latitude, longitude, month):
    day = date(2025, month, 21)
    top = extraterrestrial_kwh_m2(latitude, day.timetuple().tm_yday)
    ineichen = clear_sky_kwh_m2(latitude, longitude, day)
    haurwitz = clear_sky_kwh_m2(latitude, longitude, day, model="haurwitz")
    assert 0.4 * top < ineichen < 0.85 * top
    assert haurwitz == pytest.approx(ineichen, rel=0.2)
    assert 4.0 < day_length_h(latitude, day.timetuple().tm_yday) < 20.0


def test_twelve_months_scale_with_the_stated_clearness_and_the_worst_is_winter():
    clear = monthly_sun_kwh_m2(45.0, -79.4, altitude_m=300.0, tilt_deg=60.0)
    cloudy = monthly_sun_kwh_m2(45.0, -79.4, altitude_m=300.0, tilt_deg=60.0, clearness=0.5)
    assert cloudy == pytest.approx([0.5 * sun for sun in clear])
    assert clear.index(min(clear)) == 11
    assert clear[11] == pytest.approx(4.3117, rel=0.03)  # the printed December value of this place and tilt
    level = monthly_sun_kwh_m2(45.0, -79.4, altitude_m=300.0)
    assert min(clear) > 2 * min(level)


@given(st.floats(50.0, 3000.0), st.floats(0.5, 7.0), st.floats(0.3, 0.9))
def test_battery_and_panel_are_proportional_to_the_load(energy, days, depth):
    assert battery_ah(2 * energy, days, depth_of_discharge=depth) == pytest.approx(
        2 * battery_ah(energy, days, depth_of_discharge=depth)
    )
    assert array_w(energy, 3.0) * 3.0 * 0.7 == pytest.approx(energy)


@given(st.floats(-6.0, 40.0))
def test_a_colder_battery_must_be_larger(celsius):
    assert battery_temperature_factor(celsius) >= battery_temperature_factor(min(celsius + 3, 60.0)) >= 1.0
    assert battery_temperature_factor(celsius, chemistry="lithium") == 1.0


@given(st.floats(0.5, 20.0), st.floats(1.0, 12.0))
@settings(max_examples=80)
def test_the_chosen_cable_keeps_the_drop_and_the_next_thinner_does_not(amps, length):
    gauge = smallest_awg(amps, length)
    assert voltage_drop_v(amps, length, wire_ohm_per_m(gauge)) <= 0.36 + 1e-12
    if gauge < 18:
        assert voltage_drop_v(amps, length, wire_ohm_per_m(gauge + 2)) > 0.36


def test_a_cable_too_long_for_any_gauge_is_refused():
    with pytest.raises(OutsideValidRange, match="current over this length"):
        smallest_awg(60.0, 100.0)


@pytest.mark.parametrize("gauge", [18, 14, 10, 6])
def test_three_gauges_halve_the_area(gauge):
    assert awg_area_mm2(gauge - 3) / awg_area_mm2(gauge) == pytest.approx(2.0, rel=0.01)
    assert wire_ohm_per_m(gauge, temperature_c=75.0) / wire_ohm_per_m(gauge) == pytest.approx(1.216, abs=0.001)


def test_a_budget_names_the_month_that_decides_and_what_falls_short():
    sun = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0]
    lamp = [Load("lamp", 20.0, 24.0)]
    budget = power_budget(lamp, sun, [5, 6, 7, 8, 9], chemistry="lithium", coldest_c=-2.0, panel_w=150.0)
    assert budget.worst_month == 9
    assert {finding.code for finding in budget.findings} == {"panel_short", "lithium_cold"}
    sized = power_budget(lamp, sun, [5, 6, 7, 8, 9])
    assert sized.findings == ()
    assert min(sized.made_wh[m - 1] for m in (5, 6, 7, 8, 9)) == pytest.approx(sized.wh_day)
    with pytest.raises(OutsideValidRange, match="sun by month"):
        power_budget(lamp, sun[:11], [5])
    with pytest.raises(OutsideValidRange, match="months in use"):
        power_budget(lamp, sun, [])


def _placed(kind, litres, **needs):
    product = Product(kind.value, kind, f"The {kind.value}", {}, Decimal("100"))
    return PlacedStage(kind, product, "main", (), (), 0.0, 0.0, Needs(holds_litres=litres, **needs), (), (), ())


@pytest.mark.parametrize("kind", list(StageKind))
def test_every_kind_of_stage_has_its_winter(kind):
    assert winter_action(kind)[0] in {"drain", "empty", "warm", "none"}


def test_a_plan_adds_up_the_water_and_says_what_goes_home():
    stages = [
        _placed(StageKind.UV, 4.0),
        _placed(StageKind.SOFTENER, 60.0),
        _placed(StageKind.RO, 6.0, portable=True),
    ]
    plan = freeze_plan(stages, heated=False, pipe_bore_m=0.02, pipe_length_m=20.0)
    assert plan.litres == pytest.approx(70.0 + pipe_volume_l(0.02, 20.0))
    assert any("lamp and sleeve" in line for line in plan.travels_home)
    assert [finding.code for finding in plan.findings] == ["does_not_drain"]
    assert freeze_plan(stages, heated=True).stages == ()


def test_a_tank_that_can_neither_drain_nor_travel_is_said():
    plan = freeze_plan([_placed(StageKind.RETENTION, 300.0, drainable=False)], heated=False)
    assert [finding.code for finding in plan.findings] == ["holds_water"]
    moved = freeze_plan([_placed(StageKind.BOOSTER, 3.0, drainable=False, portable=True)], heated=False)
    assert moved.stages[0].action == "warm"
    assert moved.travels_home
