"""What becomes of an enquiry: photographs, a household's file, the mailed page, its end and its cause."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.causes.queries import tables_of
from customers.enquiries.actions import close_enquiry, confirm_cause, open_again, take_in_hand
from customers.enquiries.forms import thing_of
from customers.enquiries.keeping import EnquiryRefused, Sayer
from customers.enquiries.links import revoke_links
from customers.enquiries.models import Enquiry, EnquiryPhoto
from customers.enquiries.photographs import add_photo, remove_photo
from customers.enquiries.placing import attach_to_household, turn_into_household
from customers.enquiries.queries import answers_of, enquiries_for, enquiry_for
from customers.households.actions import HouseholdRefused
from customers.households.forms import HouseholdForm
from customers.households.queries import search_sites, site_for
from customers.people.actors import Actor
from customers.people.gate import acting, require
from customers.photos.serving import photo_response
from customers.photos.taking import PhotoRefused
from customers.tenancy.getters import get_public
from service.milestones.enquiries import mail_questions

MOST_FOUND = 12
MOST_AT_ONCE = 6


def _moved(request: HttpRequest, enquiry_id: UUID, move: Callable[[Enquiry, Actor, datetime], str]) -> HttpResponse:
    """Do one thing to an enquiry, say what came of it, and go back to its page."""
    actor = acting(request)
    row = enquiry_for(actor, enquiry_id)
    try:
        told = move(row, actor, timezone.now())
    except (EnquiryRefused, PhotoRefused) as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, told)
    return redirect("enquiry", enquiry_id=row.public_id)


@require("enquiry.write")
@require_POST
def enquiry_in_hand(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """Say that the office has read it."""

    def move(row: Enquiry, actor: Actor, now: datetime) -> str:
        take_in_hand(enquiry=row, actor=actor, now=now)
        return _("In hand.")

    return _moved(request, enquiry_id, move)


@require("enquiry.write")
@require_POST
def enquiry_photo_add(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """Keep photographs; the first that cannot be kept is named, those before it stay."""

    def move(row: Enquiry, actor: Actor, now: datetime) -> str:
        uploads = request.FILES.getlist("photo")[:MOST_AT_ONCE]
        if not uploads:
            raise EnquiryRefused({"photo": _("no file chosen; accepted is a JPEG, PNG, WebP or HEIC picture")})
        for upload in uploads:
            words, thing = request.POST.get("words", ""), thing_of(request.POST.get("thing", ""))
            add_photo(enquiry=row, by=Sayer(actor.name), now=now, upload=upload, words=words, thing=thing)
        return _("Kept.")

    return _moved(request, enquiry_id, move)


def _photo_for(actor: Actor, photo_id: UUID) -> EnquiryPhoto:
    rows = EnquiryPhoto.objects.filter(enquiry__in=enquiries_for(actor)).select_related("enquiry")
    photo: EnquiryPhoto = get_public(rows, photo_id)
    return photo


@require("enquiry.read")
def enquiry_photo(request: HttpRequest, photo_id: UUID) -> HttpResponse:
    """One photograph; ``?small`` for the list, ``?save`` to keep it."""
    photo = _photo_for(acting(request), photo_id)
    return photo_response(photo, small="small" in request.GET, save="save" in request.GET)


@require("enquiry.write")
@require_POST
def enquiry_photo_remove(request: HttpRequest, photo_id: UUID) -> HttpResponse:
    """Take a photograph out."""
    actor = acting(request)
    photo = _photo_for(actor, photo_id)

    def move(row: Enquiry, actor: Actor, now: datetime) -> str:
        remove_photo(photo=photo, by=Sayer(actor.name), now=now)
        return _("Taken out.")

    return _moved(request, photo.enquiry.public_id, move)


@require("enquiry.read", write="enquiry.write")
def enquiry_attach(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """Households that match ``?q=`` (else the caller's name); posting one puts the enquiry there."""
    actor = acting(request)
    row = enquiry_for(actor, enquiry_id)
    if request.method == "POST":
        chosen = request.POST.get("site", "")
        site = site_for(actor, chosen) if chosen else None

        def move(row: Enquiry, actor: Actor, now: datetime) -> str:
            if site is None:
                raise EnquiryRefused({"site": _("no household chosen; accepted is one of those found")})
            attach_to_household(enquiry=row, site=site, actor=actor, now=now)
            return _("It is in the file of %(place)s now.") % {"place": site.name}

        return _moved(request, enquiry_id, move)
    typed = request.GET.get("q", row.name or row.phone).strip()
    found = search_sites(actor, typed, limit=MOST_FOUND) if typed else []
    context = {"enquiry": row, "typed": typed, "found": found, "nav": "enquiry-list"}
    part = getattr(request, "htmx", False)
    return render(request, f"office/enquiries/{'found' if part else 'attach'}.html", context)


@require("enquiry.read", write="household.write")
def enquiry_household(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """The household form, filled as far as the caller has told; saving opens the file with the enquiry in it."""
    actor = acting(request)
    row = enquiry_for(actor, enquiry_id)
    form = HouseholdForm(request.POST or None, system=row.dealer.units, told=told_of(row))
    if request.method == "POST" and form.is_valid():
        try:
            site = turn_into_household(
                enquiry=row,
                actor=actor,
                now=timezone.now(),
                customer=form.customer_values(),
                site=form.site_values(),
                fixtures=form.fixture_counts(),
                form_token=form.cleaned_data["form_token"],
            )
        except HouseholdRefused as refused:
            form.take_errors(refused)
        except EnquiryRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("File %(number)s is open.") % {"number": site.file_number})
            return redirect("household", site_id=site.public_id)
    context = {"form": form, "enquiry": row, "nav": "enquiry-list"}
    return render(request, "office/households/form.html", context, status=422 if form.errors else 200)


def told_of(row: Enquiry) -> dict[str, object]:
    """What the caller has told, by field of the household form."""
    facts = answers_of(row).facts
    return {
        "customer_name": row.name,
        "phone": row.phone,
        "email": row.email,
        "name": row.place[:80],
        "road": row.place,
        "source": row.source,
        "infants_or_pregnancy": "yes" in (facts.get("infants"), facts.get("pregnancy")),
        "occupancy": "season" if facts.get("seasonal") == "yes" else "year",
    }


@require("enquiry.write")
@require_POST
def enquiry_mail(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """Mail the page of questions to the caller."""

    def move(row: Enquiry, actor: Actor, now: datetime) -> str:
        link = mail_questions(enquiry=row, by=Sayer(actor.name), now=now, address=request.POST.get("email", ""))
        return _("The questions go to %(address)s with the next post.") % {"address": link.to_address}

    return _moved(request, enquiry_id, move)


@require("enquiry.write")
@require_POST
def enquiry_stop(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """Stop the mailed page, also where it is open."""

    def move(row: Enquiry, actor: Actor, now: datetime) -> str:
        stopped = revoke_links(enquiry=row, actor_name=actor.name, now=now)
        return _("The mailed page is stopped.") if stopped else _("No mailed page was open.")

    return _moved(request, enquiry_id, move)


@require("enquiry.write")
@require_POST
def enquiry_close(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """Close it, saying why; with ``again`` a closed one is opened."""

    def move(row: Enquiry, actor: Actor, now: datetime) -> str:
        if "again" in request.POST:
            open_again(enquiry=row, actor=actor, now=now)
            return _("Open again.")
        close_enquiry(enquiry=row, actor=actor, now=now, reason=request.POST.get("reason", ""))
        return _("Closed.")

    return _moved(request, enquiry_id, move)


@require("enquiry.write")
@require_POST
def enquiry_cause(request: HttpRequest, enquiry_id: UUID) -> HttpResponse:
    """Say what it was in the end."""

    def move(row: Enquiry, actor: Actor, now: datetime) -> str:
        cause, note = request.POST.get("cause", ""), request.POST.get("note", "")
        tables = tables_of(row.dealer)
        confirm_cause(enquiry=row, actor=actor, now=now, cause=cause, note=note, tables=tables)
        return _("Noted. Finished jobs teach the tables.") if cause else _("Taken back.")

    return _moved(request, enquiry_id, move)
