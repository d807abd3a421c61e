"""Samples at the desk: plans, steps, late ones, laboratories, files and their papers, page by page."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from customers.lab_files.models import LabFile
from customers.laboratories.models import Laboratory
from customers.samplings.actions import mark_drawn, mark_received
from customers.samplings.models import Sampling
from customers.water_tests.models import LabReport, WaterTest
from customers.water_tests.reports import MOST_BYTES, ReportRefused, check_pdf
from tests import factories

CSV = b"Sample ID,Date Sampled,Analyte,Result,Units\r\nS-0012-1,2026-06-09,Iron,0.4,mg/L\r\n"
PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\nxref\ntrailer<<>>\nstartxref\n9\n%%EOF\n"
LIST_QUERIES = 10


@pytest.fixture
def laboratory(dealer: Any) -> Laboratory:
    return factories.LaboratoryFactory(dealer=dealer, name="Northreach Laboratory", phone="555 0190")


@pytest.fixture
def sampling(site: Any, laboratory: Laboratory) -> Sampling:
    return factories.SamplingFactory(site=site, laboratory=laboratory, number=12)


def drawn(sampling: Sampling, now: datetime, ago: timedelta = timedelta(hours=1)) -> Sampling:
    return mark_drawn(sampling=sampling, times={1: now - ago}, drawer="Ansel", actor_name="Ansel", now=now)


# -- the plan -------------------------------------------------------------------------------------------------


def plan_data(laboratory: Laboratory, **changes: Any) -> dict[str, Any]:
    told = {
        "laboratory": str(laboratory.public_id),
        "purpose": "evidence",
        "planned_on": "2026-06-10",
        "planned_at": "09:00",
        "drawer": "Ansel",
        "packages": ["microbes"],
        "analytes": ["iron"],
        "draw-raw": "on",
        "where-raw": "drain of the tank",
    }
    return {**told, **changes}


def test_a_link_begins_the_plan_and_keeps_nothing(office_client: Any, site: Any, laboratory: Laboratory) -> None:
    page = reverse("sampling-new", args=[site.public_id])
    html = office_client.get(f"{page}?analytes=iron,nitrate,phlogiston&place=tap&purpose=clear").content.decode()
    assert 'id="test-iron" name="analytes" value="iron" checked' in html
    assert 'id="test-nitrate" name="analytes" value="nitrate" checked' in html
    assert 'id="test-lead" name="analytes" value="lead" checked' not in html
    assert 'name="draw-tap" id="id_draw-tap" checked' in html.replace('type="checkbox" ', "")
    assert not Sampling.objects.exists()


def test_a_plan_is_kept_once_and_shown_with_its_bottles(
    office_client: Any, site: Any, laboratory: Laboratory
) -> None:
    page = reverse("sampling-new", args=[site.public_id])
    token = "5d1c9f6c-3f0e-4a84-9e55-6a0e7cf4b001"
    for _twice in range(2):
        answer = office_client.post(page, plan_data(laboratory, form_token=token))
    sampling = Sampling.objects.get()
    assert answer.headers["Location"] == reverse("sampling", args=[sampling.public_id])
    html = office_client.get(answer.headers["Location"]).content.decode()
    for words in ("S-0001-1", "drain of the tank", "30 h", "40 CFR 141.852", "Thu 11 Jun, 15:00", "Iron, total"):
        assert words in html


def test_a_plan_with_nothing_in_it_is_refused_with_what_is_missing(
    office_client: Any, site: Any, laboratory: Laboratory
) -> None:
    data = {"laboratory": str(laboratory.public_id), "purpose": "evidence", "planned_at": "09:00"}
    answer = office_client.post(reverse("sampling-new", args=[site.public_id]), data)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "Error:" in html
    assert "nothing given; accepted is a day such as" in html
    answer = office_client.post(
        reverse("sampling-new", args=[site.public_id]), {**data, "planned_on": "2026-06-10", "draw-raw": "on"}
    )
    assert "no test chosen" in answer.content.decode()


def test_what_a_plan_needs_is_said_while_it_is_filled_in(
    office_client: Any, site: Any, laboratory: Laboratory
) -> None:
    check = reverse("sampling-check", args=[site.public_id])
    html = office_client.post(check, plan_data(laboratory)).content.decode()
    assert "The box must be there by" in html
    assert "Microbes" in html
    friday = office_client.post(check, plan_data(laboratory, planned_on="2026-06-12", planned_at="16:00"))
    assert "Would not arrive in time" in friday.content.decode()
    assert "Sunday 14 Jun" in friday.content.decode()
    assert "show here once" in office_client.post(check, {}).content.decode()
    assert not Sampling.objects.exists()


def test_a_plan_changes_until_it_is_drawn(office_client: Any, sampling: Sampling, now: datetime) -> None:
    page = reverse("sampling-change", args=[sampling.public_id])
    assert 'value="iron" checked' in office_client.get(page).content.decode()
    data = plan_data(sampling.laboratory, **{"draw-entry": "on"})
    assert office_client.post(page, data).status_code == 302
    assert sampling.draws.count() == 2
    for draw in sampling.draws.all():
        assert draw.analytes == ["iron", "total_coliform", "e_coli"]
    sampling.refresh_from_db()
    mark_drawn(
        sampling=sampling,
        times={1: now - timedelta(hours=1), 2: now - timedelta(hours=1)},
        drawer="A",
        actor_name="A",
        now=now,
    )
    answer = office_client.post(page, data)
    assert answer.status_code == 422
    assert "no longer open" in answer.content.decode()


# -- its steps ------------------------------------------------------------------------------------------------


def test_the_steps_lead_from_bottles_to_results(office_client: Any, sampling: Sampling, site: Any) -> None:
    page = reverse("sampling", args=[sampling.public_id])
    answer = office_client.post(
        reverse("sampling-drawn", args=[sampling.public_id]), {"drawn-1": "2026-06-09T09:30", "drawer": "Ansel"}
    )
    assert answer.headers["Location"] == page
    html = office_client.get(page).content.decode()
    assert "The laboratory has them" in html
    office_client.post(reverse("sampling-received", args=[sampling.public_id]), {"received_at": "2026-06-09T09:45"})
    html = office_client.get(page).content.decode()
    assert "at the laboratory" in html
    assert "555 0190" in html
    draw = sampling.draws.get()
    form = reverse("water-test-new", args=[site.public_id]) + f"?draw={draw.public_id}"
    html = office_client.get(form).content.decode()
    assert "S-0012-1" in html
    assert 'value="2026-06-09"' in html
    rows = {"text-iron": "0.4", "unit-iron": "mg/L", "text-total_coliform": "absent", "text-e_coli": "absent"}
    heading = {"kind": "lab", "place": "raw", "sampled_on": "2026-06-09", "draw": str(draw.public_id)}
    token = {"form_token": "5d1c9f6c-3f0e-4a84-9e55-6a0e7cf4b002"}
    wrong = office_client.post(form, {**heading, **rows, **token, "sampled_on": "2026-06-08"})
    assert wrong.status_code == 422
    assert "was drawn on 2026-06-09; the test says 2026-06-08" in wrong.content.decode()
    assert not WaterTest.objects.exists()
    assert office_client.post(form, {**heading, **rows, **token}).status_code == 302
    sampling.refresh_from_db()
    assert sampling.state == "answered"
    test = office_client.get(reverse("water-test", args=[WaterTest.objects.get().public_id])).content.decode()
    assert "S-0012-1" in test


def test_a_refused_step_says_so_and_keeps_what_was_typed(office_client: Any, sampling: Sampling) -> None:
    answer = office_client.post(
        reverse("sampling-drawn", args=[sampling.public_id]), {"drawn-1": "2027-01-01T09:30", "drawer": "Ansel"}
    )
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "Error:" in html
    assert "accepted is a moment of the last 60 days" in html
    assert "2027-01-01T09:30" in html


def test_late_results_are_chased(office_client: Any, sampling: Sampling, now: datetime, today: date) -> None:
    drawn(sampling, now, timedelta(days=30))
    mark_received(sampling=sampling, at=now - timedelta(days=29), actor_name="A", now=now)
    html = office_client.get(reverse("today")).content.decode()
    assert "Samples and results overdue" in html
    assert "S-0012, results of Northreach Laboratory were due 21 May 2026, 19 days late" in html
    chase = reverse("sampling-chase", args=[sampling.public_id])
    assert office_client.post(chase, {"due_on": "2026-06-01"}).status_code == 422
    assert office_client.post(chase, {"due_on": "2026-06-15"}).status_code == 302
    assert "Samples and results overdue" not in office_client.get(reverse("today")).content.decode()
    listed = office_client.get(reverse("sampling-list")).content.decode()
    assert "15 Jun 2026" in listed


def test_ending_a_sampling_wants_a_reason(office_client: Any, sampling: Sampling) -> None:
    end = reverse("sampling-end", args=[sampling.public_id])
    assert office_client.post(end, {"how": "off", "off-reason": ""}).status_code == 422
    assert office_client.post(end, {"how": "short", "short-reason": "broke"}).status_code == 422
    assert office_client.post(end, {"how": "off", "off-reason": "frozen in"}).status_code == 302
    assert "frozen in" in office_client.get(reverse("sampling", args=[sampling.public_id])).content.decode()


def test_a_test_entered_already_is_linked(office_client: Any, sampling: Sampling, now: datetime) -> None:
    drawn(sampling, now)
    test = factories.WaterTestFactory(site=sampling.site, results={"iron": 0.4})
    html = office_client.get(reverse("sampling", args=[sampling.public_id])).content.decode()
    assert "This is the answer" in html
    answer = reverse("draw-answered", args=[sampling.draws.get().public_id])
    office_client.post(answer, {"test": str(test.public_id)})
    html = office_client.get(reverse("sampling", args=[sampling.public_id])).content.decode()
    assert "Still out: Total coliform, E. coli" in html
    elsewhere = factories.WaterTestFactory(dealer=sampling.dealer, site=factories.SiteFactory(dealer=sampling.dealer))
    assert office_client.post(answer, {"test": str(elsewhere.public_id)}).status_code == 404


def test_a_notice_after_its_remedy_asks_for_a_clear_sample(
    office_client: Any, site: Any, today: date, laboratory: Laboratory
) -> None:
    because = factories.WaterTestFactory(site=site, sampled_on=today - timedelta(days=9))
    factories.DrinkNoticeFactory(site=site, because=because, remedy_on=today - timedelta(days=2))
    step = reverse("sampling-new", args=[site.public_id]) + "?purpose=clear"
    for page in (reverse("today"), reverse("household", args=[site.public_id])):
        assert step in office_client.get(page).content.decode()
    factories.SamplingFactory(site=site, laboratory=laboratory, purpose="clear")
    for page in (reverse("today"), reverse("household", args=[site.public_id])):
        assert step not in office_client.get(page).content.decode()


@pytest.mark.parametrize("count", [1, 30])
def test_the_lists_cost_the_same_however_long(
    office_client: Any, dealer: Any, laboratory: Laboratory, django_assert_max_num_queries: Any, count: int
) -> None:
    for number in range(count):
        factories.SamplingFactory(
            site=factories.SiteFactory(dealer=dealer), laboratory=laboratory, number=100 + number
        )
        factories.LabFileFactory(laboratory=laboratory)
    for name in ("sampling-list", "lab-file-list", "laboratory-list"):
        with django_assert_max_num_queries(LIST_QUERIES):
            assert office_client.get(reverse(name)).status_code == 200


# -- laboratories ---------------------------------------------------------------------------------------------


def test_a_laboratory_is_kept_with_its_own_bottles(office_client: Any, dealer: Any) -> None:
    data = {
        "name": "Sound Health Unit",
        "receives_on": ["0", "1", "2"],
        "receives_from": "08:00",
        "receives_until": "12:00",
        "result_days": "5",
        "active": "on",
        "hold_h-microbes": "24",
    }
    assert office_client.post(reverse("laboratory-new"), data).status_code == 302
    row = Laboratory.objects.get()
    assert (row.receives_on, row.result_days, row.bottles.get().hold_h) == ("012", 5, 24.0)
    page = reverse("laboratory", args=[row.public_id])
    assert 'value="24"' in office_client.get(page).content.decode()
    wrong = office_client.post(page, {**data, "receives_until": "07:00", "hold_h-metals": "soon", "name": ""})
    html = wrong.content.decode()
    assert wrong.status_code == 422
    assert "“soon” typed; accepted is a number from 0.25 to 8760 h" in html
    assert "nothing typed; accepted is up to 120 characters" in html
    again = office_client.post(reverse("laboratory-new"), data)
    assert "stands in the list already" in again.content.decode()


# -- files ----------------------------------------------------------------------------------------------------


def upload(client: Any, laboratory: Laboratory, data: bytes = CSV, name: str = "results.csv") -> Any:
    sent = {"laboratory": str(laboratory.public_id), "file": SimpleUploadedFile(name, data)}
    return client.post(reverse("lab-file-list"), sent)


def test_a_file_is_read_answered_taken_in_and_taken_back(
    office_client: Any, sampling: Sampling, laboratory: Laboratory, now: datetime
) -> None:
    drawn(sampling, now)
    answer = upload(office_client, laboratory, CSV + b"S-0012-1,2026-06-09,Nitrate,5.1,mg/L\r\n")
    row = LabFile.objects.get()
    page = reverse("lab-file", args=[row.public_id])
    assert answer.headers["Location"] == page
    html = office_client.get(page).content.decode()
    assert "a unit with its basis" in html
    assert "Take the file in" not in html
    say = reverse("lab-file-answer", args=[row.public_id])
    sample = {"sample-1": "S-0012-1", "file-day-1": "2026-06-09", "day-1": "2026-06-09"}
    refused = office_client.post(say, {**sample, "take": "1"})
    assert refused.status_code == 422
    assert not WaterTest.objects.exists()
    office_client.post(say, {**sample, "unit-0": "mg/L as NO3"})
    html = office_client.get(page).content.decode()
    assert "5.1 mg/L as NO3 → 1.152 mg/L as N" in html
    assert "Take the file in" in html
    assert office_client.post(say, {**sample, "take": "1"}).status_code == 302
    html = office_client.get(page).content.decode()
    assert "Take this file back" in html
    assert WaterTest.objects.get().results.get(analyte="nitrate").value == pytest.approx(5.1 * 14.007 / 62.004)
    office_client.post(reverse("lab-file-back", args=[row.public_id]))
    assert not WaterTest.objects.exists()


def test_the_columns_may_be_told(office_client: Any, sampling: Sampling, laboratory: Laboratory) -> None:
    upload(office_client, laboratory, b"A,B,C,D\r\n4711,Iron,0.4,mg/L\r\n")
    row = LabFile.objects.get()
    say = reverse("lab-file-answer", args=[row.public_id])
    page = reverse("lab-file", args=[row.public_id])
    assert "no column is" in office_client.get(page).content.decode()
    office_client.post(say, {"col-0": "sample", "col-1": "analyte", "col-2": "result", "col-3": "unit"})
    sample = {
        "sample-1": "4711",
        "draw-1": "none",
        "site-1": sampling.site.file_number.lower(),
        "place-1": "entry",
        "point-1": "b",
        "day-1": "2026-06-02",
    }
    office_client.post(say, sample)
    office_client.post(say, {**sample, "take": "1"})
    test = WaterTest.objects.get()
    assert (test.site, test.place, test.point, test.sampled_on) == (sampling.site, "entry", "B", date(2026, 6, 2))


def test_a_file_that_is_none_is_refused_at_the_door(office_client: Any, laboratory: Laboratory) -> None:
    for data, said in ((b"", "no file chosen"), (b"%PDF-1.4 x", "a PDF"), (b"\x00\x01", "bytes that are no text")):
        answer = upload(office_client, laboratory, data)
        assert answer.status_code == 422
        assert said in answer.content.decode() or "empty" in answer.content.decode()
    assert office_client.post(reverse("lab-file-list"), {}).status_code == 422
    assert not LabFile.objects.exists()


def test_a_waiting_file_shows_on_the_days_page_until_it_is_dropped(
    office_client: Any, laboratory: Laboratory
) -> None:
    upload(office_client, laboratory)
    row = LabFile.objects.get()
    assert "Laboratory files to take in" in office_client.get(reverse("today")).content.decode()
    office_client.post(reverse("lab-file-drop", args=[row.public_id]))
    assert "Laboratory files to take in" not in office_client.get(reverse("today")).content.decode()
    assert "dropped" in office_client.get(reverse("lab-file", args=[row.public_id])).content.decode()


def test_hostile_cells_stay_words(office_client: Any, laboratory: Laboratory) -> None:
    upload(office_client, laboratory, CSV + b'"<script>alert(1)</script>",2026-06-09,"<img src=x>",1,mg/L\r\n')
    html = office_client.get(reverse("lab-file", args=[LabFile.objects.get().public_id])).content.decode()
    assert "<script>alert" not in html
    assert "<img src=x>" not in html


def test_the_original_is_handed_out_as_a_file(office_client: Any, laboratory: Laboratory) -> None:
    upload(office_client, laboratory, name='x"; evil.csv')
    row = LabFile.objects.get()
    answer = office_client.get(reverse("lab-file-original", args=[row.public_id]))
    assert answer.content == CSV
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{row.public_id}.csv"'
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Type"] == "application/octet-stream"


# -- the laboratory's PDF -------------------------------------------------------------------------------------


def test_a_pdf_is_kept_with_its_test_and_handed_out_as_a_file(office_client: Any, site: Any) -> None:
    test = factories.WaterTestFactory(site=site, results={"iron": 0.4})
    attach = reverse("lab-report-attach", args=[test.public_id])
    for _twice in range(2):
        office_client.post(attach, {"pdf": SimpleUploadedFile("../report.pdf", PDF)})
    row = LabReport.objects.get()
    test.refresh_from_db()
    assert (test.report, row.name, row.size) == (row, "report.pdf", len(PDF))
    assert "report.pdf" in office_client.get(reverse("water-test", args=[test.public_id])).content.decode()
    answer = office_client.get(reverse("lab-report", args=[row.public_id]))
    assert answer.content == PDF
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{row.public_id}.pdf"'
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert Path(row.file.name).name == f"{row.public_id}.pdf"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"<html>%PDF-1.4", "no PDF"),
        (b"MZ" + PDF, "no PDF"),
        (PDF[:40], "not whole"),
        (
            PDF.replace(b"<</Type/Catalog>>", b"<</OpenAction<</S/JavaScript/JS(app.alert(1))>>>>"),
            "programs or files",
        ),
        (PDF.replace(b"<</Type/Catalog>>", b"<</OpenAction<</S/J#61vaScript>>>>"), "programs or files"),
        (PDF.replace(b"<</Type/Catalog>>", b"<</S/Launch/F(cmd.exe)>>"), "programs or files"),
        (PDF.replace(b"<</Type/Catalog>>", b"<</Names<</EmbeddedFiles 2 0 R>>>>"), "programs or files"),
        (PDF.replace(b"trailer<<>>", b"trailer<</Encrypt 5 0 R>>"), "locked"),
        (b"%PDF-1.4" + b"0" * MOST_BYTES, "at most 10 MB"),
    ],
)
def test_what_is_no_plain_pdf_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(ReportRefused, match=said):
        check_pdf(data)


def test_a_refused_pdf_is_said_and_not_kept(office_client: Any, site: Any) -> None:
    test = factories.WaterTestFactory(site=site, results={"iron": 0.4})
    attach = reverse("lab-report-attach", args=[test.public_id])
    office_client.post(attach, {"pdf": SimpleUploadedFile("report.pdf", b"<html>")})
    html = office_client.get(reverse("water-test", args=[test.public_id])).content.decode()
    assert "The PDF is not kept: no PDF by its first bytes" in html
    assert not LabReport.objects.exists()


# -- results over time ----------------------------------------------------------------------------------------


def test_results_over_time_stand_beside_their_table(office_client: Any, site: Any) -> None:
    for day, place, value in ((date(2025, 5, 1), "raw", 1.4), (date(2026, 5, 1), "entry", 0.05)):
        factories.WaterTestFactory(site=site, sampled_on=day, place=place, results={"iron": value})
    html = office_client.get(reverse("history", args=[site.public_id])).content.decode()
    for words in ("raw water", "treated water", "aesthetic limit", "1 past the limit", "1 May 2025"):
        assert words in html
    test = WaterTest.objects.order_by("-sampled_on").first()
    assert test is not None
    assert "Over time" in office_client.get(reverse("water-test", args=[test.public_id])).content.decode()


def test_a_result_in_another_unit_is_drawn_in_the_charts_and_shown_as_printed(office_client: Any, site: Any) -> None:
    factories.WaterTestFactory(site=site, sampled_on=date(2025, 5, 1), results={"iron": 0.4})
    test = factories.WaterTestFactory(site=site, sampled_on=date(2026, 5, 1), results={"iron": 0.02})
    test.results.update(text="<20", unit_text="ug/L", qualifier="below")
    html = office_client.get(reverse("history", args=[site.public_id])).content.decode()
    assert "&lt;20</b>" in html
    assert "= &lt;0.02 mg/L" in html
    assert ">&lt;0.02</text>" in html
