"""The front door and the health page."""

from __future__ import annotations

from django.db import connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect

from customers.people.gate import open_to_all
from customers.people.permissions import CUSTOMER, TECHNICIAN


@open_to_all
def home(request: HttpRequest) -> HttpResponse:
    """Send each person to where their work is."""
    actor = getattr(request, "actor", None)
    if actor is None:
        return redirect("account_login")
    if actor.role == CUSTOMER:
        return redirect("portal-home")
    return redirect("field-today" if actor.role == TECHNICIAN else "today")


@open_to_all
def health(request: HttpRequest) -> HttpResponse:
    """Whether the database answers; more figures follow for those who run the place."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchone()
    return JsonResponse({"database": "ok"})
