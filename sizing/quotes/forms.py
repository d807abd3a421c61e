"""Forms of a draft quote."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from customers.entry.fields import AmountField, number_for
from sizing.quotes.models import Quote, QuoteLine


class TermsForm(forms.ModelForm):
    """Title, note, tax and validity."""

    class Meta:
        model = Quote
        fields = ("title", "note", "tax_name", "tax_rate", "valid_days")
        labels = {
            "title": _("Title"),
            "note": _("Note to the household"),
            "tax_name": _("Name of the tax"),
            "tax_rate": _("Tax"),
            "valid_days": _("Open for"),
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 4})}
        formfield_callback = number_for

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tax_rate"].unit = "%"  # type: ignore[attr-defined]
        self.fields["valid_days"].unit = _("days")  # type: ignore[attr-defined]


class LineForm(forms.ModelForm):
    """One line: what, why, how many, at what price, optional or not."""

    quantity = AmountField(label=_("Quantity"), min_value=Decimal("0.01"), max_digits=8, decimal_places=2)
    unit_price = AmountField(label=_("Unit price"), max_digits=10, decimal_places=2)

    class Meta:
        model = QuoteLine
        fields = ("description", "why", "quantity", "unit_price", "optional", "chosen")
        labels = {
            "description": _("Item"),
            "why": _("Why it is there"),
            "optional": _("An option the household may choose"),
            "chosen": _("Counted in the total"),
        }
        help_texts = {"chosen": _("Lines that are not options always count")}
        widgets = {"why": forms.TextInput(), "description": forms.TextInput()}
