"""Papers as they were made: never changed afterwards."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel


class PaperKind(models.TextChoices):
    """Kinds of paper."""

    QUOTE = "quote", _("Quote")
    INSTALL_SHEET = "install_sheet", _("Install sheet")
    WORKSHEET = "worksheet", _("Calculation worksheet")
    COMMISSIONING = "commissioning", _("Commissioning record")
    OPENING = "opening", _("Opening sheet")
    CLOSING = "closing", _("Closing sheet")
    WATER_REPORT = "water_report", _("Water report")
    NOTICE = "notice", _("Do-not-drink notice")
    LABELS = "labels", _("Equipment labels")
    SAMPLING_SHEET = "sampling_sheet", _("Sampling sheet")
    CUSTODY = "custody", _("Chain-of-custody form")


class Paper(TenantModel):
    """A PDF that was made: its number, version, bytes' hash and file."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="papers")
    kind = models.CharField(max_length=16, choices=PaperKind.choices)
    title = models.CharField(max_length=160)
    number = models.CharField(max_length=24)
    version = models.PositiveSmallIntegerField(default=1)
    about = models.UUIDField(help_text=_("public id of the row it is made from"))
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=120)
    file = models.FileField(upload_to="papers")
    sha256 = models.CharField(max_length=64)
    pages = models.PositiveSmallIntegerField()
    for_customer = models.BooleanField(default=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "kind", "number", "version"], name="paper_version_once")
        ]
