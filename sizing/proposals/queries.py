"""Reading designs."""

from __future__ import annotations

from uuid import UUID

from django.db.models import QuerySet

from customers.households.models import Site
from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from sizing.engine.design import DesignOutcome, DesignRequest, Train
from sizing.engine.storage import from_data
from sizing.proposals.models import Proposal, ProposedTrain


def proposals() -> QuerySet[Proposal]:
    """All designs of the dealer in scope."""
    return Proposal.objects.select_related("site", "site__customer", "dealer")


def proposal_for(actor: Actor, public_id: UUID) -> Proposal:
    """One design by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("design.read")
    return get_public(proposals(), public_id)


def train_for(actor: Actor, public_id: UUID) -> ProposedTrain:
    """One alternative by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("design.read")
    rows = ProposedTrain.objects.select_related("proposal", "proposal__site", "proposal__site__customer")
    return get_public(rows, public_id)


def latest_proposal(site: Site) -> Proposal | None:
    """The newest design of a household."""
    return Proposal.objects.filter(site=site).order_by("-number").first()


def train_value(train: ProposedTrain) -> Train:
    """The engine's value of an alternative."""
    return from_data(Train, train.data)


def outcome_value(proposal: Proposal) -> DesignOutcome:
    """The engine's whole answer (without its trains, which are rows of their own)."""
    return from_data(DesignOutcome, {**proposal.outcome, "trains": []})


def request_value(proposal: Proposal) -> DesignRequest:
    """What the engine was asked, so that it can be asked again."""
    return from_data(DesignRequest, proposal.request)
