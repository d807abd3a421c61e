"""Laboratories' files at the desk: uploaded, read row by row, taken in, taken back; and their PDFs."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.households.queries import sites_for
from customers.lab_files.actions import LabFileRefused, answer_lab_file, drop_lab_file, keep_lab_file, own_name
from customers.lab_files.models import LabFile
from customers.lab_files.preview import preview_of
from customers.lab_files.queries import lab_file_for, lab_files, tests_in
from customers.laboratories.queries import laboratories, laboratory_for
from customers.people.gate import acting, require
from customers.tenancy.getters import get_public
from customers.water_tests.models import LabReport, WaterTest
from customers.water_tests.reports import ReportRefused, attach_report
from service.milestones.lab_files import rests_on, take_back_lab_file, take_in_lab_file
from service.office import lab_file_answers as asks

PER_PAGE = 50
MOST_UPLOAD = 12_000_000
MOST_LINES = 300  # a longer file shows what stands in the way, and its other rows one sample at a time


@require("lab_file.read", write="lab_file.write")
def lab_file_list(request: HttpRequest) -> HttpResponse:
    """Files that came, and the form for another."""
    actor = acting(request)
    error = ""
    if request.method == "POST":
        upload = request.FILES.get("file")
        if upload is None:
            error = _("no file chosen; accepted is a CSV or XLSX file")
        elif (upload.size or 0) > MOST_UPLOAD:
            error = _("%(mb)s MB; accepted is a file of at most 2 MB") % {"mb": f"{(upload.size or 0) / 1e6:.1f}"}
        elif not request.POST.get("laboratory"):
            error = _("no laboratory chosen; accepted is one of the list")
        else:
            try:
                row = keep_lab_file(
                    laboratory=laboratory_for(request.POST["laboratory"]),
                    filename=upload.name or "",
                    data=upload.read(),
                    actor_name=actor.name,
                    now=timezone.now(),
                )
            except LabFileRefused as refused:
                error = str(refused)
            else:
                return redirect("lab-file", file_id=row.public_id)
    page = Paginator(lab_files(), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "laboratories": list(laboratories()),
        "chosen": request.POST.get("laboratory", ""),
        "problems": [{"text": error, "href": "#file"}] if error else [],
    }
    return render(request, "office/lab/files.html", context, status=422 if error else 200)


def _page(request: HttpRequest, row: LabFile, problems: list[str] | None = None) -> HttpResponse:
    """The file with everything read and asked; a file no longer waiting shows what became of it."""
    actor = acting(request)
    told = [{"text": text} for text in problems or ()]
    if row.state != "waiting":
        context = {"row": row, "tests": tests_in(row), "problems": told}
        if row.state == "taken_in":
            context["rests"] = rests_on(row)
        return render(request, "office/lab/file_done.html", context, status=422 if told else 200)
    preview = preview_of(row, sites_for(actor), today_at(actor.dealer, timezone.now()))
    context = {
        "row": row,
        "preview": preview,
        "columns": asks.column_choices(preview),
        "names": asks.name_choices(preview),
        "units": asks.unit_choices(preview),
        "days": asks.days_choices(preview.layout) if preview.read and preview.read.order.open else (),
        "commas": asks.comma_choices(preview.layout)
        if preview.read and (preview.read.ask_comma or preview.layout.comma)
        else (),
        "places": asks.place_choices(""),
        "brief": preview.read is not None and len(preview.read.lines) > MOST_LINES,
        "whole": request.GET.get("sample", ""),
        "problems": told,
    }
    return render(request, "office/lab/file.html", context, status=422 if told else 200)


@require("lab_file.read")
def lab_file(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """One file: its columns, its samples, each row with its meaning, and what stands in the way."""
    return _page(request, lab_file_for(file_id))


@require("lab_file.write")
@require_POST
def lab_file_answer(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """Keep what was answered; with ``take`` also take the file in, if nothing stands in the way."""
    actor, now = acting(request), timezone.now()
    row = lab_file_for(file_id)
    preview = preview_of(row, sites_for(actor), today_at(actor.dealer, now))
    try:
        answer_lab_file(lab_file=row, answers=asks.answers_from(request.POST, preview))
        if "take" not in request.POST:
            return redirect("lab-file", file_id=row.public_id)
        tests = take_in_lab_file(lab_file=row, actor=actor, now=now)
    except LabFileRefused as refused:
        return _page(request, lab_file_for(file_id), [str(refused)])
    messages.success(request, _("Taken in: %(n)s tests.") % {"n": len(tests)})
    return redirect("lab-file", file_id=row.public_id)


@require("lab_file.write")
@require_POST
def lab_file_drop(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """Give a waiting file up."""
    row = lab_file_for(file_id)
    try:
        drop_lab_file(lab_file=row)
    except LabFileRefused as refused:
        messages.error(request, str(refused))
    return redirect("lab-file-list")


@require("lab_file.write")
@require_POST
def lab_file_back(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """Take a file back, while nothing rests on it."""
    row = lab_file_for(file_id)
    try:
        take_back_lab_file(lab_file=row, actor_name=acting(request).name, now=timezone.now())
    except LabFileRefused as refused:
        return _page(request, lab_file_for(file_id), [str(refused)])
    messages.success(request, _("Taken back; the file stays on record."))
    return redirect("lab-file", file_id=row.public_id)


@require("lab_file.read")
def lab_file_original(request: HttpRequest, file_id: UUID) -> HttpResponse:
    """The file as it came."""
    row = lab_file_for(file_id)
    suffix = ".xlsx" if str(row.file.name).endswith(".xlsx") else ".csv"
    return _handed_out(row.file, f"{row.public_id}{suffix}")


@require("water_test.write")
@require_POST
def lab_report_attach(request: HttpRequest, test_id: UUID) -> HttpResponse:
    """Keep the laboratory's PDF with a test, and with the others of the same file and household."""
    actor = acting(request)
    rows = WaterTest.objects.filter(site__in=sites_for(actor)).select_related("site__dealer")
    test: WaterTest = get_public(rows, test_id)
    upload = request.FILES.get("pdf")
    try:
        if upload is None:
            raise ReportRefused(_("no file chosen; accepted is a PDF"))
        if (upload.size or 0) > MOST_UPLOAD:
            raise ReportRefused(
                _("%(mb)s MB; accepted is a PDF of at most 10 MB") % {"mb": (upload.size or 0) // 10**6}
            )
        same = rows.filter(site=test.site, files__lab_file__tests__test=test)
        attach_report(
            site=test.site,
            tests={test, *same},
            filename=own_name(upload.name or "report.pdf"),
            data=upload.read(),
            actor_name=actor.name,
            now=timezone.now(),
        )
    except ReportRefused as refused:
        messages.error(request, _("The PDF is not kept: %(why)s") % {"why": refused})
    return redirect("water-test", test_id=test.public_id)


@require("household.read")
def lab_report(request: HttpRequest, report_id: UUID) -> HttpResponse:
    """The laboratory's PDF, handed out as a file and never shown in place."""
    rows = LabReport.objects.filter(site__in=sites_for(acting(request)))
    row: LabReport = get_public(rows, report_id)
    return _handed_out(row.file, f"{row.public_id}.pdf")


def _handed_out(stored: object, name: str) -> HttpResponse:
    """Bytes under a name of our own, as a file, whatever they say they are."""
    with stored.open("rb") as handle:  # type: ignore[attr-defined]
        response = HttpResponse(handle.read(), content_type="application/octet-stream")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Cache-Control"] = "private, no-store"
    return response
