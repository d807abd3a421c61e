"""One transaction and one dealer per request."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils.module_loading import import_string
from django_scopes import scope

from customers.tenancy.scope import tell_database


class DealerScopeMiddleware:
    """Open a transaction, find the actor, enter the actor's dealer, call the view, roll back on 5xx.

    Used instead of ``ATOMIC_REQUESTS``, which would open its transaction after the setting was made.
    The actor is found by the callable named in ``settings.TENANCY_ACTOR`` and put on ``request.actor``.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.actor_for = import_string(settings.TENANCY_ACTOR)

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request inside the scope."""
        if request.path_info.startswith(settings.TENANCY_EXEMPT):
            return self.get_response(request)
        with transaction.atomic():
            actor = self.actor_for(request)
            request.actor = actor  # type: ignore[attr-defined]
            if actor is None or actor.dealer is None:
                response = self.get_response(request)
            else:
                tell_database(dealer=actor.dealer.pk)
                with scope(dealer=actor.dealer.pk):
                    response = self.get_response(request)
            if response.status_code >= 500:
                transaction.set_rollback(True)
        return response
