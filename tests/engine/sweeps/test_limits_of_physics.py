"""Every stated range of the physical modules: just inside is answered, just outside is refused by name."""

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
    sun,
    supply,
    sweat,
    tank,
    uv,
    wells,
)
from sizing.engine.errors import OutsideValidRange

UNIT = uv.UvUnit(45.0, 85.0)
PUMP = wells.fit_pump_curve([(0.0, 60.0), (40.0, 40.0)])

# call of one number, the name people read, low, high (None = open side), whether the low end itself is refused
RANGES = [
    (liquid.viscosity_pa_s, "water temperature", 0.0, 100.0, False),
    (liquid.density_kg_m3, "water temperature", 0.0, 100.0, False),
    (liquid.atmosphere_kpa, "altitude", -500.0, 5000.0, False),
    (liquid.vapour_pressure_kpa, "water temperature", 0.0, 60.0, False),
    (lambda x: pipes.velocity_m_s(x, 0.02), "flow", 0.0, 10_000.0, False),
    (lambda x: pipes.velocity_m_s(10.0, x), "bore", 0.001, 1.0, False),
    (pipes.friction_factor, "Reynolds number", 0.0, 1e8, True),
    (lambda x: pipes.friction_factor(1e5, x), "relative roughness", 0.0, 0.05, False),
    (pipes.explicit_factor, "Reynolds number", 4000.0, 1e8, False),
    (lambda x: pipes.pipe_loss_kpa(10.0, 0.02, x), "pipe length", 0.0, 5000.0, False),
    (lambda x: pipes.hazen_williams_kpa(10.0, 0.02, 1.0, c=x), "Hazen-Williams C", 60.0, 160.0, False),
    (lambda x: demand.code_curve_l_min(x), "fixture units", 1.0, 5000.0, False),
    (lambda x: demand.code_curve_l_min(x, "flush_valve"), "fixture units", 5.0, 5000.0, False),
    (lambda x: demand.daily_volume(x), "people", 0.0, 200.0, True),
    (lambda x: demand.daily_volume(2, x), "water per person", 20.0, 1000.0, False),
    (lambda x: supply.drawdown_test(x, 60.0), "litres drawn", 0.0, 2000.0, True),
    (lambda x: supply.drawdown_test(40.0, x), "refill time", 0.0, 7200.0, True),
    (lambda x: supply.bucket_test(10.0, x), "fill time", 0.0, 7200.0, True),
    (lambda x: tank.tank_drawdown(x, 207.0, 345.0), "tank volume", 0.0, 20_000.0, True),
    (lambda x: tank.drawdown_factor(207.0, 345.0, x), "precharge", 0.0, 207.0, False),
    (lambda x: tank.drawdown_factor(207.0, x, 190.0), "cut-out pressure", 207.0, 1000.0, True),
    (lambda x: tank.drawdown_factor(207.0, 345.0, 190.0, x), "atmospheric pressure", 50.0, 110.0, False),
    (lambda x: tank.tank_for_run_l(20.0, x, 0.3), "run time", 0.0, 60.0, True),
    (lambda x: tank.plain_tank_l(x * 3.785411784, "30-50"), "pump flow", 4.0, 24.0, False),
    (wells.casing_l_per_m, "casing diameter", 0.02, 10.0, False),
    (lambda x: wells.well_storage_l(0.15, 30.0, x), "standing water level", 0.0, 30.0, False),
    (lambda x: wells.check_well(100.0, 5.0, 900.0, peak_hours=x), "busy hours", 0.25, 24.0, False),
    (lambda x: wells.operating_flow_l_min(PUMP, x, 200.0), "lift", -50.0, 500.0, False),
    (wells.practical_lift_m, "elevation", 0.0, 1609.344, False),
    (media.tank_area_m2, "tank diameter", 4.0, 72.0, False),
    (lambda x: media.ergun_kpa(10.0, 0.7, 0.5, x), "porosity", 0.2, 0.8, False),
    (lambda x: media.ergun_kpa(10.0, 0.7, x, 0.4), "grain size", 0.05, 20.0, False),
    (lambda x: media.backwash_rate_m_h(x, 0.55, 2650.0, 0.42), "expansion", 0.0, 3.0, True),
    (lambda x: media.temperature_factor("sand", x), "water temperature", 0.0, 40.0, False),
    (lambda x: media.flow_at_rate_l_min(x, 0.05), "rate", 0.0, 500.0, False),
    (uv.absorbance_per_cm, "UV transmittance", 0.0, 100.0, True),
    (lambda x: uv.uvt_per_cm(90.0, x), "path length", 1.0, 1000.0, False),
    (lambda x: uv.mean_irradiance_share(85.0, x), "gap between sleeve and wall", 0.1, 30.0, False),
    (lambda x: uv.dose_mj_cm2(UNIT, x, 85.0), "flow", 0.0, 10_000.0, True),
    (lambda x: uv.dose_mj_cm2(UNIT, 30.0, 85.0, sleeve_share=x), "light through the sleeve", 0.0, 1.0, True),
    (lambda x: uv.dose_mj_cm2(UNIT, 30.0, 85.0, lamp_share=x), "lamp output", 0.0, 1.0, True),
    (lambda x: uv.log_credit(40.0, "virus", validation_factor=x), "validation factor", 1.0, 10.0, False),
    (lambda x: uv.dose_for_log("virus", x), "log credit", 0.0, 4.0, True),
    (uv.lamp_output_share, "lamp hours", 0.0, 20_000.0, False),
    (lambda x: adsorption.contact_min(x, 10.0), "bed volume", 0.0, 20_000.0, True),
    (lambda x: adsorption.bed_life_litres(40.0, x, 1.0), "capacity", 0.0, 1000.0, True),
    (lambda x: cartridges.life_litres(100.0, 5.0, x), "share caught", 0.0, 1.0, True),
    (lambda x: cartridges.cyst_log_credit(x, absolute=True), "filter rating", 0.0, 500.0, True),
    (lambda x: cartridges.loaded_loss_kpa(10.0, x), "loaded share", 0.0, 1.0, False),
    (membranes.temperature_factor, "feed temperature", 1.0, 45.0, False),
    (membranes.osmotic_kpa, "dissolved solids", 0.0, 10_000.0, False),
    (lambda x: membranes.permeate(100.0, 0.9, x), "recovery", 0.0, 0.9, False),
    (lambda x: membranes.permeate(100.0, x, 0.3), "rejection", 0.0, 1.0, False),
    (lambda x: sweat.dew_point_c(20.0, x), "relative humidity", 1.0, 100.0, False),
    (lambda x: sweat.dew_point_magnus_c(x, 50.0), "air temperature", 0.0, 60.0, False),
    (lambda x: sweat.surface_c(8.0, 25.0, thickness_mm=x), "thickness", 0.0, 200.0, False),
    (lambda x: sweat.film_coefficient(8.0, 25.0, emittance=x), "emittance", 0.0, 1.0, False),
    (lambda x: power.battery_ah(100.0, 3.0, depth_of_discharge=x), "depth of discharge", 0.0, 1.0, True),
    (power.battery_temperature_factor, "battery temperature", -6.7, 60.0, False),
    (lambda x: power.array_w(500.0, x), "sun", 0.0, 15.0, True),
    (power.awg_area_mm2, "wire gauge", 0.0, 30.0, False),
    (lambda x: sun.extraterrestrial_kwh_m2(x, 100), "latitude", -66.0, 66.0, False),
    (lambda x: sun.day_length_h(45.0, x), "day of the year", 1.0, 366.0, False),
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
