"""Work: jobs and their lines, and the visits that fall due."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from customers.dealers.queries import today_at
from service.api.base import ApiView, Asked, Refused, page_of, query, read, wrong
from service.api.shapes import PageQuery, described, page_shape
from service.jobs.actions import JobRefused, JobUnfinished, start_job
from service.jobs.entries import tick_task
from service.jobs.models import Job, JobPart, JobState, JobTask, TaskKind
from service.jobs.queries import job_for, jobs_for, task_for
from service.milestones.actions import finish_job
from service.upkeep.queries import due_visits
from sizing.engine.display import QUANTITIES, unit_of

MOST_DAYS = 400


class JobQuery(PageQuery):
    """Which jobs."""

    state = serializers.ChoiceField(JobState.choices, required=False)


class TaskShape(serializers.ModelSerializer):
    """One line of a checklist."""

    id = serializers.UUIDField(source="public_id")
    unit = serializers.SerializerMethodField(help_text="of value; empty where the line takes no reading")

    class Meta:
        model = JobTask
        fields = (
            "id",
            "position",
            "kind",
            "group",
            "text",
            "required",
            "quantity",
            "unit",
            "value",
            "text_value",
            "done_at",
            "done_by",
        )

    def get_unit(self, task: JobTask) -> str:
        """The canonical unit of a reading."""
        return unit_of_task(task)


def unit_of_task(task: JobTask) -> str:
    """The canonical unit of a line's reading."""
    return unit_of(task.quantity, "metric") if task.quantity in QUANTITIES else ""


class BringShape(serializers.ModelSerializer):
    """A part to bring."""

    class Meta:
        model = JobPart
        fields = ("name", "specification", "quantity", "stage_number")


class JobRow(serializers.ModelSerializer):
    """A job in a list."""

    id = serializers.UUIDField(source="public_id")
    household = serializers.UUIDField(source="site.public_id")
    place = serializers.CharField(source="site.name")
    crew = serializers.SerializerMethodField()

    class Meta:
        model = Job
        fields = (
            "id",
            "household",
            "place",
            "number",
            "kind",
            "state",
            "what",
            "wanted_from",
            "day",
            "start_at",
            "hours",
            "crew",
        )

    def get_crew(self, job: Job) -> list[str]:
        """Who goes."""
        return [one.staff.name for one in job.crew.all()]


class JobShape(JobRow):
    """A job with its checklist and what to bring."""

    tasks = TaskShape(many=True)
    bring = BringShape(many=True)

    class Meta(JobRow.Meta):
        fields = (*JobRow.Meta.fields, "note", "started_at", "finished_at", "signed_name", "tasks", "bring")  # type: ignore[assignment]


class JobList(ApiView):
    """Jobs the actor may see: all at the desk, their own for a technician."""

    access = ("field.read", "field.write")

    @described(reply=page_shape(JobRow), asked=JobQuery, one=False, name="jobs_list")
    def get(self, request: Request) -> Response:
        """Jobs by day."""
        asked = query(JobQuery, request)
        rows = jobs_for(self.actor).order_by("day", "start_at", "pk")
        return page_of(rows.filter(state=asked["state"]) if "state" in asked else rows, asked, JobRow)


class JobDetail(ApiView):
    """One job."""

    access = ("field.read", "field.write")

    @described(reply=JobShape)
    def get(self, request: Request, job_id: UUID) -> Response:
        """The job, its checklist and what to bring."""
        return Response(JobShape(job_for(self.actor, job_id)).data)


class Nothing(Asked):
    """No input."""


class StartJob(ApiView):
    """Begin a job."""

    access = ("field.read", "field.write")

    @described(reply=JobShape, body=Nothing)
    def post(self, request: Request, job_id: UUID) -> Response:
        """Begin a booked job; beginning it again changes nothing."""
        job = job_for(self.actor, job_id)
        read(Nothing, request.data)
        try:
            start_job(job=job, actor_name=self.actor.name, now=timezone.now())
        except JobRefused as refused:
            raise _told(refused, "state", job.state) from None
        return Response(JobShape(job_for(self.actor, job_id)).data)


class FinishIn(Asked):
    """Who signs for the work."""

    signed_name = serializers.CharField(max_length=120)
    signature = serializers.RegexField(
        r"^[ML0-9. -]*$",
        max_length=20000,
        required=False,
        allow_blank=True,
        help_text="SVG path of a drawn signature",
    )


class FinishJob(ApiView):
    """Finish a job."""

    access = ("field.read", "field.write")

    @described(reply=JobShape, body=FinishIn)
    def post(self, request: Request, job_id: UUID) -> Response:
        """Finish a job under way, with all that follows; 422 names each required line that is still open."""
        job = job_for(self.actor, job_id)
        sent = read(FinishIn, request.data)
        try:
            finish_job(job=job, actor_name=self.actor.name, now=timezone.now(), **sent)
        except JobUnfinished as refused:
            errors = [wrong("tasks", line.public_id, f"not done yet: {line.text}") for line in refused.lines]
            raise Refused("unfinished", "The job stays open.", errors) from None
        except JobRefused as refused:
            raise _told(refused, "state", job.state) from None
        return Response(JobShape(job_for(self.actor, job_id)).data)


class TaskIn(Asked):
    """What a line takes: nothing, a reading with its unit, or a number of a plate or a remark in words."""

    value = serializers.FloatField(required=False, allow_null=True)
    unit = serializers.CharField(max_length=20, required=False, allow_blank=True, default="")
    text = serializers.CharField(max_length=120, required=False, allow_blank=True, default="")


class Task(ApiView):
    """One line of a checklist."""

    access = ("field.read", "field.write")

    @described(reply=TaskShape)
    def get(self, request: Request, task_id: UUID) -> Response:
        """The line as it stands."""
        return Response(TaskShape(task_for(self.actor, task_id)).data)

    @described(reply=TaskShape, body=TaskIn)
    def post(self, request: Request, task_id: UUID) -> Response:
        """Fill in the line; the same entry again changes nothing."""
        task = task_for(self.actor, task_id)
        sent = read(TaskIn, request.data)
        unit = unit_of_task(task)
        if task.kind == TaskKind.READING and sent.get("value") is not None and sent["unit"] != unit:
            message = f"accepted is the unit of this line, {unit or 'none'}"
            raise Refused("invalid", "Nothing was saved.", [wrong("unit", sent["unit"], message)])
        try:
            tick_task(
                task=task,
                actor_name=self.actor.name,
                now=timezone.now(),
                value=sent.get("value"),
                text=sent["text"],
            )
        except JobRefused as refused:
            raise _told(refused, "value", sent.get("value")) from None
        return Response(TaskShape(task).data)


def _told(refused: JobRefused, field: str, value: Any) -> Refused:
    return Refused("refused", str(refused), [wrong(field, value, refused)])


class VisitQuery(PageQuery):
    """How far ahead."""

    until = serializers.DateField(required=False, help_text="to this day; four weeks ahead if left out")


class VisitShape(serializers.Serializer):
    """One trip to one household."""

    household = serializers.UUIDField(source="site.public_id")
    place = serializers.CharField(source="site.name")
    on = serializers.DateField(help_text="the day it is due")
    booked_on = serializers.DateField(allow_null=True)
    reason = serializers.CharField(help_text="opening, closing or service")
    words = serializers.CharField(allow_blank=True)


class DueVisits(ApiView):
    """Visits that fall due, overdue ones included."""

    access = ("job.read", "job.read")

    @described(reply=page_shape(VisitShape), asked=VisitQuery, one=False)
    def get(self, request: Request) -> Response:
        """One entry for each household and trip, earliest first."""
        asked = query(VisitQuery, request)
        today = today_at(self.actor.dealer, timezone.now())
        until = asked.get("until") or today + timedelta(weeks=4)
        if not today <= until <= today + timedelta(days=MOST_DAYS):
            message = f"accepted is a day from {today} to {today + timedelta(days=MOST_DAYS)}"
            raise Refused("invalid", message, [wrong("until", until, message)])
        return page_of(due_visits(self.actor.dealer, today, until), asked, VisitShape)
