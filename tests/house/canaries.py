"""Dealer A with a mark in every text it has, so that a leak of any of it can be seen."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from django.core.files.base import ContentFile
from django.db import models
from django.test import Client

from customers.households.models import HouseholdAccess
from customers.models import Dealer
from customers.tenancy.row_security import tenant_models
from customers.tenancy.scope import dealer_scope
from tests import factories
from tests.conftest import signed_in
from tests.whole import whole

HOUSE, OFFICE = "qzh7x", "qzd7x"
#: Codes that the product reads; every other text carries a mark.
CODES = {
    "CauseCorrection": {"code", "target", "undone_by"},
    "Counter": {"kind"},
    "Customer": {"language"},
    "Enquiry": {"device", "confirmed_cause"},
    "EnquiryAnswer": {"code"},
    "EnquiryLink": {"token_hash"},
    "Observation": {"code"},
    "Result": {"analyte", "text", "unit_text"},
    "LabFile": {"sha256"},
    "LabReport": {"sha256"},
    "Laboratory": {"receives_on"},
    "LaboratoryBottle": {"code"},
    "SamplingDraw": {"point"},
    "SignInLink": {"token_hash", "leads_to"},
    "SiteFixture": {"code"},
    "WaterTest": {"point"},
    "FittedPart": {"code", "life_kind"},
    "InstalledStage": {"kind", "at"},
    "JobTask": {"quantity", "code"},
    "Message": {"rule", "subject_key", "channel"},
    "Paper": {"sha256"},
    "CatalogueCopy": {"digest"},
    "CatalogueItem": {"code"},
    "Proposal": {"unit_system", "engine_version", "figures_version"},
    "ProposedStage": {"kind", "at"},
    "ProposedTrain": {"letter"},
    "Quote": {"currency", "fingerprint"},
    "QuoteAnswer": {"document_hash"},
    "Dealer": {"slug", "file_prefix", "currency", "time_zone", "language"},
}
OF_THE_DEALER = {
    "Dealer",
    "Staff",
    "CatalogueItem",
    "ItemLog",
    "PriceList",
    "CatalogueFile",
    "Suppression",
    "Counter",
}
WORDS = {"name", "message", "reason", "label", "meaning", "title", "specification", "formula", "size_label"}


def mark_everything(dealer: Any, *, apart: set[int]) -> int:
    """Put a mark into every text of the dealer's rows, except of the households in ``apart``; how many texts."""
    with dealer_scope(dealer):
        count = sum(_mark(model, model.objects.all(), apart) for model in tenant_models())
    return count + _mark(Dealer, Dealer.objects.filter(pk=dealer.pk), set())


def _mark(model: type[models.Model], rows: Any, apart: set[int]) -> int:
    name, count = model.__name__, 0
    mark = OFFICE if name in OF_THE_DEALER else HOUSE
    for row in rows:
        if (name == "Site" and row.pk in apart) or (
            name == "Customer" and set(row.sites.values_list("pk", flat=True)) & apart
        ):
            continue
        changes: dict[str, Any] = {}
        for field in model._meta.concrete_fields:
            if field.choices or field.name in CODES.get(name, ()) or isinstance(field, models.FileField):
                continue
            if isinstance(field, models.EmailField):
                changes[field.name] = f"{mark}{row.pk}@mail.example"
            elif isinstance(field, models.CharField | models.TextField):
                changes[field.name] = f"{mark}{row.pk}{field.name}"[: field.max_length or 200]
            elif isinstance(field, models.JSONField):
                changes[field.name] = _marked(getattr(row, field.name), mark)
        rows.filter(pk=row.pk).update(**changes) if changes else None
        count += len(changes)
    return count


def _marked(data: Any, mark: str, key: str = "") -> Any:
    if isinstance(data, dict):
        return {name: _marked(value, mark, name) for name, value in data.items()}
    if isinstance(data, list):
        return [_marked(value, mark, key) for value in data]
    return f"{mark} {key}" if isinstance(data, str) and key in WORDS else data


def world() -> tuple[SimpleNamespace, dict[str, Client]]:
    """Dealer A marked, dealer B beside it, and a client for each person."""
    dealer = factories.DealerFactory(slug="tern-island")
    other = factories.DealerFactory(slug="moss-fell", name="Moss Fell Wells")
    staff = {
        role: factories.StaffFactory(dealer=dealer, role=role, name=f"{role} person")
        for role in ("owner", "office", "technician")
    }
    idle = factories.StaffFactory(dealer=dealer, role="technician", name="idle person")
    revoked = factories.StaffFactory(dealer=dealer, role="owner", name="former person", active=False)
    there = whole(factories.SeasonalSiteFactory(dealer=dealer), technician=staff["technician"])
    there.technician = staff["technician"]
    there.paper = factories.PaperFactory(site=there.site)
    with dealer_scope(dealer):
        there.paper.file.save("marked.pdf", ContentFile(b"%PDF-1.4 " + HOUSE.encode()), save=True)
        for held in (there.enquiry_photo.file, there.enquiry_photo.small):
            held.save("marked.jpg", ContentFile(b"\xff\xd8 " + HOUSE.encode()), save=True)
    neighbour = factories.SiteFactory(dealer=dealer, name="Neighbour")
    elsewhere = factories.AccessFactory(site=neighbour)
    users = {
        "owner": staff["owner"].user,
        "office": staff["office"].user,
        "technician": staff["technician"].user,
        "idle technician": idle.user,
        "revoked": revoked.user,
        "customer": there.access.user,
        "other customer": elsewhere.user,
        "other office": factories.StaffFactory(dealer=other, role="office", name="Other").user,
        "other owner": factories.StaffFactory(dealer=other, role="owner", name="Other").user,
    }
    marked = mark_everything(dealer, apart={neighbour.pk})
    assert marked > 150
    with dealer_scope(dealer):
        assert HouseholdAccess.objects.count() == 2
    return there, {"anonymous": Client(), **{name: signed_in(user) for name, user in users.items()}}
