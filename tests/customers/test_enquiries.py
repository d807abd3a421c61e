"""Enquiries: begun, answered, sent in, placed, closed; what was said before is never lost."""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.http import Http404

from customers.enquiries.actions import (
    change_details,
    close_enquiry,
    confirm_cause,
    open_again,
    send_in,
    start_enquiry,
    take_in_hand,
)
from customers.enquiries.answering import note_answers, take_answers_back
from customers.enquiries.devices import MOST_DEVICES, begin_device, call_device, note_device
from customers.enquiries.facts import facts_heard, observations_heard
from customers.enquiries.keeping import EnquiryRefused, Sayer
from customers.enquiries.models import Enquiry
from customers.enquiries.photographs import MOST_PHOTOS, add_photo, remove_photo
from customers.enquiries.placing import attach_to_household, turn_into_household
from customers.enquiries.queries import answers_of, enquiries_for, enquiry_for, evidence_of, open_enquiries
from customers.households.actions import HouseholdRefused
from customers.households.models import Site
from customers.photos.taking import PhotoRefused
from customers.tenancy.scope import dealer_scope
from sizing.engine.design import SourceType
from sizing.engine.diagnosis_load import load_tables
from tests import factories
from tests.customers.uploads import saved

TABLES = load_tables()
MAREN, ODD = Sayer("Maren Vik"), Sayer("Odd Lunde", caller=True)
SITE = {"name": "Red House", "source": "dug_well"}


@pytest.fixture
def enquiry(dealer: Any) -> Any:
    return factories.EnquiryFactory(dealer=dealer)


def say(enquiry: Any, now: Any, by: Sayer = MAREN, kind: str = "observation", **answers: str) -> list[Any]:
    return note_answers(enquiry=enquiry, by=by, now=now, kind=kind, answers=answers, tables=TABLES)


def codes_of(site: Any) -> set[str]:
    return set(site.observations.filter(cleared_at__isnull=True).values_list("code", flat=True))


def test_beginning_takes_a_number_once_for_one_form(office_actor: Any, now: Any) -> None:
    token = uuid.uuid4()
    first, again = (start_enquiry(actor=office_actor, now=now, form_token=token) for _n in range(2))
    other = start_enquiry(actor=office_actor, now=now, details={"name": "  Odd Lunde ", "source": "lake"})
    assert first == again
    assert (first.label, other.label) == ("E-0001", "E-0002")
    assert (other.name, other.source, other.state, other.started_by) == (
        "Odd Lunde",
        "lake",
        "taking",
        "Office Person",
    )
    assert [entry.what for entry in first.entries.all()] == ["begun"]


@pytest.mark.parametrize(
    ("details", "field", "words"),
    [
        ({"email": "odd@"}, "email", "“odd@” typed; accepted is an address"),
        ({"source": "sea"}, "source", "“sea” chosen; accepted is drilled well"),
        ({"name": "x" * 121}, "name", "121 characters typed; accepted is at most 120"),
        ({"number": "9"}, "number", "no detail of an enquiry"),
    ],
)
def test_a_bad_detail_keeps_nothing(enquiry: Any, now: Any, details: dict[str, str], field: str, words: str) -> None:
    with pytest.raises(EnquiryRefused) as refused:
        change_details(enquiry=enquiry, by=MAREN, now=now, details={"phone": "555 0188", **details})
    assert words in refused.value.errors[field]
    enquiry.refresh_from_db()
    assert enquiry.phone == "555 0177"


def test_details_say_what_changed(enquiry: Any, now: Any) -> None:
    later = now + timedelta(minutes=3)
    details = {"name": "Odd Lunde", "phone": "555 0188", "source": ""}
    changed = change_details(enquiry=enquiry, by=MAREN, now=later, details=details)
    assert changed == ["phone", "source"]
    enquiry.refresh_from_db()
    assert (enquiry.phone, enquiry.source, enquiry.changed_at) == ("555 0188", "", later)


def test_a_later_answer_replaces_and_the_earlier_stays(enquiry: Any, now: Any) -> None:
    later = now + timedelta(minutes=5)
    say(enquiry, now, tea_clear="yes", rust_stains="unknown")
    assert say(enquiry, now, tea_clear="yes") == []
    say(enquiry, later, ODD, tea_clear="no")
    assert answers_of(enquiry).observations == {"rust_stains": "unknown", "tea_clear": "no"}
    first, second = enquiry.answers.filter(code="tea_clear")
    assert (first.answer, first.said_by, first.ended_at, first.ended_by) == ("yes", "Maren Vik", later, "Odd Lunde")
    assert (second.answer, second.by_caller, second.ended_at) == ("no", True, None)


def test_an_answer_taken_back_leaves_the_question_open(enquiry: Any, now: Any) -> None:
    say(enquiry, now, tea_clear="yes")
    say(enquiry, now, kind="feature", salt="yes")
    assert (
        len(take_answers_back(enquiry=enquiry, by=MAREN, now=now, kind="observation", codes={"tea_clear", "grit"}))
        == 1
    )
    assert take_answers_back(enquiry=enquiry, by=MAREN, now=now, kind="observation", codes={"tea_clear"}) == []
    assert not answers_of(enquiry).observations
    assert answers_of(enquiry).features() == {"salt": "yes"}
    assert enquiry.answers.count() == 2


@pytest.mark.parametrize(
    ("kind", "answers", "words"),
    [
        ("observation", {"tea_clear": "yes", "nonsense": "yes"}, "“nonsense” is no question"),
        ("observation", {"tea_clear": "maybe"}, "the answer is “maybe”, accepted is yes, no, unknown"),
        ("feature", {"tea_clear": "yes"}, "“tea_clear” is no question"),
        ("rumour", {"tea_clear": "yes"}, "kind is rumour, accepted is observation, feature, fact"),
    ],
)
def test_a_bad_answer_keeps_nothing(enquiry: Any, now: Any, kind: str, answers: dict[str, str], words: str) -> None:
    with pytest.raises(EnquiryRefused, match=words):
        say(enquiry, now, kind=kind, **answers)
    assert not enquiry.answers.exists()


def test_the_database_lets_one_answer_stand(enquiry: Any, now: Any) -> None:
    say(enquiry, now, tea_clear="yes")
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.EnquiryAnswerFactory(enquiry=enquiry)


def test_silence_about_a_barrier_is_not_a_no() -> None:
    assert facts_heard({}, {}) == frozenset()
    assert facts_heard({"barrier": "unknown"}, {"barrier_fitted": "no"}) == frozenset()
    assert facts_heard({"barrier": "no", "infants": "yes", "pregnancy": "no"}, {}) == {"no_barrier", "infants"}
    assert facts_heard({"barrier": "yes", "seasonal": "yes"}, {"barrier_fitted": "no"}) == {"barrier"}
    assert facts_heard({}, {"barrier_fitted": "no"}) == {"no_barrier"}
    assert observations_heard({"barrier": "yes"}, {"grit": "no"}) == {"grit": "no", "barrier_fitted": "yes"}
    assert observations_heard({"barrier": "yes"}, {"barrier_fitted": "no"}) == {"barrier_fitted": "no"}


def test_evidence_leaves_aside_what_the_tables_no_longer_ask(enquiry: Any, now: Any) -> None:
    say(enquiry, now, tea_clear="yes")
    factories.EnquiryAnswerFactory(enquiry=enquiry, code="asked_once_upon_a_time")
    answers = answers_of(enquiry)
    told = evidence_of(answers, SourceType.LAKE, "canada", known=TABLES.observations)
    assert told.answers == {"tea_clear": "yes"}
    assert (told.source, told.jurisdiction, told.facts) == (SourceType.LAKE, "canada", frozenset())


def test_what_the_caller_sends_in_waits_for_the_office(enquiry: Any, office_actor: Any, now: Any) -> None:
    Enquiry.objects.filter(pk=enquiry.pk).update(state="awaited")
    sent = send_in(enquiry=enquiry, now=now)
    assert (sent.state, sent.came_by, sent.arrived_at) == ("arrived", "link", now)
    again = send_in(enquiry=enquiry, now=now + timedelta(hours=1))
    assert again.arrived_at == now
    say(enquiry, now, ODD, grit="yes")
    assert Enquiry.objects.get().state == "arrived"
    say(enquiry, now, MAREN, grit="no")
    assert Enquiry.objects.get().state == "in_hand"
    assert take_in_hand(enquiry=enquiry, actor=office_actor, now=now).state == "in_hand"


def test_putting_it_into_a_file_carries_the_complaints_over(
    enquiry: Any, site: Any, office_actor: Any, now: Any
) -> None:
    say(enquiry, now, tea_clear="yes", rust_stains="yes", milky="no")
    attach_to_household(enquiry=enquiry, site=site, actor=office_actor, now=now)
    attach_to_household(enquiry=enquiry, site=site, actor=office_actor, now=now)
    enquiry.refresh_from_db()
    assert (enquiry.site, enquiry.state) == (site, "in_hand")
    assert codes_of(site) == {"tea_clear"}
    noted = site.observations.get()
    assert (noted.words, noted.noted_by) == ("worse since the thaw", "Office Person")
    assert site.log.filter(what__contains="enquiry E-").count() == 1
    say(enquiry, now, egg_hot="yes")
    assert codes_of(site) == {"tea_clear", "egg_hot"}
    say(enquiry, now, tea_clear="no")
    assert codes_of(site) == {"egg_hot"}


def test_it_is_in_one_file_at_a_time(enquiry: Any, site: Any, office_actor: Any, now: Any, dealer: Any) -> None:
    attach_to_household(enquiry=enquiry, site=site, actor=office_actor, now=now)
    other = factories.SiteFactory(dealer=dealer)
    with pytest.raises(EnquiryRefused, match="is in the file of Alder Point already"):
        attach_to_household(enquiry=enquiry, site=other, actor=office_actor, now=now)
    with pytest.raises(EnquiryRefused, match="already"):
        turn_into_household(
            enquiry=enquiry, actor=office_actor, now=now, customer={"name": "Odd"}, site=SITE, fixtures={}
        )
    assert Site.objects.count() == 2


def test_turning_into_a_household_is_all_or_nothing(enquiry: Any, office_actor: Any, now: Any) -> None:
    say(enquiry, now, egg_cold="yes")
    with pytest.raises(HouseholdRefused):
        turn_into_household(
            enquiry=enquiry, actor=office_actor, now=now, customer={"name": ""}, site=SITE, fixtures={}
        )
    assert not Site.objects.exists()
    token = uuid.uuid4()
    made = turn_into_household(
        enquiry=enquiry,
        actor=office_actor,
        now=now,
        customer={"name": "Odd Lunde"},
        site=SITE,
        fixtures={"shower": 1},
        form_token=token,
    )
    assert (made.name, made.customer.name, codes_of(made)) == ("Red House", "Odd Lunde", {"egg_cold"})
    assert enquiry.site == made


def test_closing_needs_a_reason_and_stops_the_pages(enquiry: Any, office_actor: Any, now: Any) -> None:
    link = factories.EnquiryLinkFactory(enquiry=enquiry)
    for reason in ("  ", "x" * 241):
        with pytest.raises(EnquiryRefused, match="accepted is a reason of 1 to 240"):
            close_enquiry(enquiry=enquiry, actor=office_actor, now=now, reason=reason)
    close_enquiry(enquiry=enquiry, actor=office_actor, now=now, reason="sold the place")
    link.refresh_from_db()
    assert link.revoked_at == now
    for write in (
        lambda: say(enquiry, now, grit="yes"),
        lambda: change_details(enquiry=enquiry, by=MAREN, now=now, details={"name": "A"}),
        lambda: send_in(enquiry=enquiry, now=now),
        lambda: close_enquiry(enquiry=enquiry, actor=office_actor, now=now, reason="again"),
    ):
        with pytest.raises(EnquiryRefused, match="is closed; open it again"):
            write()
    opened = open_again(enquiry=enquiry, actor=office_actor, now=now)
    assert (opened.state, opened.closed_at, opened.closed_reason) == ("in_hand", None, "")
    assert [entry.what for entry in enquiry.entries.all()][::-1] == ["closed: sold the place", "opened again"]


def test_the_cause_is_said_by_a_person_and_can_be_taken_back(enquiry: Any, office_actor: Any, now: Any) -> None:
    with pytest.raises(EnquiryRefused, match="“witchcraft” is no cause"):
        confirm_cause(enquiry=enquiry, actor=office_actor, now=now, cause="witchcraft", tables=TABLES)
    close_enquiry(enquiry=enquiry, actor=office_actor, now=now, reason="done")
    told = confirm_cause(
        enquiry=enquiry, actor=office_actor, now=now, cause="tannin", note="TOC 9 mg/L", tables=TABLES
    )
    assert (told.confirmed_cause, told.confirmed_by, told.confirmed_at) == ("tannin", "Office Person", now)
    confirm_cause(enquiry=enquiry, actor=office_actor, now=now, cause="something_else", tables=TABLES)
    back = confirm_cause(enquiry=enquiry, actor=office_actor, now=now, cause="", tables=TABLES)
    assert (back.confirmed_cause, back.confirmed_by, back.confirmed_at, back.confirmed_note) == ("", "", None, "")
    assert enquiry.entries.filter(what__startswith="cause confirmed").count() == 2


def test_a_device_is_one_of_the_tables(enquiry: Any, office_actor: Any, now: Any) -> None:
    with pytest.raises(EnquiryRefused, match="no device of the tables"):
        note_device(enquiry=enquiry, actor=office_actor, now=now, device="teapot", tables=TABLES)
    assert (
        note_device(enquiry=enquiry, actor=office_actor, now=now, device="softener", tables=TABLES).taken_for
        == "softener"
    )


def upload(name: str = "a.jpg") -> Any:
    return SimpleUploadedFile(name, saved("JPEG"), content_type="image/jpeg")


def test_photographs_are_kept_and_taken_out(enquiry: Any, now: Any, django_capture_on_commit_callbacks: Any) -> None:
    photo = add_photo(enquiry=enquiry, by=ODD, now=now, upload=upload("../../x.png"), words="  the   bath ")
    assert (photo.words, photo.by_caller, photo.width) == ("the bath", True, 640)
    assert photo.file.name.startswith("photos/")
    assert photo.file.name.endswith(".jpg")
    assert "x.png" not in photo.file.name
    mine = add_photo(enquiry=enquiry, by=MAREN, now=now, upload=upload())
    with pytest.raises(EnquiryRefused, match="the office's"):
        remove_photo(photo=mine, by=ODD, now=now)
    storage, name = photo.file.storage, photo.file.name
    with django_capture_on_commit_callbacks(execute=True):
        remove_photo(photo=photo, by=ODD, now=now)
        assert storage.exists(name)
    assert not storage.exists(name)
    assert list(enquiry.photos.all()) == [mine]


def test_no_more_photographs_than_twelve_and_nothing_but_photographs(enquiry: Any, now: Any) -> None:
    for _n in range(MOST_PHOTOS):
        factories.EnquiryPhotoFactory(enquiry=enquiry)
    with pytest.raises(EnquiryRefused, match="12 photographs are here already"):
        add_photo(enquiry=enquiry, by=ODD, now=now, upload=upload())
    enquiry.photos.all().delete()
    with pytest.raises(PhotoRefused):
        add_photo(enquiry=enquiry, by=ODD, now=now, upload=SimpleUploadedFile("a.jpg", b"words"))
    with pytest.raises(EnquiryRefused, match="241 characters"):
        add_photo(enquiry=enquiry, by=ODD, now=now, upload=upload(), words="x" * 241)
    assert not enquiry.photos.exists()


def test_who_sees_what(
    enquiry: Any, office_actor: Any, technician_actor: Any, customer_actor: Any, other_dealer: Any, now: Any
) -> None:
    closed = factories.EnquiryFactory(dealer=enquiry.dealer, state="closed", closed_at=now, closed_reason="x")
    foreign = factories.EnquiryFactory(dealer=other_dealer, name="Secret Tarn")
    assert enquiry_for(office_actor, enquiry.public_id) == enquiry
    assert list(open_enquiries(office_actor)) == [enquiry]
    assert set(enquiries_for(office_actor)) == {enquiry, closed}
    for actor in (technician_actor, customer_actor):
        assert not enquiries_for(actor).exists()
    for stranger in (foreign.public_id, uuid.uuid4(), "nonsense"):
        with pytest.raises(Http404):
            enquiry_for(office_actor, stranger)
    with dealer_scope(other_dealer):
        assert Enquiry.objects.get() == foreign


def test_answers_of_many_cost_two_queries(dealer: Any, office_actor: Any, django_assert_num_queries: Any) -> None:
    for _n in range(5):
        factories.EnquiryAnswerFactory(enquiry=factories.EnquiryFactory(dealer=dealer))
    with django_assert_num_queries(2):
        assert [answers_of(row).observations for row in open_enquiries(office_actor)] == [{"tea_clear": "yes"}] * 5


# -- several devices --------------------------------------------------------------------------------------------


def test_each_device_keeps_its_own_features_photographs_and_result(enquiry: Any, office_actor: Any, now: Any) -> None:
    by = Sayer("Office Person")
    say(enquiry, now, kind="feature", salt="yes", cord="yes")
    second = begin_device(enquiry=enquiry, by=by, now=now)
    assert second.number == 2
    call_device(enquiry=enquiry, by=by, now=now, number=2, called="  the steel   tube ")
    seen = {"kind": "feature", "answers": {"cord": "no", "steel_cylinder": "yes"}}
    note_answers(enquiry=enquiry, by=by, now=now, tables=TABLES, thing=2, **seen)
    told = answers_of(enquiry)
    assert told.features() == {"salt": "yes", "cord": "yes"}
    assert told.features(2) == {"cord": "no", "steel_cylinder": "yes"}
    take_answers_back(enquiry=enquiry, by=by, now=now, kind="feature", codes={"cord"}, thing=2)
    assert answers_of(enquiry).features(2) == {"steel_cylinder": "yes"}
    assert answers_of(enquiry).features()["cord"] == "yes"
    add_photo(enquiry=enquiry, by=by, now=now, upload=upload(), thing=2)
    assert enquiry.photos.get().thing == 2
    note_device(enquiry=enquiry, actor=office_actor, now=now, device="uv_no_sensor", tables=TABLES, thing=2)
    note_device(enquiry=enquiry, actor=office_actor, now=now, device="softener", tables=TABLES)
    assert [(row.number, row.called, row.taken_for) for row in enquiry.devices.all()] == [
        (1, "", "softener"),
        (2, "the steel tube", "uv_no_sensor"),
    ]
    assert enquiry.entries.filter(what__startswith="the steel tube taken for").count() == 1


def test_a_device_that_is_not_there_is_refused(enquiry: Any, office_actor: Any, now: Any) -> None:
    by = Sayer("Office Person")
    told = {"enquiry": enquiry, "now": now}
    for write in (
        lambda: note_answers(by=by, kind="feature", answers={"cord": "yes"}, tables=TABLES, thing=2, **told),
        lambda: call_device(by=by, number=3, called="tank", **told),
        lambda: add_photo(by=by, upload=upload(), thing=2, **told),
        lambda: note_device(actor=office_actor, device="uv_no_sensor", tables=TABLES, thing=2, **told),
    ):
        with pytest.raises(EnquiryRefused, match=r"has no device [23]"):
            write()
    assert not enquiry.answers.exists()
    assert not enquiry.photos.exists()
    with pytest.raises(EnquiryRefused, match="81 characters typed"):
        call_device(by=by, number=1, called="x" * 81, **told)
    for _n in range(MOST_DEVICES - 1):
        begin_device(by=by, **told)
    with pytest.raises(EnquiryRefused, match="6 devices are here already"):
        begin_device(by=by, **told)
