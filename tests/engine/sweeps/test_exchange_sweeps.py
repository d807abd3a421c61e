"""Exchange beds and oxidation swept: signs, monotone answers, bounds, balances, just inside and just outside."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine import anion, exchange, oxidation, regeneration, softened
from sizing.engine.errors import OutsideValidRange
from sizing.engine.quantities import KG_PER_POUND, L_PER_FT3
from sizing.engine.stoichiometry import equivalent_weight, molar_mass

hardness = st.floats(0.0, 1500.0)
metals = st.floats(0.0, 15.0)
resin = st.floats(5.0, 200.0)
share = st.floats(0.0, 1.0)


@st.composite
def salted(draw):
    """A resin volume and a salt dose in range."""
    litres = draw(resin)
    low, high = exchange.salt_dose_range(litres)
    return litres, low + draw(share) * (high - low)


@settings(max_examples=60)
@given(hardness, metals, metals)
def test_compensated_hardness_never_falls_below_the_hardness(hard, iron, manganese):
    found = exchange.compensated_hardness(hard, iron, manganese)
    assert found >= hard
    assert exchange.compensated_hardness(hard, iron + 0.5, manganese) > found
    assert exchange.compensated_hardness(hard, iron, manganese + 0.5) > found


@settings(max_examples=80)
@given(salted())
def test_capacity_rises_with_salt_and_efficiency_falls(pair):
    litres, salt = pair
    low, high = exchange.salt_dose_range(litres)
    more = min(salt * 1.1, high)
    here, there = exchange.softener_capacity(litres, salt), exchange.softener_capacity(litres, more)
    assert 0.0 < here <= exchange.capacity_ceiling(litres, salt) * (1 + 1e-12)
    assert there >= here
    if more > salt * 1.01 and salt > low * 1.8:  # the fit peaks in grains per pound near 2.4 lb/ft3
        assert regeneration.salt_efficiency(there, more) < regeneration.salt_efficiency(here, salt)


@settings(max_examples=40)
@given(resin)
def test_the_salt_range_is_kept_to_its_ends(litres):
    low, high = exchange.salt_dose_range(litres)
    for inside in (low, high):
        assert exchange.softener_capacity(litres, inside) > 0.0
    for outside in (low * 0.999, high * 1.001):
        with pytest.raises(OutsideValidRange, match="salt dose per litre of resin"):
            exchange.softener_capacity(litres, outside)


@settings(max_examples=60)
@given(st.floats(100.0, 5000.0), st.floats(10.0, 900.0), st.floats(0.0, 0.9))
def test_interval_times_load_is_the_usable_capacity(capacity, load, reserve):
    days = exchange.regeneration_interval(capacity, load, reserve)
    assert days * load == pytest.approx(capacity * (1.0 - reserve))


@settings(max_examples=60)
@given(hardness, salted())
def test_leakage_stays_between_nothing_and_the_raw_water(hard, pair):
    leak = softened.hardness_leakage(hard, *pair)
    assert 0.0 <= leak.low <= leak.typical <= leak.high <= hard + 1e-9


@settings(max_examples=60)
@given(st.floats(0.0, 800.0), st.floats(0.0, 300.0))
def test_softening_exchanges_charge_for_charge(calcium, magnesium):
    removed = calcium / equivalent_weight("calcium") + magnesium / equivalent_weight("magnesium")
    added = softened.sodium_added(removed * equivalent_weight("hardness")) / equivalent_weight("sodium")
    assert added == pytest.approx(removed, abs=1e-9)
    solids = softened.tds_change(calcium, magnesium)
    assert solids == pytest.approx(added * equivalent_weight("sodium") - calcium - magnesium, abs=1e-6)


@settings(max_examples=60)
@given(st.floats(0.0, 500.0), st.floats(0.0, 50.0), st.floats(0.0, 400.0))
def test_anion_beds_exchange_charge_for_charge(sulphate, nitrate, alkalinity):
    chloride = anion.chloride_added(sulphate, nitrate, alkalinity) / equivalent_weight("chloride")
    assert chloride == pytest.approx(anion.anion_load(sulphate, nitrate, alkalinity, 1.0))
    assert anion.nitrate_dump_limit(nitrate, sulphate, alkalinity) >= nitrate - 1e-9


@settings(max_examples=60)
@given(resin, st.floats(0.5, 40.0), st.floats(0.0, 400.0), st.floats(0.0, 400.0))
def test_a_nitrate_run_falls_with_every_anion(litres, nitrate, sulphate, alkalinity):
    run = anion.nitrate_run(litres, nitrate, sulphate, alkalinity)
    assert run > 0.0
    assert anion.nitrate_run(litres, nitrate * 1.1, sulphate, alkalinity) < run
    assert anion.nitrate_run(litres, nitrate, sulphate + 10.0, alkalinity) < run
    assert anion.nitrate_run(litres, nitrate, sulphate, alkalinity + 10.0) < run
    assert anion.nitrate_run(2.0 * litres, nitrate, sulphate, alkalinity) == pytest.approx(2.0 * run)


@settings(max_examples=60)
@given(resin, st.floats(0.1, 20.0), st.floats(0.0, 500.0), st.floats(50.0, 5000.0))
def test_a_tannin_interval_never_passes_four_days(litres, tannin, sulphate, daily):
    days = anion.tannin_interval(anion.tannin_run(litres, tannin, sulphate), daily)
    assert 0.0 < days <= 4.0


@pytest.mark.parametrize("load", [60.0, 150.0, 327.0, 600.0])
@pytest.mark.parametrize("price", [0.2, 0.6, 2.0])
def test_the_best_salt_dose_beats_every_other_dose(load, price):
    """Against a plain search over the same curve."""
    best = regeneration.best_salt_dose(45.0, load, 0.06, salt_per_kg=price, steps=161)
    costs = []
    for dose in np.linspace(*exchange.salt_dose_range(45.0), 161):
        year = regeneration.year_of_salt(
            45.0, min(float(dose), exchange.salt_dose_range(45.0)[1]), load, 0.06, salt_per_kg=price, water_per_m3=0.5
        )
        if year.interval_days >= 3.0:
            costs.append(year.cost_year)
    if best is None:
        assert costs == []
    else:
        assert best.cost_year == pytest.approx(min(costs))
        assert 3.0 <= best.interval_days <= 14.0


def test_a_bed_too_small_has_no_best_dose():
    assert regeneration.best_salt_dose(10.0, 2000.0, 0.03) is None


def test_asking_for_less_leakage_raises_the_dose():
    free = regeneration.best_salt_dose(45.0, 200.0, 0.06, hardness=340.0)
    held = regeneration.best_salt_dose(45.0, 200.0, 0.06, hardness=340.0, most_leakage=18.0)
    assert held.salt_kg > free.salt_kg
    assert held.leakage_high <= 18.0


@settings(max_examples=60)
@given(metals, metals, st.floats(0.0, 10.0))
def test_oxidant_demand_adds_up_and_never_falls(iron, manganese, sulphide):
    for demand in (oxidation.oxygen_demand, oxidation.chlorine_demand, oxidation.permanganate_demand):
        whole = demand(iron, manganese, sulphide)
        parts = demand(iron=iron) + demand(manganese=manganese) + demand(sulphide=sulphide)
        assert whole == pytest.approx(parts)
        assert demand(iron + 1.0, manganese, sulphide) > whole >= 0.0


@settings(max_examples=40)
@given(metals, metals)
def test_electrons_balance_between_the_oxidants(iron, manganese):
    """One mole of O2 takes four electrons, of Cl2 two, of KMnO4 three."""
    electrons = {
        "O2": 4 * oxidation.oxygen_demand(iron, manganese) / molar_mass("O2"),
        "Cl2": 2 * oxidation.chlorine_demand(iron, manganese) / molar_mass("Cl2"),
        "KMnO4": 3 * oxidation.permanganate_demand(iron, manganese) / molar_mass("KMnO4"),
    }
    assert electrons["O2"] == pytest.approx(electrons["Cl2"])
    assert electrons["O2"] == pytest.approx(electrons["KMnO4"])


@settings(max_examples=60)
@given(st.floats(0.0, 39.0), st.floats(50.0, 500.0))
def test_oxygen_saturation_falls_with_warmth_and_rises_with_pressure(celsius, pressure):
    here = oxidation.oxygen_saturation(celsius, pressure)
    assert oxidation.oxygen_saturation(celsius + 1.0, pressure) < here
    assert oxidation.oxygen_saturation(celsius, pressure * 1.05) > here


@settings(max_examples=60)
@given(st.floats(1.0, 60.0), st.floats(0.0, 800.0), st.floats(0.0, 10.0), st.floats(0.0, 40.0))
def test_the_oxygen_of_an_air_charge_is_all_accounted_for(head, pressure, demand, celsius):
    held = oxidation.oxygen_in_air_charge(head, pressure, celsius)
    run = oxidation.air_charge_run(head, pressure, demand, celsius, carried=8.0)
    assert run * (demand + 8.0) == pytest.approx(held)
    assert oxidation.oxygen_in_air_charge(head, pressure + 50.0, celsius) > held


@settings(max_examples=60)
@given(st.floats(0.0, 14.0), st.floats(0.0, 40.0))
def test_the_share_of_gas_is_a_share_and_falls_with_ph(ph, celsius):
    gas = oxidation.sulphide_as_gas(ph, celsius)
    assert 0.0 < gas < 1.0
    assert oxidation.sulphide_as_gas(max(ph - 0.5, 0.0), celsius) >= gas


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: exchange.compensated_hardness(-1.0), "hardness"),
        (lambda: exchange.compensated_hardness(100.0, 1.0, iron_factor=10.1), "iron factor"),
        (lambda: exchange.regeneration_interval(100.0, 0.0), "daily load"),
        (lambda: exchange.regeneration_interval(100.0, 10.0, 0.91), "reserve"),
        (lambda: exchange.service_flow(0.0), "resin volume"),
        (lambda: exchange.capacity_from_ratings([(2.0, 900.0)], 30.0, 2.0), "rated points"),
        (lambda: exchange.capacity_from_ratings([(2.0, 900.0), (4.0, 800.0)], 30.0, 2.0), "rated capacity"),
        (lambda: softened.bypass_fraction(10.0, 20.0), "raw value less target"),
        (lambda: softened.bypass_fraction(20.0, 5.0, 6.0), "target less treated value"),
        (lambda: regeneration.chloride_to_drain(1.0, "lithium"), "salt"),
        (lambda: anion.nitrate_run(30.0, 0.0, 0.0, 0.0), "exchangeable anions"),
        (lambda: anion.tannin_run(30.0, 0.0), "tannin"),
        (lambda: anion.ph_after_alkalinity_loss(8.4, 0.5), "pH"),
        (lambda: oxidation.oxygen_demand(sulphide=1.0, product="gypsum"), "product of sulphide"),
        (lambda: oxidation.oxygen_saturation(40.1), "temperature"),
        (lambda: oxidation.oxygen_saturation(float("nan")), "temperature"),
        (lambda: oxidation.alkalinity_used(1.0, oxidant="ozone"), "oxidant"),
        (lambda: oxidation.air_charge_run(10.0, 300.0, 0.0, carried=0.0), "oxygen used per litre"),
    ],
)
def test_what_lies_outside_is_refused_by_name(call, name):
    with pytest.raises(OutsideValidRange) as caught:
        call()
    assert caught.value.parameter == name


def test_the_offending_element_of_an_array_is_named():
    with pytest.raises(OutsideValidRange) as caught:
        exchange.softener_capacity(L_PER_FT3, np.array([5.0, 6.0, -1.0]) * KG_PER_POUND)
    assert caught.value.value == pytest.approx(-KG_PER_POUND)


def test_a_reserve_of_one_day_is_capped():
    assert exchange.one_day_reserve(1000.0, 899.0) == pytest.approx(0.899)
    assert exchange.one_day_reserve(1000.0, 2000.0) == 0.9


def test_the_short_interval_begins_above_the_iron_limit():
    assert exchange.interval_window(0.3) == (3.0, 14.0)
    assert exchange.interval_window(0.31) == (3.0, 4.0)


def test_a_nitrate_bed_takes_four_gallons_a_minute_for_each_cubic_foot():
    assert anion.nitrate_service_flow(2.0 * L_PER_FT3) == pytest.approx(8.0 * 3.785411784)


def test_no_nitrate_no_remark_on_nitrate():
    assert anion.anion_remarks(0.0, 300.0) == ()
    assert [f.code for f in anion.anion_remarks(5.0, 0.0)] == []
    assert anion.anion_remarks(0.0, 0.0, tannin=0.5, iron=1.0) == ()


def test_sulphate_is_remarked_above_six_times_the_nitrate():
    """Six times the mass as NO3: 10 mg/L as N is 44.27 as NO3, so 265.6 mg/L of sulphate."""
    assert "anion.sulphate_ratio" not in {f.code for f in anion.anion_remarks(10.0, 265.0)}
    assert "anion.sulphate_ratio" in {f.code for f in anion.anion_remarks(10.0, 266.5)}
