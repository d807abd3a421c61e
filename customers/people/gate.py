"""The gate before a view: which action of the role table it needs."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.urls import reverse

from customers.people.actors import Actor

View = Callable[..., HttpResponse]
READING = ("GET", "HEAD", "OPTIONS")
ONLY_READ = (".read", ".list", ".download")


def require(action: str, *, write: str | None = None) -> Callable[[View], View]:
    """Let a view run only for actors who may do ``action`` (``write`` for unsafe methods, if another).

    Nobody signed in is sent to sign in; a lesser role gets 403. A view with a reading action alone answers
    reading methods only, any other also POST; what is left is 405. The rule is readable on the view
    (``view.access``), where the access-table test finds it.
    """
    methods = READING if write is None and action.endswith(ONLY_READ) else (*READING, "POST")

    def decorate(view: View) -> View:
        @wraps(view)
        def gated(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            actor: Actor | None = getattr(request, "actor", None)
            if actor is None:
                if request.user.is_authenticated:
                    raise PermissionDenied("This sign-in belongs to no active staff or household.")
                return redirect_to_login(request.get_full_path(), reverse("account_login"))
            actor.must(write if write and request.method not in READING else action)
            if request.method not in methods:
                return HttpResponseNotAllowed(methods)
            return view(request, *args, **kwargs)

        gated.access = (action, write or action)  # type: ignore[attr-defined]
        return gated

    return decorate


def open_to_all(view: View) -> View:
    """Mark a view that needs no sign-in (health, sign-in link, unsubscribe)."""
    view.access = ("open", "open")  # type: ignore[attr-defined]
    return view


def acting(request: HttpRequest) -> Actor:
    """The request's actor, inside a gated view."""
    actor: Actor = request.actor  # type: ignore[attr-defined]
    return actor
