"""Asking for a mailed sign-in code: for households and crews; the desk signs in with its password."""

from __future__ import annotations

from allauth.account.forms import RequestLoginCodeForm

from customers.people.actors import actor_of_user
from customers.people.permissions import DESK


class CodeForm(RequestLoginCodeForm):
    """Treats an address of owner or office like an unknown one: same page, same time, no code."""

    def clean_email(self) -> str:
        """The address; the person behind it is left out where a password and a second factor are needed."""
        email: str = super().clean_email()
        user = getattr(self, "_user", None)
        actor = actor_of_user(user) if user is not None else None
        if actor is not None and actor.role in DESK:
            self._user = None
        return email
