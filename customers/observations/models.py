"""Symptoms reported and features seen."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel


class WhereSeen(models.TextChoices):
    """At which taps."""

    BOTH = "both", _("hot and cold")
    HOT = "hot", _("hot only")
    COLD = "cold", _("cold only")
    ONE = "one", _("one tap only")
    UNKNOWN = "unknown", _("not said")


class Observation(TenantModel):
    """One thing said or seen. ``code`` is a key of ``sizing/figures/symptoms.toml``; the words are the caller's."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="observations")
    code = models.CharField(max_length=40)
    where = models.CharField(max_length=8, choices=WhereSeen.choices, default=WhereSeen.UNKNOWN)
    words = models.CharField(max_length=400, blank=True)
    since = models.CharField(max_length=80, blank=True)
    noted_at = models.DateTimeField()
    noted_by = models.CharField(max_length=120)
    cleared_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-noted_at", "-pk"]
