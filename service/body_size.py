"""Refusing a request whose body is larger than anything a page of ours sends, before a byte of it is read."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _


class BodySizeMiddleware:
    """Stands before everything that reads the body. A body without a stated length is not read at all."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer 413 to what is too large."""
        try:
            length = int(request.META.get("CONTENT_LENGTH") or 0)
        except ValueError:
            length = 0
        if length > settings.MOST_BODY_BYTES:
            words = _("The body has %(n)s bytes; accepted are at most %(most)s.")
            told = words % {"n": length, "most": settings.MOST_BODY_BYTES}
            return HttpResponse(told, status=413, content_type="text/plain; charset=utf-8")
        return self.get_response(request)
