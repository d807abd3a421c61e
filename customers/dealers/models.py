"""The dealer (tenant) and its counters."""

from __future__ import annotations

import uuid
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from customers.tenancy.models import TenantModel


class UnitSystem(models.TextChoices):
    """Units on screens and papers."""

    METRIC = "metric", _("metric (L, kPa, °C)")
    US = "us", _("US customary (gal, psi, °F)")


class Jurisdiction(models.TextChoices):
    """Whose limits results are judged against."""

    US = "us", _("United States (EPA)")
    CANADA = "canada", _("Canada (Health Canada)")
    WHO = "who", _("World Health Organization")


class PaperSize(models.TextChoices):
    """Sheet of the papers."""

    LETTER = "letter", _("Letter")
    A4 = "a4", _("A4")


class Dealer(models.Model):
    """A treatment dealer. Not itself a tenant row: it is what the others belong to."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    slug = models.SlugField(unique=True)
    name = models.CharField(max_length=120)
    postal_address = models.CharField(max_length=240)
    phone = models.CharField(max_length=40)
    email = models.EmailField()
    licence_line = models.CharField(max_length=160, blank=True)
    file_prefix = models.CharField(max_length=4, help_text=_("Starts file numbers: KS gives KS-0147"))
    units = models.CharField(max_length=8, choices=UnitSystem.choices, default=UnitSystem.METRIC)
    jurisdiction = models.CharField(max_length=12, choices=Jurisdiction.choices, default=Jurisdiction.CANADA)
    paper_size = models.CharField(max_length=8, choices=PaperSize.choices, default=PaperSize.LETTER)
    currency = models.CharField(max_length=3, default="CAD")
    time_zone = models.CharField(max_length=64, default="America/Vancouver")
    language = models.CharField(max_length=8, default="en")
    tax_name = models.CharField(max_length=40, default="Sales tax")
    tax_rate = models.DecimalField(
        max_digits=6,
        decimal_places=3,
        default=Decimal("0"),
        validators=[MinValueValidator(0), MaxValueValidator(100)],
        help_text=_("percent"),
    )
    quote_valid_days = models.PositiveSmallIntegerField(default=30, validators=[MinValueValidator(1)])
    labour_per_hour = models.DecimalField(
        max_digits=9, decimal_places=2, default=Decimal("95"), validators=[MinValueValidator(0)]
    )
    visit_price = models.DecimalField(
        max_digits=9, decimal_places=2, default=Decimal("120"), validators=[MinValueValidator(0)]
    )
    salt_per_kg = models.DecimalField(
        max_digits=9, decimal_places=2, default=Decimal("0.60"), validators=[MinValueValidator(0)]
    )
    power_per_kwh = models.DecimalField(
        max_digits=9, decimal_places=3, default=Decimal("0.180"), validators=[MinValueValidator(0)]
    )
    water_per_m3 = models.DecimalField(
        max_digits=9, decimal_places=2, default=Decimal("0.50"), validators=[MinValueValidator(0)]
    )
    cost_years = models.PositiveSmallIntegerField(
        default=15, validators=[MinValueValidator(1), MaxValueValidator(40)]
    )
    discount_rate = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("3"),
        validators=[MinValueValidator(0), MaxValueValidator(100)],
        help_text=_("percent a year, after inflation"),
    )
    remind_days_ahead = models.PositiveSmallIntegerField(default=21)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(tax_rate__gte=0) & models.Q(tax_rate__lte=100),
                name="dealer_tax_rate_percent",
            ),
            models.CheckConstraint(condition=models.Q(quote_valid_days__gte=1), name="dealer_quote_valid_days"),
            models.CheckConstraint(
                condition=models.Q(
                    labour_per_hour__gte=0,
                    visit_price__gte=0,
                    salt_per_kg__gte=0,
                    power_per_kwh__gte=0,
                    water_per_m3__gte=0,
                ),
                name="dealer_prices_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(discount_rate__gte=0, discount_rate__lte=100), name="dealer_discount_rate_percent"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Counter(TenantModel):
    """The last number given for a kind of thing (file, quote, job, paper) of a dealer."""

    kind = models.CharField(max_length=20)
    last = models.PositiveIntegerField(default=0)

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [models.UniqueConstraint(fields=["dealer", "kind"], name="counter_once")]
