"""Filling in a job's checklist. Each entry is idempotent: the same value again changes nothing."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any

from django.db import transaction

from customers.dealers.queries import today_at
from customers.flow_tests.actions import record_flow_test
from customers.flow_tests.models import FlowTest
from service.installs.actions import note_serial, renew_part
from service.jobs.actions import JobRefused
from service.jobs.models import JobState, JobTask, TaskKind

HIGHEST = {"pressure": 1500.0, "flow": 1000.0, "temperature": 100.0, "volume": 100000.0}  # beyond any house
LOWEST = {"temperature": -2.0}


@transaction.atomic
def tick_task(
    *,
    task: JobTask,
    actor_name: str,
    now: datetime,
    value: float | None = None,
    text: str = "",
) -> JobTask:
    """Mark a line done with what it takes: nothing, a reading (canonical units), a number, a renewal.

    The same entry again changes nothing; another value replaces the reading and its time. A renewal starts
    the part's life again on the dealer's day. Raises ``JobRefused`` unless the job is under way, or for a
    reading that is missing or impossible, or an empty serial number.
    """
    if task.job.state != JobState.UNDER_WAY:
        raise JobRefused(
            f"Job {task.job.number} is {task.job.get_state_display()}; lines are filled in while it is under way."
        )
    text = text.strip()[:120]
    if task.kind == TaskKind.READING:
        value = _checked(task, value)
    elif task.kind == TaskKind.SERIAL and not text:
        raise JobRefused(f"{task.text}: the number is empty, accepted is the number as it stands on the plate")
    if task.done_at is not None and (task.value, task.text_value) == (value, text):
        return task
    if task.kind == TaskKind.SERIAL and task.stage is not None:
        note_serial(stage=task.stage, serial=text)
    if task.kind == TaskKind.RENEW and task.part is not None and task.done_at is None:
        renew_part(part=task.part, on=today_at(task.dealer, now), actor_name=actor_name, note=text)
    task.value, task.text_value, task.done_at, task.done_by = value, text, now, actor_name
    task.save(update_fields=["value", "text_value", "done_at", "done_by"])
    return task


def _checked(task: JobTask, value: float | None) -> float:
    low, high = LOWEST.get(task.quantity, 0.0), HIGHEST.get(task.quantity, 1e6)
    if value is None or not math.isfinite(value):
        raise JobRefused(f"{task.text}: {value} typed, accepted is a number")
    if not low <= value <= high:
        raise JobRefused(f"{task.text}: {value:g} typed, accepted is {low:g} to {high:g}")
    return value


@transaction.atomic
def reopen_task(*, task: JobTask) -> JobTask:
    """Take a tick, reading or number back. Raises ``JobRefused`` for a renewal, which is history, or a job done."""
    if task.kind == TaskKind.RENEW:
        raise JobRefused(f"{task.text}: a renewal is history and stays; note what was wrong in words.")
    if task.job.state != JobState.UNDER_WAY:
        raise JobRefused(f"Job {task.job.number} is {task.job.get_state_display()}; its lines stay as they are.")
    if task.done_at is not None:
        task.value, task.text_value, task.done_at, task.done_by = None, "", None, ""
        task.save(update_fields=["value", "text_value", "done_at", "done_by"])
    return task


@transaction.atomic
def enter_flow_test(*, task: JobTask, actor_name: str, now: datetime, **test: Any) -> FlowTest:
    """Keep a flow test of the visit (the flow tests' own fields) and put its flow on the line: both or neither.

    Raises ``FlowRefused`` naming each field, or ``JobRefused``.
    """
    kept = record_flow_test(site=task.job.site, actor_name=actor_name, now=now, **test)
    tick_task(task=task, value=kept.flow_l_min, actor_name=actor_name, now=now)
    return kept
