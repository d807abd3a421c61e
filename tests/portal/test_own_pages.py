"""What a household sees and does on its own pages."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from customers.households.models import LogEntry
from service.documents.models import Paper
from service.installs.models import FittedPart, Install
from service.installs.words import day_words
from service.jobs.models import Job
from service.reminders.models import Suppression
from service.upkeep.queries import next_visit
from sizing.quotes.models import Quote, QuoteAnswer, QuoteState
from tests import factories
from tests.conftest import signed_in
from tests.service.factories_service import commissioned
from tests.whole import HASH, whole

SIGNED = {"name": "Tamsin Okoro", "signature": "M1 2 L30 40.5", "document": HASH}


@pytest.fixture
def cabin(dealer: Any) -> Any:
    """A seasonal household, open 19 May to 12 October, with one row of everything."""
    return whole(factories.SeasonalSiteFactory(dealer=dealer, name="Alder Point"))


@pytest.fixture
def reader(cabin: Any, clock: Any) -> Any:
    """Somebody of the household, signed in."""
    return signed_in(cabin.access.user)


def at(name: str, row: Any) -> str:
    return reverse(f"portal-{name}", args=[row.public_id])


def test_the_page_leads_with_the_notice_and_says_what_is_due(reader: Any, cabin: Any) -> None:
    html = reader.get(at("site", cabin.site)).content.decode()
    assert html.index("Do not drink the water at Alder Point") < html.index("<main")
    assert "safe" not in html.lower()
    assert cabin.quote.label in html
    assert reverse("portal-season", args=[cabin.site.public_id]) in html


def test_home_leads_to_the_only_place_or_lets_choose(reader: Any, cabin: Any, dealer: Any) -> None:
    assert reader.get(reverse("portal-home")).headers["Location"] == at("site", cabin.site)
    second = factories.SiteFactory(dealer=dealer, name="Gull Rock")
    factories.SiteFactory(dealer=dealer, name="Somebody Else's")
    factories.AccessFactory(site=second, user=cabin.access.user)
    html = reader.get(reverse("portal-home")).content.decode()
    assert "Alder Point" in html
    assert "Gull Rock" in html
    assert "Somebody" not in html


def test_drafts_and_papers_for_the_crew_stay_inside(reader: Any, cabin: Any) -> None:
    assert reader.get(at("quote", cabin.draft)).status_code == 404
    shown = factories.PaperFactory(site=cabin.site, title="Water report for you")
    hidden = factories.PaperFactory(site=cabin.site, title="Sheet for the crew", for_customer=False)
    html = reader.get(at("papers", cabin.site)).content.decode()
    assert shown.title in html
    assert hidden.title not in html
    assert reader.get(reverse("paper", args=[hidden.public_id])).status_code == 404


def test_the_laboratorys_paper_of_ones_own_results_can_be_fetched(reader: Any, cabin: Any) -> None:
    address = reverse("portal-report", args=[cabin.lab_report.public_id])
    for page in ("site", "papers"):
        assert address in reader.get(at(page, cabin.site)).content.decode()
    answer = reader.get(address)
    assert answer.content == b"%PDF-1.4 qzh7x"
    assert answer.headers["Content-Type"] == "application/pdf"
    day = cabin.water_test.sampled_on.isoformat()
    name = f"laboratory-results-alder-point-{day}.pdf"
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{name}"'
    assert answer.headers["Cache-Control"] == "private, no-store"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_a_laboratorys_paper_of_others_or_of_no_test_stays_inside(reader: Any, cabin: Any, dealer: Any) -> None:
    """Another household of the dealer, another dealer, and a paper whose test was taken out again."""
    beside = factories.LabReportFactory(site=factories.SiteFactory(dealer=dealer), sha256="a" * 64)
    factories.WaterTestFactory(site=beside.site, report=beside)
    loose = factories.LabReportFactory(site=cabin.site, sha256="b" * 64)
    html = reader.get(at("papers", cabin.site)).content.decode()
    for row in (beside, loose):
        address = reverse("portal-report", args=[row.public_id])
        assert address not in html
        assert reader.get(address).status_code == 404
    staff = signed_in(factories.StaffFactory(dealer=dealer, role="office").user)
    assert staff.get(reverse("portal-report", args=[cabin.lab_report.public_id])).status_code == 403


def test_accepting_keeps_the_answer_and_plans_the_work(reader: Any, cabin: Any, now: Any) -> None:
    installs, jobs = Install.objects.count(), Job.objects.count()
    for _n in range(2):
        answer = reader.post(at("quote", cabin.quote), {**SIGNED, "accept": ""}, HTTP_USER_AGENT="Tablet/1")
    assert answer.status_code == 422
    kept = QuoteAnswer.objects.get()
    assert (kept.accepted, kept.name, kept.document_hash, kept.user) == (
        True,
        "Tamsin Okoro",
        HASH,
        cabin.access.user,
    )
    assert (kept.answered_at, kept.address, kept.user_agent) == (now, "127.0.0.1", "Tablet/1")
    assert Quote.objects.get(pk=cabin.quote.pk).state == QuoteState.ACCEPTED
    assert (Install.objects.count(), Job.objects.count()) == (installs + 1, jobs + 1)
    assert Paper.objects.filter(kind="install_sheet").count() == 1


def test_declining_keeps_the_reason_and_plans_nothing(reader: Any, cabin: Any) -> None:
    jobs = Job.objects.count()
    data = {"name": "Tamsin Okoro", "document": HASH, "reason": "too dear", "decline": ""}
    assert reader.post(at("quote", cabin.quote), data).status_code == 302
    kept = QuoteAnswer.objects.get()
    assert (kept.accepted, kept.reason) == (False, "too dear")
    assert Job.objects.count() == jobs


@pytest.mark.parametrize(
    "change",
    [
        {"document": "6" * 64},
        {"document": ""},
        {"name": " "},
        {"signature": '<svg onload="x">'},
    ],
)
def test_an_answer_to_something_else_is_refused(reader: Any, cabin: Any, change: dict[str, str]) -> None:
    page = reader.post(at("quote", cabin.quote), {**SIGNED, **change, "accept": ""})
    assert page.status_code == 422
    assert "<title>Error:" in page.content.decode()
    assert not QuoteAnswer.objects.exists()
    assert Quote.objects.get(pk=cabin.quote.pk).state == QuoteState.ISSUED


def test_a_quote_is_open_through_its_last_day(reader: Any, cabin: Any) -> None:
    """The tests' moment is 10 in the morning of 9 June at the dealer's."""
    Quote.objects.filter(pk=cabin.quote.pk).update(valid_until=date(2026, 6, 8))
    late = reader.post(at("quote", cabin.quote), {**SIGNED, "accept": ""})
    assert late.status_code == 422
    assert "was open until 8 Jun 2026" in late.content.decode()
    assert not QuoteAnswer.objects.exists()
    Quote.objects.filter(pk=cabin.quote.pk).update(valid_until=date(2026, 6, 9))
    assert reader.post(at("quote", cabin.quote), {**SIGNED, "accept": ""}).status_code == 302
    assert QuoteAnswer.objects.exists()


def test_asking_for_a_visit_plans_one(reader: Any, cabin: Any) -> None:
    data = {"words": "It smells of\nrotten eggs", "wanted_from": "2026-06-15"}
    for _n in range(2):
        assert reader.post(at("ask", cabin.site), data).status_code == 302
    job = Job.objects.get(kind="survey")
    assert (job.state, job.wanted_from) == ("planned", date(2026, 6, 15))
    assert job.what == "Asked: It smells of rotten eggs"
    assert job.note == data["words"]
    reader.post(at("ask", cabin.site), {"words": "And the pump hammers"})
    assert Job.objects.filter(kind="survey").count() == 2


@pytest.mark.parametrize("day", ["2026-06-08", "2031-01-01", "soon"])
def test_a_day_that_cannot_be_asked_for(reader: Any, cabin: Any, day: str) -> None:
    page = reader.post(at("ask", cabin.site), {"words": "Smell", "wanted_from": day})
    assert page.status_code == 422
    assert "Smell" in page.content.decode()
    assert not Job.objects.filter(kind="survey").exists()


def test_a_change_of_season_moves_the_next_date(reader: Any, cabin: Any) -> None:
    """A cartridge is new at each opening: opening on 1 April, the next one after 9 June 2026 is 1 April 2027."""
    cartridge = FittedPart.objects.get(stage__site=cabin.site, code="cartridge")
    data = {"opens_day": 1, "opens_month": 4, "closes_day": 31, "closes_month": 10}
    assert reader.post(at("season", cabin.site), data).status_code == 302
    cartridge.refresh_from_db()
    assert cartridge.next_due_on == date(2027, 4, 1)
    assert LogEntry.objects.filter(what__contains="season changed by the household").exists()


@pytest.mark.parametrize(
    "change",
    [
        {"opens_day": 31, "opens_month": 4},
        {"closes_day": 1, "closes_month": 4},
        {"opens_month": 13},
        {"opens_day": ""},
    ],
)
def test_a_season_that_cannot_be_changes_nothing(reader: Any, cabin: Any, change: dict[str, Any]) -> None:
    data = {"opens_day": 1, "opens_month": 4, "closes_day": 31, "closes_month": 10, **change}
    assert reader.post(at("season", cabin.site), data).status_code == 422
    cabin.site.refresh_from_db()
    assert (cabin.site.opens_month, cabin.site.opens_day) == (5, 19)


def test_a_place_used_all_year_has_no_season(customer_client: Any, site: Any) -> None:
    assert customer_client.get(at("season", site)).status_code == 404


def test_reminders_are_switched_off_and_on_again(reader: Any, cabin: Any) -> None:
    address = cabin.access.user.email
    for _n in range(2):
        reader.post(at("messages", cabin.site), {"reminders": "", "csrf": "x"})
    assert Suppression.objects.filter(address=address).count() == 1
    page = reader.get(at("messages", cabin.site)).content.decode()
    assert "Do-not-drink notices" in page
    assert 'name="reminders" checked' not in page
    reader.post(at("messages", cabin.site), {"reminders": "on"})
    assert not Suppression.objects.filter(address=address).exists()


def test_the_next_visit_is_the_same_as_at_the_desk(dealer: Any, site: Any, office_client: Any, clock: Any) -> None:
    commissioned(site, on=date(2026, 5, 20))
    access = factories.AccessFactory(site=site)
    visit = next_visit(site, factories.TODAY)
    assert visit is not None
    for client, address in (
        (signed_in(access.user), at("site", site)),
        (office_client, reverse("household", args=[site.public_id])),
    ):
        assert day_words(visit.day) in client.get(address).content.decode()
