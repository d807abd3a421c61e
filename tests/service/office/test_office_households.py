"""Households at the desk: list, search, form in both unit systems, the file, strangers and lesser roles."""

from __future__ import annotations

import re
import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse

from customers.households.forms import HouseholdForm
from customers.households.models import Site
from tests import factories

LIST_QUERIES = 7
FILE_QUERIES = 31
PSI = 6.894757293168361


def fields_of(system: str = "metric", site: Any = None, **changes: str) -> dict[str, str]:
    """What a browser would post of the form as it stands, with some fields typed over."""
    form = HouseholdForm(system=system, site=site)
    data: dict[str, str] = {}
    for field in form:
        value = field.value()
        if value is True:
            data[field.html_name] = "on"
        elif value not in (None, False):
            data[field.html_name] = str(value)
    data.update({"customer_name": "Tamsin Okoro", "name": "Alder Point", "source": "lake"} if site is None else {})
    return {**data, **changes}


def told(response: Any) -> str:
    """Text of a page without its tags."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def test_a_new_household_in_metric(office_client: Any, dealer: Any) -> None:
    data = fields_of(cut_in_kpa="275", cut_out_kpa="415", tank_volume_l="76,5", fixture_shower="2")
    response = office_client.post(reverse("household-new"), data)
    site = Site.objects.get()
    assert response.headers["Location"] == reverse("household", args=[site.public_id])
    assert (site.cut_in_kpa, site.cut_out_kpa, site.tank_volume_l) == (275.0, 415.0, 76.5)
    assert dict(site.fixtures.values_list("code", "count")) == {"shower": 2}


def test_a_new_household_typed_in_us_units_is_stored_canonical(office_client: Any, dealer: Any) -> None:
    """1 psi = 6.894757 kPa, 1 US gal = 3.785411784 L, 1 in = 25.4 mm, 50 degF = 10 degC: exact definitions."""
    data = fields_of(
        "us", cut_in_kpa="40", cut_out_kpa="60", tank_volume_l="20", casing_mm="6", water_temperature_c="50"
    )
    assert office_client.post(reverse("household-new"), data).status_code == 302
    site = Site.objects.get()
    assert site.cut_in_kpa == pytest.approx(40 * PSI)
    assert site.tank_volume_l == pytest.approx(20 * 3.785411784)
    assert site.casing_mm == pytest.approx(152.4)
    assert site.water_temperature_c == pytest.approx(10.0)


def test_saving_an_unchanged_form_changes_nothing(office_client: Any, site: Any) -> None:
    Site.objects.filter(pk=site.pk).update(units="us", cut_in_kpa=275.123, tank_volume_l=75.77)
    site.refresh_from_db()
    before = Site.objects.filter(pk=site.pk).values().get()
    assert (
        office_client.post(reverse("household-edit", args=[site.public_id]), fields_of("us", site)).status_code == 302
    )
    assert Site.objects.filter(pk=site.pk).values().get() == before
    assert not site.log.exists()


@pytest.mark.parametrize(
    ("system", "changes", "words"),
    [
        ("us", {"cut_in_kpa": "4000"}, ["Cut-in pressure", "“4000” typed", "from 7.252 to 101.5 psi"]),
        ("metric", {"cut_in_kpa": "4000"}, ["“4000” typed", "from 50 to 700 kPa"]),
        ("metric", {"cut_in_kpa": "forty"}, ["“forty” typed", "from 50 to 700 kPa"]),
        (
            "us",
            {"cut_in_kpa": "60", "cut_out_kpa": "40"},
            ["Cut-out pressure", "“40” typed", "more than the cut-in of 60 psi"],
        ),
        (
            "metric",
            {"people_usual": "6", "people_peak": "2"},
            ["People, at most", "“2” typed", "at least the usual 6"],
        ),
        ("metric", {"fixture_toilet": "-3"}, ["Toilet", "“-3” typed", "whole number from 0 to 200"]),
        ("metric", {"occupancy": "season", "opens_month": "5"}, ["Opens, day", "nothing given"]),
        (
            "metric",
            {"occupancy": "season", "opens_month": "2", "opens_day": "31", "closes_month": "9", "closes_day": "1"},
            ["Opens, day", "day 31 of month 2 does not exist"],
        ),
        ("metric", {"customer_name": ""}, ["Name", "nothing typed; accepted is up to 120 characters"]),
        ("metric", {"email": "tamsin"}, ["E-mail", "“tamsin” typed", "name@mail.example"]),
        ("metric", {"source": ""}, ["Source", "nothing chosen; accepted is drilled well"]),
        ("metric", {"source": "cloud"}, ["“cloud” chosen", "drilled well"]),
    ],
)
def test_a_refusal_names_field_value_and_what_would_do(
    office_client: Any, dealer: Any, system: str, changes: dict[str, str], words: list[str]
) -> None:
    response = office_client.post(reverse("household-new"), fields_of(system, **changes))
    assert response.status_code == 422
    text = told(response)
    assert "<title>Error:" in response.content.decode()
    for word in words:
        assert word in text
    assert not Site.objects.exists()
    for name, value in changes.items():
        if value and not name.endswith("month") and name not in ("occupancy", "source"):
            assert f'value="{value}"' in response.content.decode()


def test_one_form_opens_one_file(office_client: Any, dealer: Any) -> None:
    data = fields_of()
    for _n in range(2):
        assert office_client.post(reverse("household-new"), data).status_code == 302
    assert Site.objects.count() == 1


@pytest.mark.parametrize("count", [1, 30])
def test_the_list_costs_the_same_for_one_and_thirty(
    office_client: Any, dealer: Any, django_assert_num_queries: Any, count: int
) -> None:
    for n in range(count):
        made = factories.SiteFactory(dealer=dealer)
        factories.PartFactory(stage=factories.StageFactory(site=made), next_due_on=date(2026, 6, 1 + n % 28))
    with django_assert_num_queries(LIST_QUERIES):
        response = office_client.get(reverse("household-list"))
    assert response.content.decode().count("overdue") >= 1


def test_search_by_htmx_gives_links_and_without_it_the_page(office_client: Any, dealer: Any) -> None:
    wanted = factories.SiteFactory(dealer=dealer, name="Cormorant Cove")
    factories.SiteFactory(dealer=dealer, name="Far Reach", road="")
    address = reverse("household-search")
    part = office_client.get(address, {"q": "cormorant"}, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert re.findall(r'href="([^"]+)"', part) == [reverse("household", args=[wanted.public_id])]
    page = office_client.get(address, {"q": "cormorant"}).content.decode()
    assert "<html" in page
    assert "Cormorant Cove" in page
    assert "Far Reach" not in page


def full_file(site: Any, n: int) -> None:
    """A file with ``n`` of everything (but no more stages than stand in any crawl space)."""
    today = factories.TODAY
    for k in range(n):
        if k < 9:
            stage = factories.StageFactory(site=site, position=k + 1, install=factories.InstallFactory(site=site))
            factories.PartFactory(stage=stage, next_due_on=today + timedelta(days=k))
        factories.WaterTestFactory(site=site, sampled_on=today - timedelta(days=k), results={"iron": 0.4, "ph": 7.0})
        factories.FlowTestFactory(site=site)
        factories.ObservationFactory(site=site)
        factories.CrewFactory(job=factories.JobFactory(site=site, state="booked", day=today))
        factories.QuoteFactory(site=site)
        factories.PaperFactory(site=site)
        factories.MessageFactory(site=site)
        factories.AccessFactory(site=site)


@pytest.mark.parametrize("count", [1, 30])
def test_the_file_costs_the_same_however_long_it_is(
    office_client: Any, site: Any, django_assert_max_num_queries: Any, count: int
) -> None:
    full_file(site, count)
    with django_assert_max_num_queries(FILE_QUERIES):
        response = office_client.get(reverse("household", args=[site.public_id]))
    assert response.status_code == 200


def test_the_file_of_a_new_household_says_what_is_missing(office_client: Any, site: Any) -> None:
    text = told(office_client.get(reverse("household", args=[site.public_id])))
    for words in ("No water test yet", "not measured", "Nothing is fitted here yet", "none planned"):
        assert words in text


def test_a_notice_leads_the_file_and_its_forms(office_client: Any, site: Any) -> None:
    factories.DrinkNoticeFactory(site=site, cause="Total coliform 4 CFU/100 mL, drinking tap")
    for name in ("household", "household-edit", "symptoms", "flow-test-new", "water-test-new", "remedy"):
        page = office_client.get(reverse(name, args=[site.public_id])).content.decode()
        assert "Do not drink the water at Alder Point" in page, name
        assert page.index("Do not drink") < page.index("<main"), name
        assert "Total coliform 4 CFU/100 mL" in page


def test_recording_the_remedy(office_client: Any, site: Any, today: date) -> None:
    notice = factories.DrinkNoticeFactory(site=site)
    address = reverse("remedy", args=[site.public_id])
    late = office_client.post(address, {"on": (today + timedelta(days=3)).isoformat()})
    assert late.status_code == 422
    assert "2026-06-12" in told(late)
    assert office_client.post(address, {"on": today.isoformat()}).status_code == 302
    notice.refresh_from_db()
    assert notice.remedy_on == today


def test_giving_a_sign_in(office_client: Any, site: Any) -> None:
    address = reverse("household-access", args=[site.public_id])
    page = office_client.post(address, {"email": "nobody"}, follow=True)
    assert "nobody typed" in told(page)
    page = office_client.post(address, {"email": "jude@home.example"}, follow=True)
    assert "jude@home.example can sign in" in told(page)
    assert site.access.get().user.email == "jude@home.example"


OF_A_SITE = (
    "household",
    "household-edit",
    "household-access",
    "remedy",
    "symptoms",
    "flow-test-new",
    "water-test-new",
    "water-test-check",
)


@pytest.mark.parametrize("name", OF_A_SITE)
def test_a_stranger_gets_404_as_for_no_file_at_all(office_client: Any, other_site: Any, name: str) -> None:
    post = name in ("household-access", "water-test-check")
    for target in (other_site.public_id, uuid.uuid4()):
        address = reverse(name, args=[target])
        response = office_client.post(address) if post else office_client.get(address)
        assert response.status_code == 404
        assert b"Secret Tarn" not in response.content


def test_lesser_roles(technician_client: Any, technician: Any, customer_client: Any, client: Any, site: Any) -> None:
    file = reverse("household", args=[site.public_id])
    assert technician_client.get(reverse("household-list")).status_code == 403
    assert technician_client.get(file).status_code == 404
    factories.CrewFactory(job=factories.JobFactory(site=site), staff=technician)
    factories.DrinkNoticeFactory(site=site)
    page = technician_client.get(file)
    assert page.status_code == 200
    for link in re.findall(r'<a [^>]*href="(/[^"#]+)"', page.content.decode().partition("<main")[2]):
        assert technician_client.get(link).status_code == 200, link
    assert technician_client.get(reverse("household-edit", args=[site.public_id])).status_code == 403
    assert customer_client.get(file).status_code == 403
    assert client.get(file).status_code == 302
