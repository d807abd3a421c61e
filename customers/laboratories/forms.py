"""The form of a laboratory: who, when it takes samples in, and what bottles it asks for instead of the usual."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import time
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy

from customers.entry.fields import MeasureField, SpokenEmail, SpokenText
from customers.laboratories.models import Laboratory
from customers.laboratories.queries import own_bottles
from sizing.engine.sampling import AT_TAP, BottleKind, OwnBottle, bottle_kinds, hold_words

L = gettext_lazy
DAYS = (
    ("0", L("Monday")),
    ("1", L("Tuesday")),
    ("2", L("Wednesday")),
    ("3", L("Thursday")),
    ("4", L("Friday")),
    ("5", L("Saturday")),
    ("6", L("Sunday")),
)
PLAIN = ("name", "address", "contact", "phone", "email", "accreditation", "note")
BOTTLE = ("container", "volume_ml", "preservation", "hold_h")


def hour_field(label: Any, **kwargs: Any) -> forms.TimeField:
    """An hour of the day."""
    return forms.TimeField(
        label=label,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={
            "required": L("nothing given; accepted is an hour such as 15:00"),
            "invalid": L("this is no hour of the day; accepted is one such as 15:00"),
        },
        **kwargs,
    )


class LaboratoryForm(forms.Form):
    """One laboratory with its bottles."""

    use_required_attribute = False

    form_token = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4, required=False)
    name = SpokenText(120, label=L("Name"))
    address = SpokenText(240, label=L("Address"), required=False)
    contact = SpokenText(120, label=L("Contact"), required=False)
    phone = SpokenText(40, label=L("Phone"), required=False)
    email = SpokenEmail(label=L("E-mail"), required=False)
    accreditation = SpokenText(120, label=L("Accreditation"), required=False)
    receives_on = forms.MultipleChoiceField(
        label=L("Takes samples in on"),
        choices=DAYS,
        initial=list("01234"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": L("no day chosen; accepted is at least one day of the week")},
    )
    receives_from = hour_field(L("from"), initial=time(8))
    receives_until = hour_field(L("until"), initial=time(15))
    note = SpokenText(240, label=L("Note"), required=False)
    active = forms.BooleanField(label=L("In use"), required=False, initial=True)

    def __init__(self, data: Any = None, *, laboratory: Laboratory | None = None) -> None:
        own = own_bottles(laboratory) if laboratory else {}
        super().__init__(data, initial=_initial(laboratory) if laboratory else None)
        days = laboratory.result_days if laboratory else 10
        self.fields["result_days"] = MeasureField(
            unit="", low=1, high=120, stored=days, whole=True, label=L("Days from receipt to results")
        )
        for kind in self.kinds:
            had = own.get(kind.code, OwnBottle())
            self.fields.update(_bottle_fields(kind, had))

    @property
    def kinds(self) -> list[BottleKind]:
        """Kinds of bottle that go to a laboratory."""
        return [kind for kind in bottle_kinds() if kind.code != AT_TAP]

    @property
    def plain_fields(self) -> list[Any]:
        """Who it is."""
        return [self[name] for name in PLAIN]

    @property
    def bottle_rows(self) -> list[dict[str, Any]]:
        """Each kind of bottle with its four fields and what is usual."""
        rows = []
        for kind in self.kinds:
            hours = sorted(set(kind.hold_h.values()))
            usual = hold_words(hours[0])
            if len(hours) > 1:
                usual = f"{usual} – {hold_words(hours[-1])}"
            fields = [self[f"{name}-{kind.code}"] for name in BOTTLE]
            rows.append({"kind": kind, "usual": usual, "fields": fields})
        return rows

    def values(self) -> dict[str, Any]:
        """Columns of the laboratory."""
        told = {name: self.cleaned_data[name] for name in PLAIN}
        hours = {name: self.cleaned_data[name] for name in ("receives_from", "receives_until", "result_days")}
        days = "".join(sorted(self.cleaned_data["receives_on"]))
        return {**told, **hours, "receives_on": days, "active": self.cleaned_data["active"]}

    def bottles(self) -> dict[str, OwnBottle]:
        """What is asked for in place of the usual."""
        return {
            kind.code: OwnBottle(**{name: self.cleaned_data[f"{name}-{kind.code}"] for name in BOTTLE})
            for kind in self.kinds
        }

    def take_errors(self, errors: Mapping[str, str]) -> None:
        """Show what the action refused beside the fields it names."""
        for name, told in errors.items():
            field = name.replace("bottle-", "hold_h-") if name.startswith("bottle-") else name
            self.add_error(field if field in self.fields else None, told)


def _initial(laboratory: Laboratory) -> dict[str, Any]:
    plain = {name: getattr(laboratory, name) for name in (*PLAIN, "receives_from", "receives_until", "active")}
    return {**plain, "receives_on": list(laboratory.receives_on)}


def _bottle_fields(kind: BottleKind, had: OwnBottle) -> dict[str, forms.Field]:
    """Four fields, labelled for those who hear them."""
    names = {
        "container": L("container"),
        "volume_ml": L("mL"),
        "preservation": L("preservation"),
        "hold_h": L("hours"),
    }
    fields: dict[str, forms.Field] = {}
    for name, words in names.items():
        label = f"{kind.name}, {words}"
        stored = getattr(had, name)
        if name in ("volume_ml", "hold_h"):
            high = 20000 if name == "volume_ml" else 8760
            whole = name == "volume_ml"
            low = 1 if whole else 0.25
            unit = "mL" if whole else "h"
            field: forms.Field = MeasureField(
                unit=unit, low=low, high=high, stored=stored, whole=whole, label=label, required=False
            )
        else:
            most = 80 if name == "container" else 160
            field = SpokenText(most, label=label, required=False, initial=stored)
        field.widget.attrs["aria-label"] = label
        fields[f"{name}-{kind.code}"] = field
    return fields
