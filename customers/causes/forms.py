"""Forms of corrections: shares and likelihoods in percent, features of devices, confirmed causes."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.causes.actions import CorrectionRefused
from customers.causes.readings import COLUMN_SOURCES, COLUMN_WORDS, cause_words
from customers.entry.fields import MeasureField, SpokenText
from sizing.engine.diagnosis import Correction, DiagnosisTables
from sizing.engine.diagnosis_tables import OTHER

PAIRS = 4


class FromList(forms.ChoiceField):
    """A choice from a long list: a refusal names what was chosen, not the whole list."""

    def validate(self, value: str) -> None:
        """One of the list."""
        if self.required and not value:
            raise ValidationError(_("nothing chosen; accepted is one of the list"))
        if value and not self.valid_value(value):
            raise ValidationError(_("“%(text)s” chosen; accepted is one of the list") % {"text": value})


def percent(label: Any, *, required: bool = True, stored: float | None = None, **kwargs: Any) -> MeasureField:
    """A share typed in percent."""
    return MeasureField(low=0.0, high=100.0, unit="%", label=label, required=required, stored=stored, **kwargs)


def with_none(choices: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Choices led by none at all."""
    return [("", "–"), *choices]


class CorrectionForm(forms.Form):
    """Base of all: why, the token, the dealer's tables; ``made`` is the engine's value."""

    use_required_attribute = False

    why = SpokenText(300, label=gettext_lazy("Why"), widget=forms.Textarea(attrs={"rows": 2}))
    form_token = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    #: Parameter of a refusal to field of the form.
    at: dict[str, str] = {"why": "why"}

    def __init__(self, *args: Any, tables: DiagnosisTables, **kwargs: Any) -> None:
        self.tables = tables
        super().__init__(*args, **kwargs)
        self.prepare()
        for name in ("why", "form_token"):
            self.fields[name] = self.fields.pop(name)

    def prepare(self) -> None:
        """Fields that depend on the tables."""

    def made(self) -> Correction:
        """The correction the form says."""
        raise NotImplementedError

    def take(self, refused: CorrectionRefused) -> None:
        """Show a refusal at the field it means."""
        name = self.at.get(refused.field)
        self.add_error(name if name in self.fields else None, str(refused))

    def add_pairs(self, choices: list[tuple[str, str]], what: Any, how: Any) -> None:
        """A few rows of (which, how often)."""
        for n in range(1, PAIRS + 1):
            which: Any = FromList(choices=with_none(choices), required=False, label=f"{what} ({n})")
            which.plain_label = True
            self.fields[f"which_{n}"] = which
            often: Any = percent(f"{how} ({n})", required=False)
            often.plain_label = True
            often.widget.attrs["size"] = 4
            self.fields[f"often_{n}"] = often

    def pairs(self) -> dict[str, float]:
        """What the rows say, as shares."""
        found = {}
        for n in range(1, PAIRS + 1):
            which, often = self.cleaned_data.get(f"which_{n}"), self.cleaned_data.get(f"often_{n}")
            if which and often is not None:
                found[which] = often / 100.0
        return found

    def clean(self) -> dict[str, Any]:
        """A row of a pair is whole or empty, and names each thing once."""
        data: dict[str, Any] = super().clean() or {}
        seen = set()
        for n in range(1, PAIRS + 1):
            if f"which_{n}" not in self.fields:
                break
            which, often = data.get(f"which_{n}"), data.get(f"often_{n}")
            if which and often is None and f"often_{n}" not in self.errors:
                self.add_error(f"often_{n}", _("nothing typed; accepted is a number from 0 to 100 %"))
            if often is not None and not which and f"which_{n}" not in self.errors:
                self.add_error(f"which_{n}", _("nothing chosen; accepted is one of the list"))
            if which and which in seen:
                self.add_error(f"which_{n}", _("chosen twice; accepted is each once"))
            seen.add(which)
        return data


class ShareForm(CorrectionForm):
    """How much of a complaint a cause stands behind."""

    cause = FromList(label=gettext_lazy("Cause"))
    source = FromList(label=gettext_lazy("Source"), required=False)
    share = percent(gettext_lazy("Share"))
    at = {"why": "why", "cause": "cause", "source": "source", "share": "share"}

    def __init__(self, *args: Any, complaint: str, **kwargs: Any) -> None:
        self.complaint = complaint
        super().__init__(*args, **kwargs)

    def prepare(self) -> None:
        """Causes of the complaint first, then all others."""
        here = [one.cause for one in self.tables.shares[self.complaint]]
        rest = [code for code in self.tables.causes if code not in here]
        listed = [(code, cause_words(self.tables, code)) for code in here]
        others = sorted(
            ((code, cause_words(self.tables, code)) for code in rest), key=lambda pair: pair[1].casefold()
        )
        self.fields["cause"].choices = with_none(listed + others)  # type: ignore[attr-defined]
        self.fields["source"].choices = [  # type: ignore[attr-defined]
            ("", _("all")),
            *zip(COLUMN_SOURCES, COLUMN_WORDS, strict=True),
        ]
        source: Any = self.fields["source"]
        source.plain_label = True

    def made(self) -> Correction:
        """The correction the form says."""
        data = self.cleaned_data
        return Correction(
            "share", data["cause"], target=self.complaint, source=data["source"], value=data["share"] / 100.0
        )


class LikelihoodForm(CorrectionForm):
    """How often a cause shows something."""

    observation = FromList(label=gettext_lazy("What it shows"))
    often = percent(gettext_lazy("How often"))
    at = {"why": "why", "observation": "observation", "share": "often"}

    def __init__(self, *args: Any, cause: str, **kwargs: Any) -> None:
        self.cause = cause
        super().__init__(*args, **kwargs)

    def prepare(self) -> None:
        """What it shows already first."""
        self.fields["observation"].choices = with_none(observation_choices(self.tables, self.cause))  # type: ignore[attr-defined]

    def made(self) -> Correction:
        """The correction the form says."""
        data = self.cleaned_data
        return Correction("likelihood", self.cause, target=data["observation"], value=data["often"] / 100.0)


def observation_choices(tables: DiagnosisTables, cause: str = "") -> list[tuple[str, str]]:
    """Every observation in words; what a cause shows already stands first."""
    shown = set(tables.causes[cause].signs) | set(tables.causes[cause].presents) if cause else set()
    rows = [(code, _(one.words)) for code, one in tables.observations.items()]
    return sorted(rows, key=lambda row: (row[0] not in shown, row[1].casefold()))


def cause_choices(tables: DiagnosisTables) -> list[tuple[str, str]]:
    """Every cause in words, by alphabet."""
    return sorted(((code, cause_words(tables, code)) for code in tables.causes), key=lambda pair: pair[1].casefold())


class SeenOnForm(CorrectionForm):
    """How often a device shows a feature."""

    feature = FromList(label=gettext_lazy("Feature"))
    often = percent(gettext_lazy("How often"))
    at = {"why": "why", "feature": "feature", "share": "often"}

    def __init__(self, *args: Any, device: str, **kwargs: Any) -> None:
        self.device = device
        super().__init__(*args, **kwargs)

    def prepare(self) -> None:
        """What it shows already first."""
        shown = self.tables.devices[self.device].features
        rows = [(code, _(one.words)) for code, one in self.tables.features.items()]
        rows.sort(key=lambda row: (row[0] not in shown, row[1].casefold()))
        self.fields["feature"].choices = with_none(rows)  # type: ignore[attr-defined]

    def made(self) -> Correction:
        """The correction the form says."""
        data = self.cleaned_data
        return Correction("seen_on", self.device, target=data["feature"], value=data["often"] / 100.0)


class ConfirmForm(CorrectionForm):
    """What a complaint of a household turned out to come from."""

    complaint = FromList(label=gettext_lazy("Complaint"))
    cause = FromList(label=gettext_lazy("It came from"))
    at = {"cause": "cause", "complaint": "complaint"}

    def __init__(self, *args: Any, heard: list[str], **kwargs: Any) -> None:
        self.heard = heard
        super().__init__(*args, **kwargs)

    def prepare(self) -> None:
        """Complaints heard here first; every cause, and something else."""
        rows = [(code, _(self.tables.observations[code].words)) for code in self.tables.shares]
        rows.sort(key=lambda row: row[0] not in self.heard)
        self.fields["complaint"].choices = with_none(rows)  # type: ignore[attr-defined]
        likely = [one.cause for code in self.heard for one in self.tables.shares[code]]
        causes = sorted(cause_choices(self.tables), key=lambda row: row[0] not in likely)
        other = (OTHER, cause_words(self.tables, OTHER))
        self.fields["cause"].choices = with_none([*causes, other])  # type: ignore[attr-defined]
        self.fields["why"].required = False
        self.fields["why"].label = _("What proved it")

    def made(self) -> Correction:
        """The correction the form says (its source is the household's)."""
        data = self.cleaned_data
        return Correction("finished", data["cause"], target=data["complaint"])
