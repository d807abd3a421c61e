"""The household's own pages."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_variables

from customers.dealers.queries import today_at
from customers.households.models import HouseholdAccess, Site
from customers.households.queries import site_for, sites_for
from customers.households.sign_in import LinkUsedUp, consume_sign_in_link, look_at_link
from customers.people.gate import acting, open_to_all, require
from customers.water_tests.bar import notice_bar
from customers.water_tests.queries import own_report_for, reports_of
from service.documents.queries import newest_paper, papers_of
from service.documents.serving import pdf_response
from service.installs.water_path import path_of_train
from service.milestones.actions import answer_quote
from service.portal.actions import ask_for_visit, choose_messages, set_season
from service.portal.calendar import NoSuchFeed, calendar_of, feed_token, site_of_feed
from service.portal.forms import AnswerForm, AskForm, MessagesForm, SeasonForm
from service.portal.queries import own_page
from service.reminders.models import Suppression
from sizing.quotes.actions import QuoteNotOpen, Unsigned, WrongDocument
from sizing.quotes.queries import quote_for, totals_of

BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


@open_to_all
@sensitive_variables("token")
def link(request: HttpRequest, token: str) -> HttpResponse:
    """A mailed sign-in link. Opening it changes nothing (scanners open links); the button uses it up."""
    now = timezone.now()
    try:
        if request.method != "POST":
            found = look_at_link(token=token, now=now)
            response = render(request, "portal/link.html", {"site": found.site, "dealer": found.dealer})
        else:
            used = consume_sign_in_link(token=token, now=now)
            login(request, used.user, backend=BACKEND)  # cycles the session key
            request.session["dealer"] = used.dealer_id
            target = used.leads_to or reverse("portal-site", args=[used.site.public_id])
            response = redirect(target)
    except LinkUsedUp as refused:
        response = render(request, "portal/link_gone.html", {"refused": refused}, status=404)
    response.headers["Referrer-Policy"] = "strict-origin"  # with none at all, browsers post no Origin
    response.headers["Cache-Control"] = "no-store"
    return response


@require("portal.read")
def home(request: HttpRequest) -> HttpResponse:
    """The household's page, or the choice between several."""
    sites = list(sites_for(acting(request)).order_by("name"))
    if len(sites) == 1:
        return redirect("portal-site", site_id=sites[0].public_id)
    return render(request, "portal/home.html", {"sites": sites})


@require("portal.read")
def site_page(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Notice, path, next visit, last test, what to do, quote, papers."""
    actor = acting(request)
    site = site_for(actor, site_id)
    page = own_page(site, today_at(site.dealer, timezone.now()))
    access = HouseholdAccess.objects.filter(site=site, user=actor.user).select_related("dealer").first()
    context = {
        "site": site,
        "page": page,
        "notice": page.notice,
        "feed": request.build_absolute_uri(reverse("portal-calendar", args=[feed_token(access)])) if access else "",
    }
    return render(request, "portal/site.html", context)


def _address(request: HttpRequest) -> str | None:
    return request.META.get("REMOTE_ADDR") or None


@require("portal.read", write="portal.answer_quote")
def quote(request: HttpRequest, quote_id: UUID) -> HttpResponse:
    """A quote to read, then accept or decline with name and signature."""
    actor = acting(request)
    row = quote_for(actor, quote_id)
    now = timezone.now()
    form = AnswerForm(request.POST or None, initial={"document": row.fingerprint})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            answer_quote(
                quote=row,
                accepted="accept" in request.POST,
                name=data["name"],
                signature=data["signature"],
                reason=data["reason"],
                user=actor.user,
                address=_address(request),
                user_agent=request.META.get("HTTP_USER_AGENT", ""),
                document_hash=data["document"],
                now=now,
            )
        except (QuoteNotOpen, Unsigned, WrongDocument) as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(
                request, _("Thank you. Your answer is kept with the time and the document it was given to.")
            )
            return redirect("portal-quote", quote_id=row.public_id)
    return render(request, "portal/quote.html", _quote_context(row, form), status=422 if form.errors else 200)


def _quote_context(row: Any, form: AnswerForm) -> dict[str, Any]:
    lines = list(row.lines.all())
    today = today_at(row.dealer, timezone.now())
    return {
        "quote": row,
        "site": row.site,
        "lines": lines,
        "totals": totals_of(lines, row.tax_rate),
        "path": path_of_train(row.site, row.train, today) if row.train else None,
        "paper": newest_paper(row.site, "quote", row.public_id),
        "notice": notice_bar(row.site),
        "answer": getattr(row, "answer", None),
        "open": row.state == "issued" and (row.valid_until is None or today <= row.valid_until),
        "form": form,
    }


@require("portal.read")
def papers(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """All papers of the household."""
    site = site_for(acting(request), site_id)
    context = {
        "site": site,
        "papers": papers_of(site, for_customer=True),
        "reports": reports_of(site),
        "notice": notice_bar(site),
    }
    return render(request, "portal/papers.html", context)


@require("portal.read")
def report(request: HttpRequest, report_id: UUID) -> HttpResponse:
    """The laboratory's PDF of the household's own results: handed out as a file, never shown in place, never kept
    on the way."""
    row = own_report_for(acting(request), report_id)
    day = row.tests.latest("sampled_on").sampled_on
    name = _("laboratory results %(place)s %(day)s") % {"place": row.site.name, "day": day}
    return pdf_response(row.file, name, save=True)


@require("portal.read", write="portal.write")
def ask(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Ask for a visit."""
    actor = acting(request)
    site = site_for(actor, site_id)
    now = timezone.now()
    form = AskForm(request.POST or None, today=today_at(site.dealer, now))
    if request.method == "POST" and form.is_valid():
        ask_for_visit(site=site, actor=actor, now=now, **form.cleaned_data)
        messages.success(request, _("We have it. The office answers with a day."))
        return redirect("portal-site", site_id=site.public_id)
    return _form_page(request, site, form, _("Ask for a visit"), _("Send"))


@require("portal.read", write="portal.write")
def season(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Say when the place opens and closes."""
    actor = acting(request)
    site = site_for(actor, site_id)
    if not site.seasonal:
        raise Http404("This place is used all year")
    names = ("opens_day", "opens_month", "closes_day", "closes_month")
    form = SeasonForm(request.POST or None, initial={name: getattr(site, name) for name in names})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        set_season(
            site=site,
            actor=actor,
            opens=(data["opens_month"], data["opens_day"]),
            closes=(data["closes_month"], data["closes_day"]),
            now=timezone.now(),
        )
        messages.success(request, _("Changed. The dates of your visits follow."))
        return redirect("portal-site", site_id=site.public_id)
    return _form_page(request, site, form, _("When you open and close"), _("Save"))


@require("portal.read", write="portal.write")
def messages_page(request: HttpRequest, site_id: UUID) -> HttpResponse:
    """Choose which messages to get."""
    actor = acting(request)
    site = site_for(actor, site_id)
    off = Suppression.objects.filter(address=actor.user.email).exists()
    form = MessagesForm(request.POST or None, initial={"reminders": not off})
    if request.method == "POST" and form.is_valid():
        choose_messages(site=site, actor=actor, now=timezone.now(), **form.cleaned_data)
        messages.success(request, _("Saved."))
        return redirect("portal-site", site_id=site.public_id)
    return _form_page(request, site, form, _("Messages we send you"), _("Save"))


def _form_page(request: HttpRequest, site: Site, form: Any, heading: str, action: str) -> HttpResponse:
    context = {"site": site, "form": form, "heading": heading, "action": action, "notice": notice_bar(site)}
    return render(request, "portal/form.html", context, status=422 if form.errors else 200)


@open_to_all
def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """The household's visits as a calendar feed."""
    try:
        site = site_of_feed(token)
    except NoSuchFeed:
        raise Http404("No such calendar") from None
    now = timezone.now()
    body = calendar_of(site, today_at(site.dealer, now), now)
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response.headers["Cache-Control"] = "private, max-age=3600"
    return response
