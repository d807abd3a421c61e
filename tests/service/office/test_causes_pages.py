"""The tables of causes at the desk: read, corrected, added to, taken back; a cause confirmed at a household."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from customers.causes.models import CauseCorrection
from customers.causes.queries import tables_of
from customers.tenancy.scope import dealer_scope
from sizing.engine.diagnosis import load_tables
from tests import factories
from tests.conftest import signed_in


@pytest.fixture
def site(db: None) -> Any:
    return factories.SiteFactory(source="drilled_well", name="Alder Point")


@pytest.fixture
def desk(site: Any) -> Client:
    return signed_in(factories.StaffFactory(dealer=site.dealer, role="office", name="Maren Vik").user)


def rows(site: Any) -> list[CauseCorrection]:
    with dealer_scope(site.dealer):
        return list(CauseCorrection.objects.all())


def tables(site: Any) -> Any:
    with dealer_scope(site.dealer):
        return tables_of(site.dealer)


PAGES = ["causes", "causes-complaint", "causes-cause", "causes-questions", "causes-devices", "causes-device"]


@pytest.mark.parametrize("name", [*PAGES, "causes-own", "causes-record"])
def test_every_page_can_be_read_before_anything_is_corrected(desk: Client, name: str) -> None:
    assert desk.get(reverse(name)).status_code == 200


@pytest.mark.parametrize("name", ["causes-complaint", "causes-cause", "causes-device"])
def test_a_code_that_is_not_in_the_tables_is_not_found(desk: Client, name: str) -> None:
    assert desk.get(reverse(name), {"code": "moonlight"}).status_code == 404


def test_every_complaint_cause_and_device_has_its_page(desk: Client) -> None:
    shipped = load_tables()
    for name, codes in (
        ("causes-complaint", shipped.shares),
        ("causes-cause", shipped.causes),
        ("causes-device", shipped.devices),
    ):
        for code in list(codes)[::4]:
            assert desk.get(reverse(name), {"code": code}).status_code == 200, (name, code)


def test_setting_a_share(desk: Client, site: Any) -> None:
    address = f"{reverse('causes-complaint')}?code=tea_clear"
    sent = {"cause": "tannin", "source": "lake", "share": "70", "why": "clear lake here", "form_token": str(uuid4())}
    answer = desk.post(address, sent, follow=True)
    assert answer.redirect_chain[0][0] == address
    page = answer.content.decode()
    assert "70&nbsp;%" in page
    assert "shipped 85&nbsp;%" in page
    desk.post(address, sent)
    (row,) = rows(site)
    assert (row.made_by, row.why) == ("Maren Vik", "clear lake here")


@pytest.mark.parametrize(
    ("sent", "field", "told"),
    [
        ({"cause": "tannin", "share": "140", "why": "x"}, "share", "from 0 to 100 %"),
        ({"cause": "", "share": "14", "why": "x"}, "cause", "nothing chosen"),
        ({"cause": "tannin", "share": "14", "why": ""}, "why", "nothing typed"),
        ({"cause": "moonlight", "share": "14", "why": "x"}, "cause", "moonlight"),
    ],
)
def test_what_cannot_be_set_is_named_at_its_field(
    desk: Client, site: Any, sent: dict[str, str], field: str, told: str
) -> None:
    answer = desk.post(f"{reverse('causes-complaint')}?code=tea_clear", sent)
    assert answer.status_code == 422
    assert told in str(answer.context["form"].errors[field])
    assert "data-error-summary" in answer.content.decode()
    assert rows(site) == []


def test_setting_how_often_a_cause_shows_something(desk: Client, site: Any) -> None:
    address = f"{reverse('causes-cause')}?code=tannin"
    desk.post(address, {"observation": "autumn", "often": "90", "why": "always here"})
    assert tables(site).causes["tannin"].signs["autumn"] == (0.9, 0.9, 0.9, 0.9)
    assert "shipped 55&nbsp;%" in desk.get(address).content.decode()


OWN = {
    "cause": {"words": "A seep from the bog", "complaint": "tea_clear", "share": "40"},
    "question": {
        "words": "The lane crosses a bog",
        "asked": "phone",
        "group": "place",
        "background": "5",
        "cost": "1",
        "days": "0",
    },
    "device": {"words": "Old zeolite tank", "often": "1", "stage_kind": "softener"},
    "feature": {"words": "A brass plate with a crown", "background": "1"},
}
WHICH = {"cause": "autumn", "question": "tannin", "device": "salt", "feature": "softener"}


@pytest.mark.parametrize("kind", OWN)
def test_adding_something_of_our_own(desk: Client, site: Any, kind: str) -> None:
    sent = {**OWN[kind], "which_1": WHICH[kind], "often_1": "80", "why": "seen on the ridge"}
    answer = desk.post(f"{reverse('causes-own')}?kind={kind}", sent, follow=True)
    assert answer.status_code == 200
    (row,) = rows(site)
    assert OWN[kind]["words"] in answer.content.decode()
    laid = tables(site)
    known = {"cause": laid.causes, "question": laid.observations, "device": laid.devices, "feature": laid.features}
    assert row.code in known[kind]


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"which_1": "autumn"}, "often_1"),
        ({"often_1": "30"}, "which_1"),
        ({"which_1": "autumn", "often_1": "30", "which_2": "autumn", "often_2": "40"}, "which_2"),
        ({"words": "Hardness"}, "words"),
    ],
)
def test_half_a_line_or_a_name_taken_is_refused(desk: Client, site: Any, more: dict[str, str], field: str) -> None:
    answer = desk.post(f"{reverse('causes-own')}?kind=cause", {**OWN["cause"], "why": "x", **more})
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert rows(site) == []


def test_what_is_unknown_to_add_is_not_found(desk: Client) -> None:
    assert desk.get(reverse("causes-own"), {"kind": "wish"}).status_code == 404


def test_the_record_takes_back_and_lays_again(desk: Client, site: Any) -> None:
    desk.post(f"{reverse('causes-own')}?kind=cause", {**OWN["cause"], "why": "the ridge"})
    (row,) = rows(site)
    page = desk.post(reverse("causes-undo", args=[row.public_id]), follow=True).content.decode()
    assert "taken back" in page
    assert "Lay it again" in page
    assert row.code not in tables(site).causes
    desk.post(reverse("causes-again", args=[row.public_id]))
    assert row.code in tables(site).causes
    assert len(rows(site)) == 2


def test_what_others_rest_on_stays_and_says_so(desk: Client, site: Any) -> None:
    desk.post(f"{reverse('causes-own')}?kind=cause", {**OWN["cause"], "why": "the ridge"})
    own = rows(site)[0]
    desk.post(
        reverse("household-cause", args=[site.public_id]), {"complaint": "tea_clear", "cause": own.code, "why": "dye"}
    )
    page = desk.post(reverse("causes-undo", args=[own.public_id]), follow=True).content.decode()
    assert "take back first" in page
    assert own.code in tables(site).causes


def test_confirming_a_cause_at_a_household(desk: Client, site: Any) -> None:
    factories.ObservationFactory(site=site, code="tea_clear")
    factories.ObservationFactory(site=site, code="musty")
    address = reverse("household-cause", args=[site.public_id])
    page = desk.get(address).content.decode()
    assert page.index('value="tea_clear"') < page.index('value="coliform_positive"')
    answer = desk.post(address, {"complaint": "tea_clear", "cause": "tannin", "why": "tannin 2.4 mg/L"}, follow=True)
    assert "It counts in the tables" in answer.content.decode()
    learnt = tables(site)
    assert learnt.counts.causes == {("tea_clear", 0, "tannin"): 1}
    assert learnt.counts.answers == {("tannin", "musty", "yes"): 1}
    assert "tannin and humic colour" in desk.get(address).content.decode()


def test_a_correction_that_fits_no_more_is_shown(desk: Client, site: Any) -> None:
    factories.CauseCorrectionFactory(site=site, code="a_cause_of_old")
    assert "a_cause_of_old" in desk.get(reverse("causes")).content.decode()


@pytest.mark.parametrize("name", ["causes-record", "causes"])
def test_one_and_thirty_corrections_cost_the_same_queries(
    desk: Client, site: Any, name: str, django_assert_max_num_queries: Any
) -> None:
    factories.CauseCorrectionFactory(site=site)
    desk.get(reverse(name))
    with django_assert_max_num_queries(20) as one:
        desk.get(reverse(name))
    for _n in range(29):
        factories.CauseCorrectionFactory(site=factories.SiteFactory(dealer=site.dealer))
    desk.get(reverse(name))
    with django_assert_max_num_queries(20) as thirty:
        desk.get(reverse(name))
    assert len(one) == len(thirty)
