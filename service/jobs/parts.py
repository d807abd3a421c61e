"""What the coming weeks need from the shelf, by open specification."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db.models import Q

from customers.dealers.models import Dealer
from service.jobs.models import Job, JobPart, JobState
from service.upkeep.queries import due_visits


@dataclass
class PartNeed:
    """One thing to have: how many for jobs, how many more for visits due but not planned, and for whom."""

    name: str
    specification: str
    for_jobs: Decimal = Decimal(0)
    for_due: Decimal = Decimal(0)
    jobs: list[Job] = field(default_factory=list)
    households: list[str] = field(default_factory=list)
    first_on: date | None = None

    @property
    def total(self) -> Decimal:
        """How many in all."""
        return self.for_jobs + self.for_due


def parts_needed(dealer: Dealer, today: date, until: date) -> list[PartNeed]:
    """Parts for every open job up to ``until`` (and those without a day), and for visits due with no job.

    The same specification is one line, whatever it is called in whichever stage. First needed first.
    """
    found: dict[tuple[str, str], PartNeed] = {}
    rows = JobPart.objects.filter(
        Q(job__day__lte=until)
        | Q(job__day=None, job__wanted_from__lte=until)
        | Q(job__day=None, job__wanted_from=None),
        job__state__in=[JobState.PLANNED, JobState.BOOKED],
    ).select_related("job__site")
    with_job: set[int] = set()
    for row in rows.order_by("job__day", "pk"):
        need = _line(found, row.name, row.specification)
        need.for_jobs += row.quantity
        if row.job not in need.jobs:
            need.jobs.append(row.job)
        _earlier(need, row.job.day or row.job.wanted_from or today)
        with_job.add(row.job.site_id)
    for visit in due_visits(dealer, today, until):
        if visit.booked_on is not None or visit.site.pk in with_job:
            continue
        for part in visit.parts:
            if not part.specification and part.life_kind == "condition":
                continue
            need = _line(found, part.name, part.specification)
            need.for_due += 1
            if visit.site.name not in need.households:
                need.households.append(visit.site.name)
            _earlier(need, max(visit.on, today))
    return sorted(found.values(), key=lambda need: (need.first_on or until, need.name, need.specification))


def _line(found: dict[tuple[str, str], PartNeed], name: str, specification: str) -> PartNeed:
    key = ("", specification) if specification else (name, "")
    return found.setdefault(key, PartNeed(name, specification))


def _earlier(need: PartNeed, day: date) -> None:
    need.first_on = day if need.first_on is None else min(need.first_on, day)
