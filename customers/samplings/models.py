"""A sampling: one trip with bottles, its draws, and the tests that answered them."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.laboratories.models import Laboratory
from customers.tenancy.models import TenantModel
from customers.water_tests.models import Place, WaterTest


class Purpose(models.TextChoices):
    """What the sampling is for."""

    EVIDENCE = "evidence", _("to know the water")
    PROVE = "prove", _("to prove a new installation")
    CLEAR = "clear", _("clear sample after a remedy")
    AGAIN = "again", _("test again, as due")


class SamplingState(models.TextChoices):
    """Where a sampling stands; it only moves down this list."""

    PLANNED = "planned", _("planned")
    DRAWN = "drawn", _("drawn")
    AT_LAB = "at_lab", _("at the laboratory")
    ANSWERED = "answered", _("results in")
    CALLED_OFF = "called_off", _("called off")


OPEN = (SamplingState.PLANNED, SamplingState.DRAWN, SamplingState.AT_LAB)


class DrawMode(models.TextChoices):
    """How the tap is treated before the bottle."""

    FLUSHED = "flushed", _("flushed")
    FIRST_DRAW = "first_draw", _("first draw")


class Sampling(TenantModel):
    """One trip: the bottles of one household to one laboratory."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="samplings")
    laboratory = models.ForeignKey(Laboratory, on_delete=models.PROTECT, related_name="samplings")
    number = models.PositiveIntegerField()
    purpose = models.CharField(max_length=10, choices=Purpose.choices, default=Purpose.EVIDENCE)
    state = models.CharField(max_length=12, choices=SamplingState.choices, default=SamplingState.PLANNED)
    planned_on = models.DateField()
    planned_at = models.TimeField()
    drawer = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=240, blank=True)
    deliver_by = models.DateTimeField(null=True, blank=True, help_text=_("latest arrival, counted from the draws"))
    received_at = models.DateTimeField(null=True, blank=True)
    results_due_on = models.DateField()
    due_by_hand = models.BooleanField(default=False)
    chased_on = models.DateField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    closed_because = models.CharField(max_length=240, blank=True)
    made_by = models.CharField(max_length=120)
    made_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-planned_on", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "number"], name="sampling_number_once"),
            models.CheckConstraint(
                condition=~Q(state="answered") | Q(answered_at__isnull=False), name="sampling_answered_is_dated"
            ),
            models.CheckConstraint(
                condition=~Q(state="at_lab") | Q(received_at__isnull=False), name="sampling_received_is_dated"
            ),
            models.CheckConstraint(
                condition=~Q(state="called_off") | ~Q(closed_because=""), name="sampling_called_off_says_why"
            ),
        ]
        indexes = [models.Index(fields=["dealer", "state", "results_due_on"], name="sampling_by_due")]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """Its number as printed: S-0012."""
        return f"S-{self.number:04d}"

    @property
    def is_open(self) -> bool:
        """Whether something is still to come."""
        return self.state in OPEN


class SamplingDraw(TenantModel):
    """One tap at one time: its sample number is on every bottle filled there."""

    sampling = models.ForeignKey(Sampling, on_delete=models.CASCADE, related_name="draws")
    position = models.PositiveSmallIntegerField()
    place = models.CharField(max_length=8, choices=Place.choices)
    point = models.CharField(max_length=2, blank=True)
    mode = models.CharField(max_length=10, choices=DrawMode.choices, default=DrawMode.FLUSHED)
    where = models.CharField(max_length=120, blank=True, help_text=_("which tap"))
    analytes = models.JSONField(default=list)
    drawn_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["dealer", "sampling", "position"], name="draw_once")]

    def __str__(self) -> str:
        return self.sample_number

    @property
    def sample_number(self) -> str:
        """What stands on the bottles: S-0012-1."""
        return f"{self.sampling.label}-{self.position}"


class DrawAnswer(TenantModel):
    """A water test that answers a draw, whole or in part: laboratories report microbes first."""

    draw = models.ForeignKey(SamplingDraw, on_delete=models.CASCADE, related_name="answers")
    test = models.ForeignKey(WaterTest, on_delete=models.CASCADE, related_name="answers")

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["dealer", "draw", "test"], name="draw_answer_once")]
