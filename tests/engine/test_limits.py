"""Judging results against limits: each verdict, just inside and just outside, old values and old samples."""

from datetime import date, timedelta

import pytest

from sizing.engine.errors import OutsideValidRange
from sizing.engine.limits import (
    JURISDICTIONS,
    KINDS,
    Verdict,
    age_limits,
    judge,
    judge_all,
    limit_set,
    printed_limits,
)
from sizing.engine.reported import parse_result
from sizing.engine.water import ANALYTES

TODAY = date(2026, 6, 1)


def limit_of(jurisdiction, key):
    return next(limit for limit in limit_set(jurisdiction, with_old=True) if limit.key == key)


IRON = limit_of("us", "iron_smcl")
E_COLI = limit_of("us", "e_coli_none")
PH_LOW = limit_of("us", "ph_smcl_low")


@pytest.mark.parametrize(
    ("qualifier", "value", "verdict"),
    [
        ("equal", 0.3, Verdict.MET),
        ("equal", 0.300001, Verdict.NOT_MET),
        ("below", 0.3, Verdict.MET),
        ("below", 0.31, Verdict.CANNOT_TELL),
        ("below", None, Verdict.CANNOT_TELL),
        ("above", 0.3, Verdict.NOT_MET),
        ("above", 0.2, Verdict.CANNOT_TELL),
        ("absent", None, Verdict.MET),
        ("present", None, Verdict.CANNOT_TELL),
        (None, None, Verdict.NOT_TESTED),
    ],
)
def test_an_upper_limit(qualifier, value, verdict):
    assert judge(qualifier, value, IRON).verdict is verdict


@pytest.mark.parametrize(
    ("qualifier", "value", "verdict"),
    [
        ("absent", None, Verdict.MET),
        ("below", 1.0, Verdict.MET),
        ("below", 2.0, Verdict.CANNOT_TELL),
        ("equal", 0.0, Verdict.MET),
        ("equal", 1.0, Verdict.NOT_MET),
        ("above", 200.0, Verdict.NOT_MET),
        ("above", None, Verdict.NOT_MET),
        ("present", None, Verdict.NOT_MET),
    ],
)
def test_a_limit_of_none(qualifier, value, verdict):
    assert judge(qualifier, value, E_COLI).verdict is verdict


@pytest.mark.parametrize(
    ("qualifier", "value", "verdict"),
    [
        ("equal", 6.5, Verdict.MET),
        ("equal", 6.49, Verdict.NOT_MET),
        ("below", 6.5, Verdict.NOT_MET),
        ("above", 6.5, Verdict.MET),
        ("above", 6.0, Verdict.CANNOT_TELL),
    ],
)
def test_a_lower_limit(qualifier, value, verdict):
    assert judge(qualifier, value, PH_LOW).verdict is verdict


@pytest.mark.parametrize(("age", "verdict"), [(365, Verdict.MET), (366, Verdict.OUT_OF_DATE)])
def test_a_pass_expires(age, verdict):
    found = judge(
        "absent", None, E_COLI, sampled_on=TODAY - timedelta(days=age), today=TODAY, max_age_days=age_limits("us")
    )
    assert found.verdict is verdict


def test_a_failure_does_not_expire():
    """An old positive is a positive until a new sample says otherwise."""
    old = judge("present", None, E_COLI, sampled_on=date(2019, 5, 1), today=TODAY, max_age_days=30)
    assert old.verdict is Verdict.NOT_MET


def test_health_canada_asks_for_microbes_twice_a_year():
    ages = age_limits("canada")
    limit = limit_of("canada", "e_coli_mac")
    for days, verdict in ((183, Verdict.MET), (184, Verdict.OUT_OF_DATE)):
        found = judge("absent", None, limit, sampled_on=TODAY - timedelta(days=days), today=TODAY, max_age_days=ages)
        assert found.verdict is verdict


def test_a_sample_of_tomorrow_is_refused():
    with pytest.raises(OutsideValidRange, match="sampling date"):
        judge("equal", 0.1, IRON, sampled_on=TODAY + timedelta(days=1), today=TODAY)


def test_an_unknown_qualifier_is_refused():
    with pytest.raises(OutsideValidRange, match="qualifier"):
        judge("roughly", 0.1, IRON)


@pytest.mark.parametrize("jurisdiction", sorted(JURISDICTIONS))
def test_every_limit_says_who_when_and_on_what_word(jurisdiction):
    rows = printed_limits(jurisdiction)
    assert len(rows) >= 15
    for limit in rows:
        assert limit.kind in KINDS
        assert limit.sense in ("max", "min")
        assert limit.status in ("published", "from memory", "common practice", "computed")
        assert limit.source
        assert limit.standing in ("in force", "superseded", "rescinded", "proposed", "not read")
    judged = limit_set(jurisdiction)
    assert {limit.standing for limit in judged} == {"in force"}
    assert all(limit.analyte in ANALYTES for limit in judged)


def test_stale_canadian_values_stay_readable_but_never_judge():
    """Pitfall: iron 0.3, barium 1.0, selenium 0.01 and cadmium 0.005 still circulate."""
    for key, old, new in (("iron_ao", 0.3, 0.1), ("barium_mac", 1.0, 2.0), ("selenium_mac", 0.01, 0.05)):
        assert limit_of("canada", key).value == new
        before = limit_of("canada", f"{key}_old")
        assert (before.value, before.superseded) == (old, True)
    assert {limit.value for limit in limit_set("canada") if limit.analyte == "cadmium"} == {0.007}
    iron = limit_of("canada", "iron_ao")
    assert iron.date == "2024-12-28"
    assert judge("equal", 0.2, iron).verdict is Verdict.NOT_MET


def test_values_of_unread_documents_never_relax_anything():
    """Pitfall: radionuclides rose tenfold in a document that was not read; the stricter value judges."""
    judged = {limit.value for limit in limit_set("canada") if limit.analyte == "radium"}
    assert judged == {0.5}
    assert {5.0, 2.0} <= {limit.value for limit in printed_limits("canada") if limit.analyte == "radium"}


def test_a_rescinded_limit_is_shown_as_rescinded():
    found = {limit.key: limit.standing for limit in printed_limits("canada")}
    assert found["bromodichloromethane_mac"] == "rescinded"


def test_manganese_is_a_health_parameter():
    """Pitfall: not just a stain; 0.12 in Canada, 0.3 in the US advisory, 0.08 for WHO."""
    for jurisdiction, value in (("canada", 0.12), ("us", 0.3), ("who", 0.08)):
        kinds = {limit.value: limit.kind for limit in limit_set(jurisdiction) if limit.analyte == "manganese"}
        assert kinds[value] == "health"


def test_a_lead_action_level_is_not_a_level_without_risk():
    """Pitfall: it is a trigger; 0.010 has taken the place of 0.015, and Canada has 0.005."""
    found = judge("equal", 0.008, limit_of("us", "lead_action_level"))
    assert found.verdict is Verdict.MET
    assert "not a level without risk" in found.words
    assert limit_of("us", "lead_action_level_2021").superseded
    assert judge("equal", 0.008, limit_of("canada", "lead_mac")).verdict is Verdict.NOT_MET


def test_nitrate_is_judged_on_one_basis():
    """Pitfall: 44.5 mg/L as NO3 is 10.05 as N, above the limit of 10 that 45 as NO3 only rounds."""
    found = parse_result("44.5", "nitrate", "mg/L as NO3")
    assert found.canonical == pytest.approx(10.05, abs=0.005)
    assert judge(found.qualifier, found.canonical, limit_of("canada", "nitrate_mac")).verdict is Verdict.NOT_MET
    assert limit_of("who", "nitrate_gv").value == pytest.approx(11.29, abs=0.01)


def test_what_is_not_a_limit_does_not_judge():
    """Pitfall: radon in water was only proposed; the PFAS value of Canada is an objective, not a MAC."""
    assert not [limit for limit in limit_set("us") if limit.analyte == "radon"]
    assert {limit.name for limit in limit_set("canada") if limit.analyte == "pfas"} == {"objective"}
    assert {limit.kind for limit in limit_set("canada") if limit.analyte == "pfas"} == {"operational"}
    assert not [limit for limit in limit_set("us") if limit.analyte == "pfas"]


def test_the_worst_for_health_comes_first_on_the_page():
    results = {
        "iron": parse_result("5", "iron", "mg/L"),
        "e_coli": parse_result("present", "e_coli"),
        "nitrate": parse_result("12", "nitrate", "mg/L as N"),
        "arsenic": parse_result("<0.02", "arsenic", "mg/L"),
    }
    first = judge_all(results, "us")
    assert [(s.limit.analyte, s.verdict.value) for s in first[:2]] == [("e_coli", "not met"), ("nitrate", "not met")]
    assert first[2].limit.analyte == "arsenic"
    assert first[2].verdict is Verdict.CANNOT_TELL
    kinds = [KINDS.index(s.limit.kind) for s in first]
    assert kinds == sorted(kinds)


def test_no_words_promise_anything():
    results = {code: parse_result("0", code, "") for code in ("e_coli", "total_coliform")}
    for jurisdiction in JURISDICTIONS:
        for standing in judge_all(results, jurisdiction):
            assert "safe" not in standing.words.lower()


@pytest.mark.parametrize("jurisdiction", ["ontario", ""])
def test_an_unknown_jurisdiction_is_refused(jurisdiction):
    with pytest.raises(OutsideValidRange, match="known are us, canada, who"):
        limit_set(jurisdiction)
