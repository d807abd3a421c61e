"""A dealer's catalogue: items, their dated prices, the files they came in, and what was done to them."""

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
    """A product a dealer sells. ``ratings`` follow the kind's schema; ``wear`` holds the wearing parts.

    ``price`` and the parts' prices hold until the first price list that names the item; what it costs on a day is
    asked of ``prices.priced``.
    """

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


class ItemLog(TenantModel):
    """What somebody did to an item."""

    item = models.ForeignKey(CatalogueItem, on_delete=models.CASCADE, related_name="log")
    at = models.DateTimeField()
    who = models.CharField(max_length=120)
    what = models.CharField(max_length=400)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.what


class PriceList(TenantModel):
    """Prices that hold from a day on. A list names some items or all; the others keep what they cost before."""

    name = models.CharField(max_length=80)
    valid_from = models.DateField()
    made_by = models.CharField(max_length=120)
    made_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-valid_from"]
        constraints = [models.UniqueConstraint(fields=["dealer", "valid_from"], name="price_list_one_a_day")]

    def __str__(self) -> str:
        return self.name


class ListPrice(TenantModel):
    """What an item costs in a list; ``parts`` holds prices of its wearing parts by code, as decimal text."""

    price_list = models.ForeignKey(PriceList, on_delete=models.CASCADE, related_name="prices")
    item = models.ForeignKey(CatalogueItem, on_delete=models.CASCADE, related_name="list_prices")
    price = models.DecimalField(max_digits=10, decimal_places=2, validators=[MinValueValidator(Decimal(0))])
    parts = models.JSONField(default=dict, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [
            models.UniqueConstraint(fields=["dealer", "price_list", "item"], name="list_price_once"),
            models.CheckConstraint(condition=Q(price__gte=0), name="list_price_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.item_id}: {self.price}"


class CatalogueFile(TenantModel):
    """A file of items as it was read: every row's verdict, and what each item was before and is after.

    Looked at first; taken over whole or not at all; the newest one taken over can be undone.
    """

    name = models.CharField(max_length=120)
    told = models.JSONField(default=dict, help_text=_("how it was read: rows, separator, encoding"))
    rows = models.JSONField(default=list)
    read_by = models.CharField(max_length=120)
    read_at = models.DateTimeField()
    taken_by = models.CharField(max_length=120, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.CharField(max_length=120, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-read_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(undone_at__isnull=True) | Q(taken_at__isnull=False),
                name="catalogue_file_taken_then_undone",
            )
        ]

    def __str__(self) -> str:
        return self.name
