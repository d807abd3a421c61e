"""Forms of what a dealer adds to the tables: causes, questions, devices, features."""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.causes.actions import CorrectionRefused
from customers.causes.forms import CorrectionForm, FromList, cause_choices, observation_choices, percent, with_none
from customers.causes.readings import ASKED_WORDS
from customers.entry.fields import MeasureField, SpokenChoice, SpokenText
from sizing.engine.design import StageKind
from sizing.engine.diagnosis import Correction


def code_from(words: str) -> str:
    """A code for words: small letters, figures, underscores, at most 40."""
    flat = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "_", flat).strip("_")[:40].strip("_")


class OwnForm(CorrectionForm):
    """Base of what a dealer adds: words and a code made from them."""

    words = SpokenText(160, label=gettext_lazy("In words, as the office says it"))
    plain = SpokenText(200, label=gettext_lazy("In plain words, for the customer"), required=False)
    kind: Any = "cause"
    at = {"why": "why", "words": "words"}

    def take(self, refused: CorrectionRefused) -> None:
        """A refused code is a refused wording."""
        if refused.field.startswith(("code of", "words of")):
            self.add_error("words", str(refused))
        else:
            super().take(refused)

    @property
    def code(self) -> str:
        """The code the words give."""
        return code_from(self.cleaned_data["words"])


class OwnCauseForm(OwnForm):
    """A cause the shipped tables do not know."""

    confirm = SpokenText(240, label=gettext_lazy("What confirms it"), required=False)
    health = SpokenText(240, label=gettext_lazy("What to say of health or safety"), required=False)
    complaint = FromList(label=gettext_lazy("Behind which complaint"))
    share = percent(gettext_lazy("Its share of that complaint"))

    def prepare(self) -> None:
        """Complaints to choose from, signs to tell."""
        rows = [(code, _(self.tables.observations[code].words)) for code in self.tables.shares]
        self.fields["complaint"].choices = with_none(rows)  # type: ignore[attr-defined]
        self.add_pairs(observation_choices(self.tables), _("It shows"), _("How often"))

    def made(self) -> Correction:
        """The correction the form says."""
        data = self.cleaned_data
        return Correction(
            "cause",
            self.code,
            words=data["words"],
            plain=data["plain"],
            confirm=data["confirm"],
            health=data["health"],
            shares={data["complaint"]: data["share"] / 100.0},
            signs=self.pairs(),
        )


class OwnQuestionForm(OwnForm):
    """A question of the dealer's own."""

    asked = SpokenChoice(label=gettext_lazy("How it is answered"), choices=list(ASKED_WORDS.items()), initial="phone")
    group = FromList(label=gettext_lazy("Group"))
    background = percent(gettext_lazy("How often a yes comes where no cause speaks of it"), stored=10.0)
    cost = MeasureField(low=0.0, high=5000.0, label=gettext_lazy("What one costs"), stored=1.0)
    days = MeasureField(low=0.0, high=120.0, unit="d", label=gettext_lazy("Days until the answer"), stored=0.0)

    def prepare(self) -> None:
        """Groups to choose from, causes it speaks for."""
        self.fields["group"].choices = [(code, _(words)) for code, words in self.tables.groups.items()]  # type: ignore[attr-defined]
        self.add_pairs(cause_choices(self.tables), _("Under cause"), _("A yes comes"))

    def made(self) -> Correction:
        """The correction the form says."""
        data = self.cleaned_data
        return Correction(
            "observation",
            self.code,
            words=data["words"],
            plain=data["plain"],
            group=data["group"],
            asked=data["asked"],
            value=data["background"] / 100.0,
            cost=Decimal(str(round(data["cost"], 2))),
            days=data["days"],
            signs=self.pairs(),
        )


class OwnDeviceForm(OwnForm):
    """A device the shipped tables do not know; ``plain`` says how it is told from its look-alikes."""

    stage_kind = FromList(label=gettext_lazy("Which stage it is"), required=False)
    often = percent(gettext_lazy("How often people ask about it"), stored=1.0)

    def prepare(self) -> None:
        """Stages and features to choose from."""
        self.fields["plain"].label = _("How it is told from what looks like it")
        kinds = [(kind.value, kind.value.replace("_", " ")) for kind in StageKind]
        self.fields["stage_kind"].choices = [("", _("no stage")), *kinds]  # type: ignore[attr-defined]
        rows = [(code, _(one.words)) for code, one in self.tables.features.items()]
        self.add_pairs(sorted(rows, key=lambda row: row[1].casefold()), _("It shows"), _("How often"))

    def made(self) -> Correction:
        """The correction the form says."""
        data = self.cleaned_data
        return Correction(
            "device",
            self.code,
            words=data["words"],
            plain=data["plain"],
            stage_kind=data["stage_kind"],
            value=data["often"] / 100.0,
            signs=self.pairs(),
        )


class OwnFeatureForm(OwnForm):
    """A feature by which devices are told apart."""

    background = percent(gettext_lazy("How often it is seen on other devices"), stored=2.0)

    def prepare(self) -> None:
        """Devices to choose from."""
        rows = [(code, _(one.words)) for code, one in self.tables.devices.items()]
        self.add_pairs(sorted(rows, key=lambda row: row[1].casefold()), _("On device"), _("It is seen"))

    def made(self) -> Correction:
        """The correction the form says."""
        data = self.cleaned_data
        return Correction(
            "feature",
            self.code,
            words=data["words"],
            plain=data["plain"],
            value=data["background"] / 100.0,
            signs=self.pairs(),
        )


OWN: dict[str, type[OwnForm]] = {
    "cause": OwnCauseForm,
    "question": OwnQuestionForm,
    "device": OwnDeviceForm,
    "feature": OwnFeatureForm,
}
