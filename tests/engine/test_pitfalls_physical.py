"""Known pitfalls of demand, hydraulics and disinfection by light, each as a test named after it.

The rules themselves stand in codes, handbooks and trade practice; the source is said beside each.
"""

from datetime import date

import numpy as np
import pytest

from sizing.engine.adsorption import contact_min, contact_rule, size_carbon
from sizing.engine.cartridges import cyst_log_credit
from sizing.engine.convolution import Group, distribution, quantile
from sizing.engine.demand import chance_above, fixture_unit_flow, fixture_units, peak_flow
from sizing.engine.design import Fixture, Measured, SupplySide
from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.hydraulics import path_pressure, worst_fixture_kpa
from sizing.engine.measures import KPA_PER_PSI, L_PER_GAL, L_PER_IMPERIAL_GAL, M_PER_FT
from sizing.engine.media import backwash_need, expansion_share, fluidisation_m_h, medium, temperature_factor
from sizing.engine.membranes import feed_limits as membrane_limits
from sizing.engine.membranes import osmotic_kpa, rejection
from sizing.engine.membranes import temperature_factor as membrane_factor
from sizing.engine.pipes import bore_m, hazen_williams_kpa, pipe_loss_kpa
from sizing.engine.power import battery_ah, voltage_drop_v
from sizing.engine.sun import clear_sky_kwh_m2, extraterrestrial_kwh_m2
from sizing.engine.supply import bucket_test, drawdown_test
from sizing.engine.sweat import dew_point_c, film_coefficient, least_jacket_mm
from sizing.engine.tank import drawdown_factor, tank_drawdown
from sizing.engine.uv import UvUnit, capacity_l_min, credited_dose, log_credit, uvt_per_cm
from sizing.engine.uv_sizing import feed_limits, size_uv

PSI = KPA_PER_PSI
STUDY_HOUSE = [
    Fixture("bath_shower", 2),
    Fixture("lavatory", 3),
    Fixture("toilet", 3),
    Fixture("kitchen_faucet", 1),
    Fixture("clothes_washer", 1),
]


class TestDemand:
    """Peak Water Demand Study 2017 and IPC 2018 Appendix E (published)."""

    def test_the_total_of_a_fixture_is_not_cold_plus_hot(self):
        cold, hot, total = figure("icc-ipc-2018", "wsfu").value["lavatory, private"]
        assert total < cold + hot

    def test_a_bathroom_group_and_its_fixtures_are_not_both_counted(self):
        bathroom = [Fixture("toilet", 1), Fixture("lavatory", 1), Fixture("bath_shower", 1)]
        assert fixture_units(bathroom)[0] == 3.6
        assert fixture_units(bathroom, group_bathrooms=False)[0] == pytest.approx(4.3)

    def test_curves_of_two_codes_are_never_mixed(self):
        other = dict(map(tuple, figure("nspc-appendix-b", "demand_flush_tank").value))
        own = dict(map(tuple, figure("icc-ipc-2018", "demand_flush_tank").value))
        assert (own[10], other[10]) == (14.6, 8)
        assert fixture_unit_flow([Fixture("toilet", 4)]).steps[1].source.startswith("International Code Council")

    def test_an_outdoor_tap_is_added_as_flow_and_not_as_fixture_units(self):
        house = fixture_unit_flow(STUDY_HOUSE)
        hose = fixture_unit_flow([*STUDY_HOUSE, Fixture("outdoor_tap", 1)])
        assert hose.wsfu == house.wsfu
        assert hose.flow_l_min - house.flow_l_min == pytest.approx(5 * L_PER_GAL)

    def test_the_percentile_counts_only_moments_when_water_runs(self):
        peak = peak_flow(STUDY_HOUSE)
        assert (peak.whole_l_min / L_PER_GAL, peak.unconditional_l_min / L_PER_GAL) == pytest.approx((11.0, 8.5))

    def test_adding_a_shower_never_lowers_the_peak(self):
        """Washer and kitchen 5.7 gpm; with a shower the study's own value is 5.5."""
        pair = [Fixture("clothes_washer", 1), Fixture("kitchen_faucet", 1)]
        three = [*pair, Fixture("shower", 1)]
        assert peak_flow(pair).whole_l_min / L_PER_GAL == pytest.approx(5.7)
        assert peak_flow(three).whole_l_min / L_PER_GAL == pytest.approx(5.5)
        assert peak_flow(three).flow_l_min / L_PER_GAL == pytest.approx(5.7)

    def test_normal_estimates_are_far_too_low_for_one_house(self):
        peak = peak_flow(STUDY_HOUSE)
        assert peak.method == "exact convolution"
        assert peak.wistort_l_min < 0.55 * peak.flow_l_min
        assert peak.modified_wistort_l_min < 0.85 * peak.flow_l_min

    def test_ties_on_the_grid_are_compared_in_whole_tenths(self):
        """5.5 + 3.5 gpm meets 9.0 exactly; with floats it may not."""
        pmf = distribution([Group(1, 0.3, 55), Group(1, 0.3, 35)])
        assert quantile(pmf, 0.99) == 90
        assert chance_above([Fixture("bath_shower", 1), Fixture("clothes_washer", 1)], 9.0 * L_PER_GAL) == 0.0

    def test_ten_guests_are_outside_the_data_and_it_is_said(self):
        assert peak_flow(STUDY_HOUSE, people=4).findings == ()
        crowded = peak_flow(STUDY_HOUSE, people=10)
        assert [finding.code for finding in crowded.findings] == ["demand_more_people_than_data"]
        assert crowded.flow_l_min == peak_flow(STUDY_HOUSE).flow_l_min

    def test_both_methods_are_shown_and_differ_by_design(self):
        exact, code = peak_flow(STUDY_HOUSE), fixture_unit_flow(STUDY_HOUSE)
        assert 9 <= exact.flow_l_min / L_PER_GAL <= 11
        assert 15 <= code.flow_l_min / L_PER_GAL <= 20
        assert any("exact" in step.formula for step in exact.steps)
        assert any("wsfu" in step.formula for step in code.steps)

    def test_us_and_imperial_gallons_are_a_fifth_apart(self):
        assert pytest.approx(1.20095, abs=1e-5) == L_PER_IMPERIAL_GAL / L_PER_GAL


class TestPumpTankWell:
    """Boyle's law (computed); switch and precharge rules (common practice)."""

    def test_gauge_pressures_alone_promise_a_quarter_too_much(self):
        right = drawdown_factor(30 * PSI, 50 * PSI, 28 * PSI)
        assert (28 / 30 - 28 / 50) / right == pytest.approx(1.27, abs=0.01)

    def test_precharge_above_cut_in_is_refused_by_the_formula_and_flagged_on_the_worksheet(self):
        with pytest.raises(OutsideValidRange, match="precharge"):
            drawdown_factor(40 * PSI, 60 * PSI, 42 * PSI)
        tank = tank_drawdown(200.0, 40 * PSI, 60 * PSI, precharge_kpa=42 * PSI)
        assert [finding.code for finding in tank.findings] == ["precharge_above_cut_in"]

    def test_altitude_gives_a_little_more_drawdown(self):
        sea, hill = (tank_drawdown(100.0, 40 * PSI, 60 * PSI, altitude_m=m).factor for m in (0.0, 300.0))
        assert (round(sea, 3), round(hill, 3)) == (0.258, 0.26)

    def test_acceptance_is_not_drawdown(self):
        tank = tank_drawdown(100.0, 30 * PSI, 50 * PSI)
        assert tank.acceptance > tank.factor

    def test_a_refill_time_of_nothing_is_refused(self):
        with pytest.raises(OutsideValidRange, match="refill time is 0"):
            drawdown_test(40.0, 0.0)

    def test_the_bucket_formula_is_not_turned_upside_down(self):
        assert bucket_test(5 * L_PER_GAL, 75.0).flow_l_min / L_PER_GAL == pytest.approx(4.0)

    def test_a_bucket_after_the_tank_is_said_to_show_pump_and_tank(self):
        assert bucket_test(20.0, 40.0).findings[0].code == "bucket_includes_tank"
        assert bucket_test(20.0, 40.0, before_tank=True).findings == ()


class TestFriction:
    """Dimension tables of ASTM and schedule 40 (published); friction computed."""

    def test_nominal_size_is_not_the_bore(self):
        bores = [bore_m(m, "3/4") / 0.0254 for m in ("copper", "pex", "pvc")]
        assert [round(bore, 3) for bore in bores] == [0.785, 0.671, 0.824]
        losses = [pipe_loss_kpa(5 * L_PER_GAL, b * 0.0254, 100 * M_PER_FT, temperature_c=15.56) / PSI for b in bores]
        assert losses == pytest.approx([3.0, 6.4, 2.4], abs=0.05)

    def test_hazen_williams_reads_low_at_small_flows(self):
        bore = bore_m("copper", "3/4")
        for gpm in (2.0, 3.0, 5.0):
            darcy = pipe_loss_kpa(gpm * L_PER_GAL, bore, 30.48, temperature_c=15.56)
            ratio = hazen_williams_kpa(gpm * L_PER_GAL, bore, 30.48, c=150.0) / darcy
            assert 0.80 < ratio < 0.90

    def test_the_worst_fixture_is_checked_at_cut_in_with_dirty_filters(self):
        supply = SupplySide(Measured(40.0), 207.0, 345.0, 200.0)
        path = path_pressure(supply, 35.0, [("cartridge", 69.0)])
        assert path.pressures_kpa[0] == 207.0
        assert path.at_fixture_kpa < worst_fixture_kpa(supply, 35.0, [20.0])

    def test_pressure_above_80_psi_asks_for_a_reducing_valve(self):
        supply = SupplySide(Measured(40.0), 480.0, 620.0, 200.0)
        codes = {finding.code for finding in path_pressure(supply, 20.0, []).findings}
        assert "static_pressure_high" in codes


class TestBeds:
    """Hendricks, Fundamentals of Water Treatment Unit Processes (published); rates by trade practice."""

    def test_cold_water_needs_less_backwash_and_a_summer_setting_washes_media_out_in_spring(self):
        sand = medium("sand")
        ratio = temperature_factor("sand", 5.0) / temperature_factor("sand", 20.0)
        assert 0.70 < ratio < 0.82
        summer = sand.backwash_high_m_h * temperature_factor("sand", 20.0)
        grain = (sand.d60_mm, sand.grain_kg_m3, sand.porosity)
        assert expansion_share(summer, *grain, temperature_c=4.0) > 1.3 * expansion_share(
            summer, *grain, temperature_c=20.0
        )

    def test_below_fluidisation_the_expansion_is_nothing_and_never_negative(self):
        assert expansion_share(2.0, 0.55, 2650.0, 0.42) == 0.0

    def test_a_bed_that_would_leave_the_tank_is_infinite(self):
        assert expansion_share(400.0, 0.3, 1100.0, 0.4) == np.inf

    def test_bulk_density_is_refused_for_the_wet_grain(self):
        with pytest.raises(OutsideValidRange, match="wet grain density"):
            fluidisation_m_h(1.2, 800.0)

    def test_backwash_and_not_service_decides_on_a_small_pump(self):
        """12 in at 15 gpm/ft2 needs 11.8 gpm."""
        need = backwash_need("multilayer", 12.0, temperature_c=15.0, pump_l_min=10 * L_PER_GAL)
        assert need.flow_l_min / L_PER_GAL == pytest.approx(11.8, abs=0.05)
        assert need.findings[0].code == "backwash_beyond_pump"

    def test_a_drain_control_rounded_down_is_less_than_the_medium_wants(self):
        """14 in at 5 gpm/ft2 wants 5.35, the listed control gives 5."""
        listed = figure("media-practice", "drain_controls").value["softening_resin"]["14"]
        assert listed * L_PER_GAL < backwash_need("softening_resin", 14.0, temperature_c=15.0).flow_l_min


class TestLight:
    """EPA 815-R-20-003 Table B-9 (published); NSF/ANSI 55 as summarised (published)."""

    def test_40_mj_is_half_a_log_for_viruses(self):
        assert [log_credit(40.0, o) for o in ("virus", "giardia", "cryptosporidium")] == [0.5, 4.0, 4.0]

    def test_a_validation_factor_may_leave_no_virus_credit_at_all(self):
        assert log_credit(40.0, "virus", validation_factor=1.2) == 0.0

    def test_credit_is_never_interpolated_upward(self):
        assert log_credit(57.9, "virus") == 0.5

    def test_class_b_is_no_barrier_whatever_the_dose(self):
        unit = UvUnit(30.0, 85.0, 16.0, "B")
        sized = size_uv(unit, 5.0, 95.0)
        assert sized.credited == 0.0
        assert set(sized.credits.values()) == {0.0}
        assert sized.findings[0].code == "uv_not_class_a"
        assert credited_dose(unit, 500.0) == 0.0

    def test_a_slow_tap_does_not_turn_40_into_186(self):
        sized = size_uv(UvUnit(45.0, 85.0), 5.0, 90.0)
        assert sized.dose > 186
        assert sized.credited == 40.0
        assert sized.credits["virus"] == 0.5

    def test_a_transmittance_needs_its_path_length(self):
        with pytest.raises(MissingEvidence, match="path length"):
            uvt_per_cm(40.0, None)
        assert uvt_per_cm(40.0, 100.0) == pytest.approx(91.2, abs=0.05)

    def test_clear_water_earns_no_flow_above_the_rating(self):
        assert capacity_l_min(UvUnit(45.0, 75.0), 98.0) == 45.0

    def test_a_lamp_past_its_year_is_said_and_counted(self):
        unit = UvUnit(45.0, 85.0)
        assert size_uv(unit, 45.0, 85.0, lamp_hours=14_000.0).dose < 40.0
        assert "lamp_overdue" in {f.code for f in size_uv(unit, 45.0, 85.0, lamp_hours=14_000.0).findings}

    def test_feed_limits_hold_after_pretreatment_and_name_their_word(self):
        limits = {limit.analyte: limit for limit in feed_limits()}
        assert limits["hardness"].value == 120.0
        assert "from memory" in limits["sulphide"].source
        assert "common practice" in limits["iron"].source


class TestTap:
    """US CDC on cyst filters, New York Appendix 75-B.2 (published); trade practice on membranes."""

    def test_a_nominal_micron_is_no_cyst_filter(self):
        assert cyst_log_credit(1.0, absolute=False) == 0.0

    def test_carbon_in_a_house_is_not_enough_for_pfas(self):
        assert contact_min(42.0, 19.0) < contact_rule("pfas").value
        codes = {finding.code for finding in size_carbon("pfas", 42.0, 10.0, 19.0, 900.0).findings}
        assert "carbon_pfas_whole_house" in codes

    def test_disinfection_stands_after_carbon(self):
        finding = size_carbon("chlorine", 42.0, 10.0, 19.0, 900.0).findings[0]
        assert finding.code == "carbon_grows_bacteria"

    def test_cold_well_water_halves_a_membrane(self):
        assert membrane_factor(10.0) == pytest.approx(0.58, abs=0.01)

    def test_three_percent_is_per_degree_celsius(self):
        """A page misprints it as per degree F, which would leave 44 % where 58 % is right."""
        rule = figure("membrane-practice", "three_percent").value
        assert rule ** (10 - 25) == pytest.approx(membrane_factor(10.0), abs=0.06)
        assert rule ** (50 - 77) < 0.8 * membrane_factor(10.0)

    def test_sea_water_is_refused(self):
        with pytest.raises(OutsideValidRange, match="dissolved solids"):
            osmotic_kpa(35_000.0)

    def test_nitrate_is_judged_on_the_field_and_not_on_the_list(self):
        assert rejection("nitrate") == 0.7 < rejection("nitrate", level="list")

    def test_dissolved_gases_pass_and_the_feed_must_be_free_of_coliform(self):
        assert rejection("sulphide") == rejection("radon") == 0.0
        limits = {limit.analyte: limit for limit in membrane_limits()}
        assert limits["e_coli"].hard
        assert limits["e_coli"].value == 0.0


class TestSweatAndPower:
    """ASHRAE through psychrolib (published); off-grid practice."""

    def test_humidity_is_in_per_cent_and_never_nothing(self):
        with pytest.raises(OutsideValidRange, match="relative humidity"):
            dew_point_c(20.0, 0.0)
        with pytest.raises(OutsideValidRange, match="per cent, not a fraction"):
            dew_point_c(20.0, 0.6)

    def test_a_thin_jacket_is_not_enough_in_a_humid_basement(self):
        assert least_jacket_mm(8.0, 25.0, 60.0) > 5.0
        assert least_jacket_mm(8.0, 25.0, 80.0) == pytest.approx(23.5, abs=0.1)

    def test_a_shiny_cover_makes_sweating_worse(self):
        assert film_coefficient(12.0, 25.0, emittance=0.1) < 0.6 * film_coefficient(12.0, 25.0)

    def test_a_lamp_that_burns_day_and_night_dominates(self):
        assert battery_ah(40.0 * 24.0, 3.0, depth_of_discharge=0.5) == 480.0

    def test_clear_sky_is_an_upper_bound_and_uses_the_irradiance_of_the_day(self):
        winter = clear_sky_kwh_m2(45.0, -79.4, date(2025, 12, 21), altitude_m=300.0)
        assert winter == pytest.approx(1.6388, rel=0.01)
        assert winter < extraterrestrial_kwh_m2(45.0, 355)

    def test_cable_length_is_counted_both_ways(self):
        assert voltage_drop_v(5.0, 10.0, 0.005) == pytest.approx(2 * 10.0 * 5.0 * 0.005)
