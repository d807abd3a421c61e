"""Designs, quotes, jobs and visits by the API."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from sizing.proposals.models import Proposal
from tests import factories
from tests.api.test_households import send, url


def test_a_design_names_what_must_be_measured_first(office_client: Any, site: Any) -> None:
    answer = send(office_client, url("designs", site), {})
    assert answer.status_code == 422
    told = answer.json()
    assert told["code"] == "missing_evidence"
    assert {one["what"] for one in told["missing"]} == {"flow test", "raw water test"}
    assert all(one["how"] for one in told["missing"])
    assert not Proposal.objects.exists()


def test_a_design_is_made_read_and_checked_by_hand(office_client: Any, ready: Any) -> None:
    """Iron at 0.9 mg/L is past 0.1 mg/L (aesthetic objective, Health Canada): something must take it out."""
    goals = [{"place": "entry", "analyte": "iron", "at_most": 100.0, "unit": "ug/L"}]
    answer = send(office_client, url("designs", ready), {"goals": goals, "cost_years": 10})
    assert answer.status_code == 201, answer.content
    told = answer.json()
    assert told["trains"]
    assert told["peak_flow_l_min"] > 0
    train = told["trains"][0]
    iron = next(margin for margin in train["margins"] if "iron" in margin["code"])
    assert iron["limit"] == pytest.approx(0.1)
    assert iron["held"]
    assert float(train["whole_life_cost"]) >= float(train["first_cost"]) > 0
    again = office_client.get(f"/api/v1/designs/{told['id']}/").json()
    assert again == told
    sheet = office_client.get(f"/api/v1/trains/{train['id']}/worksheet/").json()
    steps = [step for section in sheet["sections"] for step in section["steps"]]
    assert steps
    assert all(step["status"] for step in steps)
    assert office_client.get(url("designs", ready)).json()["count"] == 1


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"goals": [{"place": "entry", "analyte": "iron", "at_most": 0.1, "unit": "gpg"}]}, "goals"),
        ({"goals": [{"place": "entry", "analyte": "gold", "at_most": 0.1, "unit": "mg/L"}]}, "goals.0.analyte"),
        ({"min_fixture_kpa": 5}, "min_fixture_kpa"),
        ({"cost_years": 400}, "cost_years"),
        ({"ph_low": 20}, "ph_low"),
    ],
)
def test_wishes_that_cannot_be_are_named(office_client: Any, ready: Any, body: dict[str, Any], field: str) -> None:
    answer = send(office_client, url("designs", ready), body)
    assert answer.status_code == 422
    assert field in {error["field"] for error in answer.json()["errors"]}
    assert not Proposal.objects.exists()


def test_quotes_are_listed_by_state_and_add_up(office_client: Any, site: Any) -> None:
    """Two lines of 980.00 and 20.00 at 5 % tax come to 1050.00: by hand."""
    quote = factories.IssuedQuoteFactory(site=site)
    factories.QuoteLineFactory(quote=quote)
    factories.QuoteLineFactory(quote=quote, unit_price="10.00", quantity=2)
    factories.QuoteFactory(site=site)
    listed = office_client.get(url("quotes"), {"state": "issued"}).json()
    assert [row["id"] for row in listed["items"]] == [str(quote.public_id)]
    told = office_client.get(url("quote", quote)).json()
    assert told["totals"] == {"net": "1000.00", "tax": "50.00", "total": "1050.00", "options": "0.00"}
    assert [line["amount"] for line in told["lines"]] == ["980.00", "20.00"]
    assert told["answer"] is None
    assert office_client.get(url("quotes"), {"state": "burnt"}).status_code == 422


def test_a_technician_fills_in_and_finishes_the_job(technician_client: Any, busy: Any) -> None:
    (listed,) = technician_client.get(url("jobs")).json()["items"]
    assert listed["id"] == str(busy.job.public_id)
    early = send(technician_client, url("job-finish", busy.job), {"signed_name": "Tamsin Okoro"})
    assert early.status_code == 422
    assert {error["value"] for error in early.json()["errors"]} == {
        str(busy.task.public_id),
        str(busy.reading.public_id),
    }
    assert send(technician_client, url("task", busy.task), {}).json()["done_at"]
    assert technician_client.get(url("task", busy.reading)).json()["unit"] == "L/min"
    gallons = send(technician_client, url("task", busy.reading), {"value": 6.0, "unit": "gpm"})
    assert gallons.status_code == 422
    assert gallons.json()["errors"][0]["field"] == "unit"
    beyond = send(technician_client, url("task", busy.reading), {"value": 99999, "unit": "L/min"})
    assert beyond.status_code == 422
    busy.reading.refresh_from_db()
    assert busy.reading.done_at is None
    assert send(technician_client, url("task", busy.reading), {"value": 23.5, "unit": "L/min"}).status_code == 200
    done = send(technician_client, url("job-finish", busy.job), {"signed_name": "Tamsin Okoro"})
    assert done.status_code == 200
    assert done.json()["state"] == "finished"
    late = send(technician_client, url("task", busy.task), {"text": "later"})
    assert late.status_code == 422


def test_a_job_is_begun_once_booked(technician_client: Any, busy: Any, technician: Any, site: Any) -> None:
    planned = factories.JobFactory(site=site)
    booked = factories.JobFactory(site=site, state="booked", day=date(2026, 6, 9))
    for job in (planned, booked):
        factories.CrewFactory(job=job, staff=technician)
    assert send(technician_client, url("job-start", planned), {}).status_code == 422
    for _n in range(2):
        assert send(technician_client, url("job-start", booked), {}).json()["state"] == "under_way"


def test_visits_that_fall_due(office_client: Any, busy: Any) -> None:
    far = office_client.get(url("due-visits"), {"until": "2027-06-30"}).json()
    assert far["count"] >= 1
    assert all(item["on"] <= "2027-06-30" for item in far["items"])
    assert office_client.get(url("due-visits"), {"until": "2020-01-01"}).status_code == 422
