"""What the design bench shows: alternatives side by side on common scales."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import prefetch_related_objects
from django.utils.translation import gettext as _

from customers.flow_tests.models import FlowTest
from customers.flow_tests.queries import latest_flow
from customers.households.models import Site
from customers.water_tests.models import DrinkNotice, Result
from customers.water_tests.queries import rows_of
from service.installs.water_path import Known, path_of_train
from service.office.bench_asks import Asks, asks_of, wanted_by
from service.office.bench_facts import cost_bar, place_lines, raw_lines, stale_words, symbol_of
from service.office.bench_margins import highest, margin_rows, profile_of
from service.office.bench_words import KIND_WORDS, Reader, reader_of
from sizing.drawing.chart_values import CostBar, MarginLine, PressureProfile
from sizing.drawing.values import WaterPath
from sizing.engine.design import DesignOutcome, DesignRequest, PlacedStage, Train
from sizing.engine.findings import Finding, Severity
from sizing.engine.train_hand import Breach
from sizing.proposals.adapters import RawReading, raw_of
from sizing.proposals.copies import products_of
from sizing.proposals.models import Proposal, ProposedTrain
from sizing.proposals.queries import breaches_of, outcome_value, question_of, train_value


@dataclass(frozen=True)
class ShownStage:
    """One stage with what it breaks."""

    number: int
    placed: PlacedStage
    breaks: tuple[Breach, ...] = ()

    @property
    def limits(self) -> list[str]:
        """The limits it breaks by their names, the product's own left out: it stands beside."""
        name, kind = self.placed.product.name, str(KIND_WORDS[self.placed.kind])
        return [breach.limit.replace(name, kind) for breach in self.breaks]


@dataclass(frozen=True)
class Alternative:
    """One column of the bench."""

    row: ProposedTrain
    train: Train
    path: WaterPath
    stages: tuple[ShownStage, ...]
    breaks: tuple[Breach, ...]  # of the line as a whole
    margins: tuple[MarginLine, ...]
    findings: tuple[Finding, ...]
    profile: PressureProfile | None
    chosen: bool = False
    doubt: str = ""

    @property
    def health(self) -> list[Finding]:
        """Findings that are never folded away."""
        return [finding for finding in self.findings if finding.severity is Severity.HEALTH]

    @property
    def others(self) -> list[Finding]:
        """The rest of the findings."""
        return [finding for finding in self.findings if finding.severity is not Severity.HEALTH]


@dataclass(frozen=True)
class Ground:
    """What every page about a design stands on, read once: the question, the evidence as it is now, the reader."""

    proposal: Proposal
    request: DesignRequest
    outcome: DesignOutcome
    raw: RawReading
    flow: FlowTest | None
    known: Known
    reader: Reader

    @property
    def site(self) -> Site:
        """The household."""
        return self.proposal.site


@dataclass(frozen=True)
class Bench:
    """Everything the page draws."""

    ground: Ground
    alternatives: tuple[Alternative, ...]
    deleted: tuple[ProposedTrain, ...]
    shared: tuple[Finding, ...]
    bars: tuple[CostBar, ...]
    raw: tuple[tuple[str, str], ...]
    place: tuple[tuple[str, str], ...]
    asks: Asks
    stale: tuple[str, ...]
    symbol: str
    highest: float


def ground_of(proposal: Proposal) -> Ground:
    """Reads everything once."""
    site = proposal.site
    prefetch_related_objects([site], "fixtures")
    results: list[Result] = rows_of(site)
    notice = DrinkNotice.objects.filter(site=site, lifted_on=None).exists()
    return Ground(
        proposal=proposal,
        request=question_of(proposal),
        outcome=outcome_value(proposal),
        raw=raw_of(site, results),
        flow=latest_flow(site),
        known=Known(tuple(results), notice),
        reader=reader_of(proposal.unit_system, (product.name for product in products_of(proposal))),
    )


def bench_of(ground: Ground, today: date) -> Bench:
    """The page's values for one design."""
    proposal, site = ground.proposal, ground.site
    rows = list(proposal.trains.all())
    shown = [row for row in rows if row.deleted_at is None]
    alternatives = alternatives_of(ground, shown, today)
    trains = [alternative.train for alternative in alternatives]
    symbol = symbol_of(site)
    findings = [*ground.outcome.findings, *(finding for train in trains for finding in train.findings)]
    return Bench(
        ground=ground,
        alternatives=alternatives,
        deleted=tuple(row for row in rows if row.deleted_at is not None),
        shared=shared_findings(trains),
        bars=tuple(cost_bar(alt.row.letter, alt.train, symbol, passes=alt.row.passes) for alt in alternatives),
        raw=raw_lines(ground.request, ground.raw, proposal.unit_system),
        place=place_lines(site, proposal.unit_system),
        asks=asks_of(site, wanted_by(findings)),
        stale=stale_words(proposal, ground.known.results, ground.flow),
        symbol=symbol,
        highest=highest(alternative.profile for alternative in alternatives),
    )


def alternatives_of(ground: Ground, rows: Sequence[ProposedTrain], today: date) -> tuple[Alternative, ...]:
    """The columns, on common scales."""
    system, site = ground.proposal.unit_system, ground.site
    trains = [train_value(row) for row in rows]
    shared = shared_findings(trains)
    chosen = next((row.pk for row in rows if row.passes), None)
    return tuple(
        Alternative(
            row=row,
            train=train,
            path=path_of_train(site, train, today, known=ground.known),
            stages=shown_stages(row, train),
            breaks=tuple(breach for breach in breaches_of(row) if breach.place < 0),
            margins=margins,
            findings=by_weight(finding for finding in train.findings if finding not in shared),
            profile=profile_of(train, system, site.worst_fixture),
            chosen=row.pk == chosen,
            doubt=doubt_of(row.confidence),
        )
        for row, train, margins in zip(rows, trains, margin_rows(trains, system, site.worst_fixture), strict=True)
    )


def shown_stages(row: ProposedTrain, train: Train) -> tuple[ShownStage, ...]:
    """The stages of a line, each with the limits it breaks."""
    breaches = breaches_of(row)
    return tuple(
        ShownStage(place + 1, placed, tuple(breach for breach in breaches if breach.place == place))
        for place, placed in enumerate(train.stages)
    )


def doubt_of(confidence: dict[str, Any]) -> str:
    """What breaks a limit most often in the plausible peaks that miss, and which uncertain input decides."""
    limits, drivers = confidence.get("limits", []), confidence.get("drivers", [])
    if not limits:
        return _("No plausible peak of those drawn breaks a limit.")
    words = _("Misses: %(limit)s.") % {"limit": limits[0]["label"]}
    if drivers:
        name = drivers[0]["label"]
        words += " " + _("%(input)s decides most.") % {"input": name[:1].upper() + name[1:]}
    return words


def by_weight(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings, health first."""
    return tuple(sorted(findings, key=lambda finding: finding.severity.rank))


def shared_findings(trains: Sequence[Train]) -> tuple[Finding, ...]:
    """Findings that hold for every alternative, said once."""
    if len(trains) < 2:
        return ()
    return by_weight(f for f in trains[0].findings if all(f in train.findings for train in trains[1:]))
