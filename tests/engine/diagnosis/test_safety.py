"""Health first: what is said before any cause, on which word, and what takes it back."""

import re

import pytest

from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Evidence, diagnose, load_tables
from sizing.engine.water import Water

WELL, DUG, LAKE, SPRING = SourceType.DRILLED_WELL, SourceType.DUG_WELL, SourceType.LAKE, SourceType.SPRING
TABLES = load_tables()
TESTED = {"nitrate": 0.5, "total_coliform": 0.0}


def told(source, said=(), results=None, facts=(), **more):
    answers = dict.fromkeys(said, "yes") if not isinstance(said, dict) else said
    water = Water(results) if results else None
    return diagnose(Evidence(source, answers, water, frozenset(facts), **more), TABLES)


def codes(found):
    return [one.code for one in found.interlocks]


STOPS = [
    ("fuel", WELL, ["fuel_smell"], None, (), "danger"),
    ("fuel", WELL, ["orange_slime", "film_closes"], None, (), "danger"),
    ("bloom", LAKE, ["algae_scum"], None, (), "danger"),
    ("bloom", LAKE, ["musty", "bloom_notice"], None, ["barrier"], "danger"),
    ("gas", WELL, ["milky"], None, (), "danger"),
    ("gas", WELL, ["white_scale", "gas_taps"], None, (), "danger"),
    ("permanganate", WELL, ["pink_film", "pink_water"], None, (), "danger"),
    ("relief_valve", WELL, ["egg_hot", "relief_valve_bad"], None, (), "danger"),
    ("e_coli", WELL, ["white_scale"], {"e_coli": 1.0}, (), "do_not_drink"),
    ("coliform", WELL, ["white_scale"], {"total_coliform": 3.0}, (), "do_not_drink"),
    ("coliform", WELL, ["coliform_positive"], None, (), "do_not_drink"),
    ("coliform", WELL, ["tea_clear", "ill"], None, (), "do_not_drink"),
    ("coliform", WELL, ["tea_clear"], None, ["illness"], "do_not_drink"),
    ("sewage", WELL, ["sewage_smell"], None, (), "do_not_drink"),
    ("sewage", DUG, ["foam"], None, (), "do_not_drink"),
    ("uv_out", LAKE, ["uv_alarm"], None, ["barrier"], "do_not_drink"),
    ("open_water", LAKE, ["white_scale"], None, ["no_barrier"], "do_not_drink"),
    ("open_water", SPRING, [], None, ["no_barrier"], "do_not_drink"),
    ("open_water_unknown", SourceType.CISTERN, ["musty"], None, (), "do_not_drink"),
    ("nitrate_infants", WELL, ["white_scale"], {"nitrate": 10.0}, (), "do_not_drink"),
    ("nitrite", WELL, ["white_scale"], {"nitrite": 1.0}, (), "do_not_drink"),
    ("nitrate_untested", WELL, ["white_scale"], None, ["infants"], "do_not_drink"),
    ("nitrate_untested", WELL, ["white_scale"], None, ["pregnancy"], "do_not_drink"),
    ("manganese_infants", WELL, ["black_stain"], {"manganese": 0.2, **TESTED}, ["infants"], "do_not_drink"),
    ("chlorine_high", WELL, ["white_scale"], {"free_chlorine": 4.5}, (), "do_not_drink"),
    ("alkali_high", WELL, ["slippery"], {"ph": 9.8}, (), "do_not_drink"),
    ("membrane_guard", WELL, ["ro_tds_creep"], None, ["ro_guards"], "do_not_drink"),
    ("over_arsenic", WELL, ["white_scale"], {"arsenic": 0.02}, (), "do_not_drink"),
    ("over_lead", WELL, ["blue_green"], {"lead": 0.03}, (), "do_not_drink"),
    ("over_uranium", WELL, ["white_scale"], {"uranium": 0.05}, (), "do_not_drink"),
    ("over_fluoride", WELL, ["white_scale"], {"fluoride": 4.4}, (), "do_not_drink"),
    ("stage_failed", WELL, ["grit", "uniform_grains"], None, (), "refer"),
    ("shallow_well", DUG, ["white_scale"], None, (), "caution"),
    ("metals_first_draw", WELL, ["blue_green"], None, (), "caution"),
    ("hot_water", WELL, ["egg_hot"], None, (), "caution"),
    ("sulphide_space", WELL, ["egg_cold"], {"sulphide": 1.5}, (), "caution"),
    ("weak_immunity", WELL, ["white_scale"], None, ["weak_immunity"], "caution"),
]


@pytest.mark.parametrize(("code", "source", "said", "results", "facts", "severity"), STOPS)
def test_the_hazard_is_said(code, source, said, results, facts, severity):
    found = told(source, said, results, facts)
    stop = next(one for one in found.interlocks if one.code == code)
    assert stop.severity == severity
    assert stop.words
    assert stop.do


def test_every_interlock_of_the_tables_is_tried_here():
    ruled = {rule.code for rule in TABLES.rules if rule.kind == "interlock"}
    assert ruled <= {code for code, *_ in STOPS}


@pytest.mark.parametrize(
    ("code", "source", "said", "results", "facts"),
    [
        ("gas", WELL, {"milky": "yes", "gas_taps": "no", "gas_country": "no"}, None, ()),
        ("gas", LAKE, ["milky"], None, ["barrier"]),
        ("bloom", WELL, ["algae_scum"], None, ()),
        ("bloom", LAKE, ["algae_scum", "yellow_dust"], None, ["barrier"]),
        ("coliform", WELL, ["white_scale"], {"total_coliform": 0.0, "e_coli": 0.0}, ()),
        ("open_water", LAKE, ["white_scale"], None, ["barrier"]),
        ("open_water_unknown", LAKE, ["white_scale"], None, ["barrier"]),
        ("open_water_unknown", WELL, ["white_scale"], None, ()),
        ("nitrate_infants", WELL, ["white_scale"], {"nitrate": 9.9}, ["infants"]),
        ("nitrate_untested", WELL, ["white_scale"], {"nitrate": 0.4}, ["infants"]),
        ("manganese_infants", WELL, ["black_stain"], {"manganese": 0.2, **TESTED}, ()),
        ("over_arsenic", WELL, ["white_scale"], {"arsenic": 0.009}, ()),
        ("shallow_well", DUG, ["white_scale"], TESTED, ()),
        ("sewage", DUG, ["foam", "foam_goes"], None, ()),
        ("relief_valve", WELL, {"egg_hot": "yes", "relief_valve_bad": "no"}, None, ()),
    ],
)
def test_what_is_known_not_to_be_is_not_said(code, source, said, results, facts):
    assert code not in codes(told(source, said, results, facts))


def test_a_result_not_found_opens_no_hazard_even_with_a_high_reporting_limit():
    found = told(WELL, ["white_scale"], {"arsenic": 0.05, "nitrate": 20.0}, below=frozenset({"arsenic", "nitrate"}))
    assert not {"over_arsenic", "nitrate_infants"} & set(codes(found))


def test_too_many_to_count_is_a_find():
    assert "coliform" in codes(told(WELL, [], {"total_coliform": 200.0}, above=frozenset({"total_coliform"})))


@pytest.mark.parametrize("code", ["bloom", "nitrate_infants"])
def test_where_boiling_hurts_it_says_so(code):
    rule = next(one for one in TABLES.rules if one.code == code)
    assert "do not boil" in rule.do.lower()


@pytest.mark.parametrize("said", [["algae_scum"], ["fuel_smell"]])
def test_beside_a_hazard_that_boiling_does_not_cure_nothing_tells_people_to_boil(said):
    found = told(LAKE, [*said, "uv_alarm", "ill"], {"e_coli": 2.0}, ["no_barrier", "weak_immunity"])
    assert {"e_coli", "coliform", "uv_out", "open_water", "weak_immunity"} <= set(codes(found))
    for one in found.interlocks:
        advice = re.sub(r"do not boil|boiling,? (UV and|does not)|boiled or not", "", one.do)
        assert "boil" not in advice, one


def test_every_rule_that_tells_people_to_boil_has_other_words_for_where_that_is_wrong():
    for rule in TABLES.rules:
        if re.search(r"(?<!not )\bboil\b", rule.do, re.I):
            assert rule.do_unboiled, rule.code


def test_germs_beside_nitrate_send_infants_to_another_supply():
    found = told(WELL, [], {"nitrate": 14.0, "e_coli": 2.0})
    germs = next(one for one in found.interlocks if one.code == "e_coli")
    assert re.search(r"infants: another supply", germs.do)


COSMETIC = ["white_scale", "tea_clear", "clear_then_orange", "black_stain", "pink_film", "orange_slime"]


@pytest.mark.parametrize("cosmetic", COSMETIC)
@pytest.mark.parametrize(
    ("hazard", "said", "results"),
    [("fuel", "fuel_smell", None), ("sewage", "sewage_smell", None), ("e_coli", None, {"e_coli": 1.0})],
)
def test_no_cosmetic_cause_hides_a_hazard(cosmetic, hazard, said, results):
    answers = [code for code in (cosmetic, said) if code]
    found = told(WELL, answers, {"iron": 5.0, "hardness": 400.0, "tannin": 4.0, **(results or {})})
    assert found.interlocks[0].code == hazard
    assert not found.may_size


def test_gravest_first_and_sizing_waits_for_what_must_be_referred():
    found = told(LAKE, ["algae_scum", "egg_hot"], {"total_coliform": 1.0}, ["weak_immunity"])
    grades = ["danger", "do_not_drink", "refer", "caution"]
    places = [grades.index(one.severity) for one in found.interlocks]
    assert places == sorted(places)
    assert not found.may_size
    assert any(one.blocks_sizing for one in found.interlocks)


def test_an_open_lake_may_be_sized_for_that_is_what_the_barrier_is_for():
    found = told(LAKE, ["tea_clear"], None, ["no_barrier"])
    assert codes(found) == ["open_water"]
    assert found.may_size


@pytest.mark.parametrize(("jurisdiction", "value", "over"), [("us", 0.2, False), ("canada", 0.2, True)])
def test_whose_limit_it_is_decides(jurisdiction, value, over):
    """Health Canada's guideline for manganese is 0.12 mg/L (2019); the US EPA sets no primary limit for it."""
    found = told(WELL, ["black_stain"], {"manganese": value, **TESTED}, jurisdiction=jurisdiction)
    assert ("over_manganese" in codes(found)) is over


def test_an_analyte_over_its_limit_is_said_once_and_with_the_number():
    found = told(WELL, [], {"nitrate": 12.0, "arsenic": 0.03})
    assert codes(found).count("nitrate_infants") == 1
    assert "over_nitrate" not in codes(found)
    assert "0.03 mg/L" in next(one.words for one in found.interlocks if one.code == "over_arsenic")


CLASHES = [
    ("rare in open water", LAKE, ["clear_then_orange"], None),
    ("rare in open water", SourceType.RIVER, ["white_scale"], {"iron_dissolved": 0.6}),
    ("hot water only, yet the cold", WELL, ["egg_hot"], {"sulphide": 0.4}),
    ("only one can hold", WELL, ["egg_hot", "egg_cold"], None),
    ("carried outdoors does not", WELL, ["egg_cold", "cold_glass_clean"], None),
    ("drawn behind the softener", WELL, ["white_scale"], {"hardness": 5.0}),
    ("look at a glass again", WELL, {"tea_clear": "yes", "stand_even": "no"}, None),
    ("hardly any iron", WELL, ["clear_then_orange"], {"iron": 0.04}),
    ("swapped", WELL, [], {"iron": 0.5, "iron_dissolved": 1.5}),
    ("do not last side by side", WELL, [], {"iron_dissolved": 2.0, "dissolved_oxygen": 8.0, "ph": 7.4}),
    ("hardly occur in the same water", WELL, [], {"nitrate": 8.0, "sulphide": 0.5}),
    ("time one glass", WELL, ["milky", "cloudy_stays"], None),
    ("next to nothing", LAKE, ["tea_clear"], {"colour": 2.0, "tannin": 0.1}),
    ("leaves a bottle within minutes", WELL, ["egg_cold"], {"sulphide": 0.01}),
    ("coliform in one sample", WELL, [], {"free_chlorine": 1.0, "total_coliform": 4.0}),
    ("destroy each other", WELL, [], {"free_chlorine": 1.0, "sulphide": 0.5}),
    ("Rain water is soft", SourceType.CISTERN, [], {"hardness": 200.0}),
    ("earthing", WELL, ["blue_green"], {"ph": 8.4}),
    ("poke it once more", WELL, ["film_breaks", "film_closes"], None),
    ("E. coli are coliforms", WELL, [], {"e_coli": 3.0, "total_coliform": 0.0}),
    ("silica", WELL, ["white_scale"], {"hardness": 40.0}),
]


@pytest.mark.parametrize(("words", "source", "said", "results"), CLASHES)
def test_a_contradiction_is_said(words, source, said, results):
    assert any(words in one for one in told(source, said, results).contradictions)


def test_every_contradiction_of_the_tables_is_tried_here():
    tried = [words for words, *_ in CLASHES]
    untried = [
        rule.code
        for rule in TABLES.rules
        if rule.kind == "contradiction" and not any(words in rule.words for words in tried)
    ]
    assert untried == []


@pytest.mark.parametrize(
    ("source", "said", "results"),
    [
        (WELL, ["clear_then_orange", "stand_rust"], {"iron": 3.0, "iron_dissolved": 2.7}),
        (LAKE, ["tea_clear", "stand_even"], {"colour": 40.0, "tannin": 2.0}),
        (WELL, ["egg_hot", "cold_glass_clean"], {"sulphide": 0.02}),
        (WELL, ["milky", "clears_upwards"], None),
        (WELL, ["white_scale"], {"hardness": 300.0}),
        (WELL, ["egg_cold"], {"sulphide": 0.8}),
    ],
)
def test_what_fits_together_is_left_alone(source, said, results):
    assert told(source, said, results).contradictions == ()


def test_a_household_reads_its_own_words_and_never_to_boil_where_boiling_does_no_good():
    """What the trade says among itself ("bypass the unit", "the notice falls") is put plainly; a rule without plain
    words says the same to both."""
    for rule in load_tables().rules:
        if rule.kind == "interlock" and rule.do_unboiled and rule.plain:
            assert rule.plain_unboiled, rule.code
    lake = Evidence(SourceType.LAKE, {"algae_scum": "yes"})
    told = {one.code: one for one in diagnose(lake, load_tables()).interlocks}
    assert told["bloom"].plain == told["bloom"].do
    assert told["open_water_unknown"].plain != told["open_water_unknown"].do
    assert "boiling does not help here" in told["open_water_unknown"].plain
    calm = {one.code: one for one in diagnose(Evidence(SourceType.LAKE), load_tables()).interlocks}
    assert "boil it or use another supply" in calm["open_water_unknown"].plain
