"""Pages show times of day at the dealer's."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from customers.dealers.queries import zone_of


class LocalTimeMiddleware:
    """Render each page in the time zone of the acting person's dealer. Stands behind the dealer's scope."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request in the dealer's zone."""
        actor = getattr(request, "actor", None)
        if actor is None:
            return self.get_response(request)
        with timezone.override(zone_of(actor.dealer)):
            return self.get_response(request)
