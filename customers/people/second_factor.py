"""Owners and office staff need a second factor before they reach any page."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from customers.people.permissions import DESK


class SecondFactorMiddleware:
    """Send desk staff without an authenticator to set one up (``SECOND_FACTOR`` = "required")."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Let through, or redirect to the set-up page."""
        actor = getattr(request, "actor", None)
        if (
            settings.SECOND_FACTOR == "required"
            and actor is not None
            and actor.role in DESK
            and not request.path_info.startswith(("/account/", "/static/"))
            and not _has_authenticator(actor.user)
        ):
            return redirect("mfa_activate_totp")
        return self.get_response(request)


def _has_authenticator(user: object) -> bool:
    from allauth.mfa.utils import is_mfa_enabled

    return bool(is_mfa_enabled(user))
