"""The dealer's catalogue: what is sold, one item, items of one's own."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.entry.fields import plain
from customers.people.gate import acting, require
from customers.tenancy.getters import get_public
from service.office.shelf import claims_words, facts_of, life_words, pictured, shelf_of
from sizing.catalogue.actions import CodeTaken, add_item, change_item, offer_item
from sizing.catalogue.adapters import product_of
from sizing.catalogue.forms import ItemForm
from sizing.catalogue.kinds import NAMES
from sizing.catalogue.queries import dated_prices, item_for, items, prices_on
from sizing.engine.design import StageKind


@require("catalogue.read")
def catalogue(request: HttpRequest) -> HttpResponse:
    """Everything the dealer sells, by kind; ``?q=``, ``?kind=``, ``?own=1`` and ``?retired=1`` narrow."""
    today = today_at(acting(request).dealer, timezone.now())
    shelf = shelf_of(request.GET, today)
    context = {"shelf": shelf, "may_write": acting(request).may("catalogue.write")}
    page = "table" if getattr(request, "htmx", False) else "catalogue"
    return render(request, f"office/catalogue/{page}.html", context)


@require("catalogue.read")
def item(request: HttpRequest, item_id: UUID) -> HttpResponse:
    """One item: its ratings, its parts, its prices by the day, what was done to it."""
    actor = acting(request)
    row = item_for(actor, item_id)
    today = today_at(actor.dealer, timezone.now())
    listed = prices_on(today, [row]).get(row.pk)
    product = product_of(row, listed)
    context = {
        "item": row,
        "product": product,
        "kind": NAMES[row.kind],
        "hours": plain(row.install_hours),
        "facts": facts_of(product, actor.dealer.units),
        "picture": pictured(product.kind, str(product.ratings.get("form", ""))),
        "claims": claims_words(product.certified_for),
        "parts": [(part, life_words(part, actor.dealer.units)) for part in product.wear],
        "source": listed.source if listed else "",
        "dated": dated_prices(row),
        "today": today,
        "log": row.log.all()[:20],
        "may_write": actor.may("catalogue.write"),
    }
    return render(request, "office/catalogue/item.html", context)


@require("catalogue.write")
def item_new(request: HttpRequest) -> HttpResponse:
    """An item of one's own of ``?kind=``, from nothing or from ``?copy=``; without a kind, which kind."""
    actor = acting(request)
    asked = request.GET.get("kind", "")
    if asked not in NAMES:
        return _which_kind(request)
    known = StageKind(asked)
    now = timezone.now()
    copied = request.GET.get("copy", "")
    source = get_public(items(), copied) if copied else None
    if source is not None and source.kind != known.value:
        raise Http404("Not found")
    begin = product_of(source, prices_on(today_at(actor.dealer, now), [source]).get(source.pk)) if source else None
    form = ItemForm(
        _sent(request), kind=known, system=actor.dealer.units, currency=actor.dealer.currency, product=begin
    )
    if request.method == "POST" and form.is_valid():
        try:
            active = form.cleaned_data["active"]
            row = add_item(dealer=actor.dealer, product=form.product, active=active, actor_name=actor.name, now=now)
        except CodeTaken as taken:
            form.add_error("code", str(taken))
        else:
            messages.success(request, _("%(name)s is in the catalogue.") % {"name": row.name})
            return redirect("catalogue-item", item_id=row.public_id)
    context = {"form": form, "source": source, "kind": NAMES[known.value]}
    return render(request, "office/catalogue/form.html", context, status=422 if _wrong(form) else 200)


def _which_kind(request: HttpRequest) -> HttpResponse:
    made = set(items().order_by().values_list("kind", flat=True).distinct())
    kinds = [(code, label, pictured(StageKind(code)), code in made) for code, label in NAMES.items()]
    return render(request, "office/catalogue/kinds.html", {"kinds": kinds})


@require("catalogue.write")
def item_edit(request: HttpRequest, item_id: UUID) -> HttpResponse:
    """Change an item."""
    actor = acting(request)
    row = item_for(actor, item_id)
    now = timezone.now()
    today = today_at(actor.dealer, now)
    form = ItemForm(
        _sent(request),
        kind=StageKind(row.kind),
        system=actor.dealer.units,
        currency=actor.dealer.currency,
        product=product_of(row, prices_on(today, [row]).get(row.pk)),
        active=row.active,
        new=False,
    )
    if request.method == "POST" and form.is_valid():
        change_item(
            item=row,
            product=form.product,
            active=form.cleaned_data["active"],
            actor_name=actor.name,
            now=now,
            today=today,
        )
        messages.success(request, _("Saved. Designs and quotes made before keep their own figures."))
        return redirect("catalogue-item", item_id=row.public_id)
    context = {"form": form, "item": row, "kind": NAMES[row.kind]}
    return render(request, "office/catalogue/form.html", context, status=422 if _wrong(form) else 200)


@require("catalogue.write")
@require_POST
def item_offer(request: HttpRequest, item_id: UUID) -> HttpResponse:
    """Retire an item from new designs, or offer it again."""
    actor = acting(request)
    row = item_for(actor, item_id)
    row = offer_item(item=row, active=not row.active, actor_name=actor.name, now=timezone.now())
    words = _("%(name)s is offered again.") if row.active else _("%(name)s is retired from new designs.")
    messages.success(request, words % {"name": row.name})
    return redirect("catalogue-item", item_id=row.public_id)


def _sent(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else None


def _wrong(form: ItemForm) -> bool:
    return bool(form.errors) or (form.is_bound and any(part.errors for part in form.parts))
