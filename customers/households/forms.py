"""The household form: one column, numbers in the form's own units."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from customers.dealers.models import UnitSystem
from customers.entry.fields import (
    CountField,
    MeasureField,
    SpokenChoice,
    SpokenEmail,
    SpokenText,
    limits_of,
)
from customers.households.actions import MOST_FIXTURES
from customers.households.asked import (
    CHOICES,
    CUSTOMER,
    FIELDSETS,
    FIXTURE,
    MEASURES,
    MONTHS,
    SEASON,
    TEXTS,
    TICKS,
)
from customers.households.models import Customer, Site
from sizing.engine.fixtures import FIXTURES


class HouseholdForm(forms.Form):
    """Customer, place and fixtures of a household; ``system`` is what its numbers are typed in."""

    use_required_attribute = False

    def __init__(
        self, data: Any = None, *, system: str, site: Site | None = None, told: Mapping[str, Any] | None = None
    ) -> None:
        """``told``: what is known of a household before it has a file, by field."""
        super().__init__(data, initial=dict(told or {}))
        self.site = site
        typed_in = (data or {}).get("typed_in", "")
        self.system = typed_in if typed_in in UnitSystem.values else system
        self.fields["typed_in"] = forms.CharField(widget=forms.HiddenInput, required=False, initial=self.system)
        self.fields["form_token"] = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
        self._add_customer()
        self._add_texts_and_choices()
        self._add_measures()
        self._add_season()
        self._add_fixtures()
        self.fields["units"] = SpokenChoice(
            label=_("Shown to this household in"),
            choices=[("", _("the dealer's usual units")), *UnitSystem.choices],
            required=False,
            initial=site.units if site else "",
        )
        self.fields["units"].plain_label = True  # type: ignore[attr-defined]
        self.order_fields([name for _legend, names in FIELDSETS for name in names])

    def _stored(self, name: str) -> Any:
        if self.site is not None:
            return getattr(self.site, name)
        return Site._meta.get_field(name).get_default()  # type: ignore[union-attr]

    def _add_customer(self) -> None:
        owner = self.site.customer if self.site else None
        labels = (_("Name"), _("E-mail"), _("Phone"), _("Second phone"), _("Postal address"))
        for (name, column), label in zip(CUSTOMER.items(), labels, strict=True):
            kept = getattr(owner, column, "")
            if name == "email":
                self.fields[name] = SpokenEmail(label=label, required=False, initial=kept)
                continue
            most = Customer._meta.get_field(column).max_length or 40  # type: ignore[union-attr]
            self.fields[name] = SpokenText(most, label=label, required=name == "customer_name", initial=kept)

    def _add_texts_and_choices(self) -> None:
        for name, (label, required) in TEXTS.items():
            most = Site._meta.get_field(name).max_length or 80  # type: ignore[union-attr]
            self.fields[name] = SpokenText(most, label=label, required=required, initial=self._stored(name))
        for name, (label, choices) in CHOICES.items():
            first = [] if self._stored(name) else [("", "–")]
            self.fields[name] = SpokenChoice(
                label=label, choices=[*first, *choices.choices], initial=self._stored(name)
            )
        for name, label in TICKS.items():
            self.fields[name] = forms.BooleanField(label=label, required=False, initial=self._stored(name))

    def _add_measures(self) -> None:
        for name, (label, quantity, hint) in MEASURES.items():
            column = Site._meta.get_field(name)
            low, high = limits_of(Site, name)
            stored = self._stored(name)
            if name == "casing_mm":  # stored in mm, shown as a small length, whose canonical unit is the metre
                low, high = (low or 0) / 1000, (high or 0) / 1000
                stored = None if stored is None else stored / 1000
            self.fields[name] = MeasureField(
                quantity,
                self.system,
                low=low,
                high=high,
                stored=stored,
                label=label,
                help_text=hint,
                required=not column.null,
            )

    def _add_season(self) -> None:
        seasonal = bool(self.site and self.site.seasonal)
        self.fields["occupancy"] = SpokenChoice(
            label=_("Used"),
            choices=[("year", _("all year")), ("season", _("for a season, from opening to closing"))],
            widget=forms.RadioSelect,
            initial="season" if seasonal else "year",
        )
        for name, label in zip(
            SEASON, (_("Opens, month"), _("Opens, day"), _("Closes, month"), _("Closes, day")), strict=True
        ):
            stored = self._stored(name)
            if name.endswith("month"):
                self.fields[name] = SpokenChoice(
                    label=label, choices=MONTHS, required=False, initial=str(stored or "")
                )
            else:
                self.fields[name] = MeasureField(
                    low=1, high=31, stored=stored, whole=True, label=label, required=False
                )
            self.fields[name].optional_word = _("for a season")  # type: ignore[attr-defined]

    def _add_fixtures(self) -> None:
        counts = dict(self.site.fixtures.values_list("code", "count")) if self.site else {}
        for kind in FIXTURES:
            count = counts.get(kind.code)
            self.fields[FIXTURE + kind.code] = CountField(MOST_FIXTURES, count, label=kind.name)

    def clean(self) -> dict[str, Any]:
        """What must fit together: pressures, people, the season's days."""
        data = super().clean() or {}
        low, high = data.get("cut_in_kpa"), data.get("cut_out_kpa")
        if low is not None and high is not None and high <= low:
            self._refuse("cut_out_kpa", _("more than the cut-in of %s"), "cut_in_kpa")
        usual, peak = data.get("people_usual"), data.get("people_peak")
        if usual is not None and peak is not None and peak < usual:
            self._refuse("people_peak", _("at least the usual %s"), "people_usual")
        if data.get("occupancy") == "season":
            for name in SEASON:
                if not data.get(name) and name not in self.errors:
                    self.add_error(name, _("nothing given; accepted is the month and day the place opens and closes"))
        return data

    def _refuse(self, name: str, accepted: str, other: str) -> None:
        """Say that a number does not fit another one, both as typed."""
        unit = self.fields[name].unit  # type: ignore[attr-defined]
        what = f"{accepted % self.data.get(other)} {unit}".strip()
        self.add_error(
            name, _("“%(text)s” typed; accepted is %(what)s") % {"text": self.data.get(name), "what": what}
        )

    def customer_values(self) -> dict[str, Any]:
        """Columns of the customer."""
        return {column: self.cleaned_data[name] for name, column in CUSTOMER.items()}

    def site_values(self) -> dict[str, Any]:
        """Columns of the site, canonical."""
        data = self.cleaned_data
        values = {name: data[name] for name in (*TEXTS, *CHOICES, *TICKS, *MEASURES, "units")}
        if values["casing_mm"] is not None:
            values["casing_mm"] *= 1000
        seasonal = data["occupancy"] == "season"
        values.update({name: int(data[name]) if seasonal else None for name in SEASON})
        return values

    def fixture_counts(self) -> dict[str, int]:
        """How many of each fixture, by the engine's codes."""
        return {kind.code: self.cleaned_data[FIXTURE + kind.code] or 0 for kind in FIXTURES}

    def take_errors(self, refused: ValidationError) -> None:
        """Show what the action refused beside the fields it names."""
        for name, told in refused.message_dict.items():
            field = name if name in self.fields else FIXTURE + name
            self.add_error(field if field in self.fields else None, told)

    def fieldsets(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Legends with their fields, for the page."""
        return [(str(legend), [self[name] for name in names]) for legend, names in FIELDSETS]
