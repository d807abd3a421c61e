"""Papers of a household at the desk: all of them, and the ones that can be made now."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.households.queries import site_for
from customers.people.gate import acting, require
from service.documents.offers import NotOffered, make_offered, offers_of
from service.documents.queries import papers_of

PER_PAGE = 50


@require("paper.read")
def household_papers(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Every paper of a household, newest first, and the papers that can be made of it now."""
    actor = acting(request)
    site = site_for(actor, site_id)
    today = today_at(site.dealer, timezone.now())
    page = Paginator(papers_of(site), PER_PAGE).get_page(request.GET.get("page"))
    offers = offers_of(site, today) if actor.may("household.write") else []
    return render(request, "office/papers/list.html", {"site": site, "page": page, "offers": offers})


@require("paper.read", write="household.write")
@require_POST
def paper_make(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Make one paper (``kind`` and ``about``) and go to the list, where it stands first."""
    actor = acting(request)
    site, now = site_for(actor, site_id), timezone.now()
    kind, about = request.POST.get("kind", ""), request.POST.get("about", "")
    try:
        paper = make_offered(
            site=site, kind=kind, about=about, actor=actor, now=now, today=today_at(site.dealer, now)
        )
    except NotOffered as error:
        messages.error(request, str(error))
    else:
        words = _("%(title)s is made: %(number)s, version %(version)s.")
        messages.success(request, words % {"title": paper.title, "number": paper.number, "version": paper.version})
    return redirect("household-papers", site_id=site.public_id)
