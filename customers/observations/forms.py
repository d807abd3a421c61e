"""The symptoms form: ticks while the caller talks."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.entry.fields import SpokenChoice, SpokenText
from customers.observations.actions import Said
from customers.observations.models import WhereSeen
from customers.observations.queries import CHOICES, GROUPS, SYMPTOMS


class SymptomsForm(forms.Form):
    """Several symptoms at once, at which taps, in whose words."""

    use_required_attribute = False

    codes = forms.MultipleChoiceField(
        label=gettext_lazy("What is said"),
        choices=[(code, words) for code, words in SYMPTOMS.items()],
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": gettext_lazy("nothing ticked; accepted is at least one of the list"),
            "invalid_choice": gettext_lazy("“%(value)s” ticked; accepted is one of the list"),
        },
    )
    where = SpokenChoice(
        label=gettext_lazy("At which taps"),
        choices=WhereSeen.choices,
        initial=WhereSeen.UNKNOWN,
        widget=forms.RadioSelect,
    )
    words = SpokenText(400, label=gettext_lazy("In the caller's words"), required=False, widget=forms.Textarea)
    since = SpokenText(80, label=gettext_lazy("Since when"), required=False)
    form_token = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)

    def groups(self) -> list[tuple[str, list[tuple[str, str, bool]]]]:
        """(group in words, [(code, words, ticked)]), urgent ones first."""
        ticked = set(self["codes"].value() or [])
        return [
            (_(words), [(s.code, _(s.words), s.code in ticked) for s in CHOICES if s.group == group])
            for group, words in GROUPS.items()
        ]

    def said(self) -> list[Said]:
        """What the action takes."""
        data: dict[str, Any] = self.cleaned_data
        return [Said(code, data["where"], data["words"], data["since"]) for code in data["codes"]]
