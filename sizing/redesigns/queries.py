"""Reading rounds, and which households a round would take."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, Exists, IntegerField, OuterRef, Q, QuerySet, Value, When

from customers.flow_tests.models import FlowTest
from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from customers.water_tests.models import WaterTest
from sizing.catalogue.queries import active_products
from sizing.engine import VERSION
from sizing.engine.figures import figures_version
from sizing.proposals.copies import digest_of
from sizing.proposals.models import Proposal
from sizing.redesigns.models import Outcome, Redesign, RedesignRow, RowState, Why


@dataclass(frozen=True)
class Now:
    """What a design made now would rest on, beside the household's evidence."""

    digest: str
    figures: str
    engine: str


def now_of(today: date) -> Now:
    """Today's catalogue by its mark, figures and engine by their versions."""
    return Now(digest_of(active_products(today)), figures_version(), VERSION)


def newest_designs(now: Now) -> QuerySet[Any]:
    """The newest design of each household, with what has changed since: ``newer_evidence``, ``other_catalogue``,
    ``other_figures``."""
    later = Proposal.objects.filter(site=OuterRef("site"), number__gt=OuterRef("number"))
    water = WaterTest.objects.filter(site=OuterRef("site"), entered_at__gt=OuterRef("made_at"))
    flow = FlowTest.objects.filter(site=OuterRef("site"), entered_at__gt=OuterRef("made_at"))
    same_catalogue = Q(catalogue__digest=now.digest)
    same_figures = Q(figures_version=now.figures, engine_version=now.engine)
    yes, no = Value(1), Value(0)
    rows = Proposal.objects.filter(~Exists(later)).annotate(
        newer_evidence=Case(When(Exists(water) | Exists(flow), then=yes), default=no, output_field=IntegerField()),
        other_catalogue=Case(When(same_catalogue, then=no), default=yes, output_field=IntegerField()),
        other_figures=Case(When(same_figures, then=no), default=yes, output_field=IntegerField()),
    )
    return rows.select_related("site__customer").defer("request", "outcome").order_by("site__name", "pk")


def chosen_by(why: str, now: Now, sites: list[UUID] | None = None) -> QuerySet[Any]:
    """The designs a round of this kind would ask again."""
    rows = newest_designs(now)
    if why == Why.EVIDENCE:
        return rows.filter(newer_evidence=1)
    if why == Why.CATALOGUE:
        return rows.filter(other_catalogue=1)
    if why == Why.FIGURES:
        return rows.filter(other_figures=1)
    if why == Why.CHOSEN:
        return rows.filter(site__public_id__in=sites or [])
    return rows


def counts_by_reason(now: Now) -> dict[str, int]:
    """How many households each kind of round would take."""
    return (
        newest_designs(now)
        .order_by()
        .aggregate(
            all=Count("pk"),
            evidence=Count("pk", filter=Q(newer_evidence=1)),
            catalogue=Count("pk", filter=Q(other_catalogue=1)),
            figures=Count("pk", filter=Q(other_figures=1)),
        )
    )


def run_for(actor: Actor, public_id: UUID) -> Redesign:
    """One round by public id; 404 to strangers, 403 to lesser roles."""
    actor.must("design.read")
    return get_public(Redesign.objects.all(), public_id)


@dataclass(frozen=True)
class Progress:
    """How far a round is."""

    total: int
    done: int
    left: int
    by_outcome: dict[str, int]

    @property
    def percent(self) -> int:
        """Of a hundred; 100 only when all are done or left out."""
        settled = self.done + self.left
        return 100 if settled >= self.total else int(100 * settled / self.total)


def progress_of(run: Redesign) -> Progress:
    """Counts of a round, by outcome in the order that wants a look first: one query."""
    rows = RedesignRow.objects.filter(run=run).order_by().values_list("state", "outcome").annotate(n=Count("pk"))
    found: dict[str, int] = dict.fromkeys(Outcome.values, 0)
    done = left = 0
    for state, outcome, n in rows:
        if state == RowState.DONE:
            done += n
            found[outcome] += n
        elif state == RowState.LEFT:
            left += n
    return Progress(run.total, done, left, found)


def rows_of_run(run: Redesign, outcome: str = "") -> QuerySet[RedesignRow]:
    """A round's households: those that want a look first, then by name."""
    rank = Case(*(When(outcome=value, then=Value(n)) for n, value in enumerate(Outcome.values)), default=Value(99))
    rows = RedesignRow.objects.filter(run=run).select_related("site__customer", "proposal")
    rows = rows.defer("proposal__request", "proposal__outcome")
    if outcome:
        rows = rows.filter(outcome=outcome)
    return rows.annotate(rank=rank).order_by("rank", "site__name", "pk")


def waiting() -> bool:
    """Whether the dealer in scope has households waiting or left lying by a worker."""
    return RedesignRow.objects.filter(state__in=[RowState.WAITING, RowState.TAKEN]).exists()
