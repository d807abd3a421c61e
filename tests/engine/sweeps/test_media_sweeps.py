"""Beds over grain, rate and temperature, against the fluids library."""

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine.beds import expanded_depth_m, rose_kpa, settling_m_s
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.liquid import density_and_viscosity, viscosity_pa_s
from sizing.engine.media import (
    backwash_need,
    backwash_rate_m_h,
    bed_depth_m,
    ergun_kpa,
    expansion_share,
    flow_at_rate_l_min,
    fluidisation_m_h,
    freeboard_m,
    medium,
    rate_m_h,
    tank_area_m2,
    temperature_factor,
)

CODES = sorted(figure("media-practice", "media").value)
grains = st.tuples(st.floats(0.2, 2.0), st.floats(1100.0, 4000.0), st.floats(0.35, 0.55))
degrees = st.floats(1.0, 35.0)


@pytest.mark.parametrize("grain", [0.2, 0.55, 1.1, 3.0])
@pytest.mark.parametrize("porosity", [0.35, 0.45, 0.6])
@pytest.mark.parametrize("celsius", [2.0, 10.0, 25.0])
def test_the_clean_loss_agrees_with_fluids(grain, porosity, celsius):
    rho, mu = density_and_viscosity(celsius)
    for rate in (2.0, 12.0, 40.0):
        theirs = fluids.Ergun(dp=grain / 1000, voidage=porosity, vs=rate / 3600, rho=rho, mu=mu, L=0.7) / 1000
        assert ergun_kpa(rate, 0.7, grain, porosity, temperature_c=celsius) == pytest.approx(theirs, rel=1e-9)


@given(grains, st.floats(0.05, 1.2), degrees)
@settings(max_examples=150)
def test_backwash_rate_and_expansion_undo_each_other(grain, wanted, celsius):
    rate = backwash_rate_m_h(wanted, *grain, temperature_c=celsius)
    if rate < 500:
        assert expansion_share(rate, *grain, temperature_c=celsius) == pytest.approx(wanted, rel=1e-6)


@given(grains, st.floats(1.0, 100.0), degrees)
def test_a_bed_rises_more_the_faster_and_colder_the_water(grain, rate, celsius):
    here = expansion_share(rate, *grain, temperature_c=celsius)
    assert here >= 0
    assert expansion_share(rate * 1.1, *grain, temperature_c=celsius) >= here
    assert expansion_share(rate, *grain, temperature_c=celsius + 2.0) <= here or here == np.inf


@given(grains, degrees)
def test_cold_water_lifts_a_bed_earlier(grain, celsius):
    size, heavy, _ = grain
    assert fluidisation_m_h(size, heavy, temperature_c=celsius) < fluidisation_m_h(
        size, heavy, temperature_c=celsius + 3
    )
    assert fluidisation_m_h(size, heavy, temperature_c=celsius) < fluidisation_m_h(
        size * 1.1, heavy, temperature_c=celsius
    )


@given(grains, degrees)
@settings(max_examples=60)
def test_a_bed_lifts_before_its_grains_are_carried_out(grain, celsius):
    size, heavy, _ = grain
    assert fluidisation_m_h(size, heavy, temperature_c=celsius) / 3600 < settling_m_s(
        size, heavy, temperature_c=celsius
    )


@pytest.mark.parametrize("code", CODES)
def test_every_medium_wants_less_backwash_in_cold_water(code):
    factors = temperature_factor(code, np.array([2.0, 5.0, 10.0, 15.0, 20.0, 25.0]))
    assert (np.diff(factors) > 0).all()
    assert factors[3] == pytest.approx(1.0)
    row = medium(code)
    assert 0 < row.service_low_m_h <= row.service_high_m_h
    assert 0 < row.backwash_low_m_h <= row.backwash_high_m_h
    assert fluidisation_m_h(row.d60_mm, row.grain_kg_m3) < row.backwash_high_m_h * 2


@given(st.floats(6.0, 24.0), st.floats(0.5, 60.0), st.floats(5.0, 200.0))
def test_flow_rate_area_depth_and_volume_undo_each_other(diameter, rate, volume):
    area = tank_area_m2(diameter)
    assert rate_m_h(flow_at_rate_l_min(rate, area), area) == pytest.approx(rate)
    assert bed_depth_m(volume, diameter) * area * 1000 == pytest.approx(volume)
    assert freeboard_m(2.0, 1.25) == 0.75


@given(st.floats(1.0, 40.0), st.floats(0.3, 2.0))
def test_rose_and_ergun_agree_within_a_factor_of_three(rate, grain):
    """Different handbook forms for the same bed: they differ, but not by more."""
    ergun = ergun_kpa(rate, 0.6, grain, 0.42, shape=0.82)
    rose = rose_kpa(rate / 3600, 0.6, 0.42, [1.0], [grain / 1000], shape=0.82)
    assert 1 / 3 < rose / ergun < 3


def test_layers_add_up_to_the_bed():
    assert expanded_depth_m(0.6, 0.42, [0.25] * 4, [0.42] * 4) == pytest.approx(0.6)
    assert expanded_depth_m(0.6, 0.42, [0.5, 0.5], [0.42, 0.6]) > 0.6


def test_the_pump_decides_whether_a_tank_can_be_washed():
    need = backwash_need("sand", 10.0, temperature_c=8.0)
    enough = backwash_need("sand", 10.0, temperature_c=8.0, pump_l_min=need.flow_l_min + 0.01)
    short = backwash_need("sand", 10.0, temperature_c=8.0, pump_l_min=need.flow_l_min - 0.01)
    assert enough.findings == ()
    assert [finding.code for finding in short.findings] == ["backwash_beyond_pump"]
    assert need.flow_l_min <= need.most_l_min


def test_bulk_density_in_place_of_the_wet_grain_is_refused():
    with pytest.raises(OutsideValidRange, match="wet grain density"):
        fluidisation_m_h(1.2, 480.0)


def test_draws_give_the_same_as_one_by_one():
    rates, cold = np.array([10.0, 30.0, 45.0]), np.array([3.0, 10.0, 22.0])
    together = expansion_share(rates, 0.55, 2650.0, 0.42, temperature_c=cold)
    single = [
        expansion_share(float(r), 0.55, 2650.0, 0.42, temperature_c=float(t))
        for r, t in zip(rates, cold, strict=True)
    ]
    assert together == pytest.approx(single, rel=1e-12)
    assert viscosity_pa_s(cold) == pytest.approx([viscosity_pa_s(float(t)) for t in cold])
