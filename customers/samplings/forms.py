"""Forms of samplings: the plan, the hours of the draws, receipt, another due day, reasons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy

from customers.entry.fields import SpokenChoice, SpokenText
from customers.laboratories.forms import hour_field
from customers.laboratories.models import Laboratory
from customers.samplings.actions import DrawIn, PlanIn
from customers.samplings.models import Purpose, Sampling, SamplingDraw
from customers.water_tests.forms import GROUPS
from sizing.engine.sampling import packages
from sizing.engine.water import ANALYTES

L = gettext_lazy
#: Places to draw at, in the order of the work: code, place, mode, words, where it usually is.
PLACES: tuple[tuple[str, str, str, Any, Any], ...] = (
    ("tap_first", "tap", "first_draw", L("drinking tap, first draw"), L("before any water is used")),
    ("raw", "raw", "flushed", L("raw water"), L("drain of the pressure tank, or the first tap before treatment")),
    ("between", "between", "flushed", L("between stages"), L("sample tap at the point named")),
    ("entry", "entry", "flushed", L("treated water"), L("after the last stage, before hot and cold part")),
    ("tap", "tap", "flushed", L("drinking tap, flushed"), L("kitchen, cold")),
)


def day_field(label: Any, *, required: bool = True, **kwargs: Any) -> forms.DateField:
    """A day."""
    return forms.DateField(
        label=label,
        required=required,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": L("nothing given; accepted is a day such as 2026-06-12"),
            "invalid": L("this is no day; accepted is a day such as 2026-06-12"),
        },
        **kwargs,
    )


class PlanForm(forms.Form):
    """Which tests, drawn where, for which laboratory, when."""

    use_required_attribute = False

    form_token = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4, required=False)
    purpose = SpokenChoice(label=L("What for"), choices=Purpose.choices, initial=Purpose.EVIDENCE)
    planned_on = day_field(L("Day of drawing"))
    planned_at = hour_field(L("Hour"), initial=time(9))
    drawer = SpokenText(120, label=L("Who draws"), required=False)
    results_due_on = day_field(
        L("Results due on"), required=False, help_text=L("left empty: counted from the laboratory's days")
    )
    note = SpokenText(240, label=L("Note for whoever draws"), required=False)
    packages = forms.MultipleChoiceField(
        label=L("Sets of tests"), required=False, choices=[(p.code, p.name) for p in packages()]
    )
    analytes = forms.MultipleChoiceField(
        label=L("Single tests"), required=False, choices=[(code, row.name) for code, row in ANALYTES.items()]
    )

    def __init__(
        self,
        data: Any = None,
        *,
        laboratories: Sequence[Laboratory],
        sampling: Sampling | None = None,
        start: Mapping[str, Any] | None = None,
    ) -> None:
        initial = _initial(sampling) if sampling else dict(start or {})
        super().__init__(data, initial=initial)
        self.laboratories = {str(row.public_id): row for row in laboratories}
        choices = [("", "–"), *((code, row.name) for code, row in self.laboratories.items())]
        first = next(iter(self.laboratories), "")
        self.fields["laboratory"] = SpokenChoice(
            label=L("Laboratory"), choices=choices, initial=initial.get("laboratory", first)
        )
        for code, _place, _mode, words, _usual in PLACES:
            self.fields[f"draw-{code}"] = forms.BooleanField(label=words, required=False)
            self.fields[f"where-{code}"] = SpokenText(120, label=L("Which tap"), required=False)
        self.fields["point-between"] = SpokenText(40, label=L("Point"), required=False)
        self.fields["point-between"].widget.attrs.update({"maxlength": 2, "size": 3})

    @property
    def places(self) -> list[dict[str, Any]]:
        """Rows of the table of places."""
        return [
            {
                "code": code,
                "usual": usual,
                "draw": self[f"draw-{code}"],
                "where": self[f"where-{code}"],
                "point": self["point-between"] if code == "between" else None,
            }
            for code, _place, _mode, _words, usual in PLACES
        ]

    @property
    def heading(self) -> list[Any]:
        """Fields of the trip itself."""
        names = ("laboratory", "purpose", "planned_on", "planned_at", "drawer", "results_due_on", "note")
        return [self[name] for name in names]

    @property
    def sets(self) -> list[tuple[str, str, str, bool]]:
        """Sets of tests: code, name, why, ticked."""
        ticked = set(self["packages"].value() or ())
        return [(p.code, p.name, p.why, p.code in ticked) for p in packages()]

    @property
    def single(self) -> list[tuple[str, list[tuple[str, str, bool]]]]:
        """Single tests by group: code, name, ticked."""
        ticked = set(self["analytes"].value() or ())
        return [
            (str(words), [(code, row.name, code in ticked) for code, row in ANALYTES.items() if row.group == group])
            for group, words in GROUPS
        ]

    def asked(self) -> tuple[str, ...]:
        """Every test asked for: those of the sets and the single ones."""
        chosen = {code for p in packages() if p.code in self.cleaned_data.get("packages", ()) for code in p.analytes}
        chosen |= set(self.cleaned_data.get("analytes", ()))
        return tuple(code for code in ANALYTES if code in chosen)

    def draws(self) -> tuple[DrawIn, ...]:
        """The places ticked, each with the tests."""
        asked, told = self.asked(), self.cleaned_data
        return tuple(
            DrawIn(
                place=place,
                analytes=asked,
                mode=mode,
                point=told.get(f"point-{code}", "").strip().upper(),
                where=told.get(f"where-{code}", ""),
            )
            for code, place, mode, _words, _usual in PLACES
            if told.get(f"draw-{code}")
        )

    def plan(self) -> PlanIn:
        """What the form says."""
        told = self.cleaned_data
        return PlanIn(
            laboratory=self.laboratories[told["laboratory"]],
            planned_on=told["planned_on"],
            planned_at=told["planned_at"],
            draws=self.draws(),
            purpose=told["purpose"],
            drawer=told["drawer"],
            note=told["note"],
            results_due_on=told["results_due_on"],
        )

    def take_errors(self, errors: Mapping[str, str]) -> None:
        """Show what the action refused beside the fields it names."""
        for name, told in errors.items():
            self.add_error(name if name in self.fields else None, told)


def _initial(sampling: Sampling) -> dict[str, Any]:
    """The form as it was filled in for a plan."""
    told: dict[str, Any] = {
        "laboratory": str(sampling.laboratory.public_id),
        "purpose": sampling.purpose,
        "planned_on": sampling.planned_on,
        "planned_at": sampling.planned_at,
        "drawer": sampling.drawer,
        "note": sampling.note,
        "results_due_on": sampling.results_due_on if sampling.due_by_hand else None,
    }
    asked: set[str] = set()
    for draw in sampling.draws.all():
        asked |= set(draw.analytes)
        for code, place, mode, _words, _usual in PLACES:
            if (place, mode) == (draw.place, draw.mode):
                told |= {f"draw-{code}": True, f"where-{code}": draw.where}
                if code == "between":
                    told["point-between"] = draw.point
    return {**told, "analytes": sorted(asked)}


def start_of(
    *, today: date, drawer: str, analytes: Iterable[str], place: str, purpose: str, treated: bool
) -> dict[str, Any]:
    """What a new plan begins with: tests and place that a link named, else raw water."""
    known = [code for code in analytes if code in ANALYTES]
    places = {code: f"draw-{code}" for code, _place, mode, _w, _u in PLACES if mode == "flushed"}
    begun = {"planned_on": today, "drawer": drawer, "analytes": known}
    if purpose in Purpose.values:
        begun["purpose"] = purpose
    if purpose in (Purpose.CLEAR, Purpose.PROVE) and not known:
        begun["packages"] = ["microbes"]
    fallback = "tap" if treated and purpose in (Purpose.CLEAR, Purpose.PROVE) else "raw"
    begun[places.get(place, f"draw-{fallback}")] = True
    return begun


class MomentForm(forms.Form):
    """Base of forms that take a moment: a day and an hour at the dealer's."""

    use_required_attribute = False

    def __init__(self, data: Any = None, *, zone: ZoneInfo, now: datetime) -> None:
        super().__init__(data)
        self.zone, self.now = zone, now.astimezone(zone)

    def _moment(self, name: str, label: Any, start: datetime | None = None) -> None:
        """Add a field for a moment."""
        at = (start or self.now).astimezone(self.zone)
        self.fields[name] = forms.DateTimeField(
            label=label,
            initial=at.strftime("%Y-%m-%dT%H:%M"),
            input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"],
            widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
            error_messages={
                "required": L("nothing given; accepted is day and hour such as 2026-06-12 09:30"),
                "invalid": L("this is no moment; accepted is day and hour such as 2026-06-12 09:30"),
            },
        )

    def at(self, name: str) -> datetime:
        """The moment typed, on the dealer's clock."""
        typed: datetime = self.cleaned_data[name]
        return typed.replace(tzinfo=self.zone)

    def take_errors(self, errors: Mapping[str, str]) -> None:
        """Show what the action refused beside the fields it names."""
        for name, told in errors.items():
            self.add_error(name if name in self.fields else None, told)


class DrawnForm(MomentForm):
    """When each draw was filled, and by whom."""

    def __init__(
        self, data: Any = None, *, draws: Sequence[SamplingDraw], drawer: str, zone: ZoneInfo, now: datetime
    ) -> None:
        super().__init__(data, zone=zone, now=now)
        self.positions = [draw.position for draw in draws]
        for draw in draws:
            self._moment(f"drawn-{draw.position}", f"{draw.sample_number}, {draw.get_place_display()}")
        self.fields["drawer"] = SpokenText(120, label=L("Drawn by"), initial=drawer)

    def times(self) -> dict[int, datetime]:
        """Moment by position of the draw."""
        return {position: self.at(f"drawn-{position}") for position in self.positions}


class ReceivedForm(MomentForm):
    """When the laboratory had the bottles."""

    def __init__(self, data: Any = None, *, zone: ZoneInfo, now: datetime) -> None:
        super().__init__(data, zone=zone, now=now)
        self._moment("received_at", L("At the laboratory"))


class ChaseForm(forms.Form):
    """The day the laboratory names when asked."""

    use_required_attribute = False
    due_on = day_field(L("Results now due on"))


class ReasonForm(forms.Form):
    """Why."""

    use_required_attribute = False
    reason = SpokenText(240, label=L("Reason"))
