"""Forms of prices by the day: one item's, a percentage over a kind, a list's name; and the upload of a file."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.entry.fields import SpokenChoice
from sizing.catalogue.adapters import Price
from sizing.catalogue.checking import MOST_PRICE
from sizing.catalogue.kinds import NAMES
from sizing.catalogue.raising import STEPS
from sizing.catalogue.reading import LIMITS
from sizing.engine.design import WearPart

PART = "part_"
NOTHING = {"required": gettext_lazy("nothing typed")}


class DayField(forms.DateField):
    """A day, today or later."""

    def __init__(self, today: date, **kwargs: Any) -> None:
        self.today = today
        kwargs.setdefault(
            "widget", forms.DateInput(attrs={"type": "date", "min": today.isoformat()}, format="%Y-%m-%d")
        )
        super().__init__(**kwargs)

    def clean(self, value: Any) -> date:
        """The day; refused with the first one that would do."""
        try:
            day = super().clean(value)
        except ValidationError:
            day = None
        if not isinstance(day, date) or day < self.today:
            told = {"text": value or "–", "today": f"{self.today:%Y-%m-%d}"}
            raise ValidationError(_("“%(text)s” typed; accepted is a day from %(today)s on") % told)
        return day


def _money(label: Any, *, required: bool = True, **kwargs: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        min_value=0,
        max_value=MOST_PRICE,
        max_digits=9,
        decimal_places=2,
        required=required,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={"required": _("nothing typed; accepted is an amount from 0")},
        **kwargs,
    )


class PriceForm(forms.Form):
    """What an item and its parts cost from a day on. A part's field left empty keeps its price."""

    use_required_attribute = False

    def __init__(
        self, data: Any = None, *, wear: tuple[WearPart, ...], now_is: Price, today: date, currency: str
    ) -> None:
        super().__init__(data)
        self.wear, self.now_is = wear, now_is
        self.fields["valid_from"] = DayField(today, label=_("From"), initial=today)
        self.fields["price"] = _money(_("Price"), initial=now_is.price)
        self.fields["price"].unit = currency  # type: ignore[attr-defined]
        for part in wear:
            field = _money(part.name, required=False, initial=now_is.parts.get(part.code, part.price))
            field.unit, field.plain_label = currency, True  # type: ignore[attr-defined]
            self.fields[PART + part.code] = field

    @property
    def parts(self) -> Mapping[str, Decimal]:
        """Part prices by code."""
        data = self.cleaned_data
        return {
            part.code: self.now_is.parts.get(part.code, part.price)
            if data[PART + part.code] is None
            else data[PART + part.code]
            for part in self.wear
        }


class RaiseForm(forms.Form):
    """A percentage over one kind or everything, from a day on."""

    use_required_attribute = False
    kind = SpokenChoice(label=gettext_lazy("Items"), required=False)
    percent = forms.DecimalField(
        label=gettext_lazy("Change"),
        min_value=-90,
        max_value=300,
        max_digits=6,
        decimal_places=2,
        help_text=gettext_lazy("4.5 makes dearer, -10 cheaper"),
        error_messages={"required": gettext_lazy("nothing typed; accepted is a change from -90 to 300 %")},
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    step = forms.TypedChoiceField(
        label=gettext_lazy("Rounded to"), coerce=Decimal, choices=[(str(s), f"{s}") for s in STEPS], initial="1"
    )
    parts = forms.BooleanField(
        label=gettext_lazy("Wearing parts too"),
        required=False,
        initial=True,
        help_text=gettext_lazy("rounded to 0.50 at most"),
    )
    name = forms.CharField(label=gettext_lazy("Name of the list"), max_length=80, error_messages=NOTHING)
    mark = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, today: date, kinds: list[str], currency: str) -> None:
        super().__init__(data)
        self.fields["valid_from"] = DayField(today, label=_("From"))
        self.fields["percent"].unit = "%"  # type: ignore[attr-defined]
        self.fields["step"].unit = currency  # type: ignore[attr-defined]
        known = [(code, name) for code, name in NAMES.items() if code in kinds]
        self.fields["kind"].choices = [("", _("everything")), *known]  # type: ignore[attr-defined]
        self.fields["kind"].plain_label = True  # type: ignore[attr-defined]
        self.order_fields(["kind", "percent", "step", "parts", "name", "valid_from", "mark"])

    def clean_percent(self) -> Decimal:
        """Nothing at all would change nothing."""
        percent: Decimal = self.cleaned_data["percent"]
        if percent == 0:
            raise ValidationError(_("“0” typed; accepted is a change from -90 to 300 %"))
        return percent


class ListForm(forms.Form):
    """A list's name."""

    use_required_attribute = False
    name = forms.CharField(label=gettext_lazy("Name"), max_length=80, error_messages=NOTHING)


class UploadForm(forms.Form):
    """A file of items, as exported or with some of its columns."""

    use_required_attribute = False
    file = forms.FileField(
        label=gettext_lazy("CSV or XLSX file"),
        allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.xlsx,text/csv"}),
        error_messages={"required": gettext_lazy("no file chosen; accepted is a CSV or XLSX file")},
    )

    def clean_file(self) -> Any:
        """Not larger than what is read."""
        file = self.cleaned_data["file"]
        if file.size > LIMITS.size:
            told = {"size": f"{file.size / 1e6:.1f}", "most": f"{LIMITS.size / 1e6:g}"}
            raise ValidationError(_("%(size)s MB; accepted is a file of at most %(most)s MB") % told)
        return file
