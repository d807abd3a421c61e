"""The unsubscribe page behind every message: no sign-in, no cookie; opening it changes nothing."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from customers.people.gate import open_to_all
from customers.tenancy.scope import dealer_scope
from service.reminders.actions import suppress
from service.reminders.writing import BadUnsubscribe, read_unsubscribe


@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def _unsubscribe(request: HttpRequest, token: str) -> HttpResponse:
    try:
        dealer, address = read_unsubscribe(token)
    except BadUnsubscribe as refused:
        return render(request, "portal/unsubscribe.html", {"refused": refused}, status=404)
    done = request.method == "POST"
    if done:
        with dealer_scope(dealer):
            suppress(dealer=dealer, address=address, reason="asked for no reminders", now=timezone.now())
    context = {"dealer": dealer, "address": address, "done": done}
    response = render(request, "portal/unsubscribe.html", context)
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


unsubscribe = open_to_all(_unsubscribe)
