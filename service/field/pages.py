"""What the tablet's pages show of a job: steps, the open lines of one, where one stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.urls import reverse

from customers.water_tests.bar import notice_bar
from service.installs.water_path import path_of_install, path_of_site
from service.jobs.checklist import FLOW_TEST
from service.jobs.forms import TaskForm
from service.jobs.models import Job, JobKind, JobState, JobTask
from sizing.drawing.values import WaterPath

TANK_GROUPS = (FLOW_TEST, "leak_pressure", "isolated", "precharge")


@dataclass(frozen=True)
class Step:
    """One group of the checklist in the list on the left."""

    number: int
    name: str
    tasks: tuple[JobTask, ...]
    href: str
    current: bool

    @property
    def done(self) -> int:
        """How many lines are done."""
        return sum(task.done_at is not None for task in self.tasks)

    @property
    def left(self) -> int:
        """How many lines that must be done are not."""
        return sum(task.required and task.done_at is None for task in self.tasks)

    @property
    def ready(self) -> bool:
        """Whether every line that must be done is."""
        return self.left == 0

    @property
    def last_at(self) -> datetime | None:
        """When its last line was done."""
        return max((task.done_at for task in self.tasks if task.done_at), default=None)


@dataclass(frozen=True)
class Entry:
    """One line with the form it takes and the page that takes it."""

    task: JobTask
    form: TaskForm
    href: str
    flow: bool


def steps_of(job: Job, tasks: Sequence[JobTask], wanted: int | None) -> list[Step]:
    """The groups in order; the current one is the one asked for, else the first with something to do."""
    groups: dict[str, list[JobTask]] = {}
    for task in tasks:
        groups.setdefault(task.group, []).append(task)
    page = reverse("field-job", args=[job.public_id])
    steps = [
        Step(number, name, tuple(lines), f"{page}?step={number}", current=False)
        for number, (name, lines) in enumerate(groups.items(), start=1)
    ]
    first = next((step.number for step in steps if not step.ready), len(steps))
    chosen = wanted if wanted is not None and 1 <= wanted <= len(steps) else first
    return [Step(step.number, step.name, step.tasks, step.href, step.number == chosen) for step in steps]


def entries_of(step: Step, system: str) -> list[Entry]:
    """The lines of a step with their forms."""
    return [
        Entry(
            task,
            TaskForm(task=task, system=system),
            reverse("field-flow" if task.code == FLOW_TEST else "field-task", args=[task.public_id]),
            task.code == FLOW_TEST,
        )
        for task in step.tasks
    ]


def path_of_job(job: Job, today: date) -> WaterPath:
    """The path the job is about: the new train at an installation, else what stands there."""
    if job.kind == JobKind.INSTALL and job.install is not None:
        return path_of_install(job.install, today)
    return path_of_site(job.site, today)


def here_of(path: WaterPath, task: JobTask | None, stages: Sequence[int]) -> int | None:
    """The number in the path where a line is done; 0 at the tank, ``None`` where it is no one place."""
    if task is None:
        return None
    if task.code in TANK_GROUPS:
        return 0
    if task.stage_id in stages:
        number = stages.index(task.stage_id) + 1
        return number if number <= len(path.stages) else None
    return None


def stage_order(job: Job) -> list[int]:
    """Primary keys of the stages in the order they are numbered, for ``here_of``."""
    rows = (
        job.install.stages.all()
        if job.kind == JobKind.INSTALL and job.install is not None
        else job.site.stages.exclude(state__in=["retired", "fitted"])
    )
    ordered = sorted(rows, key=lambda stage: (stage.at != "main", stage.position))
    return [stage.pk for stage in ordered]


def frame_of(job: Job, steps: Sequence[Step], task: JobTask | None, today: date) -> dict[str, Any]:
    """Context every page of a job shares: steps, notice, path and place."""
    path = path_of_job(job, today)
    current = next((step for step in steps if step.current), None)
    at = task
    if at is None and current is not None:
        at = next((line for line in current.tasks if line.done_at is None), current.tasks[0])
    return {
        "job": job,
        "site": job.site,
        "steps": steps,
        "path": path,
        "here": here_of(path, at, stage_order(job)),
        "notice": notice_bar(job.site),
        "under_way": job.state == JobState.UNDER_WAY,
        "may_finish": all(step.ready for step in steps),
        "left": sum(step.left for step in steps),
    }
