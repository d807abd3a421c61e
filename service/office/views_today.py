"""The first page of the day."""

from __future__ import annotations

from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from customers.dealers.queries import today_at
from customers.people.gate import acting, require
from service.office.today import reasons


@require("household.list")
def today(request: HttpRequest) -> HttpResponse:
    """What needs a person now, grouped by reason."""
    actor = acting(request)
    now = timezone.now()
    day = today_at(actor.dealer, now)
    context = {"groups": reasons(actor.dealer, day, now), "day": day, "form_token": uuid4()}
    return render(request, "office/today.html", context)
