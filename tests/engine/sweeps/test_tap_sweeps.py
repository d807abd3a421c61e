"""Carbon, cartridges and membranes: balances and bounds."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine.adsorption import (
    DUTIES,
    bed_life_litres,
    contact_min,
    contact_rule,
    diameter_for_rate_in,
    size_carbon,
    volume_for_contact_l,
)
from sizing.engine.cartridges import (
    cartridge_life,
    change_loss_kpa,
    cyst_log_credit,
    dirt_capacity_g,
    life_days,
    life_litres,
    loaded_loss_kpa,
    rated_flow_l_min,
    solids_from_turbidity,
)
from sizing.engine.errors import OutsideValidRange
from sizing.engine.media import rate_m_h, tank_area_m2
from sizing.engine.membrane_sizing import size_membrane
from sizing.engine.membranes import (
    Membrane,
    concentrate,
    driving_kpa,
    efficiency,
    feed_limits,
    feed_side_mean,
    mean_output_l_d,
    osmotic_kpa,
    output_l_d,
    permeate,
    permeate_ph,
    rejection,
    shut_off_kpa,
    temperature_factor,
)

recoveries = st.floats(0.05, 0.6)


@given(st.floats(0.0, 2000.0), st.floats(0.0, 1.0), recoveries)
def test_what_goes_in_comes_out(feed, rejected, recovery):
    product = permeate(feed, rejected, recovery)
    waste = concentrate(feed, product, recovery)
    assert recovery * product + (1 - recovery) * waste == pytest.approx(feed)
    assert 0 <= product <= feed + 1e-9
    assert waste >= feed - 1e-9
    assert feed_side_mean(feed, recovery) >= feed


@given(st.floats(50.0, 1500.0), st.floats(280.0, 600.0), st.floats(4.0, 28.0), st.floats(0.0, 150.0))
@settings(max_examples=120)
def test_output_falls_with_salt_cold_and_a_filling_tank(tds, feed, celsius, tank):
    membrane = Membrane(190.0)
    here = output_l_d(membrane, feed, celsius, tds, tank_kpa=tank)
    assert here >= 0
    assert output_l_d(membrane, feed, celsius, tds + 100.0, tank_kpa=tank) <= here
    assert output_l_d(membrane, feed, celsius + 1.0, tds, tank_kpa=tank) >= here
    assert output_l_d(membrane, feed, celsius, tds, tank_kpa=tank + 20.0) <= here
    assert output_l_d(membrane, feed + 20.0, celsius, tds, tank_kpa=tank) >= here


@given(st.floats(50.0, 500.0), st.floats(200.0, 600.0))
def test_the_rated_point_is_returned_as_it_was_given(tds, pressure):
    """At its rating the mean feed side is not that of the rating's own water by more than the recovery."""
    membrane = Membrane(200.0, pressure, 25.0, tds, recovery=0.01)
    assert output_l_d(membrane, pressure, 25.0, tds) == pytest.approx(200.0, rel=0.01)


@given(st.floats(300.0, 600.0), st.floats(4.0, 25.0), st.floats(50.0, 800.0))
@settings(max_examples=60)
def test_the_mean_while_filling_is_the_mean_of_many_tank_pressures(feed, celsius, tds):
    membrane = Membrane(190.0)
    pressures = np.linspace(7 * 6.894757293168, shut_off_kpa(feed), 400)
    many = np.mean(output_l_d(membrane, feed, celsius, tds, tank_kpa=pressures))
    assert mean_output_l_d(membrane, feed, celsius, tds) == pytest.approx(many, rel=1e-3)


@given(st.floats(0.0, 5000.0))
def test_osmotic_pressure_is_proportional(tds):
    assert osmotic_kpa(2 * tds) == pytest.approx(2 * osmotic_kpa(tds))
    assert driving_kpa(100.0, 8000.0) == 0.0


@given(st.floats(1.0, 44.0))
def test_the_temperature_factor_rises_through_one_at_25(celsius):
    assert temperature_factor(celsius) < temperature_factor(celsius + 1.0)
    assert (temperature_factor(celsius) < 1.0) is (celsius < 25.0)


@given(st.floats(0.0, 20.0))
def test_efficiency_is_a_share(reject):
    assert 0 < efficiency(reject) <= 1


@given(st.floats(5.5, 8.5), st.floats(20.0, 400.0), st.floats(0.01, 0.9))
def test_the_product_is_more_acid_than_the_feed(ph, alkalinity, share):
    assert permeate_ph(ph, alkalinity, alkalinity * share) < ph


@pytest.mark.parametrize("level", ["low", "typical", "list"])
@pytest.mark.parametrize("ion", ["nitrate", "sodium", "calcium", "fluoride", "boron", "sulphate", "radon"])
def test_rejections_are_shares_and_the_field_is_never_better_than_the_list(ion, level):
    assert 0 <= rejection(ion, level=level) <= 1
    assert rejection(ion) <= rejection(ion, level="typical") <= rejection(ion, level="list")


def test_a_unit_at_one_tap_is_sized_with_its_findings():
    weak = size_membrane(Membrane(190.0), 200.0, 6.0, 400.0, 40.0, storage_l=5.0)
    assert {finding.code for finding in weak.findings} == {"ro_pressure_low", "ro_storage_small"}
    assert not weak.margins[0].held
    strong = size_membrane(Membrane(400.0), 750.0, 20.0, 100.0, 10.0)
    assert {finding.code for finding in strong.findings} == {"ro_pressure_high"}
    assert strong.reject_l_d == pytest.approx(10.0 * 3.0)
    assert all(limit.sense == "max" for limit in feed_limits())


@given(st.floats(1.0, 500.0), st.floats(5.0, 100.0))
def test_contact_and_volume_undo_each_other(volume, flow):
    assert volume_for_contact_l(contact_min(volume, flow), flow) == pytest.approx(volume)


@given(st.floats(2.0, 60.0), st.floats(5.0, 40.0))
def test_the_diameter_for_a_rate_keeps_it(flow, rate):
    inches = diameter_for_rate_in(flow, rate)
    if 4.0 <= inches <= 72.0:
        assert rate_m_h(flow, tank_area_m2(inches)) == pytest.approx(rate)


@pytest.mark.parametrize("duty", DUTIES)
def test_every_duty_has_a_contact_time_with_its_word(duty):
    row = contact_rule(duty)
    assert row.value > 0
    assert row.citation
    sized = size_carbon(duty, 20.0, 10.0, 20.0, 800.0)
    assert sized.margins[0].limit == row.value
    assert sized.mean_min > sized.peak_min


@given(st.floats(5.0, 300.0), st.floats(10.0, 300.0), st.floats(0.1, 50.0))
def test_a_carbon_bed_takes_up_what_it_can_hold(volume, capacity, removed):
    litres = bed_life_litres(volume, capacity, removed, used_share=1.0)
    assert litres * removed == pytest.approx(volume * 0.48 * 1000 * capacity)


@given(st.floats(10.0, 500.0), st.floats(0.1, 100.0), st.floats(0.1, 1.0))
def test_a_cartridge_collects_what_it_holds(dirt, solids, caught):
    assert life_litres(dirt, solids, caught) * solids * caught / 1000 == pytest.approx(dirt)


@given(st.floats(10.0, 500.0), st.floats(0.0, 100.0), st.floats(50.0, 3000.0))
def test_a_cartridge_never_outlasts_its_year(dirt, solids, use):
    assert life_days(dirt, solids, use) <= 365.0
    assert life_days(dirt, solids + 1.0, use) <= life_days(dirt, solids, use)


@given(st.floats(0.0, 60.0), st.floats(0.0, 1.0))
def test_a_loading_cartridge_only_loses_more(clean, share):
    assert clean <= loaded_loss_kpa(clean, share) <= change_loss_kpa() + 1e-9


def test_sizes_of_cartridges_scale_with_length_and_unknown_ones_are_refused():
    assert rated_flow_l_min(4.5, 20.0) == pytest.approx(2 * rated_flow_l_min(4.5, 10.0))
    assert dirt_capacity_g(4.5, 10.0) > dirt_capacity_g(2.5, 10.0)
    with pytest.raises(OutsideValidRange, match="cartridge diameter"):
        rated_flow_l_min(3.0, 10.0)


def test_only_absolute_or_certified_ratings_count_for_cysts():
    assert cyst_log_credit(0.5, absolute=False) == 0.0
    assert cyst_log_credit(5.0, absolute=True) == 0.0
    assert cyst_log_credit(1.0, absolute=True) == cyst_log_credit(5.0, absolute=False, certified=True) == 3.0


def test_heavy_sediment_is_said():
    assert cartridge_life(240.0, 2.0, 700.0).findings == ()
    assert cartridge_life(240.0, solids_from_turbidity(15.0), 700.0).findings[0].code == "cartridge_loads_fast"
