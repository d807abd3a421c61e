"""The dealer's own pages: catalogue, settings, staff."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from customers.dealers.forms import SettingsForm
from customers.people.actions import StaffRefused, add_staff, change_staff
from customers.people.forms import StaffChangeForm, StaffForm
from customers.people.gate import acting, require
from customers.people.models import Staff
from customers.tenancy.getters import get_public
from sizing.catalogue.actions import change_item
from sizing.catalogue.forms import ItemForm
from sizing.catalogue.models import KINDS
from sizing.catalogue.queries import item_for, items


@require("catalogue.read")
def catalogue(request: HttpRequest) -> HttpResponse:
    """Everything the dealer sells, by kind; ``?kind=`` narrows."""
    kind = request.GET.get("kind", "")
    rows = items().order_by("kind", "price", "code")
    if kind in dict(KINDS):
        rows = rows.filter(kind=kind)
    have = set(items().order_by().values_list("kind", flat=True).distinct())
    kinds = [(code, label) for code, label in KINDS if code in have]
    return render(request, "office/dealer/catalogue.html", {"items": rows, "kind": kind, "kinds": kinds})


@require("catalogue.read", write="catalogue.write")
def catalogue_item(request: HttpRequest, item_id: UUID) -> HttpResponse:
    """One item with its ratings; the owner may change it."""
    actor = acting(request)
    item = item_for(actor, item_id)
    form = ItemForm(request.POST or None, item=item, currency=actor.dealer.currency)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        change_item(
            item=item,
            name=data["name"],
            price=data["price"],
            install_hours=data["install_hours"],
            active=data["active"],
            ratings=data["ratings"],
        )
        messages.success(request, _("Saved. Designs and quotes made before keep their own figures."))
        return redirect("catalogue-item", item_id=item.public_id)
    context = {"item": item, "form": form, "may_write": actor.may("catalogue.write")}
    return render(request, "office/dealer/item.html", context, status=422 if form.errors else 200)


@require("dealer.write")
def settings(request: HttpRequest) -> HttpResponse:
    """Letterhead, units, limits, prices of work."""
    dealer = acting(request).dealer
    form = SettingsForm(request.POST or None, instance=dealer)
    if request.method == "POST" and form.is_valid():
        form.save()
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
