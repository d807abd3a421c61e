"""The flow-test form: several runs, in the household's units."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.dealers.models import UnitSystem
from customers.entry.fields import MeasureField, SpokenChoice, SpokenText, limits_of
from customers.flow_tests.models import FlowMethod, FlowRun, FlowTest
from customers.households.models import Site

L = gettext_lazy
RUNS = 5


class FlowTestForm(forms.Form):
    """Method, up to five runs, pressure switch. Volumes and pressures are typed in ``system``."""

    use_required_attribute = False

    def __init__(self, data: Any = None, *, site: Site, system: str, today: date, tested_by: str = "") -> None:
        super().__init__(data)
        typed_in = (data or {}).get("typed_in", "")
        self.system = typed_in if typed_in in UnitSystem.values else system
        self.today = today
        self.fields["typed_in"] = forms.CharField(widget=forms.HiddenInput, required=False, initial=self.system)
        self.fields["form_token"] = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
        self.fields["method"] = SpokenChoice(
            label=_("Measured by"), choices=FlowMethod.choices, widget=forms.RadioSelect, initial="drawdown"
        )
        self.fields["tested_on"] = forms.DateField(
            label=_("Day of the test"),
            initial=today,
            widget=forms.DateInput(attrs={"type": "date", "max": today.isoformat()}),
            error_messages={
                "required": _("nothing given; accepted is a day such as 2026-06-02"),
                "invalid": _("this is no day; accepted is a day such as 2026-06-02"),
            },
        )
        self.fields["tested_by"] = SpokenText(120, label=_("Tested by"), initial=tested_by)
        self._add_runs()
        for name, label in (("cut_in_kpa", _("Cut-in pressure")), ("cut_out_kpa", _("Cut-out pressure"))):
            low, high = limits_of(FlowTest, name)
            self.fields[name] = MeasureField(
                "pressure",
                self.system,
                low=low,
                high=high,
                stored=getattr(site, name),
                label=label,
                required=False,
                help_text=_("read at the gauge"),
            )
        self.fields["note"] = SpokenText(240, label=_("Remark"), required=False)
        for n in range(1, RUNS):  # the words over the runs say that one will do
            for name in (f"volume_{n}", f"seconds_{n}"):
                self.fields[name].plain_label = True  # type: ignore[attr-defined]

    def _add_runs(self) -> None:
        for n in range(RUNS):
            volume = limits_of(FlowRun, "litres")
            time = limits_of(FlowRun, "seconds")
            self.fields[f"volume_{n}"] = MeasureField(
                "volume",
                self.system,
                low=volume[0],
                high=volume[1],
                required=n == 0,
                label=_("Run %(n)s, water drawn") % {"n": n + 1},
            )
            self.fields[f"seconds_{n}"] = MeasureField(
                low=time[0],
                high=time[1],
                unit="s",
                required=n == 0,
                label=_("Run %(n)s, time") % {"n": n + 1},
            )

    def clean_tested_on(self) -> date:
        """Not a day to come."""
        day: date = self.cleaned_data["tested_on"]
        if day > self.today:
            message = _("%(day)s is still to come; accepted is a day up to %(today)s")
            raise ValidationError(message % {"day": day.isoformat(), "today": self.today.isoformat()})
        return day

    def clean(self) -> dict[str, Any]:
        """A run is both numbers or none; cut-out above cut-in."""
        data = super().clean() or {}
        for n in range(1, RUNS):
            pair = (f"volume_{n}", f"seconds_{n}")
            given = [bool(str(self.data.get(name, "")).strip()) for name in pair]
            if given[0] != given[1]:
                empty = pair[0] if given[1] else pair[1]
                field: MeasureField = self.fields[empty]  # type: ignore[assignment]
                self.add_error(empty, _("nothing typed; accepted is %(what)s") % {"what": field.accepted})
        low, high = data.get("cut_in_kpa"), data.get("cut_out_kpa")
        if low is not None and high is not None and high <= low:
            told = {"text": self.data.get("cut_out_kpa"), "other": self.data.get("cut_in_kpa")}
            self.add_error("cut_out_kpa", _("“%(text)s” typed; accepted is more than the cut-in of %(other)s") % told)
        return data

    def details(self) -> dict[str, Any]:
        """The test as its actions take it: when, by whom, how, the runs, the gauge, and the token of this page."""
        names = ("tested_on", "tested_by", "method", "cut_in_kpa", "cut_out_kpa", "note", "form_token")
        return {"runs": self._runs(), **{name: self.cleaned_data[name] for name in names}}

    def _runs(self) -> list[tuple[float, float]]:
        """(litres, seconds) of each run given."""
        data = self.cleaned_data
        pairs = [(data.get(f"volume_{n}"), data.get(f"seconds_{n}")) for n in range(RUNS)]
        return [(float(v), float(t)) for v, t in pairs if v is not None and t is not None]

    def run_rows(self) -> list[tuple[int, Any, Any]]:
        """Number, volume field and time field of each run, for the page."""
        return [(n + 1, self[f"volume_{n}"], self[f"seconds_{n}"]) for n in range(RUNS)]

    def take_errors(self, errors: Mapping[str, str]) -> None:
        """Show what the action refused beside the fields it names."""
        for name, told in errors.items():
            if name.startswith("runs."):
                _runs, n, column = name.split(".")
                name = f"{'volume' if column == 'litres' else column}_{n}"
            self.add_error(name if name in self.fields else None, told)
