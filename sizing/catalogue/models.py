"""A dealer's catalogue."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.tenancy.models import TenantModel
from sizing.engine.design import StageKind

KINDS = [(kind.value, kind.value.replace("_", " ")) for kind in StageKind]


class CatalogueItem(TenantModel):
    """A product a dealer sells. ``ratings`` follow the kind's schema; ``wear`` holds the wearing parts."""

    code = models.CharField(max_length=40)
    kind = models.CharField(max_length=16, choices=KINDS)
    name = models.CharField(max_length=120)
    size_label = models.CharField(max_length=60, blank=True)
    ratings = models.JSONField(default=dict)
    certified_for = models.JSONField(default=list, blank=True)
    wear = models.JSONField(default=list, blank=True)
    price = models.DecimalField(max_digits=10, decimal_places=2, validators=[MinValueValidator(Decimal(0))])
    install_hours = models.FloatField(default=1.0, validators=[MinValueValidator(0)])
    own = models.BooleanField(default=False, help_text=_("the dealer's own item, not from the starter catalogue"))
    active = models.BooleanField(default=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["kind", "price", "code"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "code"], name="catalogue_code_once"),
            models.CheckConstraint(condition=Q(price__gte=0), name="catalogue_price_not_negative"),
            models.CheckConstraint(condition=Q(install_hours__gte=0), name="catalogue_hours_not_negative"),
        ]

    def __str__(self) -> str:
        return self.name
