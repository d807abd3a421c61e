"""Jobs: who goes where on which day, what to do there, and what was read."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.people.models import Staff
from customers.tenancy.models import TenantModel
from service.installs.models import FittedPart, Install, InstalledStage


class JobKind(models.TextChoices):
    """What the visit is for."""

    SURVEY = "survey", _("survey and tests")
    INSTALL = "install", _("installation")
    SERVICE = "service", _("service")
    OPENING = "opening", _("opening")
    CLOSING = "closing", _("closing")
    REMEDY = "remedy", _("remedy after a bad result")
    SAMPLE = "sample", _("sampling")


class JobState(models.TextChoices):
    """Where a job stands."""

    PLANNED = "planned", _("planned")
    BOOKED = "booked", _("booked")
    UNDER_WAY = "under_way", _("under way")
    FINISHED = "finished", _("finished")
    CALLED_OFF = "called_off", _("called off")


class Job(TenantModel):
    """A visit to a site."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="jobs")
    install = models.ForeignKey(Install, on_delete=models.PROTECT, related_name="jobs", null=True, blank=True)
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=10, choices=JobKind.choices)
    state = models.CharField(max_length=12, choices=JobState.choices, default=JobState.PLANNED)
    what = models.CharField(max_length=200)
    note = models.TextField(blank=True, max_length=2000)
    wanted_from = models.DateField(null=True, blank=True)
    day = models.DateField(null=True, blank=True)
    start_at = models.TimeField(null=True, blank=True)
    hours = models.FloatField(default=2.0)
    made_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    signed_name = models.CharField(max_length=120, blank=True)
    signature = models.TextField(blank=True, max_length=20000)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["day", "start_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "number"], name="job_number_once"),
            models.CheckConstraint(
                condition=Q(state__in=["planned", "called_off"]) | Q(day__isnull=False),
                name="job_booked_has_a_day",
            ),
            models.CheckConstraint(
                condition=~Q(state="finished") | Q(finished_at__isnull=False), name="job_finished_is_dated"
            ),
        ]
        indexes = [models.Index(fields=["dealer", "day"], name="job_by_day")]

    def __str__(self) -> str:
        return self.what


class JobCrew(TenantModel):
    """A staff member on a job."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="crew")
    staff = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [models.UniqueConstraint(fields=["dealer", "job", "staff"], name="job_crew_once")]


class TaskKind(models.TextChoices):
    """What a checklist line takes."""

    TICK = "tick", _("tick")
    READING = "reading", _("reading")
    SERIAL = "serial", _("serial number")
    RENEW = "renew", _("part renewed")


class JobTask(TenantModel):
    """One line of a job's checklist; done when it has a time."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="tasks")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=TaskKind.choices, default=TaskKind.TICK)
    group = models.CharField(max_length=60)
    text = models.CharField(max_length=400)
    stage = models.ForeignKey(InstalledStage, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    part = models.ForeignKey(FittedPart, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    quantity = models.CharField(
        max_length=20, blank=True, help_text=_("physical quantity of a reading: flow, pressure, ...")
    )
    code = models.CharField(max_length=32, blank=True)
    required = models.BooleanField(default=True)
    value = models.FloatField(null=True, blank=True, help_text=_("a reading, canonical units"))
    text_value = models.CharField(max_length=120, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.CharField(max_length=120, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["dealer", "job", "position"], name="job_task_once")]


class JobPart(TenantModel):
    """A part to bring: by open specification, so it can be bought anywhere."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="bring")
    name = models.CharField(max_length=120)
    specification = models.CharField(max_length=160, blank=True)
    quantity = models.DecimalField(max_digits=8, decimal_places=2, default=1)
    stage_number = models.PositiveSmallIntegerField(null=True, blank=True)
    item = models.ForeignKey(
        "sizing.CatalogueItem", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["pk"]
