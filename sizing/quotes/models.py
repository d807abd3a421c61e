"""Quotes: versions, lines, and the customer's answer."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.people.models import User
from customers.tenancy.models import TenantModel
from sizing.proposals.models import ProposedTrain


class QuoteState(models.TextChoices):
    """Where a quote stands."""

    DRAFTED = "drafted", _("drafted")
    ISSUED = "issued", _("issued")
    ACCEPTED = "accepted", _("accepted")
    DECLINED = "declined", _("declined")
    LAPSED = "lapsed", _("lapsed")
    REPLACED = "replaced", _("replaced")


class Quote(TenantModel):
    """One version of a quote. Issued versions never change; a change makes the next version."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="quotes")
    train = models.ForeignKey(ProposedTrain, on_delete=models.PROTECT, related_name="+", null=True, blank=True)
    number = models.PositiveIntegerField()
    version = models.PositiveSmallIntegerField(default=1)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    state = models.CharField(max_length=10, choices=QuoteState.choices, default=QuoteState.DRAFTED)
    title = models.CharField(max_length=120)
    note = models.TextField(blank=True, max_length=2000)
    currency = models.CharField(max_length=3)
    tax_name = models.CharField(max_length=40)
    tax_rate = models.DecimalField(max_digits=6, decimal_places=3)
    drafted_by = models.CharField(max_length=120)
    drafted_at = models.DateTimeField()
    valid_days = models.PositiveSmallIntegerField(default=30, validators=[MinValueValidator(1)])
    issued_at = models.DateTimeField(null=True, blank=True)
    valid_until = models.DateField(null=True, blank=True)
    fingerprint = models.CharField(max_length=64, blank=True, help_text=_("SHA-256 of the issued PDF"))

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-number", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "number", "version"], name="quote_version_once"),
            models.CheckConstraint(
                condition=Q(tax_rate__gte=0) & Q(tax_rate__lte=100), name="quote_tax_rate_percent"
            ),
            models.CheckConstraint(
                condition=Q(state="drafted") | (Q(issued_at__isnull=False) & Q(valid_until__isnull=False)),
                name="quote_issued_is_dated",
            ),
        ]

    def __str__(self) -> str:
        return f"Q-{self.number:04d} version {self.version}"

    @property
    def label(self) -> str:
        """The number as printed: Q-0147."""
        return f"Q-{self.number:04d}"


class QuoteLine(TenantModel):
    """One line. ``stage_number`` ties it to the ring in the drawing; options count only when chosen."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    stage_number = models.PositiveSmallIntegerField(null=True, blank=True)
    item = models.ForeignKey(
        "sizing.CatalogueItem", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    description = models.CharField(max_length=200)
    why = models.CharField(max_length=300, blank=True)
    quantity = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(1))
    unit_price = models.DecimalField(max_digits=10, decimal_places=2)
    optional = models.BooleanField(default=False)
    chosen = models.BooleanField(default=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "quote", "position"], name="quote_line_once"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="quote_line_quantity_positive"),
        ]

    @property
    def amount(self) -> Decimal:
        """Quantity times unit price, to the cent."""
        return (self.quantity * self.unit_price).quantize(Decimal("0.01"))


class QuoteAnswer(TenantModel):
    """The customer's written answer: who, when, from where, to exactly which document."""

    quote = models.OneToOneField(Quote, on_delete=models.PROTECT, related_name="answer")
    accepted = models.BooleanField()
    name = models.CharField(max_length=120)
    signature = models.TextField(blank=True, max_length=20000, help_text=_("SVG path of the drawn signature"))
    reason = models.CharField(max_length=400, blank=True)
    answered_at = models.DateTimeField()
    address = models.GenericIPAddressField(null=True, blank=True)
    user_agent = models.CharField(max_length=300, blank=True)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    document_hash = models.CharField(max_length=64)

    class Meta(TenantModel.Meta):
        abstract = False
