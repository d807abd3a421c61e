"""Rows for tests, invented. Each row is written inside its own dealer's scope, whatever scope is active.

Every factory takes ``dealer=`` (a new one otherwise), and what hangs on a parent takes the parent's dealer:
``SiteFactory(dealer=dealer)``, ``QuoteFactory(site=site)``, ``WaterTestFactory(site=site, results={...})``.
"""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import factory

from customers import models as customers
from customers.tenancy.scope import dealer_scope
from service import models as service
from sizing import models as sizing
from sizing.engine.units import accepted_units

NOW = datetime(2026, 6, 9, 17, 0, tzinfo=UTC)
TODAY = date(2026, 6, 9)
PASSWORD = "tarn-and-heather-2026"


class DealerFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = customers.Dealer

    slug = factory.Sequence(lambda n: f"dealer-{n}")
    name = factory.Sequence(lambda n: f"Tern Island Water {n}")
    postal_address = "1 Slipway, Tern Island"
    phone = "555 0100"
    email = factory.LazyAttribute(lambda row: f"office@{row.slug}.example")
    licence_line = ""
    file_prefix = "TI"
    tax_rate = Decimal("5")


class UserFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = customers.User

    email = factory.Sequence(lambda n: f"person{n}@mail.example")

    @classmethod
    def _create(cls, model_class: Any, *args: Any, **kwargs: Any) -> Any:
        kwargs.setdefault("password", PASSWORD)
        return model_class.objects.create_user(**kwargs)


class TenantFactory(factory.django.DjangoModelFactory):
    """Base: writes inside the scope of the row's dealer."""

    class Meta:
        abstract = True

    dealer = factory.SubFactory(DealerFactory)

    @classmethod
    def _create(cls, model_class: Any, *args: Any, **kwargs: Any) -> Any:
        with dealer_scope(kwargs["dealer"]):
            return super()._create(model_class, *args, **kwargs)


def same(parent: str) -> Any:
    """The dealer of the parent row."""
    return factory.SelfAttribute(f"{parent}.dealer")


def under(factory_class: Any, **kwargs: Any) -> Any:
    """A parent made on the way, of its own new dealer."""
    return factory.SubFactory(factory_class, **kwargs)


class StaffFactory(TenantFactory):
    class Meta:
        model = customers.Staff

    user = factory.SubFactory(UserFactory)
    role = "office"
    name = factory.Sequence(lambda n: f"Maren Vik {n}")


class CustomerFactory(TenantFactory):
    class Meta:
        model = customers.Customer

    name = factory.Sequence(lambda n: f"Tamsin Okoro {n}")
    email = factory.Sequence(lambda n: f"tamsin{n}@home.example")
    phone = "555 0123"


class SiteFactory(TenantFactory):
    """A year-round house on a drilled well, pump 275-415 kPa, one bathroom and a kitchen."""

    class Meta:
        model = customers.Site
        skip_postgeneration_save = True

    customer = factory.SubFactory(CustomerFactory, dealer=factory.SelfAttribute("..dealer"))
    file_number = factory.Sequence(lambda n: f"TI-{n + 1:04d}")
    name = factory.Sequence(lambda n: f"Alder Point {n}")
    road = "14 Cormorant Lane"
    source = "drilled_well"
    cut_in_kpa = 275.0
    cut_out_kpa = 415.0
    tank_volume_l = 76.0
    people_usual = 3
    people_peak = 5

    @factory.post_generation
    def fixtures(self, create: bool, counts: dict[str, int] | None, **kwargs: Any) -> None:
        """Counts by code; one bathroom and a kitchen unless told."""
        usual = {"shower": 1, "lavatory": 1, "toilet": 1, "kitchen_faucet": 1}
        with dealer_scope(self.dealer):
            for code, count in (usual if counts is None else counts).items():
                customers.SiteFixture.objects.create(dealer=self.dealer, site=self, code=code, count=count)


class SeasonalSiteFactory(SiteFactory):
    """A lake cabin open 19 May to 12 October."""

    source = "lake"
    intake_depth_m = 4.2
    access_by = "boat"
    opens_month, opens_day, closes_month, closes_day = 5, 19, 10, 12
    winter_heated = False


class AccessFactory(TenantFactory):
    """A household's own sign-in."""

    class Meta:
        model = customers.HouseholdAccess

    site = under(SiteFactory)
    dealer = same("site")
    user = factory.SubFactory(UserFactory)


class ObservationFactory(TenantFactory):
    class Meta:
        model = customers.Observation

    site = under(SiteFactory)
    dealer = same("site")
    code = "tea_clear"
    where = "both"
    words = "brown in the bath"
    noted_at = NOW
    noted_by = "Maren Vik"


class CauseCorrectionFactory(TenantFactory):
    """A cause confirmed at a household."""

    class Meta:
        model = customers.CauseCorrection

    site = under(SiteFactory)
    dealer = same("site")
    kind = "finished"
    code = "tannin"
    target = "tea_clear"
    about = factory.SelfAttribute("site.public_id")
    label = "Alder Point"
    data = factory.LazyAttribute(
        lambda row: {
            "kind": row.kind,
            "code": row.code,
            "target": row.target,
            "source": row.site.source,
            "answers": {"autumn": "yes"},
        }
    )
    why = "tannin 2.4 mg/L in the laboratory"
    made_by = "Maren Vik"
    made_at = NOW


class EnquiryFactory(TenantFactory):
    """An enquiry being taken down, not yet in any household's file."""

    class Meta:
        model = customers.Enquiry

    number = factory.Sequence(lambda n: n + 1)
    name = "Odd Lunde"
    phone = "555 0177"
    email = "odd@home.example"
    place = "red house past the slip"
    source = "drilled_well"
    note = "worse since the thaw"
    started_by = "Maren Vik"
    started_at = changed_at = NOW


class EnquiryAnswerFactory(TenantFactory):
    class Meta:
        model = customers.EnquiryAnswer

    enquiry = under(EnquiryFactory)
    dealer = same("enquiry")
    kind = "observation"
    code = "tea_clear"
    answer = "yes"
    said_by = "Maren Vik"
    said_at = NOW


class EnquiryDeviceFactory(TenantFactory):
    class Meta:
        model = customers.EnquiryDevice

    enquiry = under(EnquiryFactory)
    dealer = same("enquiry")
    number = 1


class EnquiryPhotoFactory(TenantFactory):
    class Meta:
        model = customers.EnquiryPhoto

    enquiry = under(EnquiryFactory)
    dealer = same("enquiry")
    file = "photos/none.jpg"
    small = "photos/none-small.jpg"
    width, height = 640, 480
    words = "the bath"
    kept_by = "Odd Lunde"
    kept_at = NOW


class EnquiryLinkFactory(TenantFactory):
    class Meta:
        model = customers.EnquiryLink

    enquiry = under(EnquiryFactory)
    dealer = same("enquiry")
    to_address = "odd@home.example"
    token_hash = factory.Sequence(lambda n: f"{n:064d}")
    made_by = "Maren Vik"
    made_at = NOW
    expires_at = NOW + timedelta(days=14)


class FlowTestFactory(TenantFactory):
    class Meta:
        model = customers.FlowTest

    site = under(SiteFactory)
    dealer = same("site")
    tested_on = TODAY
    tested_by = "Birgit Holm"
    cut_in_kpa, cut_out_kpa = 275.0, 415.0
    flow_l_min = 24.0
    sd_l_min = 0.6
    entered_by = "Birgit Holm"
    entered_at = NOW


class WaterTestFactory(TenantFactory):
    """A test; ``results={"iron": 0.4, "e_coli": "absent"}`` in canonical units or as a qualifier."""

    class Meta:
        model = customers.WaterTest
        skip_postgeneration_save = True

    site = under(SiteFactory)
    dealer = same("site")
    kind = "lab"
    place = "raw"
    sampled_on = TODAY
    laboratory = "Northreach Laboratory"
    entered_by = "Maren Vik"
    entered_at = NOW

    @factory.post_generation
    def results(self, create: bool, values: dict[str, Any] | None, **kwargs: Any) -> None:
        """Result rows."""
        with dealer_scope(self.dealer):
            for analyte, value in (values or {}).items():
                word = isinstance(value, str)
                customers.Result.objects.create(
                    dealer=self.dealer,
                    test=self,
                    analyte=analyte,
                    text=str(value),
                    unit_text="" if word else accepted_units(analyte)[0],
                    qualifier=value if word else "equal",
                    value=None if word else value,
                )


class LaboratoryFactory(TenantFactory):
    class Meta:
        model = customers.Laboratory

    name = factory.Sequence(lambda n: f"Northreach Laboratory {n}")


class SamplingFactory(TenantFactory):
    """A planned sampling of one draw of raw water: microbes and iron."""

    class Meta:
        model = customers.Sampling
        skip_postgeneration_save = True

    site = under(SiteFactory)
    dealer = same("site")
    laboratory = factory.SubFactory(LaboratoryFactory, dealer=factory.SelfAttribute("..dealer"))
    number = factory.Sequence(lambda n: n + 1)
    planned_on = TODAY
    planned_at = time(9)
    results_due_on = TODAY + timedelta(days=10)
    made_by = "Maren Vik"
    made_at = NOW

    @factory.post_generation
    def draw(self, create: bool, values: dict[str, Any] | None, **kwargs: Any) -> None:
        """Its one draw; columns by name."""
        told = {"place": "raw", "analytes": ["e_coli", "total_coliform", "iron"], **(values or {})}
        with dealer_scope(self.dealer):
            customers.SamplingDraw.objects.create(dealer=self.dealer, sampling=self, position=1, **told)


class LabFileFactory(TenantFactory):
    """A waiting file of one result."""

    class Meta:
        model = customers.LabFile

    laboratory = under(LaboratoryFactory)
    dealer = same("laboratory")
    name = "results.csv"
    file = factory.django.FileField(
        filename="results.csv",
        data=b"Sample ID,Date Sampled,Analyte,Result,Units\r\n4711,2026-06-02,Iron,0.4,mg/L\r\n",
    )
    sha256 = factory.Sequence(lambda n: f"{n:064d}")
    size = 80
    uploaded_by = "Maren Vik"
    uploaded_at = NOW


class LabReportFactory(TenantFactory):
    class Meta:
        model = customers.LabReport

    site = under(SiteFactory)
    dealer = same("site")
    name = "report.pdf"
    file = factory.django.FileField(filename="report.pdf", data=b"%PDF-1.4 qzh7x")
    sha256 = factory.Sequence(lambda n: f"{n:064d}")
    size = 14
    added_by = "Maren Vik"
    added_at = NOW


class DrinkNoticeFactory(TenantFactory):
    class Meta:
        model = customers.DrinkNotice

    site = under(SiteFactory)
    dealer = same("site")
    because = factory.SubFactory(WaterTestFactory, site=factory.SelfAttribute("..site"))
    opened_on = TODAY
    cause = "Total coliform present"


class CatalogueItemFactory(TenantFactory):
    class Meta:
        model = sizing.CatalogueItem

    code = factory.Sequence(lambda n: f"item-{n}")
    kind = "uv"
    name = "UV unit, 30 L/min"
    price = Decimal("980.00")


class PriceListFactory(TenantFactory):
    class Meta:
        model = sizing.PriceList

    name = "Prices of next year"
    valid_from = date(2027, 1, 1)
    made_by = "Maren Vik"
    made_at = NOW


class CatalogueFileFactory(TenantFactory):
    class Meta:
        model = sizing.CatalogueFile

    name = "prices.csv"
    rows: list[Any] = []
    read_by = "Maren Vik"
    read_at = NOW


class ProposalFactory(TenantFactory):
    """A stored design with empty data; use the proposals' own action where the engine's answer matters."""

    class Meta:
        model = sizing.Proposal

    site = under(SiteFactory)
    dealer = same("site")
    number = factory.Sequence(lambda n: n + 1)
    request: dict[str, Any] = {}
    outcome: dict[str, Any] = {}
    unit_system = "metric"
    engine_version = "0"
    figures_version = "0"
    made_by = "Maren Vik"
    made_at = NOW


class TrainFactory(TenantFactory):
    class Meta:
        model = sizing.ProposedTrain

    proposal = under(ProposalFactory)
    dealer = same("proposal")
    letter = "A"
    name = "Fewest parts"
    data: dict[str, Any] = {}
    first_cost = Decimal("2400.00")
    whole_life_cost = Decimal("6100.00")
    upkeep_hours_year = 2.0


class RedesignFactory(TenantFactory):
    """A round of designing again that is over."""

    class Meta:
        model = sizing.Redesign

    why = "all"
    total = 1
    asked_by = "Maren Vik"
    asked_at = finished_at = NOW


class RedesignRowFactory(TenantFactory):
    """A household of a round, another train best for it now."""

    class Meta:
        model = sizing.RedesignRow

    site = under(SiteFactory)
    dealer = same("site")
    run = factory.SubFactory(RedesignFactory, dealer=factory.SelfAttribute("..dealer"))
    proposal = factory.SubFactory(ProposalFactory, site=factory.SelfAttribute("..site"))
    state = "done"
    outcome = "train"
    before: dict[str, Any] = {"names": ["UV class A"], "codes": [["uv-30", 1, "main"]], "life": 6100.0}
    after: dict[str, Any] = {"names": ["Softener", "UV class A"], "codes": [], "life": 7200.0}
    done_at = NOW


class QuoteFactory(TenantFactory):
    """A drafted quote; ``IssuedQuoteFactory`` for one that is out."""

    class Meta:
        model = sizing.Quote

    site = under(SiteFactory)
    dealer = same("site")
    number = factory.Sequence(lambda n: n + 1)
    title = "Treatment for the whole house"
    currency = "CAD"
    tax_name = "Sales tax"
    tax_rate = Decimal("5")
    drafted_by = "Maren Vik"
    drafted_at = NOW


class IssuedQuoteFactory(QuoteFactory):
    state = "issued"
    issued_at = NOW
    valid_until = date(2026, 7, 9)
    fingerprint = "0" * 64


class QuoteLineFactory(TenantFactory):
    class Meta:
        model = sizing.QuoteLine

    quote = under(QuoteFactory)
    dealer = same("quote")
    position = factory.Sequence(lambda n: n + 1)
    description = "UV unit, 30 L/min"
    unit_price = Decimal("980.00")


class InstallFactory(TenantFactory):
    class Meta:
        model = service.Install

    site = under(SiteFactory)
    dealer = same("site")
    number = factory.Sequence(lambda n: n + 1)
    made_at = NOW


class StageFactory(TenantFactory):
    """An installed stage in service."""

    class Meta:
        model = service.InstalledStage

    site = under(SiteFactory)
    dealer = same("site")
    position = factory.Sequence(lambda n: n + 1)
    kind = "uv"
    name = "UV"
    size_label = "30 L/min"
    serial = factory.Sequence(lambda n: f"SN-{n:05d}")
    state = "in_service"
    fitted_on = date(2025, 5, 20)


class PartFactory(TenantFactory):
    """A lamp of twelve operating months."""

    class Meta:
        model = service.FittedPart

    stage = under(StageFactory)
    dealer = same("stage")
    code = "lamp"
    name = "lamp"
    life_kind = "operating"
    life_amount = 12.0
    renewed_on = date(2025, 5, 20)


class JobFactory(TenantFactory):
    class Meta:
        model = service.Job

    site = under(SiteFactory)
    dealer = same("site")
    number = factory.Sequence(lambda n: n + 1)
    kind = "service"
    what = "Renew the lamp, clean the sleeve"
    made_at = NOW


class CrewFactory(TenantFactory):
    class Meta:
        model = service.JobCrew

    job = under(JobFactory)
    dealer = same("job")
    staff = factory.SubFactory(StaffFactory, dealer=factory.SelfAttribute("..dealer"), role="technician")


class TaskFactory(TenantFactory):
    class Meta:
        model = service.JobTask

    job = under(JobFactory)
    dealer = same("job")
    position = factory.Sequence(lambda n: n + 1)
    group = "Before starting"
    text = "Power off and locked out"


class MessageFactory(TenantFactory):
    class Meta:
        model = service.Message

    site = under(SiteFactory)
    dealer = same("site")
    rule = "service_due"
    subject_key = factory.Sequence(lambda n: f"visit-{n}")
    due_on = TODAY
    to_address = "tamsin@home.example"
    subject = "Your next visit"
    body = "We come on Wednesday."
    message_id = factory.LazyFunction(lambda: f"<{uuid.uuid4()}@post.example>")
    queued_at = NOW
    send_after = NOW


class PaperFactory(TenantFactory):
    class Meta:
        model = service.Paper

    site = under(SiteFactory)
    dealer = same("site")
    kind = "quote"
    title = "Quote"
    number = factory.Sequence(lambda n: f"Q-{n:04d}")
    about = factory.LazyFunction(uuid.uuid4)
    made_at = NOW
    made_by = "Maren Vik"
    file = "papers/none.pdf"
    sha256 = "0" * 64
    pages = 1
