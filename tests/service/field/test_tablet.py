from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from customers.flow_tests.models import FlowTest
from service.installs.models import Install
from service.jobs.actions import book_job, plan_job, start_job
from service.jobs.models import Job, JobTask
from tests import factories
from tests.service.factories_service import accepted_quote
from tests.service.jobs.test_jobs import do_all


@pytest.fixture
def job(site: Any, now: Any, today: date, technician: Any) -> Job:
    """An installation booked for today, for the technician."""
    from service.installs.actions import install_from_quote

    install = install_from_quote(quote=accepted_quote(site), now=now)
    made = plan_job(site=site, kind="install", what="Install", actor_name="M", now=now, install=install)
    return book_job(job=made, day=today, start_at=time(9), staff=[technician], actor_name="M", now=now)


@pytest.fixture
def begun(job: Job, now: Any) -> Job:
    """The same, under way."""
    return start_job(job=job, actor_name="B", now=now)


def page(name: str, row: Any) -> str:
    """The address of a page of a job or line."""
    return reverse(name, args=[row.public_id])


def line(job: Job, **found: Any) -> JobTask:
    """One line of the job."""
    task: JobTask = job.tasks.filter(**found).first()  # type: ignore[assignment]
    return task


def test_stops_of_today_only_their_own_with_the_notice(
    technician_client: Client, job: Job, dealer: Any, now: Any, today: date
) -> None:
    other = factories.StaffFactory(dealer=dealer, role="technician")
    hidden = factories.SiteFactory(dealer=dealer, name="Gull Cottage")
    theirs = plan_job(site=hidden, kind="service", what="Look", actor_name="M", now=now)
    book_job(job=theirs, day=today, start_at=None, staff=[other], actor_name="M", now=now)
    factories.DrinkNoticeFactory(site=job.site)
    text = technician_client.get(reverse("field-today")).content.decode()
    assert "Alder Point" in text
    assert "do not drink" in text
    assert "Gull Cottage" not in text


def test_another_technicians_job_is_not_found(technician_client: Client, dealer: Any, now: Any) -> None:
    hidden = factories.SiteFactory(dealer=dealer, name="Gull Cottage")
    theirs = plan_job(site=hidden, kind="service", what="Look", actor_name="M", now=now)
    task = theirs.tasks.all()[0]
    for name, row in (("field-job", theirs), ("field-finish", theirs), ("field-task", task), ("field-flow", task)):
        assert technician_client.get(page(name, row)).status_code == 404
    assert technician_client.post(page("field-start", theirs)).status_code == 404
    assert technician_client.get(page("household", hidden)).status_code == 404


def test_the_bar_leads_the_job_and_the_place_is_marked(technician_client: Client, begun: Job) -> None:
    factories.DrinkNoticeFactory(site=begun.site)
    text = technician_client.get(page("field-task", line(begun, code="leak_pressure"))).content.decode()
    assert text.index("Do not drink the water at Alder Point") < text.index("Leak check")
    assert ">here<" in text


def test_start_then_tick_then_go_on(technician_client: Client, job: Job) -> None:
    first = job.tasks.all()[0]
    refused = technician_client.post(page("field-task", first))
    assert refused.status_code == 422
    technician_client.post(page("field-start", job))
    technician_client.post(page("field-start", job))
    job.refresh_from_db()
    assert job.state == "under_way"
    response = technician_client.post(page("field-task", first))
    assert response.status_code == 302
    first.refresh_from_db()
    assert (first.done_at is not None, first.done_by) == (True, "Technician Person")
    technician_client.post(page("field-reopen", first))
    first.refresh_from_db()
    assert first.done_at is None


def test_a_reading_is_typed_in_the_households_units(technician_client: Client, begun: Job, site: Any) -> None:
    site.units = "us"
    site.save()
    task = line(begun, code="leak_pressure")
    shown = technician_client.get(page("field-task", task)).content.decode()
    assert "psi" in shown
    technician_client.post(page("field-task", task), {"value": "60"})
    task.refresh_from_db()
    assert task.value == pytest.approx(60 * 6.894757, abs=0.001)  # 1 psi = 6.894757 kPa, exact definition


@pytest.mark.parametrize("typed", ["", "much", "-3", "99999"])
def test_a_reading_that_cannot_be_names_value_and_what_would_do(
    technician_client: Client, begun: Job, typed: str
) -> None:
    task = line(begun, code="leak_pressure")
    response = technician_client.post(page("field-task", task), {"value": typed})
    text = response.content.decode()
    assert response.status_code == 422
    assert "accepted is" in text
    assert "<title>Error:" in text
    assert f'value="{typed}"' in text or not typed
    task.refresh_from_db()
    assert task.done_at is None


def test_a_flow_test_is_kept_and_put_on_the_line(technician_client: Client, begun: Job) -> None:
    task = line(begun, code="flow_test")
    form = technician_client.get(page("field-flow", task)).context["form"]
    data = {name: form[name].value() or "" for name in form.fields} | {"volume_0": "24", "seconds_0": "60"}
    for _ in range(2):
        response = technician_client.post(page("field-flow", task), data)
        assert response.status_code == 302, response.context["form"].errors
    assert FlowTest.objects.count() == 1
    task.refresh_from_db()
    assert task.value == FlowTest.objects.get().flow_l_min


def test_a_flow_test_with_no_time_saves_nothing(technician_client: Client, begun: Job) -> None:
    task = line(begun, code="flow_test")
    form = technician_client.get(page("field-flow", task)).context["form"]
    data = {name: form[name].value() or "" for name in form.fields} | {"volume_0": "24", "seconds_0": "0"}
    response = technician_client.post(page("field-flow", task), data)
    assert response.status_code == 422
    assert FlowTest.objects.count() == 0


def test_finishing_says_what_is_missing_then_commissions(
    technician_client: Client, begun: Job, now: Any, today: date
) -> None:
    refused = technician_client.post(page("field-finish", begun), {"signed_name": "Tamsin Okoro"})
    assert refused.status_code == 409
    assert "still to do" in refused.content.decode()
    do_all(begun, now)
    unsigned = technician_client.post(page("field-finish", begun), {"signed_name": ""})
    assert unsigned.status_code == 422
    assert Install.objects.get().commissioned_on is None
    bad = technician_client.post(
        page("field-finish", begun), {"signed_name": "T", "signature": "<script>alert(1)</script>"}
    )
    assert bad.status_code == 422
    for _ in range(2):
        technician_client.post(page("field-finish", begun), {"signed_name": "Tamsin Okoro", "signature": "M1 1L9 9"})
    begun.refresh_from_db()
    assert (begun.state, begun.signed_name, begun.signature) == ("finished", "Tamsin Okoro", "M1 1L9 9")
    assert Install.objects.get().commissioned_on == today


def test_pages_cost_the_same_for_one_stop_and_many(
    technician_client: Client,
    job: Job,
    dealer: Any,
    now: Any,
    today: date,
    technician: Any,
    django_assert_max_num_queries: Any,
) -> None:
    for n in range(12):
        site = factories.SiteFactory(dealer=dealer)
        made = plan_job(site=site, kind="sample", what="Sample", actor_name="M", now=now)
        day = today + timedelta(days=n % 3)
        book_job(job=made, day=day, start_at=None, staff=[technician], actor_name="M", now=now)
    with django_assert_max_num_queries(9):
        technician_client.get(reverse("field-today"))
    with django_assert_max_num_queries(28):
        technician_client.get(page("field-job", job))
