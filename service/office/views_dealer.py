"""The dealer's own pages: settings, staff."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from customers.dealers.actions import DealerRefused, change_settings
from customers.dealers.forms import SettingsForm
from customers.people.actions import StaffRefused, add_staff, change_staff
from customers.people.forms import StaffChangeForm, StaffForm
from customers.people.gate import acting, require
from customers.people.models import Staff
from customers.tenancy.getters import get_public


@require("dealer.write")
def settings(request: HttpRequest) -> HttpResponse:
    """Letterhead, units, limits, prices of work."""
    dealer = acting(request).dealer
    form = SettingsForm(request.POST or None, instance=dealer)
    if request.method == "POST" and form.is_valid():
        try:
            change_settings(dealer=dealer, values=form.cleaned_data)
        except DealerRefused as refused:
            form.add_error(None, refused)
        else:
            messages.success(request, _("Saved."))
            return redirect("settings")
    return render(request, "office/dealer/settings.html", {"form": form}, status=422 if form.errors else 200)


@require("staff.write")
def staff(request: HttpRequest) -> HttpResponse:
    """Who works here; adding somebody."""
    form = StaffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            row = add_staff(dealer=acting(request).dealer, **form.cleaned_data)
        except StaffRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(
                request, _("%(name)s is on the staff. They set a password by the mailed reset.") % {"name": row.name}
            )
            return redirect("staff")
    rows = Staff.objects.select_related("user").order_by("-active", "name")
    return render(
        request, "office/dealer/staff.html", {"rows": rows, "form": form}, status=422 if form.errors else 200
    )


@require("staff.write")
def staff_member(request: HttpRequest, staff_id: UUID) -> HttpResponse:
    """Change a person's role, or end their access."""
    row = get_public(Staff.objects.select_related("user"), staff_id)
    initial = {"name": row.name, "role": row.role, "phone": row.phone, "active": row.active}
    form = StaffChangeForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            change_staff(staff=row, **form.cleaned_data)
        except StaffRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("Saved."))
            return redirect("staff")
    context = {"row": row, "form": form}
    return render(request, "office/dealer/member.html", context, status=422 if form.errors else 200)
