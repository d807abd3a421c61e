"""Forms about staff."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from customers.people.models import Role


class StaffForm(forms.Form):
    """A new person on the staff."""

    email = forms.EmailField(label=_("E-mail"))
    name = forms.CharField(label=_("Name"), max_length=80)
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices)
    phone = forms.CharField(label=_("Phone"), max_length=40, required=False)


class StaffChangeForm(forms.Form):
    """Somebody on the staff."""

    name = forms.CharField(label=_("Name"), max_length=80)
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices)
    phone = forms.CharField(label=_("Phone"), max_length=40, required=False)
    active = forms.BooleanField(label=_("May sign in"), required=False)
