"""The season board: weeks across, openings and closings against the days the crew has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Prefetch, Q

from customers.dealers.models import Dealer
from customers.people.models import Role, Staff
from service.jobs.models import Job, JobCrew, JobKind, JobState
from service.upkeep.queries import due_visits
from service.upkeep.visits import WINDOW_DAYS, Visit

WEEKS = 8
DAYS_A_WEEK, HOURS_A_DAY = 5, 8.0
HOURS_A_VISIT = 2.0  # a due visit nobody has planned yet
ROWS = ("opening", "closing", "other")


@dataclass
class Week:
    """One column: jobs and due visits by row, hours asked for, hours the crew has."""

    starts: date
    jobs: dict[str, list[Job]] = field(default_factory=lambda: {row: [] for row in ROWS})
    visits: dict[str, list[Visit]] = field(default_factory=lambda: {row: [] for row in ROWS})
    hours_there: float = 0.0

    @property
    def ends(self) -> date:
        """Its Sunday."""
        return self.starts + timedelta(days=6)

    @property
    def hours_asked(self) -> float:
        """Hours of planned and booked jobs, and of due visits as usual."""
        due = sum(len(found) for found in self.visits.values()) * HOURS_A_VISIT
        return due + sum(job.hours * max(len(job.crew.all()), 1) for found in self.jobs.values() for job in found)

    @property
    def days_asked(self) -> float:
        """Crew days asked for."""
        return self.hours_asked / HOURS_A_DAY

    @property
    def days_there(self) -> float:
        """Crew days the technicians have."""
        return self.hours_there / HOURS_A_DAY

    @property
    def full(self) -> bool:
        """Whether more is asked than is there."""
        return self.hours_asked > self.hours_there

    def cells(self) -> list[tuple[str, list[Job], list[Visit]]]:
        """Row by row."""
        return [(row, self.jobs[row], self.visits[row]) for row in ROWS]


def _row(kind: str) -> str:
    return kind if kind in ("opening", "closing") else "other"


def board(dealer: Dealer, today: date, weeks: int = WEEKS) -> list[Week]:
    """The weeks from this one on. A due visit shows where no planned or booked job of its household does it."""
    monday = today - timedelta(days=today.weekday())
    technicians = Staff.objects.filter(active=True, role=Role.TECHNICIAN).count()
    found = [
        Week(monday + timedelta(weeks=n), hours_there=technicians * DAYS_A_WEEK * HOURS_A_DAY) for n in range(weeks)
    ]
    jobs = open_jobs(monday, found[-1].ends)
    for job in jobs:
        at = week_of(job.day or job.wanted_from, monday, weeks)
        if at is not None:
            found[at].jobs[_row(job.kind)].append(job)
    for visit in due_visits(dealer, today, found[-1].ends):
        at = week_of(max(visit.on, today), monday, weeks)
        if at is not None and visit.booked_on is None and not _planned(visit, jobs):
            found[at].visits[_row(visit.reason)].append(visit)
    return found


def open_jobs(first: date, last: date) -> list[Job]:
    """Jobs planned, booked or under way between two days, by day."""
    inside = Q(day__range=(first, last)) | Q(day=None, wanted_from__lte=last) | Q(day=None, wanted_from=None)
    rows = (
        Job.objects.filter(inside, state__in=[JobState.PLANNED, JobState.BOOKED, JobState.UNDER_WAY])
        .select_related("site__customer")
        .prefetch_related(Prefetch("crew", JobCrew.objects.select_related("staff")))
        .order_by("day", "wanted_from", "start_at", "pk")
    )
    return list(rows)


def week_of(day: date | None, monday: date, weeks: int) -> int | None:
    """Which week a day falls in: earlier days count to the first one, later ones to none."""
    if day is None:
        return 0
    at = (day - monday).days // 7
    return max(at, 0) if at < weeks else None


def _planned(visit: Visit, jobs: Sequence[Job]) -> bool:
    for job in jobs:
        if job.site_id != visit.site.pk or job.kind == JobKind.INSTALL:
            continue
        day = job.day or job.wanted_from
        if day is None or abs((day - visit.on).days) <= WINDOW_DAYS or visit.on < day:
            return True
    return False
