"""Reading jobs: who may see which, a technician's stops, clashes, and the parts to bring."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from customers.people.actors import Actor
from customers.people.models import Role, Staff
from customers.people.permissions import DESK
from customers.tenancy.getters import get_public
from customers.water_tests.models import DrinkNotice
from service.jobs.models import Job, JobCrew, JobState, JobTask

OPEN = (JobState.PLANNED, JobState.BOOKED, JobState.UNDER_WAY)


def jobs_for(actor: Actor) -> QuerySet[Job]:
    """Jobs the actor may see: all at the desk, their own (not called off) for a technician, none for others."""
    rows = Job.objects.select_related("site__customer", "site__dealer", "install").prefetch_related(
        Prefetch("crew", JobCrew.objects.select_related("staff"))
    )
    if actor.role in DESK:
        return rows
    if actor.staff is None:
        return rows.none()
    mine = JobCrew.objects.filter(staff=actor.staff).values("job")
    return rows.filter(pk__in=mine).exclude(state=JobState.CALLED_OFF)


def job_for(actor: Actor, public_id: UUID | str) -> Job:
    """One job; ``Http404`` for a stranger's, a missing and a malformed id alike."""
    job: Job = get_public(jobs_for(actor), public_id)
    return job


def task_for(actor: Actor, public_id: UUID | str) -> JobTask:
    """One line of a job the actor may see."""
    rows = JobTask.objects.filter(job__in=jobs_for(actor)).select_related(
        "job__site__dealer", "job__site__customer", "stage", "part__stage__site__dealer"
    )
    task: JobTask = get_public(rows, public_id)
    return task


def stops_on(actor: Actor, day: date) -> list[Job]:
    """The actor's own stops of a day, in order, and what they left under way on an earlier one."""
    mine = _stops(actor)
    rows = mine.filter(Q(day=day) | Q(day__lt=day, state=JobState.UNDER_WAY))
    return list(rows.order_by("day", "start_at", "pk"))


def stops_after(actor: Actor, day: date, days: int = 7) -> list[Job]:
    """The actor's own stops of the days after ``day``."""
    rows = _stops(actor).filter(day__gt=day, day__lte=day + timedelta(days=days))
    return list(rows.order_by("day", "start_at", "pk"))


def _stops(actor: Actor) -> QuerySet[Job]:
    own = JobCrew.objects.filter(staff=actor.staff).values("job")
    under = DrinkNotice.objects.filter(site=OuterRef("site"), lifted_on=None)
    rows = jobs_for(actor).filter(pk__in=own).exclude(state=JobState.CALLED_OFF)
    return rows.annotate(do_not_drink=Exists(under))


def crew_choices() -> QuerySet[Staff]:
    """Who can be sent: active staff, technicians first."""
    technicians = Staff.objects.filter(active=True, role=Role.TECHNICIAN).order_by("name")
    others = Staff.objects.filter(active=True).exclude(role=Role.TECHNICIAN).order_by("name")
    order = [*technicians.values_list("pk", flat=True), *others.values_list("pk", flat=True)]
    return Staff.objects.filter(pk__in=order).order_by("-role", "name")


def clashes(staff: Iterable[Staff], day: date, start_at: time | None, hours: float, job: Job) -> list[Job]:
    """Other open jobs of the same people that day whose hours overlap; without a time, the whole day."""
    rows = (
        Job.objects.filter(crew__staff__in=list(staff), day=day, state__in=OPEN)
        .exclude(pk=job.pk)
        .select_related("site")
        .prefetch_related(Prefetch("crew", JobCrew.objects.select_related("staff")))
        .distinct()
    )
    return [row for row in rows if _overlap(start_at, hours, row.start_at, row.hours)]


def _overlap(start: time | None, hours: float, other: time | None, other_hours: float) -> bool:
    if start is None or other is None:
        return True
    base = date(2000, 1, 1)
    begin, begin_other = datetime.combine(base, start), datetime.combine(base, other)
    return begin < begin_other + timedelta(hours=other_hours) and begin_other < begin + timedelta(hours=hours)


def missing(tasks: Sequence[JobTask]) -> list[JobTask]:
    """Required lines that are not done."""
    return [task for task in tasks if task.required and task.done_at is None]
