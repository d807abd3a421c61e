"""Small calculations at the desk: a list of them, and one page for each. Nothing is kept."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from customers.dealers.queries import today_at
from customers.households.models import Site
from customers.households.queries import site_for, units_of
from customers.people.actors import Actor
from customers.people.gate import acting, require
from service.office.reckon_form import ReckonForm, switched
from service.office.reckon_site import known_of
from service.office.reckoning import CALCULATORS, calculator_named
from sizing.engine.display import SYSTEMS


def _site(actor: Actor, request: HttpRequest) -> Site | None:
    named = request.GET.get("site", "")
    return site_for(actor, named) if named else None


@require("household.list")
def reckon(request: HttpRequest) -> HttpResponse:
    """Every small calculation, one line each."""
    context = {"calculators": CALCULATORS, "site": _site(acting(request), request)}
    return render(request, "office/reckon/list.html", context)


@require("household.list")
def reckon_page(request: HttpRequest, name: str) -> HttpResponse:
    """One calculation: its questions, and with ``go`` in the address its answer."""
    actor, calculator = acting(request), calculator_named(name)
    site = _site(actor, request)
    usual = units_of(site) if site else actor.dealer.units
    system = request.GET.get("units", "")
    system = system if system in SYSTEMS else usual
    other = next(known for known in SYSTEMS if known != system)
    if request.GET.get("show") == other:
        return redirect(f"{request.path}?{switched(calculator, request.GET, system, other).urlencode()}")
    asked = "go" in request.GET
    known = known_of(site) if site and not asked else None
    form = ReckonForm(calculator, system, request.GET if asked else None, known, request.GET.dict())
    reckoned = form.reckon() if asked and form.is_valid() else None
    context: dict[str, Any] = {
        "calculator": calculator,
        "site": site,
        "form": form,
        "reckoned": reckoned,
        "given": list(form.given()) if reckoned else [],
        "system": system,
        "other": other,
        "asked": asked,
        "today": today_at(actor.dealer, timezone.now()),
    }
    return render(request, "office/reckon/page.html", context, status=422 if form.errors else 200)
