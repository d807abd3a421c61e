"""Writes about jobs. The state only moves forward, by conditional update, so a replay changes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time
from uuid import UUID, uuid4

from django.db import transaction
from django.utils.formats import date_format

from customers.dealers.actions import next_number
from customers.dealers.queries import id_from, today_at
from customers.households.actions import add_log
from customers.households.models import Site
from customers.people.models import Staff
from service.installs.actions import lay_up, put_in_service
from service.installs.models import Install
from service.jobs.checklist import checklist
from service.jobs.models import Job, JobCrew, JobKind, JobPart, JobState, JobTask
from service.jobs.places import parts_to_bring, place_for
from service.jobs.queries import missing


class JobRefused(ValueError):
    """A job cannot be moved as asked; the message says where it stands and what would do."""


class JobUnfinished(JobRefused):
    """A job cannot be finished yet; ``lines`` are the required ones that are not done."""

    def __init__(self, lines: Sequence[JobTask]) -> None:
        self.lines = tuple(lines)
        names = "; ".join(line.text for line in self.lines)
        super().__init__(f"Not done yet: {names}" if names else "Not done yet")


@transaction.atomic
def plan_job(
    *,
    site: Site,
    kind: str,
    what: str,
    actor_name: str,
    now: datetime,
    install: Install | None = None,
    wanted_from: date | None = None,
    hours: float = 2.0,
    note: str = "",
    form_token: UUID | str | None = None,
) -> Job:
    """A planned job with its checklist and the parts to bring, made from the stages that are really there.

    The same ``form_token`` (of a form) twice gives the job made first. Raises ``JobRefused`` for an unknown
    kind, no words for what is to be done, or hours outside 0.25 to 24.
    """
    made_id = id_from(site.dealer, form_token) if form_token else uuid4()
    if form_token and (earlier := Job.objects.filter(public_id=made_id, site=site).first()):
        return earlier
    if kind not in JobKind.values:
        raise JobRefused(f"kind is {kind!r}, accepted is one of {', '.join(JobKind.values)}")
    if not what.strip():
        raise JobRefused("what is empty, accepted is what is to be done, in words")
    if not 0.25 <= hours <= 24:
        raise JobRefused(f"hours is {hours:g}, accepted is 0.25 to 24")
    job = Job.objects.create(
        public_id=made_id,
        dealer=site.dealer,
        site=site,
        install=install,
        number=next_number(dealer=site.dealer, kind="job"),
        kind=kind,
        what=what.strip()[:200],
        note=note,
        wanted_from=wanted_from,
        hours=hours,
        made_at=now,
    )
    build_checklist(job=job, today=wanted_from or today_at(site.dealer, now))
    add_log(site=site, who=actor_name, what=f"Job {job.number} planned: {job.what}", at=now)
    return job


@transaction.atomic
def build_checklist(*, job: Job, today: date) -> Job:
    """Write the job's checklist and parts anew from the stages present. Raises ``JobRefused`` once started."""
    if job.state not in (JobState.PLANNED, JobState.BOOKED):
        raise JobRefused(f"Job {job.number} is {job.get_state_display()}; its checklist stays as it is.")
    job.tasks.all().delete()
    job.bring.all().delete()
    place = place_for(job, today)
    JobTask.objects.bulk_create(
        JobTask(
            dealer=job.dealer,
            job=job,
            position=position,
            kind=line.kind,
            group=line.group[:60],
            text=line.text[:400],
            stage=line.stage,
            part=line.part,
            quantity=line.quantity,
            code=line.code,
            required=line.required,
        )
        for position, line in enumerate(checklist(job.kind, place), start=1)
    )
    JobPart.objects.bulk_create(
        JobPart(
            dealer=job.dealer,
            job=job,
            name=need.name[:120],
            specification=need.specification[:160],
            quantity=need.quantity,
            stage_number=need.stage_number,
            item=need.item,
        )
        for need in parts_to_bring(job, place)
    )
    return job


@transaction.atomic
def book_job(
    *,
    job: Job,
    day: date,
    start_at: time | None,
    staff: Sequence[Staff],
    actor_name: str,
    now: datetime,
) -> Job:
    """Give a planned job a day and people, or move a booked one. The same booking twice changes nothing.

    The checklist is made anew for that day. Double booking is the caller's to show (``queries.clashes``); it
    is a person's decision. Raises
    ``JobRefused`` without people, for people who left or belong elsewhere, and for a job that has begun.
    """
    if day is None:
        raise JobRefused("day is empty, accepted is the day of the visit")
    if not staff:
        raise JobRefused("people is empty, accepted is at least one active member of the staff")
    for person in staff:
        if not person.active or person.dealer_id != job.dealer_id:
            raise JobRefused(f"{person.name} is not active staff here, accepted is an active member of the staff")
    wanted = {person.pk for person in staff}
    same = set(job.crew.values_list("staff_id", flat=True)) == wanted
    if job.state == JobState.BOOKED and same and (job.day, job.start_at) == (day, start_at):
        return job
    moved = Job.objects.filter(pk=job.pk, state__in=[JobState.PLANNED, JobState.BOOKED]).update(
        state=JobState.BOOKED, day=day, start_at=start_at
    )
    same_day = job.day == day
    job.refresh_from_db()
    if not moved:
        raise JobRefused(f"Job {job.number} is {job.get_state_display()}; only a planned or booked one is booked.")
    if not same_day:
        build_checklist(job=job, today=day)
    job.crew.exclude(staff_id__in=wanted).delete()
    for person in staff:
        JobCrew.objects.get_or_create(dealer=job.dealer, job=job, staff=person)
    names = ", ".join(person.name for person in staff)
    add_log(
        site=job.site,
        who=actor_name,
        what=f"Job {job.number} booked for {date_format(day, 'j M Y')}: {names}",
        at=now,
    )
    return job


@transaction.atomic
def start_job(*, job: Job, actor_name: str, now: datetime) -> Job:
    """Begin a booked job. Beginning one that is under way changes nothing. Raises ``JobRefused`` otherwise."""
    moved = Job.objects.filter(pk=job.pk, state=JobState.BOOKED).update(state=JobState.UNDER_WAY, started_at=now)
    job.refresh_from_db()
    if not moved and job.state != JobState.UNDER_WAY:
        raise JobRefused(f"Job {job.number} is {job.get_state_display()}; only a booked one is begun.")
    if moved:
        add_log(site=job.site, who=actor_name, what=f"Job {job.number} begun", at=now)
    return job


@transaction.atomic
def finish_job(*, job: Job, actor_name: str, now: datetime, signed_name: str, signature: str = "") -> Job:
    """Finish a job under way: every required line done and a name signed. A finished one stays as it was.

    An opening puts laid-up stages back in service, a closing lays them up. An installation is finished by
    the milestone of that name, which commissions as well. Raises ``JobUnfinished`` or ``JobRefused``.
    """
    if job.state == JobState.FINISHED:
        return job
    open_lines = missing(list(job.tasks.all()))
    if open_lines:
        raise JobUnfinished(open_lines)
    if not signed_name.strip():
        raise JobRefused("name is empty, accepted is the name of the person who signs for the work")
    moved = Job.objects.filter(pk=job.pk, state=JobState.UNDER_WAY).update(
        state=JobState.FINISHED,
        finished_at=now,
        signed_name=signed_name.strip()[:120],
        signature=signature,
    )
    job.refresh_from_db()
    if not moved:
        raise JobRefused(f"Job {job.number} is {job.get_state_display()}; only one under way is finished.")
    add_log(site=job.site, who=actor_name, what=f"Job {job.number} finished: {job.what}", at=now)
    if job.kind == JobKind.OPENING:
        put_in_service(site=job.site, actor_name=actor_name, now=now)
    elif job.kind == JobKind.CLOSING:
        lay_up(site=job.site, actor_name=actor_name, now=now)
    return job


@transaction.atomic
def call_off(*, job: Job, reason: str, actor_name: str, now: datetime) -> Job:
    """Call off a job that has not begun, with the reason. Calling off twice changes nothing."""
    if job.state == JobState.CALLED_OFF:
        return job
    if not reason.strip():
        raise JobRefused("reason is empty, accepted is why it is called off, in words")
    moved = Job.objects.filter(pk=job.pk, state__in=[JobState.PLANNED, JobState.BOOKED]).update(
        state=JobState.CALLED_OFF
    )
    job.refresh_from_db()
    if not moved:
        raise JobRefused(f"Job {job.number} is {job.get_state_display()}; only one not begun is called off.")
    add_log(site=job.site, who=actor_name, what=f"Job {job.number} called off: {reason.strip()}", at=now)
    return job


@transaction.atomic
def move_job(*, job: Job, day: date, actor_name: str, now: datetime) -> Job:
    """Another day for a job: the day it is booked for, with the same people, or the day it is wanted from.

    Raises ``JobRefused`` for one that has begun.
    """
    if job.state == JobState.BOOKED:
        staff = [row.staff for row in job.crew.select_related("staff")]
        return book_job(job=job, day=day, start_at=job.start_at, staff=staff, actor_name=actor_name, now=now)
    moved = Job.objects.filter(pk=job.pk, state=JobState.PLANNED).update(wanted_from=day)
    job.refresh_from_db()
    if not moved:
        raise JobRefused(f"Job {job.number} is {job.get_state_display()}; only a planned or booked one is moved.")
    return build_checklist(job=job, today=day)
