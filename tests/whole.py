"""A household with one row of everything, so that every page and every address has something to show."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

from customers.enquiries.models import EnquiryEntry
from customers.households.models import LogEntry
from customers.tenancy.scope import dealer_scope
from service.installs.actions import commission, install_from_quote
from service.reminders.models import Suppression
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import DesignOutcome, Refusal
from sizing.engine.findings import Finding, Severity
from sizing.engine.storage import to_data
from sizing.proposals.adapters import Wishes, request_for
from sizing.proposals.models import ProposedStage
from sizing.quotes.actions import draft_quote
from sizing.quotes.models import Quote
from tests import factories
from tests.service.factories_service import UV_RATINGS, a_train

HASH = "5" * 64


def designed(site: Any) -> Any:
    """A stored design of one alternative, with evidence for its question; nothing is searched."""
    dealer = site.dealer
    for code, kind in (("sed-20", "sediment"), ("uv-30", "uv"), ("ro-75", "ro")):
        if not CatalogueItem.objects.filter(code=code).exists():
            factories.CatalogueItemFactory(
                dealer=dealer, code=code, kind=kind, ratings=UV_RATINGS if kind == "uv" else {}, active=kind == "uv"
            )
    outcome = DesignOutcome(
        trains=(a_train(),),
        refusals=(Refusal("Softener, UV", "pressure", "98 kPa left, 138 kPa wanted"),),
        conflict=(),
        relaxations=(),
        findings=(Finding("surface", Severity.HEALTH, "Surface water", "Keep a barrier"),),
        searched=12,
        peak_flow_l_min=24.0,
        design_flow_l_min=24.0,
        daily_l=600.0,
        engine_version="0",
        figures_version="0",
    )
    asked = request_for(site=site, wishes=Wishes(at_entry={"iron": 0.3}), on=factories.TODAY)
    told = to_data(outcome)
    (train,) = told.pop("trains")
    proposal = factories.ProposalFactory(site=site, request=to_data(asked), outcome=told)
    row = factories.TrainFactory(proposal=proposal, data=train)
    for position, code in enumerate(("sed-20", "uv-30", "ro-75"), start=1):
        item = CatalogueItem.objects.get(code=code)
        ProposedStage.objects.create(dealer=dealer, train=row, position=position, kind=item.kind, item=item)
    return proposal


def enquired(dealer: Any) -> dict[str, Any]:
    """An enquiry with a row of everything that hangs on one, in no household's file yet."""
    enquiry = factories.EnquiryFactory(
        dealer=dealer, number=901, confirmed_cause="tannin", confirmed_at=factories.NOW
    )
    EnquiryEntry.objects.create(dealer=dealer, enquiry=enquiry, at=factories.NOW, who="Maren Vik", what="begun")
    factories.EnquiryLinkFactory(enquiry=enquiry)
    return {
        "enquiry": enquiry,
        "device_code": SimpleNamespace(public_id="softener"),
        "enquiry_answer": factories.EnquiryAnswerFactory(enquiry=enquiry),
        "enquiry_device": factories.EnquiryDeviceFactory(enquiry=enquiry, called="the blue tank"),
        "enquiry_photo": factories.EnquiryPhotoFactory(enquiry=enquiry),
    }


def whole(site: Any, *, technician: Any = None) -> SimpleNamespace:
    """Evidence, design, quotes in three states, an install, jobs, a message, a paper, a sign-in for ``site``."""
    with dealer_scope(site.dealer):
        return _whole(site, technician)


def _whole(site: Any, technician: Any) -> SimpleNamespace:
    dealer = site.dealer
    flow = factories.FlowTestFactory(site=site)
    water = factories.WaterTestFactory(
        site=site, note="sampled at the well", results={"iron": 0.4, "turbidity": 3.4, "total_coliform": "present"}
    )
    proposal = designed(site)
    train = proposal.trains.get()
    earlier = factories.ProposalFactory(site=site, number=0, request=proposal.request, outcome=proposal.outcome)
    a_round = factories.RedesignFactory(dealer=dealer)
    factories.RedesignRowFactory(run=a_round, site=site, proposal=proposal)
    accepted, issued = (draft_quote(train=train, actor_name="Maren Vik", now=factories.NOW) for _n in range(2))
    dates = {"issued_at": factories.NOW, "valid_until": factories.TODAY + timedelta(days=30), "fingerprint": HASH}
    Quote.objects.filter(pk=accepted.pk).update(state="accepted", **dates)
    Quote.objects.filter(pk=issued.pk).update(state="issued", **dates)
    accepted.refresh_from_db()
    draft = draft_quote(train=train, actor_name="Maren Vik", now=factories.NOW)
    install = install_from_quote(quote=accepted, now=factories.NOW)
    commission(install=install, on=date(2026, 5, 20), actor_name="Birgit Holm", now=factories.NOW)
    job = factories.JobFactory(site=site, state="under_way", day=factories.TODAY, number=801, note="Mind the dog")
    if technician is not None:
        factories.CrewFactory(job=job, staff=technician)
    notice = factories.DrinkNoticeFactory(site=site, because=water)
    sampling = factories.SamplingFactory(site=site)
    laboratory = sampling.laboratory
    LogEntry.objects.create(dealer=dealer, site=site, at=factories.NOW, who="Maren Vik", what="Rang about the smell")
    water.report = factories.LabReportFactory(site=site)
    water.save(update_fields=["report"])
    return SimpleNamespace(
        dealer=dealer,
        site=site,
        observation=factories.ObservationFactory(site=site),
        correction=factories.CauseCorrectionFactory(site=site),
        flow_test=flow,
        water_test=water,
        notice=notice,
        sampling=sampling,
        draw=sampling.draws.get(),
        laboratory=laboratory,
        lab_file=factories.LabFileFactory(laboratory=laboratory),
        lab_report=water.report,
        design=proposal,
        earlier_design=earlier,
        round=a_round,
        train=train,
        quote=issued,
        draft=draft,
        line=draft.lines.first(),
        accepted=accepted,
        install=install,
        job=job,
        planned=factories.JobFactory(site=site, number=802),
        task=factories.TaskFactory(job=job),
        reading=factories.TaskFactory(job=job, kind="reading", quantity="flow", text="Flow at the tap"),
        flow_task=factories.TaskFactory(
            job=job, kind="reading", quantity="flow", code="flow_test", text="Flow test", required=False
        ),
        **enquired(dealer),
        found_stage=factories.StageFactory(
            site=site, position=20, kind="sediment", name="Old housing", state="retired", found_on=factories.TODAY
        ),
        message=factories.MessageFactory(site=site, state="failed"),
        suppression=Suppression.objects.create(
            dealer=dealer, address="quiet@home.example", reason="asked", since=factories.NOW
        ),
        item=factories.CatalogueItemFactory(dealer=dealer, ratings=UV_RATINGS),
        price_list=factories.PriceListFactory(dealer=dealer),
        catalogue_file=factories.CatalogueFileFactory(dealer=dealer),
        access=factories.AccessFactory(site=site),
    )
