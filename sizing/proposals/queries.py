"""Reading designs."""

from __future__ import annotations

from dataclasses import replace
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from customers.households.models import Site
from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from sizing.engine.design import DesignOutcome, DesignRequest, Train
from sizing.engine.storage import from_data
from sizing.engine.train_hand import Breach
from sizing.proposals.copies import products_of
from sizing.proposals.models import Proposal, ProposedTrain


def proposals() -> QuerySet[Proposal]:
    """All designs of the dealer in scope; the catalogue they were asked with stays behind its mark."""
    rows = Proposal.objects.select_related("site__customer", "site__dealer", "catalogue")
    return rows.defer("catalogue__products")


def proposal_for(actor: Actor, public_id: UUID) -> Proposal:
    """One design by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("design.read")
    return get_public(proposals(), public_id)


def train_for(actor: Actor, public_id: UUID) -> ProposedTrain:
    """One alternative by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("design.read")
    rows = ProposedTrain.objects.select_related(
        "proposal__site__customer", "proposal__site__dealer", "proposal__catalogue"
    )
    return get_public(rows.defer("proposal__catalogue__products"), public_id)


def latest_proposal(site: Site) -> Proposal | None:
    """The newest design of a household."""
    return proposals().filter(site=site).order_by("-number").first()


def designs_of(site: Site, most: int = 100) -> list[Proposal]:
    """The newest designs of a household, newest first, each with its lines that stand (``shown``)."""
    lines = ProposedTrain.objects.filter(deleted_at=None).defer("data", "steps", "confidence")
    rows = proposals().filter(site=site).defer("request", "outcome").order_by("-number")
    return list(rows.prefetch_related(Prefetch("trains", queryset=lines, to_attr="shown"))[:most])


def standing(proposal: Proposal) -> QuerySet[ProposedTrain]:
    """The lines on the bench: those of the engine and by hand that were not deleted, by letter."""
    return ProposedTrain.objects.filter(proposal=proposal, deleted_at=None)


def train_value(train: ProposedTrain) -> Train:
    """The engine's value of an alternative."""
    return from_data(Train, train.data)


def breaches_of(train: ProposedTrain) -> tuple[Breach, ...]:
    """Every limit an alternative breaks, with the stage concerned."""
    return tuple(from_data(Breach, row) for row in train.breaks)


def outcome_value(proposal: Proposal) -> DesignOutcome:
    """The engine's whole answer (without its trains, which are rows of their own)."""
    return from_data(DesignOutcome, {**proposal.outcome, "trains": []})


def question_of(proposal: Proposal) -> DesignRequest:
    """What the engine was asked, but for the catalogue: all that checking one line needs."""
    return from_data(DesignRequest, {**proposal.request, "catalogue": []})


def request_value(proposal: Proposal) -> DesignRequest:
    """What the engine was asked, whole, so that it can be asked again."""
    return replace(question_of(proposal), catalogue=products_of(proposal))
