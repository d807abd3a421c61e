"""What a person sets at the bench."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from sizing.engine.display import from_display, to_display, unit_of
from sizing.engine.water import ANALYTES, Water
from sizing.proposals.adapters import Wishes

MOST_YEARS = 40
LEAST_KPA, MOST_KPA = 55.0, 400.0  # 8 psi is the lowest outlet pressure the plumbing codes print
SHOWN_AS = {"hardness": "hardness"}


def analyte_unit(code: str, system: str) -> str:
    """The unit an analyte's goal is shown and typed in."""
    if code in SHOWN_AS:
        return unit_of(SHOWN_AS[code], system)
    return ANALYTES[code].unit


def shown_goal(code: str, value: float, system: str) -> float:
    """A goal in the reader's unit, rounded to three figures."""
    number = to_display(value, SHOWN_AS[code], system)[0] if code in SHOWN_AS else value
    return float(f"{number:.3g}")


class WishesForm(forms.Form):
    """Limits wanted at the entry and at the drinking tap, least pressure at the worst fixture, years of cost.

    Fields are made for the goals given; numbers are typed in the household's units and come out canonical.
    An emptied goal is left out of the search.
    """

    def __init__(
        self, *args: Any, defaults: Wishes, water: Water, system: str, worst: str, years: int, **kwargs: Any
    ):
        super().__init__(*args, **kwargs)
        self.defaults, self.system, self.water = defaults, system, water
        for where, wanted in (("entry", defaults.at_entry), ("tap", defaults.at_tap)):
            for code, value in wanted.items():
                self._add_goal(where, code, value)
        pressure = _("%(fixture)s, least pressure") % {"fixture": worst[:1].upper() + worst[1:]}
        least = defaults.min_fixture_kpa or LEAST_KPA
        self._add_number(
            "pressure", pressure, unit_of("pressure", system), round(to_display(least, "pressure", system)[0], 1)
        )
        self.fields["years"] = forms.IntegerField(
            label=_("Cost years"), min_value=1, max_value=MOST_YEARS, initial=defaults.years or years
        )
        self.fields["years"].unit = _("years")  # type: ignore[attr-defined]

    def _add_goal(self, where: str, code: str, value: float) -> None:
        unit = analyte_unit(code, self.system)
        self._add_number(
            f"{where}_{code}", ANALYTES[code].name, unit, shown_goal(code, value, self.system), required=False
        )

    def _add_number(self, name: str, label: str, unit: str, initial: float, *, required: bool = True) -> None:
        field = forms.FloatField(label=label, initial=initial, required=required)
        field.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        field.unit = unit  # type: ignore[attr-defined]
        field.plain_label = True  # type: ignore[attr-defined]
        self.fields[name] = field

    def clean(self) -> dict[str, Any]:
        """Name the field, the value and what would do for whatever cannot be."""
        data = super().clean() or {}
        for name, number in data.items():
            where, _sep, code = name.partition("_")
            if where in ("entry", "tap") and number is not None:
                self._check_goal(name, code, number)
        pressure = data.get("pressure")
        if pressure is not None:
            kpa = from_display(pressure, "pressure", self.system)
            if not LEAST_KPA - 0.5 <= kpa <= MOST_KPA:
                low, high = (to_display(v, "pressure", self.system)[0] for v in (LEAST_KPA, MOST_KPA))
                unit = unit_of("pressure", self.system)
                self.add_error(
                    "pressure",
                    ValidationError(
                        _("%(value)g %(unit)s cannot be; accepted is %(low).0f to %(high).0f %(unit)s")
                        % {"value": pressure, "low": low, "high": high, "unit": unit}
                    ),
                )
        return data

    def _check_goal(self, name: str, code: str, number: float) -> None:
        analyte = ANALYTES[code]
        if number < 0 or (analyte.high is not None and number > analyte.high):
            unit = analyte_unit(code, self.system)
            self.add_error(
                name,
                ValidationError(
                    _("%(value)g %(unit)s cannot be; accepted is 0 or more") % {"value": number, "unit": unit}
                ),
            )

    def _goals(self, where: str) -> dict[str, float]:
        found = {}
        for name, number in self.cleaned_data.items():
            place, _sep, code = name.partition("_")
            if place == where and number is not None:
                found[code] = from_display(number, SHOWN_AS[code], self.system) if code in SHOWN_AS else float(number)
        return found

    def wishes(self) -> Wishes:
        """What was set, in canonical units (of a valid form)."""
        return Wishes(
            at_entry=self._goals("entry"),
            at_tap=self._goals("tap"),
            min_fixture_kpa=float(from_display(self.cleaned_data["pressure"], "pressure", self.system)),
            years=self.cleaned_data["years"],
        )
