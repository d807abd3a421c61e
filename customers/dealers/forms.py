"""The dealer's own settings."""

from __future__ import annotations

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.dealers.models import Dealer
from customers.entry.fields import number_for

UNITS = {
    "tax_rate": "%",
    "discount_rate": gettext_lazy("% a year"),
    "quote_valid_days": gettext_lazy("days"),
    "remind_days_ahead": gettext_lazy("days"),
    "cost_years": gettext_lazy("years"),
}
MONEY = {
    "labour_per_hour": gettext_lazy("an hour"),
    "visit_price": gettext_lazy("a visit"),
    "salt_per_kg": gettext_lazy("a kg"),
    "power_per_kwh": gettext_lazy("a kWh"),
    "water_per_m3": gettext_lazy("a m³"),
}

BLOCKS = (
    (gettext_lazy("Letterhead"), ("name", "postal_address", "phone", "email", "licence_line", "file_prefix")),
    (gettext_lazy("Units, limits and papers"), ("units", "jurisdiction", "paper_size", "time_zone")),
    (
        gettext_lazy("Quotes"),
        ("currency", "tax_name", "tax_rate", "quote_valid_days", "labour_per_hour", "visit_price"),
    ),
    (
        gettext_lazy("Whole-life cost"),
        ("salt_per_kg", "power_per_kwh", "water_per_m3", "cost_years", "discount_rate"),
    ),
    (gettext_lazy("Reminders"), ("remind_days_ahead",)),
)


class SettingsForm(forms.ModelForm):
    """Letterhead, units, limits, prices of work."""

    class Meta:
        model = Dealer
        fields = (
            "name",
            "postal_address",
            "phone",
            "email",
            "licence_line",
            "file_prefix",
            "units",
            "jurisdiction",
            "paper_size",
            "time_zone",
            "currency",
            "tax_name",
            "tax_rate",
            "quote_valid_days",
            "labour_per_hour",
            "visit_price",
            "salt_per_kg",
            "power_per_kwh",
            "water_per_m3",
            "cost_years",
            "discount_rate",
            "remind_days_ahead",
        )
        formfield_callback = number_for
        labels = {
            "email": gettext_lazy("E-mail"),
            "tax_rate": gettext_lazy("Tax"),
            "quote_valid_days": gettext_lazy("A quote holds for"),
            "labour_per_hour": gettext_lazy("Labour"),
            "visit_price": gettext_lazy("Service visit"),
            "salt_per_kg": gettext_lazy("Salt"),
            "power_per_kwh": gettext_lazy("Power"),
            "water_per_m3": gettext_lazy("Water"),
            "cost_years": gettext_lazy("Years counted"),
            "discount_rate": gettext_lazy("Discount rate"),
            "remind_days_ahead": gettext_lazy("Remind households ahead"),
        }
        help_texts = {"tax_rate": "", "discount_rate": gettext_lazy("after inflation")}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, unit in UNITS.items():
            self.fields[name].unit = unit  # type: ignore[attr-defined]
        for name, per in MONEY.items():
            self.fields[name].unit = f"{self.instance.currency} {per}"  # type: ignore[attr-defined]

    @property
    def blocks(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Bound fields under the heading they stand under."""
        return [(str(heading), [self[name] for name in names]) for heading, names in BLOCKS]

    def clean_time_zone(self) -> str:
        """A name of the time-zone database."""
        name: str = self.cleaned_data["time_zone"]
        if name not in available_timezones():
            raise forms.ValidationError(
                _("%(zone)s is not a time zone; accepted is a name such as America/Vancouver") % {"zone": name}
            )
        return name

    def clean_currency(self) -> str:
        """Three capital letters (ISO 4217)."""
        code: str = self.cleaned_data["currency"].upper()
        if len(code) != 3 or not code.isalpha():
            raise forms.ValidationError(
                _("%(code)s is not a currency code; accepted is one such as CAD or USD") % {"code": code}
            )
        return code
