"""Laboratories: where samples go, when they are taken in, what bottles are asked for, how their files look."""

from __future__ import annotations

from datetime import time

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from customers.tenancy.models import TenantModel

WEEKDAYS = "0123456"  # Monday is 0, as in the calendar of the language


class Laboratory(TenantModel):
    """One laboratory. ``layout`` keeps how its files were last read; it is only ever a proposal."""

    name = models.CharField(max_length=120)
    address = models.CharField(max_length=240, blank=True)
    contact = models.CharField(max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    accreditation = models.CharField(max_length=120, blank=True)
    receives_on = models.CharField(max_length=7, default="01234", help_text=_("weekdays, Monday is 0"))
    receives_from = models.TimeField(default=time(8, 0))
    receives_until = models.TimeField(default=time(15, 0))
    result_days = models.PositiveSmallIntegerField(default=10, help_text=_("days from receipt to results"))
    note = models.CharField(max_length=240, blank=True)
    active = models.BooleanField(default=True)
    layout = models.JSONField(default=dict, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "name"], name="laboratory_name_once"),
            models.CheckConstraint(
                condition=Q(receives_from__lt=F("receives_until")), name="laboratory_opens_before_it_shuts"
            ),
            models.CheckConstraint(
                condition=Q(result_days__gte=1) & Q(result_days__lte=120), name="laboratory_answers_in_time"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class LaboratoryBottle(TenantModel):
    """What a laboratory asks for in place of the usual bottle; an empty column keeps the usual."""

    laboratory = models.ForeignKey(Laboratory, on_delete=models.CASCADE, related_name="bottles")
    code = models.CharField(max_length=16)
    container = models.CharField(max_length=80, blank=True)
    volume_ml = models.PositiveIntegerField(null=True, blank=True)
    preservation = models.CharField(max_length=160, blank=True)
    hold_h = models.FloatField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "laboratory", "code"], name="laboratory_bottle_once"),
            models.CheckConstraint(
                condition=Q(hold_h__isnull=True) | (Q(hold_h__gt=0) & Q(hold_h__lte=8760)),
                name="laboratory_bottle_keeps",
            ),
            models.CheckConstraint(
                condition=Q(volume_ml__isnull=True) | (Q(volume_ml__gte=1) & Q(volume_ml__lte=20000)),
                name="laboratory_bottle_holds",
            ),
        ]
