"""Corrections of the tables of causes: kept, counted, taken back, put back; one dealer's never another's."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from customers.causes.actions import (
    About,
    CorrectionRefused,
    confirm_cause,
    make_correction,
    put_back,
    take_back_about,
    undo_correction,
)
from customers.causes.models import CauseCorrection
from customers.causes.queries import laid_of, standing_about, tables_of
from customers.causes.readings import (
    complaint_groups,
    device_rows,
    feature_rows,
    question_groups,
    share_rows,
    sign_rows,
    told_in_words,
)
from customers.enquiries.actions import confirm_cause as confirm_in_enquiry
from customers.enquiries.placing import attach_to_household
from customers.households.models import LogEntry
from customers.people.actors import Actor
from customers.tenancy.scope import dealer_scope
from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Correction, Evidence, diagnose, load_tables
from tests import factories
from tests.factories import NOW

OWN = Correction("cause", "bog_seep", words="A seep from the bog", shares={"tea_clear": 0.4}, signs={"autumn": 0.9})


@pytest.fixture
def site(db: None) -> Any:
    made = factories.SiteFactory(source="drilled_well")
    with dealer_scope(made.dealer):
        yield made


def made(site: Any, correction: Correction = OWN, **more: Any) -> CauseCorrection:
    told = {"why": "three files on the ridge", "actor_name": "Maren Vik", "now": NOW} | more
    return make_correction(dealer=site.dealer, correction=correction, **told)


def confirmed(site: Any, cause: str = "tannin", complaint: str = "tea_clear", **more: Any) -> CauseCorrection:
    told = {"actor_name": "Birgit Holm", "now": NOW} | more
    return confirm_cause(dealer=site.dealer, about=About.household(site), complaint=complaint, cause=cause, **told)


def share(tables: Any, cause: str, complaint: str = "tea_clear", place: int = 0) -> float:
    return next((one.weights[place] for one in tables.shares[complaint] if one.cause == cause), 0.0)


def test_a_cause_of_our_own_is_ranked_from_then_on(site: Any) -> None:
    assert tables_of(site.dealer).shares == load_tables().shares
    row = made(site)
    assert (row.made_by, row.made_at, row.why) == ("Maren Vik", NOW, "three files on the ridge")
    found = diagnose(Evidence(SourceType.DRILLED_WELL, {"tea_clear": "yes", "autumn": "yes"}), tables_of(site.dealer))
    assert "bog_seep" in {one.code for one in found.causes}


def test_one_dealers_corrections_are_not_anothers(site: Any) -> None:
    made(site)
    other = factories.DealerFactory()
    with dealer_scope(other):
        assert "bog_seep" not in tables_of(other).causes
        assert CauseCorrection.objects.count() == 0


def test_the_tables_are_kept_until_something_is_written(site: Any, django_assert_num_queries: Any) -> None:
    made(site)
    first = tables_of(site.dealer)
    with django_assert_num_queries(1):
        assert tables_of(site.dealer) is first
    made(site, Correction("share", "tannin", target="tea_clear", value=0.6))
    assert tables_of(site.dealer) is not first


def test_what_a_rolled_back_write_showed_is_forgotten(site: Any) -> None:
    with transaction.atomic():
        made(site)
        assert "bog_seep" in tables_of(site.dealer).causes
        transaction.set_rollback(True)
    assert "bog_seep" not in tables_of(site.dealer).causes


def test_a_form_sent_twice_makes_one(site: Any) -> None:
    token = uuid4()
    first, second = (made(site, form_token=token) for _n in range(2))
    assert first == second
    assert CauseCorrection.objects.count() == 1


@pytest.mark.parametrize(
    ("correction", "why", "field"),
    [
        (OWN, "  ", "why"),
        (Correction("share", "moonlight", target="tea_clear", value=0.3), "x", "cause"),
        (Correction("share", "tannin", target="tea_clear", value=1.3), "x", "share"),
        (Correction("cause", "hardness", words="again"), "x", "code of the cause"),
        (Correction("finished", "tannin", target="tea_clear", source="lake"), "x", "kind"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(
    site: Any, correction: Correction, why: str, field: str
) -> None:
    with pytest.raises(CorrectionRefused) as refused:
        made(site, correction, why=why)
    assert refused.value.field == field
    assert CauseCorrection.objects.count() == 0


def test_a_confirmed_cause_counts_with_what_had_been_said(site: Any) -> None:
    """By hand: strength 20, tannin 0.35 of tea colour on drilled wells, found once in one job."""
    confirmed(site, answers={"autumn": "no", "tea_clear": "yes"}, why="tannin 2.4 mg/L")
    tables = tables_of(site.dealer)
    assert share(tables, "tannin") == pytest.approx((20 * 0.35 + 1) / 21)
    assert share(tables, "tannin", place=1) == pytest.approx(0.7)
    assert tables.causes["tannin"].signs["autumn"][0] == pytest.approx(20 * 0.55 / 21)
    told = LogEntry.objects.get(site=site)
    assert told.who == "Birgit Holm"
    assert "tannin and humic colour" in told.what


def test_another_cause_for_the_same_complaint_takes_the_place_of_the_first(site: Any) -> None:
    first = confirmed(site)
    second = confirmed(site, "organic_iron", now=NOW + timedelta(days=3))
    first.refresh_from_db()
    assert (first.undone_by, first.undone_at) == ("Birgit Holm", NOW + timedelta(days=3))
    assert list(standing_about(site.public_id)) == [second]
    assert tables_of(site.dealer).counts.seen("tea_clear", 0) == 1
    confirmed(site, "hardness", "white_scale")
    assert tables_of(site.dealer).counts.seen("tea_clear", 0) == 1


def test_an_enquiry_that_joined_the_household_is_not_counted_twice(site: Any) -> None:
    enquiry = About(uuid4(), "E-0031", "drilled_well", site)
    told: dict[str, Any] = {"complaint": "tea_clear", "cause": "tannin", "actor_name": "Maren Vik", "now": NOW}
    confirm_cause(dealer=site.dealer, about=enquiry, **told)
    confirmed(site, "organic_iron")
    assert tables_of(site.dealer).counts.causes == {("tea_clear", 0, "organic_iron"): 1}


def test_an_enquiry_without_a_household_counts_too_and_can_be_taken_back(site: Any) -> None:
    enquiry = About(uuid4(), "E-0032", "lake")
    for complaint in ("tea_clear", "musty"):
        confirm_cause(
            dealer=site.dealer, about=enquiry, complaint=complaint, cause="tannin", actor_name="Maren Vik", now=NOW
        )
    assert tables_of(site.dealer).counts.causes == {("tea_clear", 2, "tannin"): 1, ("musty", 2, "tannin"): 1}
    assert take_back_about(about=enquiry.public_id, actor_name="Maren Vik", now=NOW, keep=["musty"]) == 1
    assert tables_of(site.dealer).counts.causes == {("musty", 2, "tannin"): 1}


def test_something_else_may_be_confirmed(site: Any) -> None:
    confirmed(site, "something_else")
    assert share(tables_of(site.dealer), "tannin") == pytest.approx(20 * 0.35 / 21)


def test_taking_back_takes_back_whole_and_putting_back_lays_it_again(site: Any) -> None:
    row = made(site)
    assert undo_correction(correction=row, actor_name="Maren Vik", now=NOW).undone_at == NOW
    assert tables_of(site.dealer).shares == load_tables().shares
    undo_correction(correction=row, actor_name="Somebody else", now=NOW + timedelta(days=1))
    row.refresh_from_db()
    assert (row.undone_by, row.undone_at) == ("Maren Vik", NOW)
    again = put_back(correction=row, actor_name="Maren Vik", now=NOW + timedelta(days=2))
    assert share(tables_of(site.dealer), "bog_seep") == 0.4
    assert CauseCorrection.objects.count() == 2
    assert put_back(correction=again, actor_name="Maren Vik", now=NOW) == again


def test_a_confirmed_cause_can_be_put_back(site: Any) -> None:
    row = confirmed(site, answers={"autumn": "yes"})
    undo_correction(correction=row, actor_name="Maren Vik", now=NOW)
    again = put_back(correction=row, actor_name="Maren Vik", now=NOW)
    assert again.site == site
    assert tables_of(site.dealer).counts.answers == {("tannin", "autumn", "yes"): 1}


def test_what_others_rest_on_is_not_taken_back_before_them(site: Any) -> None:
    own = made(site)
    job = confirmed(site, "bog_seep")
    with pytest.raises(CorrectionRefused) as refused:
        undo_correction(correction=own, actor_name="Maren Vik", now=NOW)
    assert "bog_seep" in refused.value.accepted
    own.refresh_from_db()
    assert own.undone_at is None
    undo_correction(correction=job, actor_name="Maren Vik", now=NOW)
    assert undo_correction(correction=own, actor_name="Maren Vik", now=NOW).undone_at == NOW


def test_a_correction_that_fits_no_more_is_told_and_stops_nothing(site: Any) -> None:
    factories.CauseCorrectionFactory(site=site, code="a_cause_of_old")
    confirmed(site, "hardness", "white_scale")
    laid = laid_of(site.dealer)
    assert [one.place for one in laid.misfits] == [0]
    assert laid.tables.counts.seen("white_scale", 0) == 1


@pytest.mark.parametrize(
    "broken",
    [
        {"undone_at": NOW},
        {"undone_by": "Maren Vik"},
        {"undone_at": NOW - timedelta(days=1), "undone_by": "Maren Vik"},
        {"about": None, "site": None},
        {"kind": "share"},
    ],
)
def test_the_database_refuses_what_cannot_be(site: Any, broken: dict[str, Any]) -> None:
    row = factories.CauseCorrectionFactory(site=site)
    with pytest.raises(IntegrityError), transaction.atomic():
        CauseCorrection.objects.filter(pk=row.pk).update(**broken)


def test_one_cause_stands_a_complaint_in_the_database_too(site: Any) -> None:
    factories.CauseCorrectionFactory(site=site)
    for about in (site.public_id, uuid4()):
        with pytest.raises(IntegrityError), transaction.atomic():
            factories.CauseCorrectionFactory(site=site, about=about)


# -- what people read -------------------------------------------------------------------------------------------


def test_shares_are_read_beside_the_shipped_ones(site: Any) -> None:
    made(site)
    confirmed(site)
    rows = {row.code: row for row in share_rows(tables_of(site.dealer), "tea_clear")}
    assert rows["bog_seep"].own
    assert not rows["tannin"].own
    assert rows["tannin"].cells[0].found == 1
    assert rows["tannin"].cells[0].shipped == 35.0
    assert rows["tannin"].cells[2].shipped == 85.0
    untouched = share_rows(load_tables(), "white_scale")
    assert all(cell.shipped is None for row in untouched for cell in row.cells)


def test_signs_tell_what_was_counted(site: Any) -> None:
    confirmed(site, answers={"autumn": "no"})
    rows = {row.code: row for row in sign_rows(tables_of(site.dealer), "tannin")}
    assert (rows["autumn"].yes, rows["autumn"].no) == (0, 1)
    assert rows["autumn"].cells[0].shipped == pytest.approx(55.0)
    assert rows["stand_even"].cells[0].shipped is None


def test_every_table_can_be_read_whole(site: Any) -> None:
    tables = tables_of(site.dealer)
    assert sum(len(rows) for _group, rows in complaint_groups(tables)) == len(tables.shares)
    plain = [one for one in tables.observations.values() if not one.complaint]
    assert sum(len(rows) for _group, rows in question_groups(tables)) == len(plain)
    assert len(device_rows(tables)) == len(tables.devices)
    assert feature_rows(tables, "softener")[0][2].now >= 90.0
    for cause in tables.causes:
        assert sign_rows(tables, cause)


@pytest.mark.parametrize(
    ("correction", "words"),
    [
        (OWN, "Own cause: A seep from the bog"),
        (Correction("share", "tannin", target="tea_clear", source="lake", value=0.6), "60 %, Lake"),
        (Correction("share", "tannin", target="tea_clear", value=0.6), "60 %, all sources"),
        (
            Correction("likelihood", "tannin", target="autumn", value=0.8),
            "shows “Stronger in autumn, with the leaves”: 80 %",
        ),
        (Correction("seen_on", "softener", target="cord", value=0.5), "Softener: resin tank and salt tank shows"),
    ],
)
def test_a_correction_is_told_in_a_sentence(site: Any, correction: Correction, words: str) -> None:
    assert words in told_in_words(tables_of(site.dealer), made(site, correction))


# -- enquiries --------------------------------------------------------------------------------------------------


def enquiry_saying(at: Any, *codes: str, **more: Any) -> Any:
    made = factories.EnquiryFactory(dealer=at.dealer, **{"source": "drilled_well"} | more)
    for code in codes:
        factories.EnquiryAnswerFactory(enquiry=made, kind="observation", code=code, answer="yes")
    return made


def confirm_in(enquiry: Any, cause: str, note: str = "") -> None:
    staff = factories.StaffFactory(dealer=enquiry.dealer, role="office", name="Maren Vik")
    actor = Actor(staff.user, enquiry.dealer, "office", staff)
    tables = tables_of(enquiry.dealer)
    confirm_in_enquiry(enquiry=enquiry, actor=actor, now=NOW, cause=cause, tables=tables, note=note)


def test_a_cause_confirmed_in_an_enquiry_counts_for_the_complaints_it_explains(site: Any) -> None:
    enquiry = enquiry_saying(site, "tea_clear", "white_scale", "autumn")
    confirm_in(enquiry, "tannin", "tannin 3.1 mg/L")
    learnt = tables_of(site.dealer)
    assert learnt.counts.causes == {("tea_clear", 0, "tannin"): 1}
    assert learnt.counts.answers == {("tannin", "autumn", "yes"): 1, ("tannin", "white_scale", "yes"): 1}
    row = CauseCorrection.objects.get()
    assert (row.label, row.why, row.site) == (enquiry.label, "tannin 3.1 mg/L", None)


def test_another_cause_or_none_brings_the_counts_in_line(site: Any) -> None:
    enquiry = enquiry_saying(site, "tea_clear", "orange_slime")
    confirm_in(enquiry, "iron_bacteria")
    assert tables_of(site.dealer).counts.causes == {("orange_slime", 0, "iron_bacteria"): 1}
    enquiry.refresh_from_db()
    confirm_in(enquiry, "organic_iron")
    assert tables_of(site.dealer).counts.causes == {("tea_clear", 0, "organic_iron"): 1}
    enquiry.refresh_from_db()
    confirm_in(enquiry, "")
    assert tables_of(site.dealer).counts.causes == {}


@pytest.mark.parametrize(
    ("said", "cause", "counted"),
    [
        (["tea_clear"], "hardness", ["tea_clear"]),
        (["tea_clear", "egg_hot"], "hardness", []),
        (["tea_clear"], "something_else", ["tea_clear"]),
        ([], "hardness", []),
    ],
)
def test_a_cause_that_no_complaint_lists_counts_where_only_one_was_said(
    site: Any, said: list[str], cause: str, counted: list[str]
) -> None:
    confirm_in(enquiry_saying(site, *said), cause)
    assert [complaint for complaint, _place, _cause in tables_of(site.dealer).counts.causes] == counted


def test_an_enquiry_without_a_source_counts_nowhere_until_it_joins_a_household(site: Any) -> None:
    confirm_in(enquiry_saying(site, "tea_clear", source=""), "tannin")
    assert tables_of(site.dealer).counts.causes == {}
    confirm_in(enquiry_saying(site, "tea_clear", source="", site=site, number=77), "tannin")
    assert tables_of(site.dealer).counts.causes == {("tea_clear", 0, "tannin"): 1}


def put_into_file(enquiry: Any, site: Any, now: Any = NOW) -> None:
    staff = factories.StaffFactory(dealer=enquiry.dealer, role="office", name="Maren Vik")
    enquiry.refresh_from_db()
    actor = Actor(staff.user, enquiry.dealer, "office", staff)
    attach_to_household(enquiry=enquiry, site=site, actor=actor, now=now)


def test_a_job_confirmed_in_an_enquiry_and_then_in_its_household_counts_once(site: Any) -> None:
    enquiry = enquiry_saying(site, "tea_clear", "autumn")
    confirm_in(enquiry, "tannin", "tannin 3.1 mg/L")
    put_into_file(enquiry, site)
    assert tables_of(site.dealer).counts.causes == {("tea_clear", 0, "tannin"): 1}
    assert standing_about(site.public_id, site).get().why == "tannin 3.1 mg/L"
    confirmed(site, answers={"tea_clear": "yes", "autumn": "yes"}, now=NOW + timedelta(days=40))
    learnt = tables_of(site.dealer)
    assert learnt.counts.causes == {("tea_clear", 0, "tannin"): 1}
    assert learnt.counts.answers == {("tannin", "autumn", "yes"): 1}
    assert share(learnt, "tannin") == pytest.approx((20 * 0.35 + 1) / 21)


def test_an_enquiry_that_joins_a_file_which_confirmed_later_leaves_the_files_cause(site: Any) -> None:
    enquiry = enquiry_saying(site, "tea_clear")
    confirm_in(enquiry, "tannin")
    own = confirmed(site, "organic_iron", now=NOW + timedelta(days=2))
    assert sum(tables_of(site.dealer).counts.causes.values()) == 2
    put_into_file(enquiry, site, NOW + timedelta(days=3))
    assert tables_of(site.dealer).counts.causes == {("tea_clear", 0, "organic_iron"): 1}
    assert standing_about(site.public_id, site).get() == own


def test_an_enquiry_confirmed_after_the_file_brings_its_cause_along(site: Any) -> None:
    confirmed(site, "organic_iron", now=NOW - timedelta(days=200))
    enquiry = enquiry_saying(site, "tea_clear")
    confirm_in(enquiry, "tannin")
    put_into_file(enquiry, site, NOW + timedelta(days=3))
    assert tables_of(site.dealer).counts.causes == {("tea_clear", 0, "tannin"): 1}


def test_a_cause_confirmed_before_the_source_was_known_counts_when_it_joins(site: Any) -> None:
    enquiry = enquiry_saying(site, "tea_clear", source="")
    confirm_in(enquiry, "tannin")
    assert tables_of(site.dealer).counts.causes == {}
    put_into_file(enquiry, site)
    assert tables_of(site.dealer).counts.causes == {("tea_clear", 0, "tannin"): 1}


def test_one_job_that_explains_two_complaints_counts_each_answer_once(site: Any) -> None:
    answers: dict[str, Any] = {"tea_clear": "yes", "musty": "yes", "autumn": "yes"}
    for _twice in range(2):
        for complaint in ("tea_clear", "musty"):
            confirmed(site, complaint=complaint, answers=answers)
    learnt = tables_of(site.dealer).counts
    assert learnt.causes == {("tea_clear", 0, "tannin"): 1, ("musty", 0, "tannin"): 1}
    said = {code: n for (_cause, code, _answer), n in learnt.answers.items()}
    assert said == {"autumn": 1, "musty": 1, "tea_clear": 1}
