"""Flow tests: tank drawn down and refill timed, or a bucket filled."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel


class FlowMethod(models.TextChoices):
    """How it was measured."""

    DRAWDOWN = "drawdown", _("tank drawn down, refill timed")
    BUCKET = "bucket", _("bucket at an open tap")


class FlowTest(TenantModel):
    """One test of one or several runs, with the result and its standard uncertainty (L/min)."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="flow_tests")
    method = models.CharField(max_length=10, choices=FlowMethod.choices, default=FlowMethod.DRAWDOWN)
    tested_on = models.DateField()
    tested_by = models.CharField(max_length=120)
    cut_in_kpa = models.FloatField(null=True, blank=True, validators=[MinValueValidator(50), MaxValueValidator(700)])
    cut_out_kpa = models.FloatField(null=True, blank=True, validators=[MinValueValidator(70), MaxValueValidator(900)])
    flow_l_min = models.FloatField()
    sd_l_min = models.FloatField()
    worksheet = models.JSONField(default=dict)
    note = models.CharField(max_length=240, blank=True)
    entered_by = models.CharField(max_length=120)
    entered_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-tested_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(flow_l_min__gt=0) & Q(flow_l_min__lte=1000), name="flow_test_flow_possible"
            ),
            models.CheckConstraint(condition=Q(sd_l_min__gte=0), name="flow_test_sd_not_negative"),
            models.CheckConstraint(
                condition=Q(cut_out_kpa__isnull=True)
                | Q(cut_in_kpa__isnull=True)
                | Q(cut_out_kpa__gt=F("cut_in_kpa")),
                name="flow_test_cut_out_above_cut_in",
            ),
        ]


class FlowRun(TenantModel):
    """One run: litres drawn and seconds to refill (or to fill the bucket)."""

    test = models.ForeignKey(FlowTest, on_delete=models.CASCADE, related_name="runs")
    position = models.PositiveSmallIntegerField()
    litres = models.FloatField(validators=[MinValueValidator(0.5), MaxValueValidator(2000)])
    seconds = models.FloatField(validators=[MinValueValidator(1), MaxValueValidator(7200)])

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["position"]
        constraints = [
            models.CheckConstraint(condition=Q(litres__gt=0), name="flow_run_litres_positive"),
            models.CheckConstraint(condition=Q(seconds__gt=0), name="flow_run_seconds_positive"),
            models.UniqueConstraint(fields=["dealer", "test", "position"], name="flow_run_once"),
        ]
