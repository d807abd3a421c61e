"""Prices by the day: one item's, lists, a percentage looked at before it is agreed to."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.people.gate import acting, require
from sizing.catalogue.adapters import product_of
from sizing.catalogue.kinds import PLACES
from sizing.catalogue.price_actions import (
    ListFixed,
    PriceRefused,
    PricesMoved,
    keep_raise,
    rename_list,
    set_price,
    withdraw_list,
)
from sizing.catalogue.price_forms import ListForm, PriceForm, RaiseForm
from sizing.catalogue.queries import found_items, item_for, items, list_for, list_rows, price_lists, price_of
from sizing.catalogue.raising import mark_of, raised


@require("catalogue.write")
def item_price(request: HttpRequest, item_id: UUID) -> HttpResponse:
    """What an item and its parts cost from a day on."""
    actor = acting(request)
    item = item_for(actor, item_id)
    now = timezone.now()
    today = today_at(actor.dealer, now)
    wear = product_of(item).wear
    form = PriceForm(
        request.POST or None, wear=wear, now_is=price_of(item, today), today=today, currency=actor.dealer.currency
    )
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            set_price(
                item=item,
                price=data["price"],
                parts=form.parts,
                on=data["valid_from"],
                today=today,
                actor_name=actor.name,
                now=now,
            )
        except PriceRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("The price is set. Quotes that are out keep theirs."))
            return redirect("catalogue-item", item_id=item.public_id)
    context = {"form": form, "item": item, "today": today}
    return render(request, "office/catalogue/price.html", context, status=422 if form.errors else 200)


@require("catalogue.read")
def lists(request: HttpRequest) -> HttpResponse:
    """Every price list, the newest day first."""
    actor = acting(request)
    context = {
        "lists": price_lists(),
        "today": today_at(actor.dealer, timezone.now()),
        "may_write": actor.may("catalogue.write"),
    }
    return render(request, "office/catalogue/lists.html", context)


@require("catalogue.read", write="catalogue.write")
def price_list(request: HttpRequest, list_id: UUID) -> HttpResponse:
    """One list: what each item costs in it and cost the day before; its name can be changed."""
    actor = acting(request)
    row = list_for(actor, list_id)
    form = ListForm(request.POST or None, initial={"name": row.name})
    if request.method == "POST" and form.is_valid():
        rename_list(price_list=row, name=form.cleaned_data["name"])
        messages.success(request, _("Saved."))
        return redirect("catalogue-list", list_id=row.public_id)
    context = {
        "list": row,
        "rows": sorted(list_rows(row), key=lambda line: PLACES[line[0].kind]),
        "form": form,
        "in_force": row.valid_from <= today_at(actor.dealer, timezone.now()),
        "may_write": actor.may("catalogue.write"),
    }
    return render(request, "office/catalogue/list.html", context, status=422 if form.errors else 200)


@require("catalogue.write")
@require_POST
def list_withdraw(request: HttpRequest, list_id: UUID) -> HttpResponse:
    """Take back a list whose day has not come."""
    actor = acting(request)
    row = list_for(actor, list_id)
    now = timezone.now()
    try:
        withdraw_list(price_list=row, today=today_at(actor.dealer, now), actor_name=actor.name, now=now)
    except ListFixed as fixed:
        messages.error(request, str(fixed))
        return redirect("catalogue-list", list_id=row.public_id)
    messages.success(request, _("%(name)s is withdrawn.") % {"name": row.name})
    return redirect("catalogue-lists")


@require("catalogue.write")
def raise_prices(request: HttpRequest) -> HttpResponse:
    """A percentage over a kind or everything: first looked at, then agreed to."""
    actor = acting(request)
    now = timezone.now()
    today = today_at(actor.dealer, now)
    kinds = list(items().order_by().values_list("kind", flat=True).distinct())
    form = RaiseForm(request.POST or None, today=today, kinds=kinds, currency=actor.dealer.currency)
    context: dict[str, Any] = {"form": form, "today": today}
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        wanted = sorted(found_items(kind=data["kind"]), key=lambda item: PLACES[item.kind])
        rows = raised(wanted, percent=data["percent"], step=data["step"], on=data["valid_from"], parts=data["parts"])
        mark = mark_of(rows)
        changed = [row for row in rows if row.changes]
        context |= {"looked": True, "rows": changed, "same": len(rows) - len(changed), "mark": mark}
        if data["mark"]:
            try:
                kept = keep_raise(
                    dealer=actor.dealer,
                    name=data["name"],
                    on=data["valid_from"],
                    today=today,
                    rows=rows,
                    agreed=data["mark"],
                    mark=mark,
                    actor_name=actor.name,
                    now=now,
                )
            except (PricesMoved, PriceRefused) as refused:
                form.add_error(None, str(refused))
            else:
                told = {"n": len(changed), "day": f"{kept.valid_from:%-d %b %Y}"}
                messages.success(request, _("%(n)d prices are set from %(day)s.") % told)
                return redirect("catalogue-list", list_id=kept.public_id)
    return render(request, "office/catalogue/raise.html", context, status=422 if form.errors else 200)
