"""Stages that were found at a place: put on file from an enquiry, and looked at."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from customers.causes.queries import tables_of
from customers.dealers.queries import today_at
from customers.enquiries.forms import thing_of
from customers.enquiries.keeping import EnquiryRefused
from customers.enquiries.queries import enquiry_for
from customers.households.queries import sites_for
from customers.people.gate import acting, require
from customers.tenancy.getters import get_public
from service.installs.actions import InstallRefused
from service.installs.found import check_found_stage
from service.installs.models import InstalledStage
from service.milestones.enquiries import file_device
from service.office.found_form import CheckedForm, FoundForm, form_of
from service.office.household_file import bar_for
from sizing.engine.found import unknown_words


@require("enquiry.read", write="enquiry.write")
def enquiry_device(request: HttpRequest, enquiry_id: UUID, device: str) -> HttpResponse:
    """Put an identified device on file as a stage that was found, its unknowns named."""
    actor = acting(request)
    row = enquiry_for(actor, enquiry_id)
    tables = tables_of(row.dealer)
    found = tables.devices.get(device)
    try:
        thing = thing_of(request.GET.get("thing", "")) or 1
    except EnquiryRefused as refused:
        raise Http404("No such device") from refused
    if found is None or found.stage_kind is None:
        raise Http404("No such device, or none that is a stage")
    if row.site is None:
        messages.error(request, _("A stage stands in a household's file: put the enquiry into one first."))
        return redirect("enquiry", enquiry_id=row.public_id)
    now = timezone.now()
    form = FoundForm(request.POST or None, site=row.site, device=found, today=today_at(row.dealer, now))
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            stage = file_device(
                enquiry=row,
                device=device,
                tables=tables,
                actor=actor,
                now=now,
                thing=thing,
                name=data["name"],
                at=data["at"],
                form=form_of(found),
                before=form.before() if data["at"] == "main" else None,
                found_on=data["found_on"],
                renewed=form.renewed(),
                serial=data["serial"],
                note=data["note"],
                form_token=data["form_token"],
            )
        except (InstallRefused, EnquiryRefused) as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("%(name)s is on file as found.") % {"name": stage.name})
            return redirect("household", site_id=row.site.public_id)
    context = {
        "form": form,
        "enquiry": row,
        "site": row.site,
        "device": found,
        "unknowns": unknown_words(found.unknowns),
        "notice": bar_for(actor, row.site),
        "nav": "enquiry-list",
    }
    return render(request, "office/enquiries/device_form.html", context, status=422 if form.errors else 200)


@require("household.read", write="stage.write")
def found_stage(request: HttpRequest, stage_id: UUID) -> HttpResponse:
    """Say that a found stage was looked at and does its work, and what of it is still not known."""
    actor = acting(request)
    rows = InstalledStage.objects.filter(site__in=sites_for(actor), found_on__isnull=False)
    stage: InstalledStage = get_public(rows.select_related("site__customer", "site__dealer", "dealer"), stage_id)
    now = timezone.now()
    form = CheckedForm(request.POST or None, stage=stage, today=today_at(stage.dealer, now))
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            still = data.get("still", ())
            check_found_stage(stage=stage, on=data["on"], actor_name=actor.name, now=now, still_unknown=still)
        except InstallRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("%(name)s is in service.") % {"name": stage.name})
            return redirect("household", site_id=stage.site.public_id)
    context = {"form": form, "stage": stage, "site": stage.site, "notice": bar_for(actor, stage.site)}
    return render(request, "office/households/found_stage.html", context, status=422 if form.errors else 200)
