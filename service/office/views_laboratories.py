"""Laboratories at the desk."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from customers.laboratories.actions import LaboratoryRefused, keep_laboratory
from customers.laboratories.forms import DAYS, LaboratoryForm
from customers.laboratories.models import Laboratory
from customers.laboratories.queries import laboratory_for
from customers.people.gate import acting, require


@require("laboratory.read")
def laboratory_list(request: HttpRequest) -> HttpResponse:
    """Every laboratory, those out of use last."""
    rows = Laboratory.objects.annotate(asked=Count("bottles")).order_by("-active", "name", "pk")
    days = dict(DAYS)
    lines = [(row, [days[day] for day in row.receives_on]) for row in rows]
    return render(request, "office/lab/laboratories.html", {"lines": lines})


def _page(request: HttpRequest, form: LaboratoryForm, laboratory: Laboratory | None) -> HttpResponse:
    context = {"form": form, "laboratory": laboratory}
    return render(request, "office/lab/laboratory.html", context, status=422 if form.errors else 200)


@require("laboratory.read", write="laboratory.write")
def laboratory_new(request: HttpRequest) -> HttpResponse:
    """A laboratory to add."""
    form = LaboratoryForm(request.POST or None)
    return _save(request, form, None)


@require("laboratory.read", write="laboratory.write")
def laboratory(request: HttpRequest, laboratory_id: UUID) -> HttpResponse:
    """One laboratory, to read and to change."""
    row = laboratory_for(laboratory_id)
    form = LaboratoryForm(request.POST or None, laboratory=row)
    return _save(request, form, row)


def _save(request: HttpRequest, form: LaboratoryForm, row: Laboratory | None) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        try:
            kept = keep_laboratory(
                dealer=acting(request).dealer,
                values=form.values(),
                bottles=form.bottles(),
                laboratory=row,
                form_token=None if row else form.cleaned_data["form_token"],
            )
        except LaboratoryRefused as refused:
            form.take_errors(refused.errors)
        else:
            messages.success(request, _("%(name)s is kept.") % {"name": kept.name})
            return redirect("laboratory-list")
    return _page(request, form, row)
