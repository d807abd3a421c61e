"""The traps of water chemistry and disinfection, one test each, named after the trap."""

import numpy as np
import pytest

from sizing.engine import (
    anion,
    boiling,
    chlorination,
    contact,
    exchange,
    neutraliser,
    oxidation,
    oxidation_methods,
    regeneration,
    saturation,
    softened,
    units,
    uv,
    well_readings,
)
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.figures import documents, figure, rows
from sizing.engine.quantities import KG_PER_POUND, L_PER_FT3, MG_L_PER_GPG
from sizing.engine.water import Water
from tests.engine import waters

GRAIN_G = 0.06479891


def test_uvt_needs_its_path_length():
    with pytest.raises(UnreadableValue, match="path length"):
        units.parse_result("90", "uvt", "%")


def test_nitrate_as_n_or_as_no3():
    with pytest.raises(UnreadableValue, match="basis"):
        units.parse_result("9", "nitrate", "mg/L")


def test_hardness_of_calcium_and_magnesium_is_not_their_sum():
    assert units.hardness_from_ions(90, 24) == pytest.approx(323.6, abs=0.1)
    assert units.hardness_from_ions(90, 24) != pytest.approx(114.0, rel=0.5)


def test_chlorine_earns_no_cryptosporidium_credit():
    for chlorine, minutes in ((0.5, 10.0), (2.0, 60.0), (3.0, 20_000.0)):
        assert contact.contact_credit([(chlorine, minutes)], 20.0, 7.0).cryptosporidium == 0.0


def test_a_small_contact_tank_is_no_giardia_barrier():
    minutes = contact.contact_time(120 * 3.785411784, 6 * 3.785411784, contact.baffling_factor("unbaffled"))
    assert contact.contact_credit([(1.0, minutes)], 10.0, 7.5).giardia == pytest.approx(0.045, abs=0.001)


def test_forty_millijoules_are_half_a_log_of_viruses_and_chlorine_closes_the_gap():
    assert uv.log_credit(40.0, "virus") == 0.5
    assert contact.virus_ct(10.0, 7.5) == 6.0


def test_high_residual_is_not_over_credited():
    assert contact.ct_delivered(8.0, 10.0) == contact.ct_delivered(3.0, 10.0)
    assert contact.giardia_ct(10.0, 7.5, 8.0) == contact.giardia_ct(10.0, 7.5, 3.0)


def test_above_ph_nine_there_is_no_giardia_value():
    with pytest.raises(OutsideValidRange, match="pH"):
        contact.giardia_ct(10.0, 9.01, 1.0)


def test_the_short_ct_equation_is_below_the_table_in_most_cells_and_the_regression_in_none():
    axes = (figure(contact.MANUAL, f"giardia_{axis}").value for axis in ("temperatures", "chlorine", "ph"))
    temperature, chlorine, ph = np.meshgrid(*axes, indexing="ij")
    table = np.asarray(figure(contact.MANUAL, "giardia_ct").value)
    assert table.size == 588
    short = contact.giardia_ct_short(temperature, ph, chlorine) / table
    smooth = contact.giardia_ct_regression(temperature, ph, chlorine) / table
    assert (short < 1.0).sum() == 311
    assert short.min() == pytest.approx(0.888, abs=0.001)
    assert (smooth >= 1.0).all()
    assert smooth.max() == pytest.approx(1.17, abs=0.005)


def test_a_transposed_constant_is_not_used():
    """-2.216 for -2.261 circulates in public code."""
    assert figure(contact.MANUAL, "regression").value["warm"][1] == -2.261


def test_the_printed_irregular_cell_is_kept_and_transcription_errors_are_not():
    assert contact.giardia_ct(0.5, 7.5, 2.2) == 297.0
    assert contact.chloramine_ct(20.0, "giardia") == 1100.0
    assert contact.giardia_ct(25.0, 7.0, 1.0) == 37.0


def test_rounded_virus_cells_never_relax_the_linear_scaling():
    for temperature in (0.5, 5.0, 10.0, 15.0, 20.0, 25.0):
        for ph in (7.0, 9.5):
            for logs in (2.0, 3.0):
                linear = contact.virus_ct(temperature, ph) * logs / 4.0
                assert contact.virus_ct(temperature, ph, logs) >= linear


def test_combined_chlorine_is_weak():
    assert contact.chloramine_ct(10.0, "giardia") > 16 * contact.giardia_ct(10.0, 7.0, 1.0)


def test_boiling_is_refused_for_nitrate_and_metals():
    assert boiling.boiling_helps(["e_coli"])
    for problem in ("nitrate", "nitrite", "lead", "arsenic", "manganese", "sodium", "pfas", "algal_toxins", "fuel"):
        assert not boiling.boiling_helps([problem])
        assert not boiling.boiling_helps(["e_coli", problem])
        advice = boiling.boiling_advice(["total_coliform", problem])
        assert advice.code == "boiling.refused"
        assert "another supply" in advice.what_to_do


def test_boiling_turns_a_passing_nitrate_into_a_failing_one():
    assert boiling.concentration_after_boiling(9.0, 0.2) == pytest.approx(11.25)


def test_boiling_time_is_the_strictest_where_the_elevation_is_unknown():
    assert boiling.boil_minutes() == 3.0
    assert boiling.boil_minutes(1524.0) == 3.0
    assert boiling.boil_minutes(1500.0) == 1.0


def test_trade_percent_and_weight_percent_bleach_differ():
    trade, weight = chlorination.strength_from_trade(12.0), chlorination.strength_from_weight(12.0, 1.17)
    assert trade == 120.0
    assert weight / trade == pytest.approx(1.11, abs=0.01)


def test_old_bleach_is_weaker():
    assert chlorination.strength_left(120.0, 180.0) < 0.6 * 120.0
    assert chlorination.strength_left(52.5, 180.0) > 0.75 * 52.5


def test_shock_dose_tables_are_not_comparable_so_it_is_computed():
    litres = chlorination.water_in_casing(6 * 0.0254, 30.48)
    modest = chlorination.shock_dose(litres, dose_mg_l=50.0)
    heavy = chlorination.shock_dose(litres, dose_mg_l=459.0)
    assert heavy.bleach_l / modest.bleach_l == pytest.approx(459.0 / 50.0)
    assert "shock.dose" in {f.code for f in heavy.findings}
    assert "shock.dose" not in {f.code for f in modest.findings}


def test_misprinted_casing_tables_are_not_copied():
    """60 in: printed 148.88 and 11,690, true 146.88 and 14,688."""
    per_foot = chlorination.water_in_casing(60 * 0.0254, 0.3048) / 3.785411784
    assert per_foot == pytest.approx(146.88, abs=0.01)
    assert per_foot != pytest.approx(148.88, abs=0.5)


def test_shock_sheets_carry_their_cautions():
    found = {finding.code for finding in chlorination.shock_cautions()}
    assert {"shock.mixing", "shock.bypass", "shock.flush", "shock.sample"} <= found


def test_oxidant_demand_comes_before_the_residual():
    dose = chlorination.chlorine_dose(iron=3.0, manganese=0.3, sulphide=0.5, residual=0.5)
    assert dose - 0.5 == pytest.approx(oxidation.chlorine_demand(3.0, 0.3, 0.5))
    assert oxidation.chlorine_demand(sulphide=1.0) == pytest.approx(
        4.0 * oxidation.chlorine_demand(sulphide=1.0, product="sulphur")
    )


def test_ammonia_must_be_carried_to_breakpoint():
    assert chlorination.chlorine_dose(ammonia=1.0) - chlorination.chlorine_dose() == pytest.approx(7.6, abs=0.05)


def test_hardness_words_differ_by_scale():
    assert well_readings.hardness_word(150.0, "usgs") != well_readings.hardness_word(150.0, "vermont")
    assert well_readings.hardness_word(120.0) == "moderately hard"
    assert well_readings.hardness_word(120.5) == "hard"


def test_untreated_lake_water_is_presumed_contaminated_whatever_one_sample_says():
    reading = well_readings.ontario_reading(0, 0, surface_water=True)
    assert reading is well_readings.SampleReading.DO_NOT_DRINK


def test_no_reading_says_safe():
    assert not [r for r in well_readings.SampleReading if r.value.startswith("safe") or " safe" in r.value]


def test_efficiency_is_for_demand_initiated_units_only_and_six_pounds_miss_it():
    """20,000 grains for 6 lb is 3,333 grains per pound, under 3,350."""
    six = regeneration.is_efficiency_rated(20_000 * GRAIN_G, 6 * KG_PER_POUND, 150.0, demand_initiated=True)
    five = regeneration.is_efficiency_rated(20_000 * GRAIN_G, 5 * KG_PER_POUND, 150.0, demand_initiated=True)
    clock = regeneration.is_efficiency_rated(20_000 * GRAIN_G, 5 * KG_PER_POUND, 150.0, demand_initiated=False)
    assert (six, five, clock) == (False, True, False)


def test_impossible_softener_capacities_are_refused():
    with pytest.raises(OutsideValidRange, match="softener capacity"):
        exchange.check_capacity(6_100 * GRAIN_G, L_PER_FT3, KG_PER_POUND)
    with pytest.raises(OutsideValidRange, match="softener capacity"):
        exchange.check_capacity(44_000 * GRAIN_G, L_PER_FT3, 30 * KG_PER_POUND)


def test_too_low_an_iron_factor_is_not_taken_above_one_milligram():
    assert exchange.iron_allowance(1.0) == 2.0
    assert exchange.iron_allowance(1.01) == 5.0


def test_neutraliser_hardness_joins_the_softener_load():
    acid = Water({"ph": 6.0, "alkalinity": 40.0, "calcium": 14.0, "hardness": 50.0, "temperature": 9.0, "tds": 90.0})
    after = neutraliser.neutralise(acid)
    raw_load = exchange.daily_load(900.0, exchange.compensated_hardness(acid["hardness"]))
    load = exchange.daily_load(900.0, exchange.compensated_hardness(after.water["hardness"]))
    assert load - raw_load == pytest.approx(900.0 * after.calcite / 1000.0)
    assert load > 2.0 * raw_load


def test_softened_water_is_not_acid():
    """Its index is near -1.6 with the pH unchanged; the remark says so."""
    from sizing.engine.indexes import index_remark

    found = saturation.saturation_index(waters.water("PQ-19"))
    assert found.index == pytest.approx(-1.6, abs=0.05)
    assert "does not mean acid" in index_remark(found.index, found.ryznar).what_to_do


def test_softening_does_not_lower_dissolved_solids():
    assert softened.tds_change(10.0, 5.0) > 0.0


def test_the_cold_ph_overstates_scale_in_the_heater():
    cold = waters.water("PQ-07")
    with_cold_ph = saturation.saturation_index(cold.with_values(temperature=60.0)).index
    assert with_cold_ph - saturation.saturation_index(saturation.heated(cold, 60.0)).index == pytest.approx(
        0.25, abs=0.1
    )


def test_calcite_is_predicted_as_a_band_and_ends_high_only_in_soft_water():
    soft, well = waters.water("PQ-02"), waters.water("PQ-04")
    low, _, high = (neutraliser.neutralise(well, share).ph for share in neutraliser.calcite_band())
    assert low == pytest.approx(6.8, abs=0.05)
    assert high == pytest.approx(7.8, abs=0.05)
    assert neutraliser.neutralise(soft, 1.0).ph > 8.8


def test_magnesia_is_five_times_as_strong_as_calcite_by_weight():
    ratio = neutraliser.reagent_per_co2("calcite") / neutraliser.reagent_per_co2("magnesia")
    assert ratio == pytest.approx(5.0, abs=0.05)


def test_anion_capacity_is_shared_with_sulphate_and_alkalinity():
    alone = anion.nitrate_run(30.0, 12.0, 0.0, 0.0)
    shared = anion.nitrate_run(30.0, 12.0, 100.0, 200.0)
    assert shared < 0.25 * alone
    assert anion.tannin_run(30.0, 3.0, 100.0) == pytest.approx(0.5 * anion.tannin_run(30.0, 3.0))


def test_an_impossible_nitrate_capacity_is_refused():
    claimed = anion.capacity_from_claim(840_000.0)
    assert claimed == pytest.approx(1.81, abs=0.01)
    for capacity in (claimed, 1.41):
        with pytest.raises(OutsideValidRange, match=r"1\.4 eq/L"):
            anion.check_anion_capacity(capacity)
    assert anion.check_anion_capacity(1.4) == 1.4


def test_an_exhausted_nitrate_bed_can_leave_more_nitrate_than_the_raw_water():
    assert anion.nitrate_dump_limit(8.0, 100.0, 0.0) > 10.0
    dumping = next(f for f in anion.anion_remarks(8.0, 100.0) if f.code == "anion.dumping")
    assert dumping.severity.rank == 0


def test_a_fresh_anion_bed_dips_the_ph():
    assert anion.ph_after_alkalinity_loss(7.3, 0.9) == pytest.approx(6.3, abs=0.02)


def test_iron_bound_by_tannin_defeats_oxidation_and_resin():
    assert "anion.bound_iron" in {f.code for f in anion.anion_remarks(0.0, 0.0, tannin=0.6, iron=2.0)}
    water = Water({"iron": 2.0, "ph": 7.4, "tannin": 0.6, "sulphide": 0.0})
    for method in oxidation_methods.Method:
        assert "oxidation.tannin" in {f.code for f in oxidation_methods.method_remarks(method, water)}


def test_air_alone_does_not_take_manganese_and_is_slow_when_cold_and_acid():
    water = Water({"iron": 2.0, "manganese": 0.3, "ph": 7.4, "tannin": 0.0, "sulphide": 0.0})
    assert [f.subject for f in oxidation_methods.method_remarks("air_alone", water)] == ["ph"]
    assert oxidation.iron_half_life(7.0, 10.0) / oxidation.iron_half_life(7.0, 20.5) == pytest.approx(10.0)
    assert oxidation_methods.slow_iron_remark(6.5, 8.0) is not None
    assert oxidation_methods.slow_iron_remark(7.5, 12.0) is None


def test_fifteen_percent_oxygen_is_no_margin():
    enough, need, _ = oxidation_methods.oxygen_is_enough(4.0, 0.0, 0.0, 0.6)
    assert enough
    assert need == pytest.approx(0.6)
    assert need / float(oxidation.oxygen_demand(iron=4.0)) < 1.05


def test_a_method_asks_for_the_test_it_needs():
    found = oxidation_methods.method_remarks("air_media", Water({"iron": 2.0}))
    assert {"ph", "tannin", "sulphide"} == {f.subject for f in found if f.code == "oxidation.not_tested"}


def test_interval_is_capped_and_short_with_iron():
    """A seasonal or small load is not left in the bed for months."""
    assert regeneration.year_of_salt(40.0, 5.0, 20.0, 0.05).interval_days == 14.0
    assert regeneration.year_of_salt(40.0, 5.0, 20.0, 0.05, iron=1.0).interval_days == 4.0


def test_leakage_is_judged_on_its_high_side():
    leak = softened.hardness_leakage(20 * MG_L_PER_GPG, L_PER_FT3, 4 * KG_PER_POUND)
    assert leak.low <= leak.typical <= leak.high == pytest.approx(3 * MG_L_PER_GPG)


@pytest.mark.parametrize("name", documents())
def test_every_figure_says_where_it_stands(name):
    known = {"published", "computed", "common practice", "from memory", "measured", "given"}
    for key in rows(name):
        found = figure(name, key)
        assert found.status in known, (name, key)
        assert found.citation or found.status in ("common practice", "from memory", "computed"), (name, key)
