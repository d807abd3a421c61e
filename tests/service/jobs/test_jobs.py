from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest

from customers.people.models import Staff
from service.installs.actions import lay_up
from service.installs.models import FittedPart, Install
from service.jobs.actions import (
    JobRefused,
    JobUnfinished,
    book_job,
    build_checklist,
    call_off,
    finish_job,
    plan_job,
    start_job,
)
from service.jobs.entries import reopen_task, tick_task
from service.jobs.models import Job, JobPart, JobTask
from service.jobs.queries import clashes, jobs_for, stops_on
from tests import factories
from tests.conftest import actor_of
from tests.service.factories_service import accepted_quote, commissioned


def planned(site: Any, now: Any, kind: str = "service", **changes: Any) -> Job:
    """A planned job."""
    return plan_job(site=site, kind=kind, what="Yearly look", actor_name="Maren Vik", now=now, **changes)


def booked(site: Any, now: Any, staff: Staff, kind: str = "service", **changes: Any) -> Job:
    """A job booked for tomorrow at nine."""
    job = planned(site, now, kind, **changes)
    day = now.date() + timedelta(days=1)
    return book_job(job=job, day=day, start_at=time(9), staff=[staff], actor_name="Maren Vik", now=now)


def do_all(job: Job, now: Any) -> None:
    """Fill in every line."""
    for task in job.tasks.select_related("job", "stage__site__dealer", "part__stage__site__dealer"):
        value = 30.0 if task.kind == "reading" else None
        text = "N-1" if task.kind == "serial" else ""
        tick_task(task=task, value=value, text=text, actor_name="Birgit Holm", now=now)


def install_of(site: Any, now: Any) -> Install:
    """An install waiting to be fitted."""
    from service.installs.actions import install_from_quote

    return install_from_quote(quote=accepted_quote(site), now=now)


def test_install_checklist_is_made_from_the_stages_that_are_there(site: Any, now: Any) -> None:
    job = planned(site, now, "install", install=install_of(site, now))
    groups = list(dict.fromkeys(job.tasks.values_list("group", flat=True)))
    # Order of work, common practice: isolate, fit, drain, power, fill and set to work, leaks, values, disinfect,
    # serials, sample, sign off.
    assert groups == [
        "Arrive",
        "Isolate",
        "Fit in order",
        "Drain and air gap",
        "Electrical",
        "Fill",
        "Set to work",
        "Leak check",
        "Set-up values",
        "Flow",
        "Shock chlorination",
        "Serial numbers",
        "Sample for the laboratory",
        "Sign off",
    ]
    gap = job.tasks.get(code="air_gap")
    assert gap.stage is not None
    assert gap.stage.kind == "ro"
    setting = job.tasks.get(group="Set-up values")
    assert (setting.kind, setting.quantity) == ("reading", "flow")
    assert "30.0" in setting.text
    assert job.tasks.filter(code="serial").count() == 3


def test_a_train_without_uv_is_not_shock_chlorinated_unless_germs_were_found(site: Any, now: Any) -> None:
    install = install_of(site, now)
    install.stages.filter(kind="uv").delete()
    job = planned(site, now, "install", install=install)
    assert not job.tasks.filter(group="Shock chlorination").exists()
    factories.WaterTestFactory(site=site, results={"total_coliform": "present"})
    build_checklist(job=job, today=now.date())
    assert job.tasks.filter(group="Shock chlorination").exists()


def test_parts_to_bring_by_open_specification(site: Any, now: Any) -> None:
    job = planned(site, now, "install", install=install_of(site, now))
    rows = {(p.name, p.specification): float(p.quantity) for p in job.bring.all()}
    assert rows["UV", "20 x 4.5 in"] == 1
    assert rows["Three-valve bypass with unions", "3/4 in"] == 2
    assert rows["Sample tap, flame-proof, no aerator", "3/4 in"] == 3


def test_service_renews_what_is_due_by_the_day_it_is_booked_for(site: Any, now: Any, technician: Any) -> None:
    commissioned(site, on=date(2025, 7, 1))
    job = planned(site, now)
    assert [t.code for t in job.tasks.filter(kind="renew")] == ["cartridge", "lamp", "sleeve"]
    FittedPart.objects.filter(code="lamp").update(next_due_on=date(2026, 9, 1))
    booked_job = book_job(job=job, day=date(2026, 6, 20), start_at=None, staff=[technician], actor_name="M", now=now)
    assert [t.code for t in booked_job.tasks.filter(kind="renew")] == ["cartridge", "sleeve"]
    assert {p.name for p in booked_job.bring.all()} == {"Cartridge", "Clean cotton gloves, O-rings for the sleeve"}


def test_opening_and_closing_lines_name_each_stage_there(dealer: Any, now: Any) -> None:
    site = factories.SeasonalSiteFactory(dealer=dealer)
    commissioned(site, on=date(2025, 5, 19))
    for kind in ("opening", "closing"):
        job = planned(site, now, kind)
        named = {t.stage.kind for t in job.tasks.filter(code=f"{kind}_stage").select_related("stage") if t.stage}
        assert named == {"sediment", "uv", "ro"}
        assert job.tasks.filter(code=f"{kind}_place").exists()


@pytest.mark.parametrize(
    ("changes", "words"),
    [({"kind": "party"}, "kind is 'party'"), ({"hours": 0.0}, "hours is 0"), ({"hours": 25.0}, "hours is 25")],
)
def test_a_job_that_cannot_be_is_refused(site: Any, now: Any, changes: dict[str, Any], words: str) -> None:
    with pytest.raises(JobRefused, match=words):
        planned(site, now, **{"kind": "service", **changes})
    assert Job.objects.count() == 0
    assert JobPart.objects.count() == JobTask.objects.count() == 0


def test_booking_needs_a_day_and_active_people_of_the_dealer(
    site: Any, now: Any, technician: Any, other_dealer: Any
) -> None:
    job = planned(site, now)
    stranger = factories.StaffFactory(dealer=other_dealer, role="technician")
    left = factories.StaffFactory(dealer=site.dealer, role="technician", active=False)
    day = date(2026, 6, 12)
    for staff, words in (([], "people is empty"), ([stranger], "not active staff here"), ([left], "not active")):
        with pytest.raises(JobRefused, match=words):
            book_job(job=job, day=day, start_at=None, staff=staff, actor_name="M", now=now)
    with pytest.raises(JobRefused, match="day is empty"):
        book_job(job=job, day=None, start_at=None, staff=[technician], actor_name="M", now=now)  # type: ignore[arg-type]
    job.refresh_from_db()
    assert job.state == "planned"


def test_double_booking_is_shown(site: Any, now: Any, technician: Any) -> None:
    first = booked(site, now, technician)
    other = planned(site, now)
    assert first.day is not None
    assert clashes([technician], first.day, time(10), 2.0, other) == [first]
    assert clashes([technician], first.day, time(11), 2.0, other) == []
    assert clashes([technician], first.day, None, 2.0, other) == [first]
    assert clashes([technician], first.day + timedelta(days=1), time(10), 2.0, other) == []


def test_the_same_booking_twice_changes_nothing(site: Any, now: Any, technician: Any) -> None:
    job = booked(site, now, technician)
    before = list(job.tasks.values_list("public_id", flat=True)), site.log.count()
    book_job(job=job, day=job.day, start_at=job.start_at, staff=[technician], actor_name="M", now=now)  # type: ignore[arg-type]
    assert (list(job.tasks.values_list("public_id", flat=True)), site.log.count()) == before
    assert job.crew.count() == 1


def test_the_state_only_moves_forward(site: Any, now: Any, technician: Any) -> None:
    job = planned(site, now, "sample")
    with pytest.raises(JobRefused, match="is planned; only a booked one is begun"):
        start_job(job=job, actor_name="B", now=now)
    job = booked(site, now, technician, "sample")
    with pytest.raises(JobRefused, match="while it is under way"):
        tick_task(task=job.tasks.all()[0], actor_name="B", now=now)
    start_job(job=job, actor_name="B", now=now)
    started = job.started_at
    start_job(job=job, actor_name="B", now=now + timedelta(hours=1))
    assert job.started_at == started
    for move in (
        lambda: book_job(job=job, day=date(2026, 7, 1), start_at=None, staff=[technician], actor_name="M", now=now),
        lambda: call_off(job=job, reason="storm", actor_name="M", now=now),
        lambda: build_checklist(job=job, today=now.date()),
    ):
        with pytest.raises(JobRefused, match="under way"):
            move()
    do_all(job, now)
    finish_job(job=job, actor_name="B", now=now, signed_name="Tamsin Okoro")
    finished = job.finished_at
    finish_job(job=job, actor_name="B", now=now + timedelta(days=1), signed_name="Somebody else")
    assert (job.finished_at, job.signed_name) == (finished, "Tamsin Okoro")
    with pytest.raises(JobRefused, match="only a booked one"):
        start_job(job=job, actor_name="B", now=now)


def test_finishing_names_what_is_missing(site: Any, now: Any, technician: Any) -> None:
    job = start_job(job=booked(site, now, technician, "sample"), actor_name="B", now=now)
    with pytest.raises(JobUnfinished) as refused:
        finish_job(job=job, actor_name="B", now=now, signed_name="T")
    assert len(refused.value.lines) == job.tasks.filter(required=True).count()
    assert "Bottle number" in str(refused.value)
    do_all(job, now)
    with pytest.raises(JobRefused, match="name is empty"):
        finish_job(job=job, actor_name="B", now=now, signed_name=" ")
    job.refresh_from_db()
    assert job.state == "under_way"


def test_calling_off_needs_a_reason_and_can_come_twice(site: Any, now: Any) -> None:
    job = planned(site, now)
    with pytest.raises(JobRefused, match="reason is empty"):
        call_off(job=job, reason="", actor_name="M", now=now)
    for _ in range(2):
        assert call_off(job=job, reason="sold", actor_name="M", now=now).state == "called_off"


def test_lines_take_what_they_are_and_replays_change_nothing(site: Any, now: Any, technician: Any) -> None:
    commissioned(site, on=date(2025, 6, 1))
    job = start_job(job=booked(site, now, technician), actor_name="B", now=now)
    pressure = job.tasks.get(code="leak_pressure")
    for bad in (None, float("nan"), -1.0, 5000.0):
        with pytest.raises(JobRefused, match="accepted is"):
            tick_task(task=pressure, value=bad, actor_name="B", now=now)
    tick_task(task=pressure, value=410.0, actor_name="Birgit", now=now)
    tick_task(task=pressure, value=410.0, actor_name="Somebody", now=now + timedelta(hours=1))
    pressure.refresh_from_db()
    assert (pressure.value, pressure.done_at, pressure.done_by) == (410.0, now, "Birgit")
    lamp = job.tasks.get(code="lamp")
    for _ in range(2):
        tick_task(task=lamp, text="", actor_name="Birgit", now=now)
    assert FittedPart.objects.get(code="lamp").renewed_on == date(2026, 6, 9)
    assert FittedPart.objects.get(code="lamp").renewals.count() == 1
    with pytest.raises(JobRefused, match="a renewal is history"):
        reopen_task(task=lamp)
    reopen_task(task=pressure)
    assert pressure.done_at is None


def test_a_serial_number_lands_on_its_stage(site: Any, now: Any, technician: Any) -> None:
    job = booked(site, now, technician, "install", install=install_of(site, now))
    start_job(job=job, actor_name="B", now=now)
    task = job.tasks.filter(code="serial", stage__kind="uv").select_related("stage", "job").get()
    with pytest.raises(JobRefused, match="the number is empty"):
        tick_task(task=task, text=" ", actor_name="B", now=now)
    tick_task(task=task, text="UV-4711", actor_name="B", now=now)
    assert site.stages.get(kind="uv").serial == "UV-4711"


def test_opening_puts_back_in_service_and_closing_lays_up(dealer: Any, now: Any, technician: Any) -> None:
    site = factories.SeasonalSiteFactory(dealer=dealer)
    commissioned(site, on=date(2025, 5, 19))
    lay_up(site=site, actor_name="B", now=now)
    for kind, state in (("opening", "in_service"), ("closing", "laid_up")):
        job = start_job(job=booked(site, now, technician, kind), actor_name="B", now=now)
        do_all(job, now)
        finish_job(job=job, actor_name="B", now=now, signed_name="T")
        assert set(site.stages.values_list("state", flat=True)) == {state}


def test_a_technician_sees_their_own_jobs_only(site: Any, now: Any, technician: Any, office_actor: Any) -> None:
    mine = booked(site, now, technician)
    other = factories.StaffFactory(dealer=site.dealer, role="technician")
    theirs = booked(site, now, other)
    off = call_off(job=booked(site, now, technician), reason="storm", actor_name="M", now=now)
    actor = actor_of(technician)
    assert list(jobs_for(actor)) == [mine]
    assert set(jobs_for(office_actor)) == {mine, theirs, off}
    assert list(stops_on(actor, mine.day)) == [mine]  # type: ignore[arg-type]
