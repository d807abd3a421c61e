"""The page a caller fills in from a mailed link: opened once, kept as it goes, for one enquiry alone."""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_POST

from customers.causes.queries import tables_of
from customers.enquiries.actions import send_in
from customers.enquiries.answering import write_down
from customers.enquiries.forms import read_said
from customers.enquiries.keeping import EnquiryRefused, Sayer, caller_of
from customers.enquiries.links import LinkSpent, NoSuchLink, find_link, look_at_link, spent, use_link
from customers.enquiries.models import EnquiryLink, EnquiryPhoto, EnquiryState
from customers.enquiries.photographs import MOST_PHOTOS, add_photo, remove_photo
from customers.enquiries.queries import Answers, answers_of
from customers.people.gate import open_to_all
from customers.photos.serving import photo_response
from customers.photos.taking import ACCEPT, PhotoRefused
from customers.tenancy.getters import get_public
from customers.tenancy.scope import dealer_scope
from service.milestones.enquiries import mail_questions
from service.portal.asked_steps import (
    AREAS,
    DEVICE,
    HEADINGS,
    Plan,
    areas,
    questions_of,
    sources,
    stops,
    summary,
)
from service.portal.views_asked_door import KEY, asked, gone, open_page, opened_here
from service.throttle import within
from sizing.diagnoses.reasoning import Reasoned, reason

MOST_AT_ONCE = 4
DETAILS_OF = {"you": ("name", "phone", "place"), "words": ("told",)}


@open_to_all
@sensitive_variables("token")
def link(request: HttpRequest, token: str) -> HttpResponse:
    """A mailed link. Opening it changes nothing (scanners open links); the button uses it up."""
    if not within(f"asked-link:{request.META.get('REMOTE_ADDR', '')}", most=40, seconds=300):
        response = gone(request, "busy", None, status=429)
    else:
        response = _link(request, token)
    response.headers["Referrer-Policy"] = "strict-origin"  # with none at all, browsers post no Origin
    response.headers["Cache-Control"] = "no-store"
    return response


def _link(request: HttpRequest, token: str) -> HttpResponse:
    now = timezone.now()
    try:
        if request.method != "POST":
            found = look_at_link(token=token, now=now)
            return render(request, "portal/asked/landing.html", {"dealer": found.dealer, "enquiry": found.enquiry})
        if "again" in request.POST:
            return _again(request, token)
        used = use_link(token=token, now=now)
    except NoSuchLink:
        return gone(request, "unknown", None)
    except LinkSpent as refused:
        if refused.why == "used" and opened_here(request, refused.link):
            return redirect("asked")
        old, may_ask = refused.link, refused.why in ("used", "old")
        return gone(request, refused.why, old.dealer, may_ask=may_ask, to=_half_hidden(old.to_address))
    open_page(request, used)
    return redirect("asked")


def _again(request: HttpRequest, token: str) -> HttpResponse:
    """Mail a new link to the address the spent one went to; nothing is said about any other."""
    now = timezone.now()
    old = find_link(token=token)
    why = spent(old, now)
    if not why:
        return redirect("asked-link", token=token)
    if why not in ("used", "old"):
        return gone(request, why, old.dealer)
    if not within(f"asked-again:{old.enquiry_id}", most=3, seconds=3600):
        return gone(request, "busy", old.dealer, status=429)
    with dealer_scope(old.dealer):
        mail_questions(enquiry=old.enquiry, by=caller_of(old.enquiry), now=now, address=old.to_address)
    return gone(request, "mailed", old.dealer, status=200, to=_half_hidden(old.to_address))


def _half_hidden(address: str) -> str:
    """An address as its owner knows it, and nobody else: o…@home.example."""
    name, _at, host = address.partition("@")
    return f"{name[:1]}…@{host}"


def _plan(request: HttpRequest, link: EnquiryLink) -> Plan:
    held = request.session.get(KEY, {})
    return Plan(list(held.get("about", ())), dict(held.get("following", {})))


def _keep_plan(request: HttpRequest, plan: Plan) -> None:
    """Keep the plan where it changed. The session of this page holds nothing else of the enquiry."""
    held = request.session[KEY]
    if (held.get("about"), held.get("following")) != (plan.about, plan.following):
        request.session[KEY] = {**held, "about": plan.about, "following": plan.following}


@asked
def begin(request: HttpRequest, link: EnquiryLink) -> HttpResponse:
    """The first step, or what happens next where it is sent in already."""
    if link.enquiry.state == EnquiryState.ARRIVED:
        return redirect("asked-step", slug="sent")
    return redirect("asked-step", slug="you")


@asked
def step(request: HttpRequest, link: EnquiryLink, slug: str) -> HttpResponse:
    """One step: shown, or kept and gone on from. ``keep`` keeps what changed and answers nothing."""
    plan = _plan(request, link)
    if slug == "sent":
        return _sent(request, link)
    if slug not in plan.slugs() and slug not in AREAS:
        raise Http404("No such step")
    if slug not in plan.slugs():
        return redirect("asked-step", slug="about")
    if request.method != "POST":
        return _shown(request, link, plan, slug)
    errors = _kept(request, link, plan, slug)
    if "keep" in request.POST:
        return HttpResponse(status=422 if errors else 204)
    if errors:
        return _shown(request, link, plan, slug, errors)
    before, after = plan.beside(slug)
    if "back" in request.POST:
        return redirect("asked-step", slug=before or slug)
    if "stay" in request.POST:
        return redirect("asked-step", slug=slug)
    if not after:
        send_in(enquiry=link.enquiry, now=timezone.now())
        return redirect("asked-step", slug="sent")
    return redirect("asked-step", slug=after)


def _kept(request: HttpRequest, link: EnquiryLink, plan: Plan, slug: str) -> dict[str, str]:
    """Keep what a step sent; returns what was refused, by field. Only what the step asks is read."""
    enquiry, now = link.enquiry, timezone.now()
    by: Sayer = caller_of(enquiry)
    if slug == "about" and "areas" in request.POST:
        plan.about = [area for area in AREAS if area in request.POST.getlist("about")]
        _keep_plan(request, plan)
    standing = answers_of(enquiry)
    said = read_said(request.POST, standing)
    asked_here = {"source"} if slug == "water" and enquiry.site is None else set(DETAILS_OF.get(slug, ()))
    said = replace(said, details={name: text for name, text in said.details.items() if name in asked_here}, called={})
    if slug == "first" or slug in AREAS:
        _forget_unanswered(plan, standing)
        _keep_plan(request, plan)
    try:
        write_down(enquiry=enquiry, by=by, now=now, said=said, tables=tables_of(link.dealer))
        for upload in request.FILES.getlist("photo")[:MOST_AT_ONCE] if slug == "photos" else ():
            add_photo(enquiry=enquiry, by=by, now=now, upload=upload, words=request.POST.get("words", ""))
    except EnquiryRefused as refused:
        return refused.errors
    except PhotoRefused as refused:
        return {"photo": str(refused)}
    return {}


def _forget_unanswered(plan: Plan, standing: Answers) -> None:
    """Other complaints ask for other follow-up questions: those shown but not answered are chosen anew."""
    answered = {*standing.observations, *standing.features()}
    plan.following = {slug: codes for slug, codes in plan.following.items() if answered & set(codes)}


def _frame(link: EnquiryLink, reasoned: Reasoned) -> dict[str, Any]:
    return {"dealer": link.dealer, "enquiry": link.enquiry, "stops": stops(reasoned), "until": link.expires_at}


def _shown(
    request: HttpRequest, link: EnquiryLink, plan: Plan, slug: str, errors: dict[str, str] | None = None
) -> HttpResponse:
    enquiry = link.enquiry
    reasoned = reason(enquiry)
    questions = questions_of(slug, plan, reasoned)
    _keep_plan(request, plan)
    slugs = plan.slugs()
    heading, hint = HEADINGS[slug]
    typed = {name: request.POST[name] for name in DETAILS_OF.get(slug, ()) if name in request.POST}
    context = {
        **_frame(link, reasoned),
        "slug": slug,
        "heading": heading,
        "hint": hint,
        "questions": questions,
        "at": slugs.index(slug) + 1,
        "of": len(slugs),
        "before": plan.beside(slug)[0],
        "errors": errors or {},
        "problems": list((errors or {}).items()),
        "details": {name: typed.get(name, getattr(enquiry, name)) for name in ("name", "phone", "place", "told")},
        "sources": sources(enquiry.source) if slug == "water" else (),
        "areas": areas(plan, reasoned) if slug == "about" else (),
        "photos": list(enquiry.photos.filter(by_caller=True)) if slug in ("photos", "send") else (),
        "device": DEVICE in plan.about,
        "room": MOST_PHOTOS,
        "accept": ACCEPT,
        "summary": summary(reasoned) if slug == "send" else (),
    }
    return render(request, "portal/asked/step.html", context, status=422 if errors else 200)


def _sent(request: HttpRequest, link: EnquiryLink) -> HttpResponse:
    """What happens next; where it is not sent in yet, the way there."""
    if link.enquiry.arrived_at is None:
        return redirect("asked-step", slug="send")
    return render(request, "portal/asked/sent.html", _frame(link, reason(link.enquiry)))


def _own_photo(link: EnquiryLink, photo_id: UUID) -> EnquiryPhoto:
    photo: EnquiryPhoto = get_public(EnquiryPhoto.objects.filter(enquiry=link.enquiry, by_caller=True), photo_id)
    return photo


@asked
def photo(request: HttpRequest, link: EnquiryLink, photo_id: UUID) -> HttpResponse:
    """A photograph of this enquiry; ``?small`` for the list."""
    return photo_response(_own_photo(link, photo_id), small="small" in request.GET)


@require_POST
@asked
def photo_remove(request: HttpRequest, link: EnquiryLink, photo_id: UUID) -> HttpResponse:
    """Take one's own photograph out."""
    try:
        remove_photo(photo=_own_photo(link, photo_id), by=caller_of(link.enquiry), now=timezone.now())
    except EnquiryRefused as refused:
        return _shown(request, link, _plan(request, link), "photos", refused.errors)
    return redirect("asked-step", slug="photos")
