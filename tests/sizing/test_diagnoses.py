"""From an enquiry to the engine and back: evidence whole, hazards never hidden, words for shares."""

from __future__ import annotations

from typing import Any

import pytest

from customers.causes.queries import tables_of
from customers.enquiries.models import Enquiry
from sizing.diagnoses.reasoning import Measured, leads_of, measured_of, outlook, reason, reason_from
from sizing.diagnoses.wording import gain_words, share_words, wait_words, weight_words
from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Evidence, diagnose, load_tables
from tests import factories


@pytest.fixture
def enquiry(dealer: Any) -> Any:
    return factories.EnquiryFactory(dealer=dealer, source="drilled_well")


def said(enquiry: Any, **answers: str) -> None:
    for code, answer in answers.items():
        kind = "fact" if code in ("infants", "barrier") else "observation"
        factories.EnquiryAnswerFactory(enquiry=enquiry, kind=kind, code=code, answer=answer)


def test_it_is_what_the_engine_says(enquiry: Any) -> None:
    said(enquiry, white_scale="yes", vinegar_fizz="no", infants="yes")
    told = reason(enquiry)
    facts = frozenset({"infants"})
    answers = {"white_scale": "yes", "vinegar_fizz": "no"}
    evidence = Evidence(SourceType.DRILLED_WELL, answers, facts=facts, jurisdiction="canada")  # type: ignore[arg-type]
    assert told.diagnosis == diagnose(evidence, load_tables())
    assert told.identifications == {}
    assert [lock.code for lock in told.grave] == ["nitrate_untested"]


def test_the_households_raw_water_counts_once_it_has_a_file(enquiry: Any, site: Any) -> None:
    said(enquiry, tea_clear="yes")
    factories.WaterTestFactory(site=site, place="raw", results={"iron": 4.0, "tannin": 0.1})
    factories.WaterTestFactory(site=site, place="tap", results={"manganese": 9.0})
    before = {one.code: one.probability for one in reason(enquiry).diagnosis.causes}
    Enquiry.objects.update(site=site)
    enquiry.refresh_from_db()
    told = reason(enquiry)
    assert told.measured.water is not None
    assert set(told.measured.water.values) == {"iron", "tannin"}
    after = {one.code: one.probability for one in told.diagnosis.causes}
    assert after.get("tannin", 0.0) < before["tannin"]


def test_a_non_detect_is_a_limit_and_one_without_its_limit_says_nothing(site: Any) -> None:
    test = factories.WaterTestFactory(site=site, place="raw")
    for analyte, text, unit, mark in (
        ("iron", "<0.02", "mg/L", "below"),
        ("manganese", "ND", "", "below"),
        ("e_coli", "absent", "", "absent"),
        ("total_coliform", ">200", "CFU/100 mL", "above"),
    ):
        row = test.results.create(
            dealer=site.dealer, analyte=analyte, text=text, unit_text=unit, qualifier=mark, value=None
        )
        assert row.pk
    told = measured_of({row.analyte: row for row in test.results.all()})
    assert told.water is not None
    assert dict(told.water.values) == {"iron": 0.02, "e_coli": 0.0, "total_coliform": 200.0}
    assert (told.below, told.above) == ({"iron"}, {"total_coliform"})
    assert measured_of({}) == Measured()


@pytest.mark.parametrize(
    ("answers", "hazard"),
    [
        ({"fuel_smell": "yes"}, "fuel"),
        ({"sewage_smell": "yes"}, "sewage"),
        ({"algae_scum": "yes"}, "bloom"),
        ({"uv_alarm": "yes"}, "uv_out"),
        ({"coliform_positive": "yes"}, "coliform"),
        ({"infants": "yes", "white_scale": "yes"}, "nitrate_untested"),
    ],
)
def test_no_hazard_waits_for_the_source(enquiry: Any, answers: dict[str, str], hazard: str) -> None:
    Enquiry.objects.update(source="")
    enquiry.refresh_from_db()
    said(enquiry, **answers)
    told = reason(enquiry)
    assert hazard in [lock.code for lock in told.grave]
    assert told.diagnosis.causes == ()
    assert told.diagnosis.steps == ()


def test_without_a_source_nothing_is_said_that_only_a_source_would_say(enquiry: Any) -> None:
    Enquiry.objects.update(source="")
    enquiry.refresh_from_db()
    assert reason(enquiry).diagnosis.interlocks == ()
    said(enquiry, white_scale="yes")
    assert reason(enquiry).diagnosis.interlocks == ()


def test_a_barrier_said_to_be_there_takes_the_warning_of_open_water_away(enquiry: Any) -> None:
    Enquiry.objects.update(source="lake")
    enquiry.refresh_from_db()
    codes = [lock.code for lock in reason(enquiry).diagnosis.interlocks]
    assert codes == ["open_water_unknown"]
    said(enquiry, barrier="no")
    assert [lock.code for lock in reason(enquiry).diagnosis.interlocks] == ["open_water"]
    enquiry.answers.update(answer="yes")
    assert reason(enquiry).diagnosis.interlocks == ()


def test_what_an_answer_would_say_is_what_it_says_once_given(enquiry: Any) -> None:
    said(enquiry, tea_clear="yes", white_scale="yes")
    told = reason(enquiry)
    yes, no = outlook(told, "rust_stains")
    assert (yes.answer, no.answer, yes.complaint) == ("yes", "no", "tea_clear")
    said(enquiry, rust_stains="yes")
    after = next(one for one in reason(enquiry).diagnosis.complaints if one.code == "tea_clear")
    assert after.causes[yes.cause] == pytest.approx(yes.share)
    assert outlook(told, "not_a_question") == ()
    assert outlook(reason_from(told.answers, enquiry, Measured(), told.tables), "vinegar_fizz")


def test_a_line_for_the_list(enquiry: Any, dealer: Any) -> None:
    said(enquiry, white_scale="yes")
    other = factories.EnquiryFactory(dealer=dealer, source="")
    factories.EnquiryAnswerFactory(enquiry=other, code="fuel_smell")
    first, second = (lead for _row, lead in leads_of([enquiry, other], tables_of(dealer)))
    assert (first.stop, first.cause) == (None, "Calcium and magnesium (hard water)")
    assert second.stop is not None
    assert (second.stop.code, second.cause, second.share) == ("fuel", "", "")


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (1.0, "nearly sure"),
        (0.95, "nearly sure"),
        (0.949, "about 9 in 10"),
        (0.5, "about 5 in 10"),
        (0.1, "about 1 in 10"),
        (0.099, "under 1 in 10"),
        (0.0, "under 1 in 10"),
    ],
)
def test_shares_in_words(share: float, words: str) -> None:
    assert share_words(share) == words


def test_bits_and_days_in_words() -> None:
    assert [gain_words(bits) for bits in (1.0, 0.2, 0.1, 0.01)] == [
        "may well settle it",
        "tells a lot",
        "tells something",
        "tells a little",
    ]
    assert [weight_words(bits) for bits in (-4.0, 1.5, 0.3)] == ["strongly", "clearly", "a little"]
    assert [wait_words(days) for days in (0, 0.3, 1, 8)] == ["at once", "within hours", "in a day", "in 8 days"]
