"""Installed stages, their wearing parts, and what was measured at commissioning."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel
from sizing.quotes.models import Quote


class StageState(models.TextChoices):
    """Where an installed stage stands."""

    FITTED = "fitted", _("fitted")
    IN_SERVICE = "in_service", _("in service")
    LAID_UP = "laid_up", _("laid up")
    RETIRED = "retired", _("retired")


class Install(TenantModel):
    """One installation: from an accepted quote to the laboratory's word."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="installs")
    quote = models.OneToOneField(Quote, on_delete=models.PROTECT, related_name="install", null=True, blank=True)
    number = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    commissioned_on = models.DateField(null=True, blank=True)
    proven_on = models.DateField(
        null=True, blank=True, help_text=_("sampling day of the laboratory test that proved it")
    )

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "number"], name="install_number_once"),
            models.CheckConstraint(
                condition=Q(proven_on__isnull=True) | Q(commissioned_on__isnull=False),
                name="install_proven_after_commissioned",
            ),
        ]

    @property
    def label(self) -> str:
        """The number as printed: I-0031."""
        return f"I-{self.number:04d}"


class InstalledStage(TenantModel):
    """A stage on the wall. ``planned`` holds the engine's PlacedStage it was sized as.

    One that was there before the dealer came has ``found_on`` instead, and ``unknowns``: what nobody has read off it
    yet, in words.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="stages")
    install = models.ForeignKey(Install, on_delete=models.PROTECT, related_name="stages", null=True, blank=True)
    item = models.ForeignKey(
        "sizing.CatalogueItem", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=16)
    name = models.CharField(max_length=120)
    size_label = models.CharField(max_length=60, blank=True)
    at = models.CharField(max_length=8, default="main")
    count = models.PositiveSmallIntegerField(default=1)
    serial = models.CharField(max_length=60, blank=True)
    state = models.CharField(max_length=12, choices=StageState.choices, default=StageState.FITTED)
    fitted_on = models.DateField(null=True, blank=True)
    planned = models.JSONField(default=dict, blank=True)
    found_on = models.DateField(null=True, blank=True)
    unknowns = models.JSONField(default=list, blank=True)
    note = models.CharField(max_length=240, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["dealer", "site", "position"],
                condition=~Q(state="retired"),
                name="installed_stage_place_once",
            ),
        ]
        indexes = [models.Index(fields=["dealer", "serial"], name="stage_by_serial")]

    def __str__(self) -> str:
        return self.name


class FittedPart(TenantModel):
    """A wearing part in an installed stage, with its life rule and when it next falls due."""

    stage = models.ForeignKey(InstalledStage, on_delete=models.CASCADE, related_name="parts")
    code = models.CharField(max_length=24)
    name = models.CharField(max_length=80)
    specification = models.CharField(max_length=120, blank=True)
    life_kind = models.CharField(max_length=12)
    life_amount = models.FloatField()
    cap_months = models.FloatField(null=True, blank=True)
    life_source = models.CharField(max_length=160, default="common practice")
    minutes = models.FloatField(default=20)
    price = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    by_customer = models.BooleanField(default=False)
    renewed_on = models.DateField(null=True, blank=True, help_text=_("the anchor its life is counted from"))
    next_due_on = models.DateField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "stage", "code"], name="fitted_part_once"),
            models.CheckConstraint(condition=Q(life_amount__gt=0), name="fitted_part_life_positive"),
        ]
        indexes = [models.Index(fields=["dealer", "next_due_on"], name="part_by_due_date")]


class PartRenewal(TenantModel):
    """One renewal (or look) of a part: history that is only added to."""

    part = models.ForeignKey(FittedPart, on_delete=models.CASCADE, related_name="renewals")
    done_on = models.DateField()
    done_by = models.CharField(max_length=120)
    note = models.CharField(max_length=240, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-done_on", "-pk"]
