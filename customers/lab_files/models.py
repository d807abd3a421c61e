"""A laboratory's file as it came, what was answered about it, and the tests it became."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.laboratories.models import Laboratory
from customers.tenancy.models import TenantModel
from customers.water_tests.models import WaterTest


class LabFileState(models.TextChoices):
    """Where a file stands."""

    WAITING = "waiting", _("not yet taken in")
    TAKEN_IN = "taken_in", _("taken in")
    TAKEN_BACK = "taken_back", _("taken back")
    DROPPED = "dropped", _("dropped")


class LabFile(TenantModel):
    """One uploaded file. ``answers``: columns, comma, order of dates, samples to households, rows left out."""

    laboratory = models.ForeignKey(Laboratory, on_delete=models.PROTECT, related_name="files")
    name = models.CharField(max_length=120)
    file = models.FileField(upload_to="lab_files")
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    state = models.CharField(max_length=12, choices=LabFileState.choices, default=LabFileState.WAITING)
    answers = models.JSONField(default=dict, blank=True)
    uploaded_by = models.CharField(max_length=120)
    uploaded_at = models.DateTimeField()
    taken_in_by = models.CharField(max_length=120, blank=True)
    taken_in_at = models.DateTimeField(null=True, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-uploaded_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="taken_in") | Q(taken_in_at__isnull=False), name="lab_file_taken_in_is_dated"
            ),
        ]
        indexes = [models.Index(fields=["dealer", "sha256"], name="lab_file_by_bytes")]

    def __str__(self) -> str:
        return self.name


class LabFileTest(TenantModel):
    """A test that came out of a file; ``sample`` is the laboratory's own name for it."""

    lab_file = models.ForeignKey(LabFile, on_delete=models.CASCADE, related_name="tests")
    test = models.ForeignKey(WaterTest, on_delete=models.CASCADE, related_name="files")
    sample = models.CharField(max_length=80)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["dealer", "lab_file", "test"], name="lab_file_test_once")]
