"""Stages against printed numbers and hand arithmetic. Source and status stand beside each check."""

import numpy as np
import pytest

from sizing.engine.water import Water
from tests.engine.stages.made import PLAIN, duty, margin, stage

GPG = 17.1181  # mg/L per grain per US gallon: 64.79891 / 3.785412 (computed)
GPM = 3.785412  # L/min
ACID = {"ph": 6.2, "alkalinity": 30.0, "calcium": 11.0, "hardness": 38.0, "temperature": 8.0, "tds": 58.8}


def test_compensated_hardness_of_the_trade_example():
    # 10 gpg, 0.5 mg/L iron, 1.0 mg/L manganese, 2 gpg per mg/L each: 13 gpg (trade worked example, common practice)
    water = Water({"hardness": 10 * GPG, "iron_dissolved": 0.5, "manganese": 1.0})
    assert stage("soft-42").compensated(water) / GPG == pytest.approx(13.0, abs=0.01)


def test_daily_load_of_the_trade_example():
    # the same household: 320 gal a day x 13 gpg = 4,160 grains; a week 29,120 (common practice)
    water = Water({"hardness": 10 * GPG, "iron_dissolved": 0.5, "manganese": 1.0})
    load = stage("soft-42").load_g_day(water, duty(daily_l=320 * GPM))
    assert load / 0.06479891 * 7 == pytest.approx(29_120, rel=0.001)


def test_days_between_regenerations_with_a_quarter_in_reserve():
    # 24,000 grains, 25 % reserve, 5,040 grains a day: 3.57 days (computed, capacity x (1 - reserve) / load)
    softener = stage("soft-28")
    dose = softener.salt_kg(Water({"hardness": 21 * GPG}), duty(daily_l=240 * GPM))
    capacity = softener.capacity_g(dose) / 0.06479891
    days = softener.days_between(Water({"hardness": 21 * GPG}), duty(daily_l=240 * GPM))
    assert days == pytest.approx(capacity * 0.75 / 5040, rel=0.001)  # 4 people x 60 gal x 21 gpg = 5,040


def test_capacity_at_six_pounds_is_near_the_regulator():
    # at most 20,000 grains per ft3 at 0.3 lb per 1,000 gr, 35 IAC 604.805(c) (published), 7 % tolerance
    softener = stage("soft-42", media_l=42.475, rated_salt_kg=4.0823, rated_capacity_g=1944.0)
    assert softener.capacity_g(4.0823) / 0.06479891 / 1.5 == pytest.approx(20_000, rel=0.07)


@pytest.mark.parametrize("removed_gpg", [5.0, 10.0, 20.0])
def test_sodium_added_per_grain(removed_gpg):
    # 7.86 mg/L of sodium per grain removed (published on trade pages, atomic weights)
    water = Water({"hardness": (removed_gpg + 5) * GPG, "sodium": 12.0})
    after = stage("soft-42").treat(water, duty())
    removed = (water["hardness"] - after["hardness"]) / GPG
    assert (after["sodium"] - 12.0) / removed == pytest.approx(7.86, abs=0.02)


def test_softening_leaves_ph_and_alkalinity():
    # cation exchange only: pH and alkalinity unchanged (computed, PHREEQC)
    after = stage("soft-42").treat(Water(PLAIN), duty())
    assert (after["ph"], after["alkalinity"]) == (PLAIN["ph"], PLAIN["alkalinity"])


@pytest.mark.parametrize(
    ("inches", "ft2"), [(8, 0.349), (9, 0.442), (10, 0.545), (12, 0.785), (13, 0.922), (14, 1.069)]
)
def test_tank_areas(inches, ft2):
    # nominal areas as printed beside tank sizes (computed, geometry)
    bed = {8: "bed-8", 9: "bed-9", 10: "bed-10", 12: "bed-12", 13: "bed-13", 14: "bed-14"}[inches]
    assert stage(bed).area_m2 / 0.09290304 == pytest.approx(ft2, abs=0.0006)


def test_a_twelve_inch_bed_at_fifteen_gpm_per_ft2_is_beyond_a_small_pump():
    # 12 in at 15 gpm/ft2 wants 11.78 gpm (computed; the rate is printed in Wisconsin NR 811.52(3)(d))
    bed = stage("bed-12", drain_flow_l_min=11.781 * GPM)
    refused = margin(bed, Water(PLAIN), duty(pump_l_min=38.0), "backwash_backwash_supply")
    given = margin(bed, Water(PLAIN), duty(pump_l_min=45.0), "backwash_backwash_supply")
    assert (refused.held, given.held) == (False, True)


def test_carbon_contact_time():
    # 1.5 ft3 at 5 gpm: 2.24 min (computed, V/Q)
    carbon = stage("carb-10", media_l=1.5 * 28.316847)
    contact = margin(carbon, Water({"free_chlorine": 1.0}), duty(peak_l_min=5 * GPM), "carbon_contact")
    assert contact.value == pytest.approx(2.244, abs=0.005)


def test_organics_want_three_minutes():
    # 3 min or more for household organics, New York Appendix 75-B.2 (published)
    carbon = stage("carb-12", certified_for=("voc",))
    assert margin(carbon, Water({"voc": 5.0}), duty(), "carbon_contact").limit == 3.0
    assert margin(carbon, Water({"free_chlorine": 1.0}), duty(), "carbon_contact").limit < 3.0


def test_tannin_run_by_the_trade_rule():
    # 2,100 mg/L x gal per ft3 at 10 lb of salt: 210 gal per ft3 at 10 mg/L (common practice, single source)
    bed = stage("org-9", media_l=28.316847)
    assert bed.run_litres(Water({"tannin": 10.0})) / GPM == pytest.approx(210, abs=0.5)


def test_chloride_for_sulphate_and_alkalinity():
    # 0.738 mg Cl per mg SO4 and 0.708 per mg of alkalinity (computed); 90 % and 30 % are taken (practice, computed)
    after = stage("org-10").treat(Water({"sulphate": 100.0, "alkalinity": 100.0, "chloride": 0.0}), duty())
    assert after["chloride"] == pytest.approx(0.738 * 90 + 0.708 * 30, abs=0.2)


def test_alkalinity_spent_on_iron():
    # 1.79 mg of alkalinity per mg of iron, 1.82 per mg of manganese oxidised (computed; 1.8 printed in AWWA/ASCE)
    water = Water({"ph": 7.6, "alkalinity": 100.0, "iron": 4.0, "manganese": 0.0})
    after = stage("airox-10").treat(water, duty())
    assert 100.0 - after["alkalinity"] == pytest.approx(1.79 * (4.0 - after["iron"]), abs=0.02)


def test_oxygen_demand_of_iron_and_manganese():
    # 0.143 mg O2 per mg Fe, 0.291 per mg Mn (computed)
    demand = stage("airox-10").demand_mg_l(Water({"iron": 2.0, "manganese": 0.5}))
    assert demand == pytest.approx(2 * 0.1432 + 0.5 * 0.2912, abs=0.001)


def test_greensand_run_length_of_the_planning_rule():
    # 1 Fe + 2 Mn + 5 H2S = 4.6 for 3.0, 0.3, 0.2 (as H2S): 2,175 gal per ft3 (common practice)
    water = Water({"iron": 3.0, "manganese": 0.3, "sulphide": 0.2 * 32.06 / 34.076})
    run = stage("perm-10", media_l=28.316847).run_litres(water, duty())
    assert run / GPM == pytest.approx(2175, abs=3)


def test_uv_dose_falls_in_proportion_above_rated_flow():
    # dose = irradiance x time: 40 mJ/cm2 at 42 L/min is 30 at 56 (computed by hand)
    uv = stage("uv-a-42")
    assert uv.dose(Water({"uvt": 90.0}), duty(flow_l_min=56.0)) == pytest.approx(30.0)


def test_uv_claims_no_more_than_it_was_certified_for():
    # a slow tap does not turn 40 into 186 mJ/cm2 (NSF/ANSI 55 scope, secondary)
    assert stage("uv-a-42").dose(Water({"uvt": 95.0}), duty(flow_l_min=9.0)) == 40.0


def test_uv_virus_credit_of_forty():
    # 40 mJ/cm2 earns half a log of viruses, EPA 815-R-20-003 Table B-9 (published)
    sizing = stage("uv-a-42").size(Water({"uvt": 90.0}), duty())
    step = next(s for s in sizing.steps if s.symbol == "log virus")
    assert step.value == 0.5


def test_uv_is_judged_on_the_pump_not_on_the_draw():
    # sized on the flow the pump can deliver, not on what people usually draw (common practice)
    uv = stage("uv-a-17")
    assert not margin(uv, Water({"uvt": 90.0}), duty(flow_l_min=38.0, peak_l_min=4.0), "uv_flow").held
    assert margin(uv, Water({"uvt": 90.0}), duty(flow_l_min=16.5, peak_l_min=4.0), "uv_flow").held


def test_class_b_is_no_barrier():
    # class B earns no credit on unsafe water, NSF/ANSI 55 scope (abstract)
    water = Water({"uvt": 95.0, "e_coli": 4.0})
    assert stage("uv-b-38").treat(water, duty(flow_l_min=20.0))["e_coli"] == 4.0
    assert not stage("uv-b-38").is_barrier


def test_nitrate_behind_a_certified_membrane():
    # low field rejection 0.70 on the mean feed side (1 + 1/0.75)/2 of it: 16 x 0.3 x 1.1667 = 5.6 mg/L (by hand)
    after = stage("ro-75-cert").treat(Water({"nitrate": 16.0}), duty())
    assert after["nitrate"] == pytest.approx(5.6, abs=0.01)


def test_membrane_in_the_cold():
    # exp(3020 (1/298 - 1/283)) = 0.584 of the 25 degC output (common practice, membrane temperature table)
    ro = stage("ro-50")
    cold, warm = (ro.made_l_d(Water({"tds": 300.0}), duty(temperature_c=t)) for t in (10.0, 25.0))
    assert cold / warm == pytest.approx(0.584, abs=0.002)


def test_reject_of_five_to_one():
    # efficiency 1/(1+5) = 0.1667; 12 L a day make 60 L of reject (computed)
    ro = stage("ro-50", recovery=1.0 / 6.0)
    year = ro.upkeep(Water({"tds": 300.0}), duty(tap_l_d=12.0)).water_l_year
    assert year / 365.0 == pytest.approx(60.0, abs=0.1)


def test_calcite_used_in_a_year():
    # 60 mg/L and 200 gal a day: 36.55 lb a year (computed, mass balance)
    acid = Water(ACID)
    bed = stage("neut-14")
    house = duty(daily_l=200 * GPM)
    per_mg = bed.kg_year(acid, house) / bed.calcite_mg_l(acid, house)
    assert per_mg * 60.0 / 0.45359237 == pytest.approx(36.55, abs=0.2)


def test_neutralised_water_lies_in_the_practice_band():
    # household calcite beds bring acid wells to pH 6.8-7.8; hardness and alkalinity rise alike (computed, PHREEQC)
    acid = Water(ACID)
    after = stage("neut-14").treat(acid, duty())
    assert 6.8 <= after["ph"] <= 7.8
    assert after["hardness"] - 38.0 == pytest.approx(after["alkalinity"] - 30.0, abs=0.01)


def test_contact_of_a_plain_tank():
    # 120 gal at 6 gpm, baffling 0.1: 2.0 min; 1 mg/L, 10 degC, pH 7.5: 4 x 2/6 = 1.33 log virus (EPA 815-R-20-003)
    tank = stage("contact-450", volume_l=120 * GPM)
    house = duty(peak_l_min=6 * GPM, temperature_c=10.0)
    assert tank.contact_min(house) == pytest.approx(2.0, abs=0.01)
    assert tank.virus_logs(Water({"free_chlorine": 1.0, "ph": 7.5}), house) == pytest.approx(1.33, abs=0.01)


def test_restrictor_and_what_follows():
    # 8 gpm held to 10 %: size what follows on 33 L/min (arithmetic on the product's ratings)
    assert stage("restrict-30").passes_l_min == pytest.approx(33.0)


def test_the_same_answer_for_draws_as_for_numbers():
    # the engine's promise: one code for a household and for a vector of drawn waters
    draws = {code: np.array([value, value * 0.9]) for code, value in PLAIN.items()}
    for code in ("soft-42", "airox-12", "org-12", "uv-a-42", "ro-75-cert", "carb-12", "sed-20x45-5-spun", "neut-14"):
        unit = stage(code)
        both = unit.treat(Water(draws), duty())
        one = unit.treat(Water(PLAIN), duty())
        for analyte in one:
            first = np.atleast_1d(both[analyte])[0]
            assert first == pytest.approx(one[analyte], rel=0.02, abs=1e-9), (code, analyte)
