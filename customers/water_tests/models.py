"""Water tests, their results, and the do-not-drink notice."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel


class Place(models.TextChoices):
    """Where the sample was drawn."""

    RAW = "raw", _("raw water, before treatment")
    BETWEEN = "between", _("between stages")
    ENTRY = "entry", _("treated water, after the last stage")
    TAP = "tap", _("drinking tap")


class SampleKind(models.TextChoices):
    """Who measured."""

    LAB = "lab", _("laboratory")
    FIELD = "field", _("field kit")


class LabReport(TenantModel):
    """The laboratory's own PDF, kept as it came; the household may have it while a test of theirs names it."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="lab_reports")
    name = models.CharField(max_length=120)
    file = models.FileField(upload_to="lab_reports")
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    added_by = models.CharField(max_length=120)
    added_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-added_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "site", "sha256"], name="lab_report_once_a_site"),
        ]

    def __str__(self) -> str:
        return self.name


class WaterTest(TenantModel):
    """One sample and its results. ``point`` is the letter of the gap in the water path, when known."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="water_tests")
    kind = models.CharField(max_length=8, choices=SampleKind.choices)
    place = models.CharField(max_length=8, choices=Place.choices)
    point = models.CharField(max_length=2, blank=True)
    sampled_on = models.DateField()
    sampled_by = models.CharField(max_length=120, blank=True)
    laboratory = models.CharField(max_length=120, blank=True)
    report_number = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=240, blank=True)
    proves_install = models.BooleanField(default=False, help_text=_("sample taken to prove an installation"))
    entered_by = models.CharField(max_length=120)
    entered_at = models.DateTimeField()
    form_token = models.UUIDField(null=True, blank=True, help_text=_("one form, one test"))
    report = models.ForeignKey(LabReport, on_delete=models.SET_NULL, null=True, blank=True, related_name="tests")

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-sampled_on", "-pk"]
        indexes = [models.Index(fields=["dealer", "site", "-sampled_on"], name="water_test_by_site")]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "form_token"], name="water_test_form_once"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.sampled_on}"


class Qualifier(models.TextChoices):
    """What stands before the number on the paper."""

    EQUAL = "equal", "="
    BELOW = "below", "<"
    ABOVE = "above", ">"
    ABSENT = "absent", _("absent")
    PRESENT = "present", _("present")


_ONE_RANGE = (
    (Q(value__isnull=True))
    | (Q(analyte="ph") & Q(value__gte=0) & Q(value__lte=14))
    | (Q(analyte="uvt") & Q(value__gt=0) & Q(value__lte=100))
    | (Q(analyte="temperature") & Q(value__gte=-2) & Q(value__lte=100))
    | (~Q(analyte__in=["ph", "uvt", "temperature"]) & Q(value__gte=0))
)


class Result(TenantModel):
    """One line of a report: the text as typed, and what it means in canonical units.

    ``value`` is null for "absent", "present" and for "ND" without a stated limit; never guessed.
    """

    test = models.ForeignKey(WaterTest, on_delete=models.CASCADE, related_name="results")
    analyte = models.CharField(max_length=32)
    text = models.CharField(max_length=40)
    unit_text = models.CharField(max_length=40, blank=True)
    qualifier = models.CharField(max_length=8, choices=Qualifier.choices)
    value = models.FloatField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "test", "analyte"], name="result_once"),
            models.CheckConstraint(condition=_ONE_RANGE, name="result_possible"),
        ]


class DrinkNotice(TenantModel):
    """Do not drink: opened by a positive coliform result, lifted by two clear samples in a row after the remedy."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="notices")
    opened_on = models.DateField()
    cause = models.CharField(max_length=200)
    because = models.ForeignKey(WaterTest, on_delete=models.PROTECT, related_name="+")
    remedy_on = models.DateField(null=True, blank=True)
    clear_samples = models.PositiveSmallIntegerField(default=0)
    lifted_on = models.DateField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-opened_on", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["dealer", "site"], condition=Q(lifted_on__isnull=True), name="one_open_notice_a_site"
            ),
            models.CheckConstraint(
                condition=Q(lifted_on__isnull=True) | Q(clear_samples__gte=2),
                name="notice_lifted_by_two_clear_samples",
            ),
        ]
