"""Corners the sweeps pass by: second conditions, what is said of a thing not known, unusual water.

Arithmetic on the stated rule (computed here), or what the sentence or the table beside it says.
"""

from datetime import date, timedelta

import numpy as np
import pytest

from sizing.engine import (
    anion,
    balance,
    beds,
    carbonate,
    chlorination,
    contact,
    exchange,
    freeze,
    lab_uncertainty,
    limits,
    neutraliser,
    oxidation,
    oxidation_methods,
    plausibility,
    power,
    regeneration,
    sun,
    sweat,
    unit_forms,
    uv,
    uv_sizing,
    wells,
)
from sizing.engine.design import StageKind
from sizing.engine.diagnosis_load import load_tables
from sizing.engine.errors import MissingEvidence, OutsideValidRange, UnreadableValue
from sizing.engine.figures import figure
from sizing.engine.reported import Reported
from sizing.engine.stages.practice_text import cautions_named
from sizing.engine.uv import UvUnit, dose_mj_cm2
from sizing.engine.water import ANALYTES, Water
from tests.engine.stages.made import PLAIN, catalogue, duty, stage


def test_grains_and_sieve_fractions_must_pair_up_even_where_the_fractions_add_up():
    with pytest.raises(OutsideValidRange) as refusal:
        beds.rose_kpa(0.003, 0.7, 0.42, [0.5, 0.5], [0.0006])
    assert "one grain size for each" in str(refusal.value)


def test_no_ion_no_conductivity_no_solids_is_said_in_words():
    with pytest.raises(MissingEvidence) as refusal:
        balance.ionic_strength(Water({"ph": 7.0}))
    assert "conductivity" in str(refusal.value)


def test_cloudy_water_takes_twice_the_drops():
    # US EPA, emergency disinfection: 8 drops of 6 % bleach to a gallon, doubled where the water is cloudy (published)
    assert chlorination.emergency_drops(6.0, 3.785411784) == 8
    assert chlorination.emergency_drops(6.0, 3.785411784, cloudy=True) == 16


@pytest.mark.parametrize("dose", [0.5, 2.0, 5.0])
def test_a_solution_tank_lasts_what_is_in_it_over_what_is_fed(dose):
    # 60 L of 10 g/L hold 600 g; 500 L a day at the dose take dose/2 g
    assert chlorination.solution_days(60.0, 500.0, dose, 10.0) == pytest.approx(600.0 / (0.5 * dose))


@pytest.mark.parametrize(("logs", "row"), [(2.0, "virus_2_log"), (3.0, "virus_3_log")])
@pytest.mark.parametrize(("ph", "column"), [(7.0, "ph_6_9"), (10.0, "ph_10")])
def test_a_share_of_the_four_log_row_is_never_below_the_row_printed_for_fewer_logs(logs, row, ph, column):
    # SWTR guidance manual 1991, table E-7 (published; 15 degC at pH 10 from memory), as kept with the figures
    printed = np.array(figure("swtr-guidance-1991", row).value[column])
    needed = contact.virus_ct(np.array([0.5, 5.0, 10.0, 15.0, 20.0, 25.0]), ph, logs)
    assert (needed >= printed).all()
    assert (needed <= printed + np.maximum(0.5, 0.03 * printed) + 1e-9).all()


def test_capacity_between_rated_points_is_a_number_for_a_number_and_a_row_for_a_row():
    points = [(2.72, 1000.0), (6.8, 1600.0)]
    one = exchange.capacity_from_ratings(points, 42.5, 2.72)
    assert isinstance(one, float)
    many = exchange.capacity_from_ratings(points, 42.5, np.array([2.72, 6.8]))
    assert many.tolist() == pytest.approx([1000.0, 1600.0])


def test_where_the_litres_to_drain_come_from_is_always_said():
    plan = freeze.freeze_plan([], heated=False)
    assert plan.steps[-1].source


@pytest.mark.parametrize(("counted", "sd"), [(0.0, 1.0), (0.5, 1.0), (4.0, 2.0), (100.0, 10.0)])
def test_counts_vary_as_their_square_root_and_by_one_at_least(counted, sd):
    # Poisson: the standard deviation is the square root of the count
    assert lab_uncertainty.result_uncertainty("total_coliform", counted) == pytest.approx(sd)


def test_a_plain_result_is_the_number_reported():
    code = "iron"
    told = lab_uncertainty.as_measured(Reported("0.40", "equal", 0.40, "mg/L", 0.40, code))
    assert told.value == 0.40
    assert told.sd == pytest.approx(lab_uncertainty.result_uncertainty(code, 0.40))


@pytest.mark.parametrize("code", ["calcium", "alkalinity", "turbidity", "iron", "ph"])
def test_each_remark_on_a_calcite_feed_names_its_analyte(code):
    much = {"calcium": 300.0, "alkalinity": 300.0, "turbidity": 20.0, "iron": 5.0, "ph": 8.3}
    (found,) = neutraliser.feed_remarks(Water({code: much[code]}))
    assert found.code == f"neutraliser.{code}"
    assert found.subject == code


def test_manganese_limits_of_a_method_count_only_where_there_is_manganese():
    rows = {m: oxidation_methods.method_limits(m) for m in oxidation_methods.Method}
    for stated in rows.values():
        for limit in stated:
            assert limit.reason
            assert limit.reason.strip() == limit.reason
            assert limit.needs_also in ("", "iron", "manganese")
    needing = [
        limit for stated in rows.values() for limit in stated if limit.analyte == "ph" and "manganese" in limit.reason
    ]
    assert len(needing) == 3
    assert {limit.needs_also for limit in needing} == {"manganese"}


@pytest.mark.parametrize(
    ("share", "off", "said"),
    [(1.0, 0.0, False), (1.9, 0.0, False), (0.4, 0.0, True), (2.5, 5.0, True), (0.5, -1.0, False), (0.5, -3.0, True)],
)
def test_carbon_dioxide_may_be_half_to_twice_what_ph_and_alkalinity_give(share, off, said):
    expected = float(carbonate.free_co2(7.0, 100.0, 10.0))
    water = Water({"ph": 7.0, "alkalinity": 100.0, "temperature": 10.0, "carbon_dioxide": share * expected + off})
    assert any("carbon_dioxide" in f.code for f in plausibility.remarks(water)) is said


@pytest.mark.parametrize(("solids", "said"), [(20.0, False), (20.5, True)])
def test_clear_water_full_of_solids_is_asked_about(solids, said):
    found = plausibility.remarks(Water({"turbidity": 0.3, "suspended_solids": solids}))
    assert any(f.code.endswith("turbidity") for f in found) is said


def test_bright_water_that_is_brown_is_asked_about_under_uvt():
    (found,) = plausibility.remarks(Water({"uvt": 97.0, "colour": 60.0}))
    assert found.subject == "uvt"
    assert found.code.endswith("uvt")


@pytest.mark.parametrize("beside", [{"iron_dissolved": 1.0}, {"sulphide": 0.2}])
def test_chlorine_beside_what_it_would_have_used_up_is_asked_about(beside):
    found = plausibility.remarks(Water({"free_chlorine": 0.5, **beside}))
    assert any(f.code.endswith("chlorine") for f in found)
    assert not plausibility.remarks(Water({"free_chlorine": 0.5}))


def test_a_cable_too_long_for_any_gauge_is_refused_with_its_current():
    with pytest.raises(OutsideValidRange) as refusal:
        power.smallest_awg(200.0, 300.0)
    assert refusal.value.value == 200.0


def test_the_best_salt_dose_is_the_cheapest_a_day_where_the_window_leaves_a_choice():
    # A light load: at 3 days the small dose would do; every dose lasts to the 14 days the window allows
    best = regeneration.best_salt_dose(45.0, 30.0, 0.06, salt_per_kg=0.6)
    assert best.interval_days == pytest.approx(14.0)
    assert best.salt_kg == pytest.approx(exchange.salt_dose_range(45.0)[0])


def test_a_heavy_load_is_regenerated_more_often_where_salt_is_dear_and_less_where_it_is_free():
    dear = regeneration.best_salt_dose(45.0, 250.0, 0.06, salt_per_kg=5.0)
    free = regeneration.best_salt_dose(45.0, 250.0, 0.06, salt_per_kg=0.0)
    assert dear.salt_kg < free.salt_kg
    assert dear.interval_days < free.interval_days


def test_efficiency_is_rated_up_to_and_with_five_gallons_a_kilograin():
    # at least 3,350 grains a pound of salt (4,500 here), at most 5 gal a 1,000 grains, as the figures cite them
    capacity = 10_000 * 0.06479891
    salt = 10_000 / 4_500 * 0.45359237
    for gallons, rated in ((49.9, True), (50.1, False)):
        assert regeneration.is_efficiency_rated(capacity, salt, gallons * 3.785411784, demand_initiated=True) is rated


@pytest.mark.parametrize("code", sorted(catalogue()))
def test_a_stage_asks_the_place_for_what_its_data_sheet_states(code):
    made = stage(code)
    ratings, needs = made.product.ratings, made.needs(Water(PLAIN), duty())
    assert needs.power_w == ratings.get("power_w", 0.0)
    for asked, stated in ((needs.wall_m, "width_m"), (needs.depth_m, "depth_m"), (needs.height_m, "height_m")):
        assert asked >= (ratings.get(stated) or 0.0), stated


def _first(kind, **told):
    return next(stage(code, **told) for code, product in sorted(catalogue().items()) if product.kind is kind)


def test_nitrate_and_sulphate_of_the_water_decide_what_is_said_of_its_bed():
    bed = _first(StageKind.NITRATE, certified_for=("nitrate",))
    said = {f.code for f in bed.size(Water(PLAIN | {"nitrate": 12.0, "sulphate": 600.0}), duty()).findings}
    assert {"anion.sulphate_ratio", "anion.dumping"} <= said
    said = {f.code for f in bed.size(Water(PLAIN | {"nitrate": 0.0, "sulphate": 250.0}), duty()).findings}
    assert not said & {"anion.sulphate_ratio", "anion.dumping"}
    assert anion.anion_remarks(12.0, 600.0)[0].subject == "sulphate"


def test_a_nitrate_bed_is_loaded_by_sulphate_nitrate_and_a_share_of_alkalinity():
    # 96 mg/L of SO4 are 2 meq/L, 14 mg/L of N 1, 100 mg/L of alkalinity 2, of which 0.3 count
    bed = _first(StageKind.NITRATE)
    steps = bed.size(Water(PLAIN | {"nitrate": 14.007, "sulphate": 96.06, "alkalinity": 100.087}), duty()).steps
    (load,) = (step.value for step in steps if step.symbol == "N")
    assert load == pytest.approx(2.0 + 1.0 + 0.3 * 2.0, rel=5e-3)


def test_chlorine_is_dosed_for_the_iron_that_is_dissolved():
    feed = _first(StageKind.CHLORINE)
    base = {key: value for key, value in PLAIN.items() if key not in ("iron", "iron_dissolved")}
    rusty = feed.dose_mg_l(Water(base | {"iron": 3.0, "iron_dissolved": 1.0}))
    clear = feed.dose_mg_l(Water(base | {"iron": 1.0, "iron_dissolved": 1.0}))
    untold = feed.dose_mg_l(Water(base | {"iron": 3.0}))
    assert rusty == clear
    assert untold > rusty


def test_an_iron_filter_uses_up_alkalinity_for_what_it_oxidises_and_nothing_else():
    base = {"ph": 7.5, "alkalinity": 200.0, "temperature": 10.0}
    filters = _first(StageKind.AIROX)
    assert filters.treat(Water(base), duty())["alkalinity"] == 200.0
    for code, metal in (("iron", 2.0), ("manganese", 1.0)):
        out = filters.treat(Water(base | {code: metal}), duty())
        gone = metal - out[code]
        spent = oxidation.alkalinity_used(gone if code == "iron" else 0.0, gone if code == "manganese" else 0.0)
        assert out["alkalinity"] == pytest.approx(200.0 - spent)


def test_a_soda_ash_pump_draws_power_while_the_well_pump_runs():
    # 681 L a day at 38 L/min: 17.92 min a day, 109.0 hours a year
    feed = _first(StageKind.SODA_ASH)
    hours = 681.0 / 38.0 / 60.0 * 365.0
    spent = feed.upkeep(Water(PLAIN | {"ph": 6.2}), duty()).power_kwh_year
    assert spent == pytest.approx(feed.product.ratings["power_w"] * hours / 1000.0)


def test_a_restrictor_is_checked_by_bucket_on_both_sides_of_what_it_holds():
    held = _first(StageKind.RESTRICTOR, flow_l_min=30.0, tolerance=15.0)
    sized = held.size(Water(PLAIN), duty(peak_l_min=50.0))
    assert [setting.value for setting in sized.settings] == pytest.approx([25.5, 34.5])
    (told,) = sized.findings
    assert told.subject == "restrictor"


def test_a_softener_takes_dissolved_iron_from_both_of_its_rows():
    soft = _first(StageKind.SOFTENER)
    water = Water(PLAIN | {"iron": 1.0, "iron_dissolved": 1.0, "dissolved_oxygen": 0.0, "free_chlorine": 0.0})
    out = soft.treat(water, duty())
    assert out["iron_dissolved"] == pytest.approx(out["iron"])
    assert out["iron_dissolved"] < 0.3


def test_water_whose_oxygen_was_not_measured_is_not_taken_for_aerated():
    soft = _first(StageKind.SOFTENER)
    untold = {key: value for key, value in PLAIN.items() if key not in ("dissolved_oxygen", "free_chlorine")}
    assert not soft._oxidised(Water(untold))
    assert soft._oxidised(Water(untold | {"dissolved_oxygen": 6.0}))


def test_an_ultrafilter_holds_rust_and_lets_dissolved_iron_pass():
    membrane = _first(StageKind.ULTRAFILTER)
    out = membrane.treat(Water(PLAIN | {"iron": 3.0, "iron_dissolved": 1.0}), duty())
    assert 1.0 <= out["iron"] < 1.2
    assert out["iron_dissolved"] == 1.0


def test_a_uv_that_is_no_barrier_earns_nothing():
    for code, product in catalogue().items():
        if product.kind is StageKind.UV:
            made = stage(code)
            assert bool(made.most_credit(duty())) is made.is_barrier, code


def test_sun_by_month_is_that_of_the_twenty_first():
    year = sun.monthly_sun_kwh_m2(46.0, -79.0)
    days = [sun.clear_sky_kwh_m2(46.0, -79.0, date(2025, month, 21), azimuth_deg=180.0) for month in range(1, 13)]
    assert year == pytest.approx(days)


def test_saturated_air_needs_no_jacket_on_a_tank_that_is_not_colder():
    assert sweat.least_jacket_mm(20.0, 20.0, 100.0) == 0.0
    assert sweat.least_jacket_mm(19.5, 20.0, 100.0) == np.inf
    assert sweat.least_jacket_mm(5.0, 20.0, 100.0) == np.inf


@pytest.mark.parametrize("code", sorted(ANALYTES))
def test_traces_must_state_their_unit(code):
    group = ANALYTES[code].group
    must = unit_forms.must_state(ANALYTES[code])
    if group in ("metals", "organics") and code != "tannin":
        assert must, code
    if code in ("colour", "turbidity", "ph"):
        assert not must, code


def test_the_second_method_of_a_uv_dose_counts_the_tired_lamp_too():
    unit = UvUnit(rated_flow_l_min=40.0, rated_dose=40.0, rated_uvt=75.0, gap_cm=2.0, unit_class="A")
    new, old = (uv_sizing.size_uv(unit, 30.0, 85.0, lamp_hours=hours) for hours in (0.0, 9000.0))
    share = old.dose / new.dose
    assert share < 1.0
    means = [next(s.value for s in sized.steps if "second" in s.meaning) for sized in (new, old)]
    assert means[1] / means[0] == pytest.approx(share)
    assert means[0] == pytest.approx(float(dose_mj_cm2(unit, 30.0, 85.0, method="mean")))


def test_a_pump_curve_that_rises_is_refused_above_nought():
    with pytest.raises(OutsideValidRange) as refusal:
        wells.fit_pump_curve([(0.0, 30.0), (20.0, 40.0)])
    assert "more than 0" in str(refusal.value)


def test_cautions_keep_their_order_and_end_with_the_local_codes():
    codes = [caution.code for caution in cautions_named(["local_codes", "flame", "flame"])]
    assert codes == ["flame", "local_codes"]
    with pytest.raises(UnreadableValue) as refusal:
        cautions_named(["no_such"])
    assert "no_such" in str(refusal.value)
    assert "flame" in str(refusal.value)


def test_what_the_tables_of_devices_and_questions_say_is_kept_under_its_own_code():
    tables = load_tables()
    for mine in (tables.devices, tables.observations, tables.measures):
        for code, row in mine.items():
            assert row.code == code
    assert {m.yields_to for m in tables.measures.values()} - {""} <= set(tables.measures)


FIRST_OF_KIND = sorted({product.kind: code for code, product in sorted(catalogue().items(), reverse=True)}.values())


@pytest.mark.parametrize("code", FIRST_OF_KIND)
def test_what_leaves_a_stage_hangs_on_what_it_says_and_on_nothing_else(code):
    made, house = stage(code), duty()
    before, removed = Water(PLAIN), made.most_removed()
    out, alters = made.treat(before, house), made.alters()
    for analyte, value in PLAIN.items():
        if out[analyte] != pytest.approx(value):
            assert analyte in alters or made.heeds() is None, analyte
        share = removed.get(analyte, 1.0)
        if value > 0 and analyte in alters:
            assert out[analyte] >= value * (1.0 - share) - 1e-9, analyte
    if made.heeds() is None:
        return
    for analyte, value in PLAIN.items():
        for times in (0.96, 1.1):
            other = made.treat(before.with_values(**{analyte: value * times}), house)
            moved = {left for left in PLAIN if left != analyte and other[left] != pytest.approx(out[left])}
            for left in moved:
                assert analyte in (*made.heeds(), *alters[left]), (left, analyte)


@pytest.mark.parametrize("method", ["wall", "mean"])
def test_light_at_another_transmittance_is_told_by_the_method_asked(method):
    unit = UvUnit(rated_flow_l_min=40.0, rated_uvt=75.0, gap_cm=2.0)
    share = {"wall": uv.wall_irradiance_share, "mean": uv.mean_irradiance_share}[method]
    told = uv.light_share(unit, 60.0, method=method)
    assert told == pytest.approx(share(60.0, 2.0) / share(75.0, 2.0))
    assert uv.light_share(unit, 60.0) == pytest.approx(uv.light_share(unit, 60.0, method="wall"))
    assert uv.light_share(unit, 60.0, method="mean") > uv.light_share(unit, 60.0, method="wall")


@pytest.mark.parametrize(("where", "most"), [("us", 365), ("canada", 183)])
def test_bacteria_are_out_of_date_after_a_year_or_half_a_year(where, most):
    # US EPA: test private wells every year; Health Canada: twice a year (published, as the figures cite them)
    results = {"total_coliform": Reported("absent", "absent", None, "", 0.0, "total_coliform")}
    for older, verdict in ((0, limits.Verdict.MET), (1, limits.Verdict.OUT_OF_DATE)):
        today = date(2026, 1, 1) + timedelta(days=most + older)
        told = limits.judge_all(results, where, sampled_on=date(2026, 1, 1), today=today, only=["total_coliform"])
        assert {standing.verdict for standing in told} == {verdict}


def test_a_booster_weaker_than_its_own_work_is_refused_by_its_power():
    product = next(p for p in catalogue().values() if p.kind is StageKind.BOOSTER)
    with pytest.raises(OutsideValidRange) as refusal:
        stage(product.code, power_w=1.0)
    assert "power_w" in str(refusal.value)


@pytest.mark.parametrize("kind", [StageKind.TAP_CARBON, StageKind.NITRATE])
def test_units_of_unlike_claims_never_stand_in_for_one_another(kind):
    code = next(code for code, product in sorted(catalogue().items()) if product.kind is kind)
    claimed, bare = stage(code, certified_for=("nitrate", "lead")), stage(code, certified_for=())
    assert claimed.rank().like != bare.rank().like
    assert stage(code).rank() == stage(code).rank()


def test_what_makes_people_ill_at_once_is_told_first_germs_before_nitrate_before_nitrite():
    codes = ["nitrite", "nitrate", "total_coliform", "e_coli"]
    results = {code: Reported("50", "equal", 50.0, "", 50.0, code) for code in codes}
    told = [standing.limit.analyte for standing in limits.judge_all(results, "us", only=codes)]
    assert list(dict.fromkeys(told)) == codes[::-1]
