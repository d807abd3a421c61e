"""Why the water is like this: causes in order, what is said first, what contradicts, what to do next.

The model, and what it assumes
------------------------------
*One leading cause a complaint.* Each complaint that is open (people named it, or a measured value stands for it)
is looked at through its own lens: exactly one of its causes, or ``something_else``, leads. A household may well
have several causes (iron and hardness): then several complaints are open, each with its own. A cause that leads
two complaints is listed once, with the higher of its shares; no joint statement over complaints is made.

*Prior.* P(cause | complaint, source) is the table of shares, scaled to leave room for ``something_else``.

*Independence.* Given the leading cause, answers and results are taken as independent of one another (naive
Bayes). Where that is plainly false one of the two is left out (dissolved iron beside total iron becomes a share;
dissolved solids yield to conductivity). Other complaints count as evidence like any answer.

*Leak.* What a cause does not speak of happens at the background rate of the observation, and every likelihood
stays inside a band, so that no single answer, however odd, rules a cause out: strong results still outweigh it.

*Without any complaint* one lens holds every cause of the source, each complaint taken as equally frequent.

Every number behind this is judgement, says so in its file, and is corrected by a dealer's finished jobs
(``sizing.engine.diagnosis_corrections``). Health interlocks do not depend on it: they follow from evidence by
rule, stand first, and no cosmetic cause can push them out of sight. Nothing here says that water may be drunk.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sizing.engine.diagnosis_bayes import entropy_bits
from sizing.engine.diagnosis_corrections import Correction, Laid, Misfit, laid_over, tables_with
from sizing.engine.diagnosis_load import load_tables
from sizing.engine.diagnosis_model import ANY, Lens, Piece, lens_of, measured_pieces, pieces, weigh
from sizing.engine.diagnosis_results import Result, measured, telling
from sizing.engine.diagnosis_rules import Known, holding
from sizing.engine.diagnosis_safety import Interlock, interlocks
from sizing.engine.diagnosis_steps import NextStep, next_steps
from sizing.engine.diagnosis_tables import FACTS, OTHER, Answer, DiagnosisTables, Evidence, NotInTables
from sizing.engine.diagnosis_words import Reason, reasons, unexplained

__all__ = [
    "Answer",
    "Correction",
    "Diagnosis",
    "DiagnosisTables",
    "Evidence",
    "Interlock",
    "Laid",
    "Misfit",
    "NextStep",
    "OpenComplaint",
    "RankedCause",
    "Reason",
    "diagnose",
    "laid_over",
    "load_tables",
    "tables_with",
]

Array = NDArray[np.float64]
LEAST_SHOWN = 0.005
OTHER_WORDS = "Something that is not in the tables"


@dataclass(frozen=True)
class RankedCause:
    """One cause, once. ``probability`` is its highest share; ``complaints`` gives its share in each.

    ``unexplained``: what was answered yes and does not follow from this cause.
    """

    code: str
    words: str
    plain: str
    probability: float
    health: str
    confirm: str
    complaints: Mapping[str, float] = field(default_factory=dict)
    supports: tuple[Reason, ...] = ()
    against: tuple[Reason, ...] = ()
    unexplained: tuple[str, ...] = ()


@dataclass(frozen=True)
class OpenComplaint:
    """One open complaint: its causes with shares summing to one, and how many bits are still open."""

    code: str
    words: str
    by: str
    causes: Mapping[str, float]
    open_bits: float


@dataclass(frozen=True)
class Diagnosis:
    """The whole answer; ``may_size`` is false while an interlock says: refer, do not size."""

    causes: tuple[RankedCause, ...]
    complaints: tuple[OpenComplaint, ...]
    interlocks: tuple[Interlock, ...]
    contradictions: tuple[str, ...]
    steps: tuple[NextStep, ...]
    may_size: bool


@dataclass(frozen=True, eq=False)
class _View:
    lens: Lens
    now: Array
    evidence: tuple[Piece, ...]
    by: str


def diagnose(evidence: Evidence, tables: DiagnosisTables) -> Diagnosis:
    """Causes in order, with reasons; interlocks and contradictions; the steps worth taking, best first.

    Why: most calls begin with a stain or a smell; the caller wants to know what it is and what to do next, and
    must never be soothed over a hazard.
    Units: results in the engine's units; shares; bits; the dealer's money; days.
    Range: observations and facts of the tables, a water of single values, a known jurisdiction.
    Raises: ``OutsideValidRange`` naming an unknown observation, answer, fact or jurisdiction, or a vector of
    draws.
    Source: the tables under ``sizing/figures/diagnosis-*`` (links cite their documents, numbers are judgement);
    the model and its assumptions stand in this module's head.

    >>> from sizing.engine.design import SourceType
    >>> told = diagnose(Evidence(SourceType.DRILLED_WELL, {"white_scale": "yes"}), load_tables())
    >>> told.causes[0].code, round(told.causes[0].probability, 2), told.steps[0].kind
    ('hardness', 0.9, 'ask')
    """
    results = _checked(evidence, tables)
    told = {code: results[code] for code in telling(frozenset(results), tables.measures)}
    opened = _opened(evidence, tables, results)
    views = []
    for complaint, by in opened.items() or {ANY: ""}.items():
        lens = lens_of(tables, evidence.source, complaint)
        seen = pieces(lens, evidence.answers) + measured_pieces(tables, lens, told)
        views.append(_View(lens, weigh(lens, seen), seen, by))
    merged = _merged(views)
    known = Known(
        source=evidence.source,
        answers=evidence.answers,
        results=results,
        facts=evidence.facts,
        opened=frozenset(opened),
        causes={cause: max(shares.values()) for cause, shares in merged.items()} if opened else {},
    )
    stops = interlocks(tables, known, evidence.jurisdiction)
    return Diagnosis(
        causes=_ranked(tables, views, merged),
        complaints=tuple(_complaint(tables, view) for view in views if view.lens.complaint != ANY),
        interlocks=stops,
        contradictions=tuple(rule.words for rule in holding(tables.rules, "contradiction", known)),
        steps=next_steps(
            tables,
            evidence.source,
            [(view.lens, view.now) for view in views],
            frozenset(evidence.answers),
            frozenset(code for code in results if code != "iron_share"),
        ),
        may_size=not any(stop.blocks_sizing for stop in stops),
    )


def _checked(evidence: Evidence, tables: DiagnosisTables) -> dict[str, Result]:
    for fact in evidence.facts:
        if fact not in FACTS:
            raise NotInTables("fact", fact, f"one of {', '.join(FACTS)}")
    return measured(evidence)


def _opened(evidence: Evidence, tables: DiagnosisTables, results: Mapping[str, Result]) -> dict[str, str]:
    """Complaint to how it was opened: said, or by a result; a complaint denied is not opened by a result."""
    opened = {code: "said" for code in tables.shares if evidence.answers.get(code) == "yes"}
    for code, result in results.items():
        one = tables.measures.get(code)
        if one is None or not one.complaint or one.complaint in opened:
            continue
        if evidence.answers.get(one.complaint) == "no" or one.complaint not in tables.shares:
            continue
        past = one.opens_from is not None and result.at_least(one.opens_from)
        if past or (one.opens_to is not None and result.under(one.opens_to)):
            opened[one.complaint] = "result"
    return {code: opened[code] for code in tables.shares if code in opened}


def _merged(views: list[_View]) -> dict[str, dict[str, float]]:
    """Cause to its share in each view."""
    merged: dict[str, dict[str, float]] = {}
    for view in views:
        for cause, share in zip(view.lens.causes, view.now.tolist(), strict=True):
            merged.setdefault(cause, {})[view.lens.complaint] = share
    return merged


def _ranked(
    tables: DiagnosisTables, views: list[_View], merged: Mapping[str, Mapping[str, float]]
) -> tuple[RankedCause, ...]:
    by_complaint = {view.lens.complaint: view for view in views}
    ranked = []
    for code, shares in merged.items():
        best = max(shares, key=lambda complaint: shares[complaint])
        if shares[best] < LEAST_SHOWN:
            continue
        view = by_complaint[best]
        cause = tables.causes.get(code)
        supports, against = reasons(tables, view.lens, code, view.evidence)
        ranked.append(
            RankedCause(
                code=code,
                words=cause.words if cause else OTHER_WORDS,
                plain=cause.plain if cause else OTHER_WORDS,
                probability=shares[best],
                health=cause.health if cause else "",
                confirm=cause.confirm if cause else "",
                complaints={complaint: share for complaint, share in shares.items() if complaint != ANY},
                supports=supports,
                against=against,
                unexplained=unexplained(tables, view.lens, code, view.evidence),
            )
        )
    return tuple(sorted(ranked, key=lambda one: (one.code == OTHER, -one.probability, one.code)))


def _complaint(tables: DiagnosisTables, view: _View) -> OpenComplaint:
    shares = sorted(zip(view.lens.causes, view.now.tolist(), strict=True), key=lambda pair: -pair[1])
    return OpenComplaint(
        code=view.lens.complaint,
        words=tables.observations[view.lens.complaint].words,
        by=view.by,
        causes=dict(shares),
        open_bits=float(entropy_bits(view.now)),
    )
