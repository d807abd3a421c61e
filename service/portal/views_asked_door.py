"""The door of the caller's own page: which enquiry this browser may answer, and no other."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from customers.dealers.models import Dealer
from customers.dealers.queries import zone_of
from customers.enquiries.links import spent
from customers.enquiries.models import EnquiryLink
from customers.people.gate import open_to_all
from customers.tenancy.scope import dealer_scope
from service.throttle import within

KEY = "asked"
POSTS, POSTS_SECONDS = 150, 600
View = Callable[..., HttpResponse]


def open_page(request: HttpRequest, link: EnquiryLink) -> None:
    """Let this browser answer the link's enquiry until the link's last day; a sign-in on it stays what it was."""
    request.session.cycle_key()
    request.session[KEY] = {"dealer": link.dealer_id, "link": link.public_id.hex}
    if not request.user.is_authenticated:
        request.session.set_expiry(link.expires_at)


def opened_here(request: HttpRequest, link: EnquiryLink) -> bool:
    """Whether this browser is the one that used the link up."""
    held = request.session.get(KEY) or {}
    return bool(held.get("link") == link.public_id.hex)


def gone(request: HttpRequest, why: str, dealer: Dealer | None, *, status: int = 404, **more: Any) -> HttpResponse:
    """The page that says why nothing opens, and how to reach the dealer."""
    context = {"why": why, "dealer": dealer, **more}
    return render(request, "portal/asked/gone.html", context, status=status)


def asked(view: View) -> View:
    """Let a view run for the enquiry this browser was let in to: ``view(request, link, ...)``, in its dealer's scope.

    Anybody else gets 404, who comes too often 429; a link the dealer has stopped since opens nothing any more.
    """

    @wraps(view)
    def answered(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        held = request.session.get(KEY)
        dealer = Dealer.objects.filter(pk=held["dealer"]).first() if held else None
        if held is None or dealer is None:
            return gone(request, "unknown", None)
        now = timezone.now()
        with dealer_scope(dealer):
            rows = EnquiryLink.objects.filter(public_id=UUID(hex=held["link"])).select_related(
                "enquiry__site", "dealer"
            )
            link: EnquiryLink | None = rows.first()
            if link is None:
                return gone(request, "unknown", None)
            why = spent(link, now)
            if why in ("closed", "revoked") or link.expires_at <= now:
                return gone(request, why if why in ("closed", "revoked") else "old", dealer)
            if request.method == "POST" and not within(f"asked:{link.pk}", most=POSTS, seconds=POSTS_SECONDS):
                return gone(request, "busy", dealer, status=429)
            link.enquiry.dealer = dealer
            with timezone.override(zone_of(dealer)):
                response = view(request, link, *args, **kwargs)
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    return open_to_all(answered)
