"""How allauth behaves here: nobody signs themselves up; staff and household people are invited."""

from __future__ import annotations

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class AccountAdapter(DefaultAccountAdapter):
    """Closed sign-up."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Never: accounts are made by the dealer."""
        return False
