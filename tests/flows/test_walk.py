"""The whole job in one walk, page by page: a phone call, evidence, design, quote, acceptance, install, proof, upkeep.

The readings are invented (they are the demo's kind of household); what is checked is that each step leads
to the next, that the same facts stand on every surface, and that nothing is said or done twice.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from customers.households.models import HouseholdAccess, Site
from customers.water_tests.models import DrinkNotice
from service.documents.models import Paper
from service.installs.models import FittedPart, Install, StageState
from service.jobs.models import Job, JobState, TaskKind
from service.reminders.models import Message
from service.tasks import send_messages, tick
from service.upkeep.queries import next_visit
from sizing.catalogue.actions import load_starter
from sizing.engine.stages.starter import load_starter as starter_products
from sizing.proposals.models import Proposal
from sizing.quotes.models import Quote, QuoteState
from tests import factories
from tests.conftest import signed_in
from tests.lake_cabin import LAKE_CABIN

HOUSEHOLD = {
    **LAKE_CABIN,
    "typed_in": "metric",
    "customer_name": "Rosalind Quaye",
    "email": "quaye@home.example",
    "phone": "555 0124",
    "name": "Tern House",
    "road": "7 Slipway Rise",
}
RAW = {
    "total_coliform": ("30", "CFU/100 mL"),
    "e_coli": ("absent", "per 100 mL"),
    "turbidity": ("0,8", "NTU"),
    "uvt": ("87", "%/cm"),
    "colour": ("10", "TCU"),
    "tannin": ("<0.1", "mg/L as tannic acid"),
    "iron": ("0.04", "mg/L"),
    "manganese": ("6", "ug/L"),
    "hardness": ("20", "mg/L as CaCO3"),
    "sulphide": ("ND", "mg/L as S"),
    "ph": ("7.0", "pH units"),
    "alkalinity": ("19", "mg/L as CaCO3"),
    "tds": ("48", "mg/L"),
}


class Walker:
    """The people of the walk, and the clock they share."""

    def __init__(self, dealer: Any, monkeypatch: pytest.MonkeyPatch) -> None:
        self.moment = datetime(2026, 5, 4, 17, 0, tzinfo=UTC)
        monkeypatch.setattr(timezone, "now", lambda: self.moment)
        self.dealer = dealer
        self.desk = factories.StaffFactory(dealer=dealer, role="office", name="Maren")
        self.crew = factories.StaffFactory(dealer=dealer, role="technician", name="Ansel")

    @property
    def office(self) -> Client:
        """The office, signed in now (a session of last week has run out)."""
        return signed_in(self.desk.user)

    @property
    def technician(self) -> Client:
        """The technician, signed in now."""
        return signed_in(self.crew.user)

    @property
    def household(self) -> Client:
        """The household's own person, signed in now."""
        return signed_in(HouseholdAccess.objects.get().user)

    def later(self, days: int) -> None:
        """Let days pass."""
        self.moment += timedelta(days=days)

    @property
    def today(self) -> date:
        """The dealer's day."""
        return self.moment.date()

    def post(self, client: Client, name: str, ident: Any, data: dict[str, Any]) -> Any:
        """Send a form; anything but an onward page shows what was refused."""
        answer = client.post(reverse(name, args=[ident] if ident else []), data)
        assert answer.status_code == 302, re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))[:1500]
        return answer

    def page(self, client: Client, name: str, *idents: Any) -> str:
        """A page's text."""
        answer = client.get(reverse(name, args=idents))
        assert answer.status_code == 200, (name, answer.status_code)
        return answer.content.decode()

    def result(self, site: Site, place: str, rows: dict[str, tuple[str, str]], **heading: str) -> None:
        """Enter a laboratory result."""
        data = {
            "form_token": str(uuid4()),
            "kind": "lab",
            "place": place,
            "sampled_on": self.today.isoformat(),
            "laboratory": "Northreach Laboratory",
            **heading,
        }
        for analyte, (text, unit) in rows.items():
            data[f"text-{analyte}"], data[f"unit-{analyte}"] = text, unit
        self.post(self.office, "water-test-new", site.public_id, data)


@pytest.fixture
def walker(dealer: Any, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Walker:
    settings.EMAIL_URL = ""
    load_starter(dealer=dealer, products=starter_products())
    return Walker(dealer, monkeypatch)


def take_evidence(walker: Walker) -> Site:
    """Household, symptoms, flow test, water test."""
    walker.post(walker.office, "household-new", None, {**HOUSEHOLD, "form_token": str(uuid4())})
    site = Site.objects.get(name="Tern House")
    call = {"form_token": str(uuid4()), "codes": ["tea_clear"], "where": "both", "words": "brown after rain"}
    walker.post(walker.office, "symptoms", site.public_id, call)
    page = walker.office.post(reverse("design-new", args=[site.public_id]), {"pressure": "80", "years": "15"})
    assert page.status_code == 422
    assert b"flow test" in page.content  # said before anything is designed
    runs = {"volume_0": "19", "seconds_0": "51", "volume_1": "19", "seconds_1": "50,4"}
    flow = {"form_token": str(uuid4()), "typed_in": "metric", "method": "drawdown", "tested_on": "2026-05-04"}
    pressures = {"tested_by": "Ansel", "cut_in_kpa": "275", "cut_out_kpa": "415"}
    walker.post(walker.office, "flow-test-new", site.public_id, {**flow, **runs, **pressures})
    walker.result(site, "raw", RAW)
    return site


def design_and_quote(walker: Walker, site: Site) -> Quote:
    """At least two trains, one of them quoted and issued."""
    form = walker.page(walker.office, "design-new", site.public_id)
    asked = dict(re.findall(r'name="((?:entry|tap)_\w+|pressure|years)"[^>]*value="([^"]+)"', form))
    answer = walker.post(walker.office, "design-new", site.public_id, asked)
    proposal = Proposal.objects.get(site=site)
    assert answer.url == reverse("design", args=[proposal.public_id])
    trains = list(proposal.trains.all())
    assert len(trains) >= 2
    bench = walker.page(walker.office, "design", proposal.public_id)
    assert "UV" in bench
    assert "Worksheet A" in bench
    sheet = walker.page(walker.office, "design-worksheet", trains[0].public_id)
    assert "EPA" in sheet  # sources stand beside the formulas
    walker.post(walker.office, "design-quote", trains[0].public_id, {})
    quote = Quote.objects.get(site=site)
    walker.post(walker.office, "quote-issue", quote.public_id, {})
    quote.refresh_from_db()
    assert quote.state == QuoteState.ISSUED
    paper = Paper.objects.get(kind="quote")
    assert paper.sha256 == quote.fingerprint
    return quote


def accept(walker: Walker, quote: Quote) -> None:
    """The mailed link signs in once; the household accepts."""
    send_messages()
    letter = next(m for m in mail.outbox if "Quote" in m.subject)
    link = re.search(r"https?://\S+(/home/link/\S+/)", str(letter.body))
    assert link is not None
    phone = Client()
    assert phone.get(link[1]).status_code == 200  # opening it changes nothing
    opened = phone.post(link[1])
    assert opened.url == reverse("portal-quote", args=[quote.public_id])
    assert Client().post(link[1]).status_code == 404  # used up
    page = walker.page(phone, "portal-quote", quote.public_id)
    document = re.search(r'name="document" value="(\w+)"', page)
    assert document is not None
    walker.later(2)
    given = {"name": "Rosalind Quaye", "document": document[1], "accept": "1"}
    walker.post(walker.household, "portal-quote", quote.public_id, given)
    quote.refresh_from_db()
    assert quote.state == QuoteState.ACCEPTED
    answer = quote.answer
    assert (answer.document_hash, answer.address, answer.answered_at) == (
        quote.fingerprint,
        "127.0.0.1",
        walker.moment,
    )
    again = walker.household.post(reverse("portal-quote", args=[quote.public_id]), given)
    assert again.status_code == 422  # answered once
    assert Install.objects.count() == 1


def install(walker: Walker, site: Site) -> Job:
    """Booked at the desk, done on the tablet."""
    job = Job.objects.get(site=site)
    assert job.state == JobState.PLANNED
    assert Paper.objects.filter(kind="install_sheet").count() == 1
    assert job.bring.exists()
    hidden = reverse("field-job", args=[job.public_id])
    assert walker.technician.get(hidden).status_code == 404  # not theirs yet
    booking = {"day": walker.today.isoformat(), "start_at": "09:00", "staff": [str(walker.crew.public_id)]}
    walker.post(walker.office, "job-book", job.public_id, booking)
    assert "Tern House" in walker.page(walker.technician, "field-today")
    walker.page(walker.technician, "field-job", job.public_id)
    walker.post(walker.technician, "field-start", job.public_id, {})
    early = walker.technician.post(reverse("field-finish", args=[job.public_id]), {"signed_name": "R. Quaye"})
    assert early.status_code == 409  # lines are still open
    for task in job.tasks.all():
        if task.code == "flow_test":
            runs = {
                "volume_0": "19",
                "seconds_0": "50.6",
                "tested_on": walker.today.isoformat(),
                "method": "drawdown",
            }
            more = {"tested_by": "Ansel", "typed_in": "metric", "form_token": str(uuid4())}
            walker.post(
                walker.technician,
                "field-flow",
                task.public_id,
                {**runs, **more, "cut_in_kpa": "275", "cut_out_kpa": "415"},
            )
            continue
        data = {TaskKind.READING: {"value": "300"}, TaskKind.SERIAL: {"text": f"SN-{task.position}"}}.get(
            task.kind, {}
        )
        if task.kind == TaskKind.READING and task.quantity not in ("pressure",):
            data = {"value": "5"}
        walker.post(walker.technician, "field-task", task.public_id, data)
    walker.post(walker.technician, "field-finish", job.public_id, {"signed_name": "Rosalind Quaye"})
    job.refresh_from_db()
    assert job.state == JobState.FINISHED
    return job


@pytest.mark.django_db
def test_from_a_phone_call_to_the_next_service_date(walker: Walker) -> None:
    site = take_evidence(walker)
    file = walker.page(walker.office, "household", site.public_id)
    assert "Do not drink the water at Tern House" in file  # coliform in untreated lake water
    walker.later(3)
    quote = design_and_quote(walker, site)
    accept(walker, quote)
    walker.later(5)
    install(walker, site)
    made = Install.objects.get(site=site)
    assert made.commissioned_on == walker.today
    assert set(made.stages.values_list("state", flat=True)) == {StageState.IN_SERVICE}
    _dates_agree(walker, site)
    _proof(walker, site, made)
    _lamp_lasts_two_seasons(site, made)
    _reminded_once(walker, site)
    _a_positive_result_leads_everything(walker, site)


def _dates_agree(walker: Walker, site: Site) -> None:
    """The household's page and the office name the same next date, and the same standing."""
    visit = next_visit(site, walker.today)
    assert visit is not None
    office = walker.page(walker.office, "household", site.public_id)
    own = walker.page(walker.household, "portal-site", site.public_id)
    for page in (office, own):
        assert re.search(rf"{visit.day.day}\s+{visit.day:%b}", page)
        assert "not yet proven" in page.lower()


def _proof(walker: Walker, site: Site, made: Install) -> None:
    """Only the laboratory's clear result drops "not yet proven"; two lift the notice."""
    clear = {"total_coliform": ("absent", "per 100 mL"), "e_coli": ("absent", "per 100 mL")}
    walker.later(1)
    walker.result(site, "entry", clear, proves_install="on")
    made.refresh_from_db()
    assert made.proven_on == walker.today
    assert "not yet proven" not in walker.page(walker.household, "portal-site", site.public_id).lower()
    assert DrinkNotice.objects.get(site=site).lifted_on is None
    walker.later(7)
    walker.result(site, "entry", clear)
    assert DrinkNotice.objects.get(site=site).lifted_on == walker.today


def _lamp_lasts_two_seasons(site: Site, made: Install) -> None:
    """Twelve operating months in a place open May to October: due in the second autumn or the opening after it."""
    lamp = FittedPart.objects.get(stage__install=made, code="lamp")
    assert lamp.next_due_on is not None
    assert date(2027, 10, 1) <= lamp.next_due_on <= date(2028, 5, 31)


def _reminded_once(walker: Walker, site: Site) -> None:
    """What falls due is said once, however often beat and sender run."""
    visit = next_visit(site, walker.today)
    assert visit is not None
    walker.moment = datetime.combine(visit.on - timedelta(days=10), datetime.min.time(), tzinfo=UTC) + timedelta(
        hours=18
    )
    for _turn in range(3):
        tick()
        send_messages()
    due = Message.objects.filter(site=site, rule="service_due")
    assert due.count() == 1
    assert due.get().state == "sent"
    letters = [m for m in mail.outbox if due.get().message_id in str(m.extra_headers)]
    assert len(letters) == 1


def _a_positive_result_leads_everything(walker: Walker, site: Site) -> None:
    """E. coli at the tap: the notice comes first on desk, tablet and household page, and on paper."""
    walker.result(site, "tap", {"e_coli": ("2", "CFU/100 mL"), "total_coliform": ("present", "per 100 mL")})
    heading = "Do not drink the water at Tern House"
    for client, name in ((walker.office, "household"), (walker.household, "portal-site")):
        page = walker.page(client, name, site.public_id)
        assert page.index(heading) < page.index("<main")
    job = Job.objects.filter(site=site).first()
    assert job is not None
    assert "do not drink" in walker.page(walker.technician, "field-job", job.public_id).lower()
    send_messages()
    assert any(heading in m.subject or heading in str(m.body) for m in mail.outbox[-3:])
