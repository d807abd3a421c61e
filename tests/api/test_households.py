"""Households, limits, path, evidence by the API."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from customers.flow_tests.models import FlowTest
from customers.observations.models import Observation
from customers.water_tests.models import WaterTest
from customers.water_tests.queries import open_notice
from tests import factories
from tests.conftest import signed_in


def url(name: str, row: Any = None) -> str:
    return reverse(f"api-{name}", args=[row.public_id] if row else [])


def send(client: Any, address: str, body: Any) -> Any:
    return client.post(address, body, content_type="application/json")


def sample(*rows: tuple[str, ...], **heading: Any) -> dict[str, Any]:
    names = ("analyte", "text", "unit_text")
    lines = [dict(zip(names, row, strict=False)) for row in rows]
    return {"kind": "lab", "place": "tap", "sampled_on": "2026-06-02", "rows": lines, **heading}


def test_households_are_listed_searched_and_paged(office_client: Any, dealer: Any, other_site: Any) -> None:
    for n in range(5):
        factories.SiteFactory(dealer=dealer, name=f"Heron Bay {n}")
    factories.SiteFactory(dealer=dealer, name="Gull Rock")
    page = office_client.get(url("households"), {"limit": 2, "offset": 2}).json()
    assert (page["count"], page["limit"], page["offset"]) == (6, 2, 2)
    assert [item["name"] for item in page["items"]] == ["Heron Bay 1", "Heron Bay 2"]
    found = office_client.get(url("households"), {"search": "gull rock"}).json()
    assert [item["name"] for item in found["items"]] == ["Gull Rock"]
    assert office_client.get(url("households"), {"search": "secret tarn"}).json()["items"] == []


@pytest.mark.parametrize(
    ("asked", "field"), [({"limit": "many"}, "limit"), ({"limit": 0}, "limit"), ({"page": 2}, "page")]
)
def test_a_query_that_cannot_be_is_named(office_client: Any, asked: dict[str, Any], field: str) -> None:
    answer = office_client.get(url("households"), asked)
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["field"] == field
    assert error["value"] == str(asked[field])
    assert error["message"]


def test_a_household_comes_with_unit_names(office_client: Any, site: Any) -> None:
    told = office_client.get(url("household", site)).json()
    assert told["id"] == str(site.public_id)
    assert (told["cut_in_kpa"], told["cut_out_kpa"], told["tank_volume_l"]) == (275.0, 415.0, 76.0)
    assert told["months_open"] == list(range(1, 13))
    assert told["do_not_drink"] is None
    assert {f["code"]: f["count"] for f in told["fixtures"]}["shower"] == 1


def test_a_water_test_is_taken_in_and_judged(office_client: Any, site: Any) -> None:
    """Health Canada prints nitrate as 10 mg/L as N, which is 45 mg/L as nitrate: 62 as nitrate is past it."""
    body = sample(("nitrate", "62", "mg/L as NO3"), ("manganese", "<0.01", "mg/L"), laboratory="Northreach")
    answer = send(office_client, url("water-tests", site), body)
    assert answer.status_code == 201
    results = {row["analyte"]: row for row in answer.json()["results"]}
    assert results["nitrate"]["text"] == "62"
    assert results["nitrate"]["unit"] == "mg/L as N"
    assert results["nitrate"]["value"] == pytest.approx(62 * 14.007 / 62.004, rel=1e-3)
    assert results["manganese"]["qualifier"] == "below"
    limits = {(row["analyte"], row["limit"]["kind"]): row for row in office_client.get(url("limits", site)).json()}
    nitrate = limits["nitrate", "health"]
    assert nitrate["limit"]["printed"].startswith("10 ")
    assert nitrate["verdict"] == "not met"
    assert limits["arsenic", "health"]["verdict"] == "not tested"
    assert limits["arsenic", "health"]["result"] is None


def test_one_bad_row_saves_nothing_and_says_which(office_client: Any, site: Any) -> None:
    body = sample(("iron", "0.4", "mg/L"), ("ph", "17"), ("gold", "1", "mg/L"))
    answer = send(office_client, url("water-tests", site), body)
    assert answer.status_code == 422
    told = answer.json()
    assert told["code"] == "refused_rows"
    errors = {error["row"]: error for error in told["errors"]}
    assert errors.keys() == {1, 2}
    assert errors[1]["value"] == "17"
    assert "at least 0 and at most 14" in errors[1]["message"]
    assert "gold" in errors[2]["message"]
    assert not WaterTest.objects.exists()


@pytest.mark.parametrize(
    ("change", "field", "value"),
    [
        ({"sampled_on": "2026-07-01"}, "sampled_on", "2026-07-01"),
        ({"sampled_on": "soon"}, "sampled_on", "soon"),
        ({"place": "roof"}, "place", "roof"),
        ({"colour": "blue"}, "colour", "blue"),
        ({"rows": []}, "rows", ""),
        ({"rows": [{"analyte": "iron"}]}, "rows.0.text", ""),
    ],
)
def test_a_heading_that_cannot_be_is_named(
    office_client: Any, site: Any, change: dict[str, Any], field: str, value: str
) -> None:
    answer = send(office_client, url("water-tests", site), {**sample(("iron", "0.4", "mg/L")), **change})
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert (error["field"], error["value"]) == (field, value)
    assert not WaterTest.objects.exists()


def test_sent_twice_with_one_token_it_is_one_record(office_client: Any, site: Any, dealer: Any) -> None:
    token = str(uuid.uuid4())
    body = sample(("iron", "0.4", "mg/L"), form_token=token)
    first, second = (send(office_client, url("water-tests", site), body) for _n in range(2))
    assert first.json()["id"] == second.json()["id"]
    assert WaterTest.objects.count() == 1
    neighbour = factories.SiteFactory(dealer=dealer)
    assert send(office_client, url("water-tests", neighbour), body).status_code == 201
    assert WaterTest.objects.count() == 2


def test_a_find_opens_the_notice_at_once(office_client: Any, site: Any) -> None:
    send(office_client, url("water-tests", site), sample(("e_coli", "present"), ("total_coliform", "present")))
    assert open_notice(site) is not None
    assert office_client.get(url("household", site)).json()["do_not_drink"]["opened_on"] == "2026-06-09"
    assert office_client.get(url("water-path", site)).json()["notice"] == "Do not drink the water"


def test_a_flow_test_is_worked_out_from_its_runs(office_client: Any, site: Any) -> None:
    """A bucket of 20 L in 50 s is 24 L/min: volume over time."""
    body = {
        "method": "bucket",
        "tested_on": "2026-06-08",
        "tested_by": "Birgit Holm",
        "cut_in_kpa": 275.0,
        "cut_out_kpa": 415.0,
        "runs": [{"volume_l": 20.0, "duration_s": 50.0}],
        "form_token": str(uuid.uuid4()),
    }
    answer = send(office_client, url("flow-tests", site), body)
    assert answer.status_code == 201
    told = answer.json()
    assert told["flow_l_min"] == pytest.approx(24.0)
    assert told["worksheet"]["sections"][0]["steps"]
    assert send(office_client, url("flow-tests", site), body).json()["id"] == told["id"]
    assert office_client.get(url("flow-tests", site)).json()["count"] == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"cut_out_kpa": 200.0}, "cut_out_kpa"),
        ({"tested_on": "2026-06-20"}, "tested_on"),
        ({"runs": []}, "runs"),
        ({"runs": [{"volume_l": 20.0, "duration_s": 0.0}]}, "runs.0.duration_s"),
        ({"runs": [{"volume_l": 2000.0, "duration_s": 1.0}]}, "runs"),
    ],
)
def test_an_impossible_flow_test_keeps_nothing(
    office_client: Any, site: Any, change: dict[str, Any], field: str
) -> None:
    body = {
        "method": "bucket",
        "tested_on": "2026-06-08",
        "tested_by": "Birgit Holm",
        "cut_in_kpa": 275.0,
        "runs": [{"volume_l": 20.0, "duration_s": 50.0}],
        **change,
    }
    answer = send(office_client, url("flow-tests", site), body)
    assert answer.status_code == 422
    assert field in {error["field"] for error in answer.json()["errors"]}
    assert not FlowTest.objects.exists()


def test_symptoms_are_noted_all_or_none(office_client: Any, site: Any) -> None:
    good = {"code": "tea_clear", "where": "hot", "words": "brown bath", "since": "spring"}
    bad = send(office_client, url("symptoms", site), {"said": [good, {"code": "purple"}]})
    assert bad.status_code == 422
    (error,) = bad.json()["errors"]
    assert (error["row"], error["field"], error["value"]) == (1, "code", "purple")
    assert not Observation.objects.exists()
    assert send(office_client, url("symptoms", site), {"said": [good]}).status_code == 201
    (noted,) = office_client.get(url("symptoms", site)).json()["items"]
    assert noted["words"] == "brown bath"


def test_the_path_is_the_one_that_is_drawn(office_client: Any, busy: Any) -> None:
    told = office_client.get(url("water-path", busy.site)).json()
    assert [stage["kind"] for stage in told["stages"]] == ["sediment", "uv", "ro"]
    assert [stage["tap"] for stage in told["stages"]] == [False, False, True]
    assert len(told["points"]) == 3
    assert told["stages"][0]["state"] == "unproven"


def test_nobody_signed_in_gets_401_and_a_stranger_404(site: Any, other_office_client: Any) -> None:
    assert Client().get(url("household", site)).status_code == 401
    assert Client().get(url("household", site)).headers["WWW-Authenticate"].startswith("Session")
    strange = other_office_client.get(url("household", site))
    missing = other_office_client.get(reverse("api-household", args=[uuid.uuid4()]))
    assert strange.status_code == missing.status_code == 404
    assert strange.content == missing.content


def test_writing_needs_the_csrf_token(office: Any, site: Any, clock: Any) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(office.user, backend="allauth.account.auth_backends.AuthenticationBackend")
    answer = send(client, url("symptoms", site), {"said": [{"code": "tea_clear"}]})
    assert answer.status_code == 403
    assert "CSRF" in answer.json()["message"]
    assert not Observation.objects.exists()
    client.get(reverse("household-new"))
    token = client.cookies["csrftoken"].value
    body = {"said": [{"code": "tea_clear"}]}
    written = client.post(
        url("symptoms", site), body, content_type="application/json", headers={"X-CSRFToken": token}
    )
    assert written.status_code == 201


def test_a_body_that_is_no_json_is_refused_plainly(office_client: Any, site: Any) -> None:
    broken = office_client.post(url("symptoms", site), "{", content_type="application/json")
    assert broken.status_code == 400
    assert broken.json()["message"]
    form = office_client.post(url("symptoms", site), {"said": "x"})
    assert form.status_code == 415
    for body in ([], "text", 7, None):
        assert send(office_client, url("symptoms", site), body).status_code in (400, 422)


def test_a_technician_reads_only_where_a_job_is(technician: Any, busy: Any, dealer: Any, clock: Any) -> None:
    client = signed_in(technician.user)
    assert client.get(url("household", busy.site)).status_code == 200
    assert client.get(url("household", factories.SiteFactory(dealer=dealer))).status_code == 404
    assert client.get(url("households")).status_code == 403
