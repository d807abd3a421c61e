"""Limits of the physical modules that move with another argument, and arrays against their numbers one by one."""

import numpy as np
import pytest

from sizing.engine import (
    adsorption,
    cartridges,
    demand,
    liquid,
    media,
    membranes,
    pipes,
    power,
    supply,
    sweat,
    tank,
    uv,
    wells,
)
from sizing.engine.errors import OutsideValidRange

UNIT = uv.UvUnit(45.0, 85.0)

# Limits that move with another argument; the fixed ones stand in tests/engine/data/stated_limits.csv.
# call of one number, the name people read, low, high (None = open side), whether the low end itself is refused
RANGES = [
    (lambda x: demand.code_curve_l_min(x, "flush_valve"), "fixture units", 5.0, 5000.0, False),
    (lambda x: supply.drawdown_test(40.0, x), "refill time", 0.0, 7200.0, True),
    (lambda x: tank.drawdown_factor(207.0, 345.0, x), "precharge", 0.0, 207.0, False),
    (lambda x: tank.drawdown_factor(207.0, x, 190.0), "cut-out pressure", 207.0, 1000.0, True),
    (lambda x: wells.well_storage_l(0.15, 40.0, x), "standing water level", 0.0, 40.0, False),
]
IDS = [f"{i}-{row[1]}" for i, row in enumerate(RANGES)]


def _step(limit: float) -> float:
    return max(abs(limit), 1.0) * 1e-6


@pytest.mark.parametrize(("call", "name", "low", "high", "low_open"), RANGES, ids=IDS)
def test_just_inside_is_answered(call, name, low, high, low_open):
    call(low + (_step(low) if low_open else 0.0))
    call(high)


@pytest.mark.parametrize(("call", "name", "low", "high", "low_open"), RANGES, ids=IDS)
def test_just_outside_is_refused_by_name(call, name, low, high, low_open):
    for bad in (low if low_open else low - _step(low), high + _step(high), float("nan")):
        with pytest.raises(OutsideValidRange) as refusal:
            call(bad)
        assert refusal.value.parameter == name
        assert refusal.value.accepted in str(refusal.value)


ARRAYS = [
    lambda x: liquid.viscosity_pa_s(x),
    lambda x: liquid.atmosphere_kpa(x * 100),
    lambda x: pipes.pipe_loss_kpa(x, 0.02, 10.0),
    lambda x: pipes.friction_factor(x * 1000, 1e-4),
    lambda x: pipes.hazen_williams_kpa(x, 0.02, 10.0),
    lambda x: demand.code_curve_l_min(x),
    lambda x: tank.drawdown_factor(207.0 + x, 345.0 + x, 190.0 + x),
    lambda x: wells.casing_l_per_m(x / 50),
    lambda x: wells.minutes_to_empty(500.0, x, 10.0),
    lambda x: media.ergun_kpa(x, 0.7, 0.5, 0.4, temperature_c=x),
    lambda x: media.fluidisation_m_h(0.5, 2650.0, temperature_c=x),
    lambda x: media.backwash_rate_m_h(0.3, 0.55, 2650.0, 0.42, temperature_c=x),
    lambda x: media.temperature_factor("carbon", x),
    lambda x: uv.dose_mj_cm2(UNIT, x, 60.0 + x),
    lambda x: uv.capacity_l_min(UNIT, 60.0 + x),
    lambda x: uv.log_credit(x * 6, "virus"),
    lambda x: uv.mean_irradiance_share(60.0 + x, 2.5),
    lambda x: adsorption.contact_min(40.0, x),
    lambda x: cartridges.life_days(120.0, x - 1.0, 500.0),
    lambda x: membranes.output_l_d(membranes.Membrane(190.0), 400.0, x, 300.0),
    lambda x: membranes.permeate(x, 0.9, 0.25),
    lambda x: sweat.dew_point_c(x, 60.0),
    lambda x: sweat.least_jacket_mm(8.0, x + 10.0, 70.0),
    lambda x: sweat.surface_c(8.0, 25.0, thickness_mm=x),
    lambda x: power.battery_temperature_factor(x),
]


@pytest.mark.parametrize("call", ARRAYS, ids=range(len(ARRAYS)))
def test_an_array_gives_what_its_numbers_give_one_by_one(call):
    values = np.array([1.0, 4.0, 9.5, 17.0, 28.0])
    together = call(values)
    single = [call(float(value)) for value in values]
    assert isinstance(together, np.ndarray)
    assert together.shape == values.shape
    assert all(isinstance(value, float) for value in single)
    assert together == pytest.approx(single, rel=1e-12)
