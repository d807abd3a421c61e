"""The forms of a stage that was found: putting it on file, and saying that somebody has looked at it."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.entry.fields import SpokenChoice, SpokenText
from customers.households.models import Site
from service.installs.found import usual_successor
from service.installs.models import InstalledStage
from service.installs.queries import current_stages
from sizing.engine.design import StageKind, WearPart
from sizing.engine.diagnosis_tables import Device
from sizing.engine.found import CARTRIDGE, found_parts

AT_TAP = (StageKind.RO, StageKind.TAP_CARBON)
RENEWED = "renewed_"


def form_of(device: Device) -> str:
    """Whether a carbon stage is a cartridge or a tank, by what one sees of the device."""
    return CARTRIDGE if device.features.get("clear_housing", 0.0) >= 0.5 else ""


class Day(forms.DateField):
    """A day up to today; its refusal says which."""

    widget = forms.DateInput(attrs={"type": "date"})

    def __init__(self, *, today: date, **kwargs: Any) -> None:
        self.today = today
        super().__init__(**kwargs)
        self.error_messages |= {
            "required": _("nothing given; accepted is a day up to today"),
            "invalid": _("“%(value)s” typed; accepted is a day such as 2026-05-20"),
        }

    def to_python(self, value: Any) -> date | None:
        """The day."""
        try:
            return super().to_python(value)
        except forms.ValidationError:
            raise forms.ValidationError(self.error_messages["invalid"], params={"value": value}) from None

    def validate(self, value: date | None) -> None:
        """Not after today."""
        super().validate(value)
        if value is not None and value > self.today:
            told = {"day": value.isoformat(), "last": self.today.isoformat()}
            raise forms.ValidationError(_("%(day)s is to come; accepted is a day up to %(last)s") % told)


class FoundForm(forms.Form):
    """A device as it stands at the place: what it is called, where on the line, which renewals somebody knows of."""

    use_required_attribute = False

    def __init__(self, data: Any = None, *, site: Site, device: Device, today: date) -> None:
        super().__init__(data)
        self.kind = StageKind(device.stage_kind or "")
        self.wear: tuple[WearPart, ...] = found_parts(self.kind, form_of(device))
        self.stages = list(current_stages(site).filter(at="main"))
        self.fields["form_token"] = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
        self.fields["name"] = SpokenText(120, label=_("Called"), initial=device.words.split(":")[0])
        self.fields["at"] = SpokenChoice(
            label=_("Where it is"),
            choices=[("main", _("on the main line")), ("tap", _("at one tap"))],
            initial="tap" if self.kind in AT_TAP else "main",
            widget=forms.RadioSelect,
        )
        follower = usual_successor(site, self.kind)
        self.fields["before"] = SpokenChoice(
            label=_("On the main line it stands"),
            choices=[
                ("", _("behind everything else")),
                *((str(row.public_id), _("ahead of %(name)s") % {"name": row.name}) for row in self.stages),
            ],
            required=False,
            initial=str(follower.public_id) if follower else "",
        )
        self.fields["before"].plain_label = True  # type: ignore[attr-defined]
        self.fields["found_on"] = Day(today=today, label=_("Found or told of on"), initial=today)
        self.fields["serial"] = SpokenText(60, label=_("Serial number"), required=False)
        for part in self.wear:
            words = _("%(part)s, last renewed or looked at") % {"part": part.name}
            self.fields[RENEWED + part.code] = Day(today=today, label=words, required=False)
            self.fields[RENEWED + part.code].optional_word = _("if somebody knows")  # type: ignore[attr-defined]
        self.fields["note"] = SpokenText(240, label=_("Remarks"), required=False)

    def before(self) -> InstalledStage | None:
        """The stage it stands ahead of."""
        return next((row for row in self.stages if str(row.public_id) == self.cleaned_data["before"]), None)

    def renewed(self) -> dict[str, date]:
        """Renewals somebody knows of, by part."""
        days = {part.code: self.cleaned_data[RENEWED + part.code] for part in self.wear}
        return {code: day for code, day in days.items() if day is not None}


class CheckedForm(forms.Form):
    """Somebody has looked at a found stage and it does its work."""

    use_required_attribute = False

    still = forms.MultipleChoiceField(
        label=gettext_lazy("Still not known"), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, data: Any = None, *, stage: InstalledStage, today: date) -> None:
        super().__init__(data)
        self.fields["on"] = Day(today=today, label=_("Looked at on"), initial=today)
        words = [(one, one) for one in stage.unknowns]
        self.fields["still"].choices = words  # type: ignore[attr-defined]
        self.fields["still"].initial = list(stage.unknowns)
        self.fields["still"].plain_label = True  # type: ignore[attr-defined]
        if not words:
            del self.fields["still"]
        self.order_fields(["on", "still"])
