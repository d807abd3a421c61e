"""Forms about jobs, at the desk and on the tablet."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from customers.entry.fields import MeasureField
from service.jobs.models import Job, JobKind, JobTask, TaskKind
from service.jobs.queries import crew_choices

FURTHEST_DAYS = 730
HIGHEST = {"pressure": 1500.0, "flow": 1000.0, "temperature": 100.0, "volume": 100000.0}


def _day(label: str, *, required: bool = True, **kwargs: Any) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=required,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": _("nothing given; accepted is a day such as 2026-06-12"),
            "invalid": _("this is no day; accepted is a day such as 2026-06-12"),
        },
        **kwargs,
    )


class JobForm(forms.Form):
    """A visit to plan."""

    use_required_attribute = False

    def __init__(self, data: Any = None, *, today: date, initial: Any = None) -> None:
        super().__init__(data, initial=initial)
        self.today = today
        self.fields["form_token"] = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
        kinds = [choice for choice in JobKind.choices if choice[0] != JobKind.INSTALL]
        self.fields["kind"] = forms.ChoiceField(label=_("What for"), choices=kinds, initial=JobKind.SERVICE)
        self.fields["what"] = forms.CharField(
            label=_("In words"),
            max_length=200,
            error_messages={"required": _("nothing typed; accepted is what is to be done, in words")},
        )
        self.fields["wanted_from"] = _day(_("Not before"), required=False, initial=today)
        self.fields["hours"] = MeasureField(unit="h", low=0.25, high=24.0, stored=2.0, label=_("Hours at the place"))
        self.fields["note"] = forms.CharField(
            label=_("Note for the crew"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
        )


class BookForm(forms.Form):
    """Day, time and people of a visit. ``anyway`` appears once a double booking was shown."""

    use_required_attribute = False

    def __init__(self, data: Any = None, *, job: Job, today: date, warn: bool = False) -> None:
        super().__init__(data)
        self.today = today
        self.fields["day"] = _day(_("Day"), initial=job.day or job.wanted_from)
        self.fields["start_at"] = forms.TimeField(
            label=_("Arriving about"),
            required=False,
            initial=job.start_at,
            widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
            error_messages={"invalid": _("this is no time of day; accepted is one such as 09:30")},
        )
        self.fields["staff"] = forms.ModelMultipleChoiceField(
            queryset=crew_choices(),
            to_field_name="public_id",
            label=_("Who goes"),
            widget=forms.CheckboxSelectMultiple,
            initial=[row.staff.public_id for row in job.crew.all()],
            error_messages={"required": _("nobody chosen; accepted is at least one active member of the staff")},
        )
        self.fields["tell"] = forms.BooleanField(
            label=_("Tell the household by e-mail"), required=False, initial=True
        )
        self.fields["anyway"] = forms.BooleanField(
            label=_("Book all the same"),
            required=False,
            widget=forms.CheckboxInput() if warn else forms.HiddenInput(),
        )

    def clean_day(self) -> date:
        """Today or later, within two years."""
        day: date = self.cleaned_data["day"]
        last = self.today + timedelta(days=FURTHEST_DAYS)
        if not self.today <= day <= last:
            told = {"day": day.isoformat(), "first": self.today.isoformat(), "last": last.isoformat()}
            raise ValidationError(_("%(day)s given; accepted is a day from %(first)s to %(last)s") % told)
        return day


class MoveForm(forms.Form):
    """Another day for a visit on the season board."""

    use_required_attribute = False

    def __init__(self, data: Any = None, *, jobs: list[Job], today: date) -> None:
        super().__init__(data)
        self.today = today
        names = [(str(job.public_id), f"{job.site.name}: {job.what}") for job in jobs]
        self.fields["job"] = forms.ChoiceField(label=_("Visit"), choices=names)
        self.fields["day"] = _day(_("Move to"))

    def clean_day(self) -> date:
        """Today or later."""
        day: date = self.cleaned_data["day"]
        if day < self.today:
            told = {"day": day.isoformat(), "today": self.today.isoformat()}
            raise ValidationError(_("%(day)s given; accepted is a day from %(today)s on") % told)
        return day


class CallOffForm(forms.Form):
    """Why a visit is called off."""

    use_required_attribute = False

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.fields["reason"] = forms.CharField(
            label=_("Reason"),
            max_length=200,
            error_messages={"required": _("nothing typed; accepted is why it is called off, in words")},
        )


class TaskForm(forms.Form):
    """What one line of a checklist takes: nothing but the button, a reading, a number, a note."""

    use_required_attribute = False

    def __init__(self, data: Any = None, *, task: JobTask, system: str) -> None:
        super().__init__(data)
        if task.kind == TaskKind.READING:
            low = -2.0 if task.quantity == "temperature" else 0.0
            self.fields["value"] = MeasureField(
                task.quantity,
                system,
                low=low,
                high=HIGHEST.get(task.quantity, 1e6),
                stored=task.value,
                label=_("Reading"),
            )
        elif task.kind == TaskKind.SERIAL:
            self.fields["text"] = forms.CharField(
                label=_("Number"),
                max_length=60,
                initial=task.text_value,
                widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
                error_messages={"required": _("nothing typed; accepted is the number as it stands there")},
            )
        elif task.kind == TaskKind.RENEW:
            self.fields["text"] = forms.CharField(
                label=_("Note"), max_length=120, required=False, initial=task.text_value
            )


class FinishForm(forms.Form):
    """Who signs for the work. The drawn signature is SVG path data, or nothing."""

    use_required_attribute = False

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.fields["signed_name"] = forms.CharField(
            label=_("Name of the person who signs"),
            max_length=120,
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
            error_messages={"required": _("nothing typed; accepted is the name of the person who signs")},
        )
        self.fields["signature"] = forms.RegexField(
            r"^[MLml0-9 .,-]*$",
            label=_("Signature"),
            max_length=20000,
            required=False,
            widget=forms.HiddenInput,
            error_messages={"invalid": _("not a drawn signature; draw it again or leave it out")},
        )
