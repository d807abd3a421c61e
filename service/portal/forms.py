"""Forms of the household's own pages."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.entry.fields import MeasureField

MOST_DAYS_AHEAD = 365


class AnswerForm(forms.Form):
    """Accept or decline a quote: name, drawn signature, reason. ``document`` is the hash of what was shown."""

    name = forms.CharField(label=gettext_lazy("Your full name"), max_length=120)
    signature = forms.CharField(required=False, max_length=20000, widget=forms.HiddenInput)
    reason = forms.CharField(
        label=gettext_lazy("If you decline: what should be different?"), max_length=400, required=False
    )
    document = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].optional_word = _("optional")  # type: ignore[attr-defined]

    def clean_signature(self) -> str:
        """Only path data drawn by our own page: letters M and L, digits, points, spaces."""
        text: str = self.cleaned_data["signature"]
        if text and not set(text) <= set("ML0123456789. -"):
            raise forms.ValidationError(_("The drawn signature could not be read; draw it once more."))
        return text


class AskForm(forms.Form):
    """Ask for a visit."""

    words = forms.CharField(
        label=gettext_lazy("What is it about?"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=gettext_lazy("Smell, colour, pressure, an alarm, a filter to change: in your own words."),
    )
    wanted_from = forms.DateField(
        label=gettext_lazy("Not before"), required=False, widget=forms.DateInput(attrs={"type": "date"})
    )

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_wanted_from(self) -> date | None:
        """A day from today on, within a year."""
        day: date | None = self.cleaned_data["wanted_from"]
        last = self.today + timedelta(days=MOST_DAYS_AHEAD)
        if day is not None and not self.today <= day <= last:
            raise forms.ValidationError(
                _("%(day)s cannot be; accepted is a day from %(first)s to %(last)s")
                % {"day": day.isoformat(), "first": self.today.isoformat(), "last": last.isoformat()}
            )
        return day


MONTHS = [(n, date(2000, n, 1).strftime("%B")) for n in range(1, 13)]


class SeasonForm(forms.Form):
    """The days a place opens and closes."""

    opens_day = MeasureField(label=gettext_lazy("Opens on day"), low=1.0, high=31.0, whole=True)
    opens_month = forms.TypedChoiceField(label=gettext_lazy("of"), choices=MONTHS, coerce=int)
    closes_day = MeasureField(label=gettext_lazy("Closes on day"), low=1.0, high=31.0, whole=True)
    closes_month = forms.TypedChoiceField(label=gettext_lazy("of"), choices=MONTHS, coerce=int)

    def clean(self) -> dict[str, Any]:
        """The days must be on the calendar, and differ."""
        data = super().clean() or {}
        for edge in ("opens", "closes"):
            month, day = data.get(f"{edge}_month"), data.get(f"{edge}_day")
            if month and day:
                try:
                    date(2000, month, day)
                except ValueError:
                    self.add_error(f"{edge}_day", _("day %(day)s is not in that month") % {"day": day})
        if data.get("opens_month") and (data["opens_month"], data.get("opens_day")) == (
            data.get("closes_month"),
            data.get("closes_day"),
        ):
            self.add_error(None, _("Opening and closing are the same day; accepted are two different days."))
        return data


class MessagesForm(forms.Form):
    """Which messages to get."""

    reminders = forms.BooleanField(
        label=gettext_lazy("Mail me when a visit falls due"),
        required=False,
        help_text=gettext_lazy("Do-not-drink notices and answers to what you asked always come."),
    )
