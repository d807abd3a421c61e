"""What a person sets at the bench."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from customers.entry.fields import MeasureField
from sizing.engine.display import from_display, show, to_display, unit_of
from sizing.engine.figures import figure
from sizing.engine.water import ANALYTES, Water
from sizing.proposals.adapters import Wishes

MOST_YEARS = 40
LEAST_KPA, MOST_KPA = 55.0, 400.0  # 8 psi is the lowest outlet pressure the plumbing codes print
MOST_LITRES = 20_000.0  # a day of watering; more is a farm's
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

    Fields are made for the ``usual`` goals and those of ``wishes``; numbers are typed in the household's units and
    come out canonical. An emptied goal is left out of the search. Wishes that contradict each other or the place
    are refused here, in plain words.
    """

    use_required_attribute = False

    def __init__(
        self,
        data: Any = None,
        *,
        usual: Wishes,
        wishes: Wishes,
        water: Water,
        system: str,
        worst: str,
        cut_in_kpa: float | None,
        outside_taps: int = 0,
        room_known: bool = False,
    ) -> None:
        super().__init__(data)
        self.asked, self.system, self.water, self.cut_in_kpa = wishes, system, water, cut_in_kpa
        places = (("entry", usual.at_entry, wishes.at_entry), ("tap", usual.at_tap, wishes.at_tap))
        for where, usually, wanted in places:
            for code in {**usually, **wanted}:
                self._add_goal(where, code, wanted.get(code))
        if "ph" in water:
            self._add_number("ph_low", _("pH, at least"), "", wishes.ph_low, required=False)
            self._add_number("ph_high", _("pH, at most"), "", wishes.ph_high, required=False)
        pressure = _("%(fixture)s, least pressure") % {"fixture": worst[:1].upper() + worst[1:]}
        least = round(to_display(wishes.min_fixture_kpa or LEAST_KPA, "pressure", system)[0], 1)
        self._add_number("pressure", pressure, unit_of("pressure", system), least)
        self.fields["years"] = MeasureField(
            label=_("Cost years"), low=1.0, high=MOST_YEARS, whole=True, stored=wishes.years, unit=_("years")
        )
        self.fields["barrier"] = forms.BooleanField(
            label=_("A barrier against germs even where none is called for"),
            required=False,
            initial=wishes.uv_dose > 0,
        )
        if "hardness" in water:
            self.fields["soften_hot"] = forms.BooleanField(
                label=_("Soften hot water only; cold taps stay hard"), required=False, initial=wishes.soften == "hot"
            )
        if room_known or wishes.dry_tank:
            self.fields["dry_tank"] = forms.BooleanField(
                label=_("The pressure tank must not sweat"), required=False, initial=wishes.dry_tank
            )
        if outside_taps:
            self._add_outside(wishes, outside_taps)

    def _add_outside(self, wishes: Wishes, taps: int) -> None:
        label = ngettext(
            "The outside tap branches off ahead of the treatment",
            "The %(taps)d outside taps branch off ahead of the treatment",
            taps,
        )
        self.fields["outside_untreated"] = forms.BooleanField(
            label=label % {"taps": taps}, required=False, initial=bool(wishes.outside_untreated)
        )
        litres = round(to_display(wishes.outside_litres_day, "volume", self.system)[0], 1)
        self._add_number(
            "outside_litres", _("Water outside, on a day of watering"), unit_of("volume", self.system), litres,
            required=False,
        )  # fmt: skip

    def _add_goal(self, where: str, code: str, value: float | None) -> None:
        initial = None if value is None else shown_goal(code, value, self.system)
        self._add_number(
            f"{where}_{code}", ANALYTES[code].name, analyte_unit(code, self.system), initial, required=False
        )

    def _add_number(self, name: str, label: str, unit: str, initial: float | None, *, required: bool = True) -> None:
        shown = None if initial is None else f"{initial:g}"
        field = forms.FloatField(label=label, initial=shown, required=required)
        field.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        field.error_messages |= {"required": gettext_lazy("nothing typed; accepted is a number")}
        field.unit = unit  # type: ignore[attr-defined]
        field.plain_label = True  # type: ignore[attr-defined]
        self.fields[name] = field

    def clean(self) -> dict[str, Any]:
        """Name the field, the value and what would do for whatever cannot be."""
        data = super().clean() or {}
        for name, number in list(data.items()):
            where, _sep, code = name.partition("_")
            if where in ("entry", "tap") and number is not None:
                self._check_goal(name, code, number)
        self._check_ph(data.get("ph_low"), data.get("ph_high"))
        if data.get("pressure") is not None:
            self._check_pressure(data["pressure"])
        if data.get("outside_litres") is not None:
            self._check_outside(data["outside_litres"])
        return data

    def _check_outside(self, typed: float) -> None:
        if not 0 <= from_display(typed, "volume", self.system) <= MOST_LITRES:
            most, unit = to_display(MOST_LITRES, "volume", self.system)
            told = {"value": typed, "most": most, "unit": unit}
            words = _("%(value)g %(unit)s cannot be; accepted is 0 to %(most).0f %(unit)s") % told
            self.add_error("outside_litres", ValidationError(words))

    def _check_goal(self, name: str, code: str, number: float) -> None:
        analyte = ANALYTES[code]
        if number < 0 or (analyte.high is not None and number > analyte.high):
            told = {"value": number, "unit": analyte_unit(code, self.system)}
            self.add_error(name, ValidationError(_("%(value)g %(unit)s cannot be; accepted is 0 or more") % told))

    def _check_ph(self, low: float | None, high: float | None) -> None:
        for name, number in (("ph_low", low), ("ph_high", high)):
            if number is not None and not 0 <= number <= 14:
                self.add_error(name, ValidationError(_("%g cannot be; accepted is 0 to 14") % number))
        if low is not None and high is not None and low > high:
            told = {"low": low, "high": high}
            words = _("At least %(low)g and at most %(high)g contradict each other: no water is both.") % told
            self.add_error("ph_low", ValidationError(words))

    def _check_pressure(self, typed: float) -> None:
        kpa, unit = from_display(typed, "pressure", self.system), unit_of("pressure", self.system)
        if not LEAST_KPA - 0.5 <= kpa <= MOST_KPA:
            low, high = (to_display(v, "pressure", self.system)[0] for v in (LEAST_KPA, MOST_KPA))
            told = {"value": typed, "low": low, "high": high, "unit": unit}
            words = _("%(value)g %(unit)s cannot be; accepted is %(low).0f to %(high).0f %(unit)s") % told
            self.add_error("pressure", ValidationError(words))
        elif self.cut_in_kpa and kpa >= self.cut_in_kpa:
            told = {"value": typed, "unit": unit, "starts": show(self.cut_in_kpa, "pressure", self.system)}
            words = _(
                "%(value)g %(unit)s contradicts the pressure switch: the pump starts at %(starts)s only, so no train "
                "can hold more at the fixture. Ask for less, or have the switch set higher."
            )
            self.add_error("pressure", ValidationError(words % told))

    def _goals(self, where: str) -> dict[str, float]:
        asked = self.asked.at_entry if where == "entry" else self.asked.at_tap
        found = {}
        for name, number in self.cleaned_data.items():
            place, _sep, code = name.partition("_")
            if place == where and number is not None:
                meant = from_display(number, SHOWN_AS[code], self.system) if code in SHOWN_AS else float(number)
                found[code] = self._exact(name, number, float(meant), asked.get(code))
        return found

    def _exact(self, name: str, typed: float, meant: float, asked: float | None) -> float:
        """What was asked before, where its rounded figure was left as it was shown."""
        return asked if asked is not None and f"{typed:g}" == self.fields[name].initial else meant

    def wishes(self) -> Wishes:
        """What was set, in canonical units (of a valid form)."""
        told = self.cleaned_data
        asked = self.asked
        return Wishes(
            at_entry=self._goals("entry"),
            at_tap=self._goals("tap"),
            ph_low=told["ph_low"] if "ph_low" in self.fields else asked.ph_low,
            ph_high=told["ph_high"] if "ph_high" in self.fields else asked.ph_high,
            uv_dose=max(asked.uv_dose, figure("design-practice", "barrier_dose").value) if told["barrier"] else 0.0,
            min_fixture_kpa=self._exact(
                "pressure",
                told["pressure"],
                float(from_display(told["pressure"], "pressure", self.system)),
                asked.min_fixture_kpa,
            ),
            years=told["years"],
            outside_untreated=told.get("outside_untreated", asked.outside_untreated),
            outside_litres_day=self._outside_litres(),
            dry_tank=bool(told.get("dry_tank")),
            soften=asked.soften if "soften_hot" not in told else "hot" if told["soften_hot"] else "all",
        )

    def _outside_litres(self) -> float:
        typed = self.cleaned_data.get("outside_litres")
        if typed is None:
            return 0.0
        meant = float(from_display(typed, "volume", self.system))
        return self._exact("outside_litres", typed, meant, self.asked.outside_litres_day) or 0.0


class NameForm(forms.Form):
    """What people call a line, and whether it is kept as it is."""

    use_required_attribute = False

    own_name = forms.CharField(
        label=gettext_lazy("Its name"),
        max_length=60,
        required=False,
        help_text=gettext_lazy("Empty: it keeps the name it has."),
        error_messages={"max_length": gettext_lazy("too long; accepted are at most 60 letters")},
    )
    pinned = forms.BooleanField(
        label=gettext_lazy("Pin it: it stays as it is, and the next design has it too"), required=False, initial=True
    )
