"""Symptoms, flow tests and water tests at the desk, and the page of the day."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse

from customers.flow_tests.models import FlowTest
from customers.observations.models import Observation
from customers.water_tests.models import Result, WaterTest
from customers.water_tests.queries import open_notice
from tests import factories
from tests.service.office.test_office_households import told

TODAY_QUERIES = 20
HEADING = {"kind": "lab", "place": "tap", "sampled_on": "2026-06-02", "laboratory": "Northreach"}


def grid(*rows: tuple[str, ...], **heading: Any) -> dict[str, Any]:
    """Form data of a water test: (analyte, text, unit)."""
    data: dict[str, Any] = {**HEADING, "form_token": str(uuid.uuid4()), **heading}
    for code, text, *unit in rows:
        data[f"text-{code}"] = text
        data[f"unit-{code}"] = unit[0] if unit else ""
    return data


def test_results_are_kept_as_typed_and_judged_at_once(office_client: Any, site: Any) -> None:
    """Health Canada: nitrate 10 mg/L as N, iron aesthetic objective 0.1 mg/L (guideline tables)."""
    data = grid(
        ("nitrate", "62", "mg/L as NO3"),
        ("iron", "0,5", "mg/L"),
        ("iron_dissolved", "2", "mg/L"),
        ("manganese", "<0.01", "mg/L"),
        ("arsenic", "<0.02", "mg/L"),
    )
    page = office_client.post(reverse("water-test-new", args=[site.public_id]), data, follow=True)
    text = told(page)
    kept = dict(Result.objects.values_list("analyte", "text"))
    assert kept == {"nitrate": "62", "iron": "0,5", "iron_dissolved": "2", "manganese": "<0.01", "arsenic": "<0.02"}
    assert "2 limits not met" in text
    assert "Nitrate is above the limit" in text
    assert "Dissolved iron 2 mg/L is more than total iron 0.5 mg/L" in text
    assert "Arsenic: the result cannot be set against the limit" in text
    assert "safe" not in text.lower()


def test_one_bad_row_saves_nothing_and_keeps_everything_typed(office_client: Any, site: Any) -> None:
    data = grid(
        ("ph", "17"), ("iron", "0.4", "mg/L"), ("hardness", "7", "gpg"), ("uvt", "120", "%/cm"), note="cold day"
    )
    page = office_client.post(reverse("water-test-new", args=[site.public_id]), data)
    assert page.status_code == 422
    html, text = page.content.decode(), told(page)
    assert "<title>Error:" in html
    assert "pH: “17” is impossible; accepted is at least 0 and at most 14" in text
    assert "UV transmittance at 254 nm: “120 %/cm” is impossible" in text
    for name, value in data.items():
        if name.startswith("text-") or name in ("note", "laboratory", "sampled_on", "form_token"):
            assert f'name="{name}" value="{value}"' in html, name
    assert '<option value="gpg" selected>' in html
    assert not WaterTest.objects.exists()


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ({"sampled_on": "2026-06-10"}, "2026-06-10 is still to come; accepted is a day up to 2026-06-09"),
        ({"sampled_on": "soon"}, "accepted is a day such as 2026-06-02"),
        ({"sampled_on": "1926-06-10"}, "day of sampling is 1926-06-10"),
        ({"place": "roof"}, "“roof” chosen; accepted is raw water"),
        ({"point": "I"}, "“I” typed; accepted is one letter"),
        ({"kind": ""}, "Measured by"),
    ],
)
def test_a_heading_that_cannot_be_is_refused(
    office_client: Any, site: Any, heading: dict[str, str], words: str
) -> None:
    page = office_client.post(
        reverse("water-test-new", args=[site.public_id]), grid(("iron", "0.4", "mg/L"), **heading)
    )
    assert page.status_code == 422
    assert words in told(page)
    assert 'value="0.4"' in page.content.decode()
    assert not WaterTest.objects.exists()


def test_an_empty_grid_and_a_line_sent_twice_are_refused(office_client: Any, site: Any) -> None:
    address = reverse("water-test-new", args=[site.public_id])
    assert "no result typed" in told(office_client.post(address, grid()))
    twice = grid(("iron", "0.4", "mg/L"))
    twice["text-iron"] = ["0.4", "0.5"]
    page = office_client.post(address, twice)
    assert "Iron, total stands twice: “0.4” and “0.5”" in told(page)
    assert not WaterTest.objects.exists()


def test_sent_twice_it_is_one_test(office_client: Any, site: Any) -> None:
    data = grid(("iron", "0.4", "mg/L"))
    for _n in range(2):
        assert office_client.post(reverse("water-test-new", args=[site.public_id]), data).status_code == 302
    assert WaterTest.objects.count() == 1


def test_a_find_leads_the_next_page(office_client: Any, site: Any) -> None:
    data = grid(("total_coliform", "present"), ("e_coli", "absent"))
    page = office_client.post(reverse("water-test-new", args=[site.public_id]), data, follow=True)
    assert open_notice(site) is not None
    html = page.content.decode()
    assert html.index("Do not drink the water at Alder Point") < html.index("<main")


def test_checking_while_typing_saves_nothing(office_client: Any, site: Any) -> None:
    data = grid(("nitrate", "14", "mg/L as N"), ("ph", "17"))
    page = office_client.post(reverse("water-test-check", args=[site.public_id]), data)
    text = told(page)
    assert "Nitrate 14 mg/L as N" in text
    assert "“17” is impossible" in text
    assert not WaterTest.objects.exists()


def test_the_grid_starts_with_the_units_of_the_last_paper(office_client: Any, site: Any) -> None:
    test = factories.WaterTestFactory(site=site)
    Result.objects.create(
        dealer=site.dealer, test=test, analyte="iron", text="400", unit_text="ug/L", qualifier="equal", value=0.4
    )
    html = office_client.get(reverse("water-test-new", args=[site.public_id])).content.decode()
    assert '<option value="ug/L" selected>' in html


def flow(**changes: str) -> dict[str, str]:
    """Form data of a flow test in US units: 15 gal in 75 s are 12 gpm (common practice)."""
    data = {"typed_in": "us", "method": "drawdown", "tested_on": "2026-06-08", "tested_by": "Birgit"}
    return {**data, "form_token": str(uuid.uuid4()), "volume_0": "15", "seconds_0": "75", **changes}


def test_a_flow_test_shows_its_result_with_uncertainty_and_its_calculation(office_client: Any, site: Any) -> None:
    site.units = "us"
    site.save()
    data = flow(cut_in_kpa="40", cut_out_kpa="60", volume_1="15", seconds_1="76")
    page = office_client.post(reverse("flow-test-new", args=[site.public_id]), data, follow=True)
    text = told(page).replace("\u00a0", " ")
    test = FlowTest.objects.get()
    assert test.cut_in_kpa == pytest.approx(275.79, abs=0.01)
    assert test.runs.count() == 2
    assert "11.9 ±" in text
    assert "gpm" in text
    assert "The pump alone carries it" in text
    assert "propagation of uncertainty" in text


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"seconds_0": "0"}, "“0” typed; accepted is a number from 1 to 7200 s"),
        ({"volume_0": "-4"}, "“-4” typed; accepted is a number from 0.1321 to 528.3 gal"),
        ({"volume_0": ""}, "nothing typed"),
        ({"volume_1": "12"}, "Run 2, time"),
        ({"cut_in_kpa": "60", "cut_out_kpa": "40"}, "“40” typed; accepted is more than the cut-in of 60"),
        ({"tested_on": "2026-06-10"}, "still to come"),
        ({"volume_0": "500", "seconds_0": "1"}, "at most 1000 L/min"),
        ({"method": "guess"}, "“guess” chosen"),
    ],
)
def test_a_flow_test_that_cannot_be_is_refused(
    office_client: Any, site: Any, changes: dict[str, str], words: str
) -> None:
    page = office_client.post(reverse("flow-test-new", args=[site.public_id]), flow(**changes))
    assert page.status_code == 422
    assert words in told(page)
    assert not FlowTest.objects.exists()


def test_symptoms_several_at_once_and_gone(office_client: Any, site: Any) -> None:
    address = reverse("symptoms", args=[site.public_id])
    refused = office_client.post(address, {"where": "hot", "words": "brown"})
    assert refused.status_code == 422
    assert "nothing ticked" in told(refused)
    assert "brown" in refused.content.decode()
    data = {"codes": ["tea_clear", "egg_hot"], "where": "hot", "words": "brown", "form_token": str(uuid.uuid4())}
    for _n in range(2):
        page = office_client.post(address, data, follow=True)
    assert Observation.objects.count() == 2
    assert "Rotten eggs in the hot water only" in told(page)
    row = Observation.objects.get(code="egg_hot")
    office_client.post(reverse("symptom-gone", args=[row.public_id]))
    row.refresh_from_db()
    assert row.cleared_at is not None


def busy_day(dealer: Any, n: int) -> None:
    """``n`` of each thing that waits for a person."""
    today = factories.TODAY
    for _k in range(n):
        factories.DrinkNoticeFactory(site=factories.SiteFactory(dealer=dealer))
        test_site = factories.SiteFactory(dealer=dealer)
        factories.WaterTestFactory(site=test_site, results={"nitrate": 14.0}, sampled_on=today)
        stage = factories.StageFactory(site=factories.SiteFactory(dealer=dealer))
        factories.PartFactory(
            stage=stage, renewed_on=today - timedelta(days=900), next_due_on=today - timedelta(days=9)
        )
        fitted = {"commissioned_on": today - timedelta(days=20)}
        factories.InstallFactory(site=factories.SiteFactory(dealer=dealer), **fitted)
        factories.JobFactory(site=factories.SiteFactory(dealer=dealer))
        late = {"state": "booked", "day": today - timedelta(days=2)}
        factories.JobFactory(site=factories.SiteFactory(dealer=dealer), **late)
        factories.IssuedQuoteFactory(site=factories.SiteFactory(dealer=dealer))
        factories.MessageFactory(site=factories.SiteFactory(dealer=dealer), state="dead")
        factories.ObservationFactory(site=factories.SiteFactory(dealer=dealer))


@pytest.mark.parametrize("count", [1, 12])
def test_today_costs_the_same_on_a_quiet_and_a_busy_day(
    office_client: Any, dealer: Any, django_assert_num_queries: Any, count: int
) -> None:
    busy_day(dealer, count)
    with django_assert_num_queries(TODAY_QUERIES):
        page = office_client.get(reverse("today"))
    groups = [group.code for group in page.context["groups"]]
    assert groups == ["notice", "limits", "late", "overdue", "unproven", "messages", "unbooked", "quotes", "calls"]
    assert [group.count for group in page.context["groups"]] == [count] * len(groups)


def test_each_line_of_today_has_one_next_step_that_opens(office_client: Any, dealer: Any) -> None:
    busy_day(dealer, 1)
    for group in office_client.get(reverse("today")).context["groups"]:
        for line in group.lines:
            assert office_client.get(line.href.partition("#")[0]).status_code == 200, (group.code, line.href)


def test_an_empty_day_says_so(office_client: Any, dealer: Any, other_dealer: Any) -> None:
    busy_day(other_dealer, 1)
    page = office_client.get(reverse("today"))
    assert page.context["groups"] == []
    assert "Nothing waits for a person" in told(page)


def test_pages_of_one_test_are_404_to_strangers(office_client: Any, other_site: Any) -> None:
    water, flow_row = factories.WaterTestFactory(site=other_site), factories.FlowTestFactory(site=other_site)
    for name, row in (("water-test", water), ("flow-test", flow_row)):
        assert office_client.get(reverse(name, args=[row.public_id])).status_code == 404
    seen = factories.ObservationFactory(site=other_site)
    assert office_client.post(reverse("symptom-gone", args=[seen.public_id])).status_code == 404


def test_a_clear_sample_that_follows_the_rules_lifts_the_notice(office_client: Any, site: Any, today: date) -> None:
    factories.DrinkNoticeFactory(site=site, opened_on=today, remedy_on=date(2026, 5, 1))
    address = reverse("water-test-new", args=[site.public_id])
    for day in ("2026-05-10", "2026-05-20"):
        rows = [("total_coliform", "absent"), ("e_coli", "absent")]
        assert office_client.post(address, grid(*rows, sampled_on=day)).status_code == 302
    assert open_notice(site) is None
