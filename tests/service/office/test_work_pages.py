from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from service.installs.models import FittedPart
from service.jobs.actions import book_job, plan_job
from service.jobs.board import board
from service.jobs.models import Job
from service.jobs.parts import parts_needed
from service.reminders.models import Message
from tests import factories
from tests.service.factories_service import commissioned

PAGES = ("job-list", "season-board", "parts", "messages")


def planned(site: Any, now: Any, kind: str = "service") -> Job:
    """A planned job."""
    return plan_job(site=site, kind=kind, what="Yearly look", actor_name="Maren Vik", now=now)


def job_page(name: str, job: Job) -> str:
    """A page of the job."""
    return reverse(name, args=[job.public_id])


@pytest.mark.parametrize("name", PAGES)
def test_pages_are_for_the_desk(
    name: str, office_client: Client, technician_client: Client, customer_client: Client
) -> None:
    assert office_client.get(reverse(name)).status_code == 200
    assert technician_client.get(reverse(name)).status_code == 403
    assert customer_client.get(reverse(name)).status_code == 403
    assert Client().get(reverse(name)).status_code == 302


def test_another_dealers_job_and_message_are_not_found(other_office_client: Client, site: Any, now: Any) -> None:
    job, message = planned(site, now), factories.MessageFactory(site=site, state="held")
    for name in ("job", "job-book"):
        assert other_office_client.get(job_page(name, job)).status_code == 404
    for name in ("message-retry", "message-drop"):
        assert other_office_client.post(reverse(name, args=[message.public_id])).status_code == 404


def test_planning_then_booking_tells_the_household_once(
    office_client: Client, site: Any, technician: Any, today: date
) -> None:
    token = uuid4()
    for _ in range(2):
        response = office_client.post(
            reverse("job-new", args=[site.public_id]),
            {
                "form_token": token,
                "kind": "sample",
                "what": "Second sample",
                "wanted_from": today.isoformat(),
                "hours": "1",
            },
        )
    job = Job.objects.get()
    assert response.headers["Location"] == job_page("job-book", job)
    data = {"day": today.isoformat(), "start_at": "09:30", "staff": [technician.public_id], "tell": "on"}
    for _ in range(2):
        assert office_client.post(job_page("job-book", job), data).status_code == 302
    job.refresh_from_db()
    assert (job.state, job.day, f"{job.start_at:%H:%M}") == ("booked", today, "09:30")
    assert Message.objects.get().rule == "install_booked"


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("day", "", "accepted is a day such as"),
        ("day", "2020-01-01", "2020-01-01 given; accepted is a day from"),
        ("start_at", "25:99", "accepted is one such as 09:30"),
        ("staff", "", "accepted is at least one active member"),
    ],
)
def test_a_booking_that_cannot_be_keeps_what_was_typed(
    office_client: Client, site: Any, now: Any, technician: Any, today: date, field: str, typed: str, words: str
) -> None:
    job = planned(site, now)
    data = {"day": today.isoformat(), "start_at": "09:30", "staff": str(technician.public_id), field: typed}
    response = office_client.post(job_page("job-book", job), {k: v for k, v in data.items() if v})
    text = response.content.decode()
    assert response.status_code == 422
    assert words in text
    assert "<title>Error:" in text
    job.refresh_from_db()
    assert job.state == "planned"


def test_a_double_booking_is_shown_before_it_is_made(
    office_client: Client, site: Any, now: Any, technician: Any, today: date
) -> None:
    first = planned(site, now)
    book_job(job=first, day=today, start_at=None, staff=[technician], actor_name="M", now=now)
    job = planned(site, now)
    data = {"day": today.isoformat(), "staff": [technician.public_id]}
    shown = office_client.post(job_page("job-book", job), data)
    assert shown.status_code == 409
    assert "Booked twice" in shown.content.decode()
    job.refresh_from_db()
    assert job.state == "planned"
    office_client.post(job_page("job-book", job), {**data, "anyway": "on"})
    job.refresh_from_db()
    assert job.state == "booked"


def test_calling_off_needs_a_reason(office_client: Client, site: Any, now: Any) -> None:
    job = planned(site, now)
    assert office_client.post(job_page("job-call-off", job), {"reason": ""}).status_code == 422
    assert office_client.post(job_page("job-call-off", job), {"reason": "sold"}).status_code == 302
    job.refresh_from_db()
    assert job.state == "called_off"


def test_the_board_shows_what_is_due_until_a_job_does_it(dealer: Any, now: Any, today: date, technician: Any) -> None:
    site = factories.SeasonalSiteFactory(dealer=dealer, closes_month=6, closes_day=22)
    commissioned(site, on=date(2025, 5, 19))
    FittedPart.objects.update(next_due_on=date(2030, 5, 19))
    weeks = board(dealer, today)
    # Monday of 22 June 2026 is that day itself; the week of 8 June is the first column
    assert weeks[0].starts == date(2026, 6, 8)
    assert [len(week.visits["closing"]) for week in weeks[:4]] == [0, 0, 1, 0]
    assert (weeks[0].days_there, weeks[2].days_asked) == (5.0, 0.25)
    job = planned(site, now, "closing")
    book_job(job=job, day=date(2026, 6, 23), start_at=None, staff=[technician], actor_name="M", now=now)
    weeks = board(dealer, today)
    assert [len(week.jobs["closing"]) for week in weeks[:4]] == [0, 0, 1, 0]
    assert not any(week.visits["closing"] for week in weeks[:4])


def test_moving_a_visit_by_form(office_client: Client, site: Any, now: Any, technician: Any, today: date) -> None:
    job = planned(site, now)
    book_job(job=job, day=today, start_at=None, staff=[technician], actor_name="M", now=now)
    late = (today + timedelta(days=9)).isoformat()
    bad = office_client.post(reverse("season-board"), {"job": job.public_id, "day": "2020-01-01"})
    assert bad.status_code == 422
    assert office_client.post(reverse("season-board"), {"job": job.public_id, "day": late}).status_code == 302
    job.refresh_from_db()
    assert job.day == today + timedelta(days=9)
    assert job.crew.count() == 1


def test_parts_add_up_by_specification(dealer: Any, now: Any, today: date) -> None:
    for n in range(3):
        site = factories.SiteFactory(dealer=dealer)
        commissioned(site, on=date(2025, 6, 20))
        if n == 0:
            planned(site, now)
    needs = {need.specification: need for need in parts_needed(dealer, today, today + timedelta(days=30))}
    lamp = needs["lamp 36 W, 4-pin, 843 mm"]
    assert (lamp.for_jobs, lamp.for_due, lamp.total) == (1, 2, 3)


def test_a_held_message_is_sent_or_dropped(office_client: Client, site: Any) -> None:
    first = factories.MessageFactory(site=site, state="held", last_error="20 days past its date")
    second = factories.MessageFactory(site=site, state="held")
    text = office_client.get(reverse("messages"), {"state": "person"}).content.decode()
    assert "20 days past its date" in text
    office_client.post(reverse("message-retry", args=[first.public_id]))
    office_client.post(reverse("message-drop", args=[second.public_id]))
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.state, second.state) == ("queued", "dead")
    assert "Office Person" in second.last_error


@pytest.mark.parametrize("many", [1, 30])
def test_lists_cost_the_same_for_one_row_and_thirty(
    office_client: Client,
    dealer: Any,
    now: Any,
    today: date,
    technician: Any,
    many: int,
    django_assert_max_num_queries: Any,
) -> None:
    for _ in range(many):
        site = factories.SiteFactory(dealer=dealer)
        commissioned(site, on=date(2025, 6, 20))
        job = planned(site, now)
        book_job(job=job, day=today, start_at=None, staff=[technician], actor_name="M", now=now)
        factories.MessageFactory(site=site)
    for name, most in (("job-list", 8), ("season-board", 14), ("parts", 10), ("messages", 10)):
        with django_assert_max_num_queries(most):
            assert office_client.get(reverse(name)).status_code == 200
