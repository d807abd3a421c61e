"""Files of items: out as CSV, in with every row looked at, taken over whole, undone."""

from __future__ import annotations

from collections import Counter
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from customers.dealers.queries import today_at
from customers.people.gate import acting, require
from customers.sheets import SheetRefused, write_csv
from service.office.shelf import narrowing
from sizing.catalogue.columns import export, template
from sizing.catalogue.file_actions import FileRefused, forget_file, read_file, take_file, undo_file
from sizing.catalogue.price_forms import UploadForm
from sizing.catalogue.queries import file_for, files, found_items, last_taken
from sizing.catalogue.reading import Verdict
from sizing.engine.design import StageKind


@require("catalogue.read")
def download(request: HttpRequest) -> HttpResponse:
    """The items found, as CSV at today's prices; ``?marks=comma`` with semicolons and decimal commas."""
    today = today_at(acting(request).dealer, timezone.now())
    headings, rows = export(list(found_items(**narrowing(request.GET))), today)
    decimal = "," if request.GET.get("marks") == "comma" else "."
    return _csv(write_csv(headings, rows, decimal=decimal), f"catalogue-{today:%Y-%m-%d}.csv")


@require("catalogue.read")
def blank(request: HttpRequest) -> HttpResponse:
    """The headings of ``?kind=``, for a list begun from nothing; of a UV unit where none is named."""
    try:
        kind = StageKind(request.GET.get("kind") or StageKind.UV)
    except ValueError:
        raise Http404("Not found") from None
    return _csv(write_csv(*template(kind)), f"{kind.value}.csv")


@require("catalogue.write")
def upload(request: HttpRequest) -> HttpResponse:
    """Read a file of items; nothing changes yet."""
    actor = acting(request)
    form = UploadForm(request.POST, request.FILES) if request.method == "POST" else UploadForm()
    if request.method == "POST" and form.is_valid():
        sent, now = form.cleaned_data["file"], timezone.now()
        try:
            row = read_file(
                dealer=actor.dealer,
                data=sent.read(),
                name=sent.name or "file",
                actor_name=actor.name,
                now=now,
                today=today_at(actor.dealer, now),
            )
        except SheetRefused as refused:
            form.add_error("file", str(refused))
        else:
            return redirect("catalogue-file", file_id=row.public_id)
    context = {"form": form, "files": files()[:10], "last": last_taken(), "kinds": StageKind}
    return render(request, "office/catalogue/upload.html", context, status=422 if form.errors else 200)


@require("catalogue.write")
def file(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """A file as read: what each row would do, or did."""
    if request.method == "POST":
        return _answered(request, file_id)
    row = file_for(acting(request), file_id)
    counts = Counter(line["verdict"] for line in row.rows)
    order = [Verdict.REFUSED, Verdict.NEW, Verdict.CHANGED]
    shown = sorted(
        (line for line in row.rows if line["verdict"] in order), key=lambda line: order.index(line["verdict"])
    )
    last = last_taken()
    context = {
        "file": row,
        "lines": shown,
        "counts": {verdict.value: counts[verdict.value] for verdict in Verdict},
        "can_take": row.taken_at is None and not counts[Verdict.REFUSED] and bool(counts["new"] or counts["changed"]),
        "can_undo": last is not None and last.pk == row.pk,
    }
    return render(request, "office/catalogue/file.html", context)


def _answered(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """Take over, undo or forget, as the button says."""
    actor = acting(request)
    row = file_for(actor, file_id)
    now = timezone.now()
    today = today_at(actor.dealer, now)
    do = request.POST.get("do", "")
    try:
        if do == "take":
            take_file(file=row, actor_name=actor.name, now=now, today=today)
            messages.success(request, _("%(name)s is taken over.") % {"name": row.name})
        elif do == "undo":
            retired = undo_file(file=row, actor_name=actor.name, now=now, today=today)
            words = _("%(name)s is undone.") % {"name": row.name}
            if retired:
                words += " " + _("%(n)d new items are named by designs or quotes; they are retired.") % {"n": retired}
            messages.success(request, words)
        elif do == "forget":
            forget_file(file=row)
            return redirect("catalogue-upload")
        else:
            messages.error(request, _("“%(text)s” chosen; accepted is take, undo or forget") % {"text": do[:20]})
    except FileRefused as refused:
        messages.error(request, str(refused))
    return redirect("catalogue-file", file_id=row.public_id)


def _csv(data: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(data, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
