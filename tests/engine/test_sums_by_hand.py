"""Small sums of the engine done over by hand, and what a function takes where nothing is told.

Each check is arithmetic on the stated rule (computed here); atomic masses as in handbooks: Ca 40.078, Na 22.990,
Cl 35.453, Fe 55.845, CaCO3 100.087, NO3 62.004, N 14.007.
"""

import csv
import math
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sizing.engine import (
    adsorption,
    anion,
    balance,
    carbonate,
    cartridges,
    display,
    freeze,
    neutraliser,
    oxidation_methods,
    plausibility,
    power,
    storage,
    supply,
    unit_forms,
    uv,
    uv_sizing,
    well_readings,
    wells,
)
from sizing.engine.design import LifeKind, LifeRule, Measured, StageKind, WearPart
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.stages.claims import litres_first
from sizing.engine.stages.starter import STARTER, load_starter
from sizing.engine.water import ANALYTES, Water
from sizing.engine.worksheet import Step, Worksheet
from tests.engine.ordinary_calls import call
from tests.engine.stages.made import PLAIN, catalogue, duty, stage

FOLDER = Path(__file__).parent / "data"
DEFAULTS = list(csv.DictReader((FOLDER / "stated_defaults.csv").read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", DEFAULTS, ids=lambda row: f"{row['function']}-{row['argument']}")
def test_what_is_not_told_is_taken_as_stated(row):
    function, ordinary = call(row["function"])
    untold = {name: value for name, value in ordinary.items() if name != row["argument"]}
    stated = float(row["unless told"])
    told = untold | {row["argument"]: int(stated) if row["argument"] in ("year", "steps") else stated}
    assert repr(function(**untold)) == repr(function(**told))


def test_a_full_water_is_summed_to_its_dissolved_solids():
    ions = {
        "alkalinity": 100.0, "hardness": 100.0, "sodium": 10.0, "potassium": 2.0, "chloride": 5.0, "sulphate": 8.0,
        "fluoride": 0.5, "silica": 3.0, "iron": 0.4, "manganese": 0.1, "nitrate": 2.0,
    }  # fmt: skip
    by_hand = 60.0 + 100.0 * 40.078 / 100.087 + 10 + 2 + 5 + 8 + 0.5 + 3 + 0.4 + 0.1 + 2.0 * 62.004 / 14.007
    assert balance.calculated_tds(Water(ions)) == pytest.approx(by_hand, rel=2e-4)
    assert balance.calculated_tds(Water(ions | {"calcium": 30.0})) == pytest.approx(by_hand - 40.043 + 30, rel=2e-4)


FULL = {
    "calcium": 40.078,
    "magnesium": 0.0,
    "sodium": 22.99,
    "chloride": 35.453,
    "sulphate": 0.0,
    "alkalinity": 100.087,
}


def test_ionic_strength_is_half_the_sum_of_c_z2():
    # 1 mmol/L each of Ca (z 2), Na and Cl, 2 mmol/L of bicarbonate: 0.5 (4 + 1 + 1 + 2); 1 mmol/L of Fe(II) adds 2
    assert balance.ionic_strength(Water(FULL)) == pytest.approx(0.004, rel=2e-4)
    assert balance.ionic_strength(Water(FULL | {"iron": 55.845})) == pytest.approx(0.006, rel=2e-4)
    assert balance.ionic_strength(Water(FULL | {"iron_dissolved": 55.845})) == pytest.approx(0.006, rel=2e-4)


def test_without_ions_ionic_strength_follows_conductivity_then_solids_then_their_sum():
    # 1.6e-5 x conductivity and 2.5e-5 x TDS: published, see the function
    assert balance.ionic_strength(Water({"conductivity": 500.0, "tds": 900.0})) == pytest.approx(0.008)
    assert balance.ionic_strength(Water({"tds": 400.0})) == pytest.approx(0.01)
    rough = Water({"alkalinity": 100.0, "hardness": 100.0})
    assert balance.ionic_strength(rough) == pytest.approx(2.5e-5 * (60.0 + 40.043), rel=2e-4)


def test_dissolved_iron_counts_as_a_cation_below_ph_7_5_only():
    # 55.845 mg/L of Fe(II) is 2 meq/L
    plain, _ = balance.ion_sums(Water(FULL))
    for extra, more in (({}, 2.0), ({"ph": 7.0}, 2.0), ({"ph": 7.6}, 0.0)):
        cations, _ = balance.ion_sums(Water(FULL | {"iron": 55.845} | extra))
        assert cations - plain == pytest.approx(more, abs=1e-3)


def _placed(holds, count, **needs):
    wants = {"holds_litres": holds, "drainable": True, "portable": False} | needs
    named = SimpleNamespace(name="Softener")
    return SimpleNamespace(kind=StageKind.SOFTENER, product=named, needs=SimpleNamespace(**wants), count=count)


def test_what_is_drained_before_frost_is_what_stages_and_pipe_hold():
    # 20 m of 20 mm pipe: pi/4 x 0.0004 x 20 x 1000 = 6.283 L
    plan = freeze.freeze_plan([_placed(30.0, 2), _placed(5.0, 1)], heated=False, pipe_bore_m=0.02, pipe_length_m=20.0)
    assert plan.pipe_l == pytest.approx(6.283, abs=1e-3)
    assert plan.litres == pytest.approx(71.283, abs=1e-3)
    assert plan.steps[-1].value == pytest.approx(71.283, abs=1e-3)
    assert [step.value for step in plan.steps[:2]] == [60.0, 5.0]


@pytest.mark.parametrize(("months", "rated", "in_litres"), [(6.0, 2737.0, True), (6.0, 2738.0, False)])
def test_a_rated_volume_counts_where_it_runs_out_before_the_calendar(months, rated, in_litres):
    # 15 L a day, half a year of 365 days: 2737.5 L
    part = WearPart("cartridge", "Block", LifeRule(LifeKind.OPENING, months))
    life = litres_first(part, rated, 15.0, duty()).life
    assert (life.kind is LifeKind.LITRES) is in_litres
    assert life == (LifeRule(LifeKind.LITRES, rated, months) if in_litres else part.life)


def test_a_seasonal_softener_is_regenerated_once_more_at_the_opening():
    water, softener = Water(PLAIN), stage("soft-42")
    summer, year = duty(months_open=(5, 6, 7, 8, 9, 10)), duty()
    for house, days, opening in ((summer, 182.5, 1), (year, 365, 0)):  # a month is a twelfth of a year
        times = days / float(softener.days_between(water, house)) + opening
        asked = softener.upkeep(water, house)
        assert asked.salt_kg_year == pytest.approx(times * float(softener.salt_kg(water, house)))
        assert asked.water_l_year == pytest.approx(times * float(softener.cycle_litres(water, house)))


@pytest.mark.parametrize("mount", ["upright", "level"])
def test_a_lamp_needs_its_own_length_free_at_one_end(mount):
    unit = stage("uv-a-42", mount=mount)
    ratings, needs = unit.product.ratings, unit.needs(Water(PLAIN), duty())
    lamp = ratings["lamp_length_m"]
    assert needs.height_m == pytest.approx(ratings["height_m"] + (lamp if mount == "upright" else 0.0))
    assert needs.wall_m == pytest.approx(ratings["width_m"] + (lamp if mount == "level" else 0.0))


@pytest.mark.parametrize("reagent", ["soda_ash", "caustic"])
@pytest.mark.parametrize("hard", [11.0, 200.0])
@pytest.mark.parametrize("sulphate", [0.0, 600.0])
def test_a_dosed_water_settles_at_the_ph_it_was_dosed_to(reagent, hard, sulphate):
    water = Water(
        {"ph": 6.2, "alkalinity": 80.0, "calcium": hard, "temperature": 8.0, "tds": 900.0, "sulphate": sulphate}
    )
    weight, eq, carbon = {"soda_ash": (105.989, 2.0, 1.0), "caustic": (39.997, 1.0, 0.0)}[reagent]
    moles = float(neutraliser.dose_to_ph(water, 8.4, reagent)) / weight / 1000.0
    start = carbonate.system_of(water)
    dosed = replace(
        start,
        alkalinity=start.alkalinity + eq * moles,
        carbon=start.carbon + carbon * moles,
        strength=start.strength + 0.75 * eq * moles,
    )
    assert float(carbonate.closed_ph(dosed)) == pytest.approx(8.4, abs=2e-3)


def test_light_at_the_wall_follows_beer_lambert():
    # 75 % per cm through 2.5 cm: 0.75^2.5
    assert uv.wall_irradiance_share(75.0, 2.5) == pytest.approx(0.75**2.5)
    assert uv.wall_irradiance_share(np.array([75.0, 90.0]), 4.0) == pytest.approx([0.75**4, 0.9**4])


def test_a_remark_says_on_which_side_of_its_limit_a_water_lies():
    acid = {"iron": 3.0, "ph": 5.0, "tannin": 0.0, "sulphide": 0.0, "dissolved_oxygen": 5.0}
    said = {f.subject: f.message for f in oxidation_methods.method_remarks("air_media", Water(acid))}
    assert "below" in said["ph"]
    assert "above" not in said["ph"]
    brown = acid | {"ph": 8.0, "tannin": 50.0}
    said = {f.subject: f.message for f in oxidation_methods.method_remarks("air_media", Water(brown))}
    assert "above" in said["tannin"]


@pytest.mark.parametrize("months", [(), (0,), (13,), (6, 13)])
def test_months_that_do_not_exist_are_refused(months):
    with pytest.raises(OutsideValidRange):
        power.power_budget([power.Load("lamp", 20.0, 24.0)], [4.0] * 12, months)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_cannot_be_printed_is_refused_with_its_value(value):
    with pytest.raises(OutsideValidRange) as refusal:
        display.show(value, "flow", "us")
    assert refusal.value.parameter == "flow"
    assert repr(refusal.value.value) == repr(value)


@pytest.mark.parametrize("percent", [0.0, -1.0, 100.1])
def test_no_light_is_not_a_transmittance(percent):
    with pytest.raises(UnreadableValue):
        unit_forms.to_canonical(ANALYTES["uvt"], percent, "% over 10 cm")


def test_a_worksheet_and_a_mapping_come_back_from_storage_as_they_went():
    sheet = Worksheet().with_section("Softener", [Step("V", "resin", 42.0, "L", quantity="volume")], "by hand")
    assert Worksheet.from_data(sheet.as_data()) == sheet
    kept = {"iron": {"value": 2.0, "sd": 0.1}}
    assert storage.from_data(Mapping[str, Measured], kept) == {"iron": Measured(2.0, 0.1)}


def _printed_parts():
    for file in sorted(STARTER.glob("*.toml")):
        for product in tomllib.loads(file.read_text(encoding="utf-8"))["product"]:
            for part in product.get("wear", []):
                yield product["code"], part


def test_every_wear_part_of_the_starter_catalogue_is_read_as_it_is_written():
    read = {(p.code, part.code): part for p in load_starter() for part in p.wear}
    printed = {(code, part["code"]): part for code, part in _printed_parts()}
    assert printed.keys() == read.keys()
    assert printed
    for key, row in printed.items():
        part = read[key]
        assert part.name == row["name"]
        assert part.life == LifeRule(LifeKind(row["life"]), float(row["amount"]), row.get("cap_months"))
        assert part.minutes == row.get("minutes", 20)  # what a change takes where the catalogue does not say
        assert part.by_customer is row.get("by_customer", False)
        assert part.specification == row.get("specification", "")
        assert math.isclose(float(part.price), float(row.get("price", 0)))


def test_what_a_bed_can_dump_is_all_the_charge_that_enters():
    # equivalents: nitrate 14.007 as N, sulphate 96.06 / 2, alkalinity 50.04 as CaCO3, chloride 35.453
    charge = 8.0 / 14.007 + 100.0 / 48.03 + 150.0 / 50.044 + 30.0 / 35.453
    assert anion.nitrate_dump_limit(8.0, 100.0, 150.0, 30.0) == pytest.approx(charge * 14.007, rel=1e-3)


def test_a_cartridge_lasts_until_it_is_full_or_its_time_is_up():
    # 100 g at 5 mg/L, all of it caught: 20,000 L
    found = cartridges.cartridge_life(100.0, 5.0, 100.0, efficiency=1.0, most_days=90.0)
    assert (found.litres, found.days) == (pytest.approx(20_000.0), 90.0)
    assert cartridges.cartridge_life(100.0, 5.0, 400.0, efficiency=1.0, most_days=90.0).days == pytest.approx(50.0)


def test_a_carbon_bed_comes_with_its_worksheet():
    found = adsorption.size_carbon("organics", 42.0, 10.0, 12.0, 900.0)
    # 42 L / 12 L/min at the peak, 42 x 1440 / 900 over the day
    assert found.steps[0].value == pytest.approx(3.5)
    assert 67.2 in [pytest.approx(step.value) for step in found.steps]


@pytest.mark.parametrize(("gap", "said"), [(34.0, False), (36.0, True), (-34.0, False), (-36.0, True)])
def test_hardness_may_differ_by_a_tenth_and_5_mg_l_from_calcium_and_magnesium(gap, said):
    # 300 mg/L: 35 allowed; the rest as calcium, 100.087 / 40.078 mg per mg
    water = Water({"hardness": 300.0, "calcium": (300.0 - gap) * 40.078 / 100.087, "magnesium": 0.0})
    assert ("plausibility.hardness" in [f.code for f in plausibility.remarks(water)]) is said


@pytest.mark.parametrize(("oxygen", "said"), [(14.5, False), (14.9, True)])
def test_oxygen_far_above_saturation_is_asked_about(oxygen, said):
    # 11.288 mg/L in balance with air at 10 degC (Benson and Krause, printed table; from memory), a third more allowed
    water = Water({"temperature": 10.0, "dissolved_oxygen": oxygen})
    assert ("plausibility.oxygen" in [f.code for f in plausibility.remarks(water)]) is said


def test_logs_asked_of_a_lake_follow_the_country():
    # 40 CFR 141.70(a): 4-log virus, 3-log Giardia; Health Canada 2019 adds 3-log Cryptosporidium
    assert well_readings.treatment_target("us") == {"virus": 4.0, "giardia": 3.0, "cryptosporidium": 0.0}
    assert well_readings.treatment_target("canada") == {"virus": 4.0, "giardia": 3.0, "cryptosporidium": 3.0}


def test_a_dull_sleeve_lowers_dose_and_capacity_alike():
    unit = uv.UvUnit(45.0, 85.0)
    clean, dull = (uv_sizing.size_uv(unit, 38.0, 80.0, sleeve_share=share) for share in (1.0, 0.7))
    assert dull.dose == pytest.approx(0.7 * clean.dose)
    assert dull.capacity_l_min == pytest.approx(0.7 * clean.capacity_l_min)


def test_a_pump_that_barely_lifts_still_gives_its_trickle():
    # H = 60 - 0.01 q^2 against 59.9975 m: q = 0.5 L/min
    curve = wells.PumpCurve(60.0, 0.01, 40.0)
    assert wells.operating_flow_l_min(curve, 59.9975, 0.0) == pytest.approx(0.5, abs=1e-6)
    assert wells.operating_flow_l_min(curve, 60.0, 0.0) == 0.0


def test_a_bucket_is_read_to_a_quarter_litre_and_half_a_second():
    # u = q sqrt((0.25 / 20)^2 + (0.5 / 60)^2)
    told = supply.bucket_test(20.0, 60.0)
    assert told.sd_l_min == pytest.approx(20.0 * math.hypot(0.25 / 20.0, 0.5 / 60.0))


@pytest.mark.parametrize(("digits", "text"), [(None, "12.3"), (0, "12"), (3, "12.346")])
def test_a_number_is_shown_with_the_digits_asked_for(digits, text):
    assert display.show(12.3456, "flow", "metric", digits).split("\u00a0")[0] == text


def test_a_booster_is_held_to_its_rated_flow():
    booster = stage("boost-38")
    rated = booster.product.ratings["rated_flow_l_min"]
    for peak, held in ((rated - 0.1, True), (rated + 0.1, False)):
        (found,) = booster.margins(Water(PLAIN), duty(peak_l_min=peak))
        assert (found.code, found.held) == ("booster_flow", held)


def test_a_soda_ash_tank_lasts_its_litres_over_the_feed():
    feed = next(stage(code) for code, product in catalogue().items() if product.kind is StageKind.SODA_ASH)
    acid = Water({**PLAIN, "ph": 6.2, "alkalinity": 60.0})
    fed = float(feed.feed_litres_day(acid, duty()))
    lasts = next(s for s in feed.size(acid, duty()).numbers if s.name == "Tank lasts")
    assert fed > 0
    assert lasts.value == pytest.approx(feed.product.ratings["solution_l"] / fed)
