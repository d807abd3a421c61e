"""The water-test form: a heading, and a grid that takes what the paper says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.entry.fields import SpokenChoice, SpokenText
from customers.households.models import Site
from customers.water_tests.actions import RowIn
from customers.water_tests.models import Place, Result, SampleKind
from sizing.engine import unit_forms
from sizing.engine.units import accepted_units
from sizing.engine.water import ANALYTES

L = gettext_lazy
TEXT, UNIT = "text-", "unit-"
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # as in the water path: no I, no O

#: Groups of the grid, in the order in which papers usually stand; then their analytes.
GROUPS: tuple[tuple[str, Any], ...] = (
    ("microbes", L("Microbes")),
    ("general", L("General")),
    ("optical", L("Light and particles")),
    ("organics", L("Organics")),
    ("ions", L("Ions and nutrients")),
    ("metals", L("Metals and radionuclides")),
)


class HeadingForm(forms.Form):
    """Who sampled what, where and when."""

    use_required_attribute = False

    kind = SpokenChoice(label=L("Measured by"), choices=SampleKind.choices, widget=forms.RadioSelect, initial="lab")
    place = SpokenChoice(label=L("Drawn at"), choices=[("", "–"), *Place.choices])
    point = SpokenText(
        40,
        label=L("Point in the water path"),
        required=False,
        help_text=L("the letter on the drawing and on the bottle"),
    )
    sampled_on = forms.DateField(
        label=L("Day of sampling"),
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={
            "required": L("nothing given; accepted is a day such as 2026-06-02"),
            "invalid": L("this is no day; accepted is a day such as 2026-06-02"),
        },
    )
    sampled_by = SpokenText(120, label=L("Sampled by"), required=False)
    laboratory = SpokenText(120, label=L("Laboratory"), required=False)
    report_number = SpokenText(60, label=L("Report number"), required=False)
    note = SpokenText(240, label=L("Remark on the paper"), required=False)
    proves_install = forms.BooleanField(label=L("Taken to prove a new installation"), required=False)
    form_token = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["sampled_on"].widget.attrs["max"] = today.isoformat()
        self.fields["point"].widget.attrs.update({"maxlength": 2, "size": 3, "list": "points"})

    def clean_sampled_on(self) -> date:
        """Not a day to come."""
        day: date = self.cleaned_data["sampled_on"]
        if day > self.today:
            message = _("%(day)s is still to come; accepted is a day up to %(today)s")
            raise ValidationError(message % {"day": day.isoformat(), "today": self.today.isoformat()})
        return day

    def clean_point(self) -> str:
        """A letter of the water path."""
        typed = str(self.cleaned_data["point"]).strip().upper()
        if typed and (len(typed) > 1 or typed not in LETTERS):
            raise ValidationError(
                _("“%(text)s” typed; accepted is one letter from A, without I and O") % {"text": typed}
            )
        return typed

    def heading(self) -> dict[str, Any]:
        """Columns of the test."""
        return {name: value for name, value in self.cleaned_data.items() if name != "form_token"}

    def take_errors(self, errors: Mapping[str, str]) -> None:
        """Show what the action refused beside the fields it names."""
        for name, told in errors.items():
            if name not in self.errors:
                self.add_error(name if name in self.fields else None, told)


@dataclass
class GridRow:
    """One line of the grid as shown: the text and the unit exactly as they were typed."""

    code: str
    name: str
    units: list[tuple[str, str]]
    text: str = ""
    unit: str = ""
    error: str = ""
    again: list[str] = field(default_factory=list)  # a second text that came in for the same line

    @property
    def text_id(self) -> str:
        """Id of the input."""
        return f"id_{TEXT}{self.code}"


class Grid:
    """Every analyte with its text and unit; built empty, or from what was posted."""

    def __init__(self, data: QueryDict | None = None, usual_units: Mapping[str, str] | None = None) -> None:
        self.rows: dict[str, GridRow] = {}
        self._sent: list[tuple[RowIn, str]] = []
        for code, analyte in ANALYTES.items():
            usual = (usual_units or {}).get(code, "")
            units = unit_choices(code)
            row = GridRow(code, _(analyte.name), units)
            row.unit = usual if usual in [value for value, _words in units] else units[0][0]
            self.rows[code] = row
        if data is not None:
            self._take(data)

    def _take(self, data: QueryDict) -> None:
        for code, row in self.rows.items():
            texts, units = data.getlist(TEXT + code), data.getlist(UNIT + code)
            for at, text in enumerate(texts):
                unit = units[min(at, len(units) - 1)] if units else ""
                if at == 0:
                    row.text, row.unit = text, unit
                elif text.strip():
                    row.again.append(text)
                if text.strip():
                    self._sent.append((RowIn(code, text, unit), code))

    def rows_in(self) -> list[RowIn]:
        """What was typed, line by line."""
        return [row for row, _code in self._sent]

    def take_errors(self, errors: Mapping[int, str]) -> None:
        """Show the sentence of each refused line beside it."""
        for at, told in errors.items():
            self.rows[self._sent[at][1]].error = told

    def wrong(self) -> list[GridRow]:
        """Lines with an error, in the order of the page."""
        return [row for _words, rows in self.groups() for row in rows if row.error]

    def groups(self) -> list[tuple[str, list[GridRow]]]:
        """Groups with their lines."""
        return [
            (str(words), [row for code, row in self.rows.items() if ANALYTES[code].group == group])
            for group, words in GROUPS
        ]


def unit_choices(code: str) -> list[tuple[str, str]]:
    """Units the line offers; an empty one first where the paper's unit must never be guessed."""
    units = [(unit, unit.replace("ug/L", "µg/L").replace("uS", "µS")) for unit in accepted_units(code)]
    return [("", "–"), *units] if unit_forms.must_state(ANALYTES[code]) else units


def usual_units(results: Sequence[Result]) -> dict[str, str]:
    """Units of the newest paper of the household, to start the grid with; ``results`` newest first."""
    found: dict[str, str] = {}
    for row in results:
        if row.unit_text:
            found.setdefault(row.analyte, row.unit_text)
    return found


class RemedyForm(forms.Form):
    """The day on which the cause of a do-not-drink notice was remedied."""

    use_required_attribute = False
    on = forms.DateField(
        label=L("Remedy done on"),
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={
            "required": L("nothing given; accepted is a day such as 2026-06-02"),
            "invalid": L("this is no day; accepted is a day such as 2026-06-02"),
        },
    )


def site_points(site: Site) -> list[str]:
    """Letters that samples of the household have carried, for the list beside the field."""
    points = site.water_tests.exclude(point="").values_list("point", flat=True)
    return sorted(set(points))
