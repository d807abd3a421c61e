"""What the engine makes of an enquiry: called by every page that shows it, computed nowhere else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from customers.causes.queries import tables_of
from customers.enquiries.models import Enquiry
from customers.enquiries.queries import Answers, answers_of, evidence_of
from customers.households.models import Site
from customers.water_tests.models import Place, Result
from customers.water_tests.queries import NEWEST, newest, read_again
from sizing.diagnoses.wording import share_words
from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Diagnosis, Interlock, diagnose
from sizing.engine.diagnosis_rules import SEVERITIES
from sizing.engine.diagnosis_tables import OTHER, Answer, DiagnosisTables, Evidence
from sizing.engine.identify import Identification, NextQuestion, identify
from sizing.engine.water import Water

#: Hazards that stop everything else: said on every page and in the list.
GRAVE = ("danger", "do_not_drink")


@dataclass(frozen=True)
class Measured:
    """Raw-water results as evidence; ``below`` and ``above`` name those whose number is only a limit."""

    water: Water | None = None
    below: frozenset[str] = frozenset()
    above: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Reasoned:
    """The engine's answer beside what it was given. Without a ``source`` there are hazards, but no causes yet;
    ``identifications`` are by the number of the device."""

    tables: DiagnosisTables
    answers: Answers
    source: SourceType | None
    jurisdiction: str
    measured: Measured
    diagnosis: Diagnosis
    identifications: Mapping[int, Identification]

    @property
    def grave(self) -> tuple[Interlock, ...]:
        """Hazards that stop everything else."""
        return tuple(lock for lock in self.diagnosis.interlocks if lock.severity in GRAVE)


def source_of(enquiry: Enquiry) -> SourceType | None:
    """Where the water comes from: as the household's file says, else as the caller does."""
    told = enquiry.site.source if enquiry.site is not None else enquiry.source
    return SourceType(told) if told else None


def measured_of(results: Mapping[str, Result]) -> Measured:
    """Newest raw-water results as evidence; a non-detect without its reporting limit says nothing and stays out."""
    numbers = {code: read_again(result).for_water for code, result in results.items()}
    water = {code: number for code, number in numbers.items() if number is not None}
    if not water:
        return Measured()
    marked = {code: results[code].qualifier for code in water}
    return Measured(
        Water(water),
        frozenset(code for code, mark in marked.items() if mark == "below"),
        frozenset(code for code, mark in marked.items() if mark == "above"),
    )


def reason(enquiry: Enquiry) -> Reasoned:
    """Causes, hazards and next steps of one enquiry, with the household's raw water where it has a file."""
    measured = measured_of(raw_results(enquiry.site)) if enquiry.site is not None else Measured()
    return reason_from(answers_of(enquiry), enquiry, measured, tables_of(enquiry.dealer))


def raw_results(site: Site) -> Mapping[str, Result]:
    """The household's newest raw-water results, by analyte."""
    rows = Result.objects.filter(test__site=site, test__place=Place.RAW).select_related("test")
    return newest(rows.order_by(*NEWEST), None)


def reason_from(answers: Answers, enquiry: Enquiry, measured: Measured, tables: DiagnosisTables) -> Reasoned:
    """The same from answers, results and tables read before."""
    source = source_of(enquiry)
    jurisdiction = enquiry.dealer.jurisdiction
    if source is None:
        told = _without_source(tables, answers, jurisdiction, measured)
    else:
        told = diagnose(_evidence(tables, answers, source, jurisdiction, measured), tables)
    devices = {
        thing: identify(seen, tables, source) for thing in answers.things if (seen := _seen(answers, tables, thing))
    }
    return Reasoned(tables, answers, source, jurisdiction, measured, told, devices)


def _seen(answers: Answers, tables: DiagnosisTables, thing: int) -> dict[str, Answer]:
    return {code: answer for code, answer in answers.features(thing).items() if code in tables.features}


def to_look_at(reasoned: Reasoned, *, effort: float, thing: int = 1) -> tuple[NextQuestion, ...]:
    """What to look at next on an unknown device, worthiest first: only what costs at most ``effort``."""
    device = reasoned.identifications.get(thing)
    if device is None:
        device = identify(_seen(reasoned.answers, reasoned.tables, thing), reasoned.tables, reasoned.source)
    return tuple(question for question in device.questions if question.effort <= effort)


def _evidence(
    tables: DiagnosisTables, answers: Answers, source: SourceType, jurisdiction: str, measured: Measured
) -> Evidence:
    return evidence_of(
        answers,
        source,
        jurisdiction,
        known=tables.observations,
        water=measured.water,
        below=measured.below,
        above=measured.above,
    )


@lru_cache(maxsize=64)
def _said_of_any(tables: DiagnosisTables, source: SourceType, jurisdiction: str) -> frozenset[str]:
    """Hazards that follow from the source alone."""
    told = diagnose(Evidence(source, jurisdiction=jurisdiction), tables)
    return frozenset(lock.code for lock in told.interlocks)


def _without_source(tables: DiagnosisTables, answers: Answers, jurisdiction: str, measured: Measured) -> Diagnosis:
    """Nobody has said where the water comes from: no ranking is shown, but every hazard that the answers name for
    any source is."""
    found: dict[str, Interlock] = {}
    for source in SourceType:
        bare = _said_of_any(tables, source, jurisdiction)
        for lock in diagnose(_evidence(tables, answers, source, jurisdiction, measured), tables).interlocks:
            if lock.code not in bare:
                found.setdefault(lock.code, lock)
    stops = sorted(found.values(), key=lambda lock: SEVERITIES.index(lock.severity))
    return Diagnosis((), (), tuple(stops), (), (), not any(lock.blocks_sizing for lock in stops))


@dataclass(frozen=True)
class Outlook:
    """What an answer would make of the leading cause of a complaint: its code and share before and after."""

    answer: Answer
    complaint: str
    cause: str
    share: float
    before: float


def outlook(reasoned: Reasoned, code: str) -> tuple[Outlook, ...]:
    """What yes and what no to a question would say, of the complaint it moves most; () where nothing is open."""
    if reasoned.source is None or not reasoned.diagnosis.complaints or code not in reasoned.tables.observations:
        return ()
    was = {one.code: one.causes for one in reasoned.diagnosis.complaints}
    told: dict[Answer, Mapping[str, Mapping[str, float]]] = {}
    answers: tuple[Answer, ...] = ("yes", "no")
    for answer in answers:
        known = replace(reasoned.answers, observations={**reasoned.answers.observations, code: answer})
        evidence = _evidence(reasoned.tables, known, reasoned.source, reasoned.jurisdiction, reasoned.measured)
        after = diagnose(evidence, reasoned.tables)
        told[answer] = {one.code: one.causes for one in after.complaints if one.code in was}
    moved = max(was, key=lambda complaint: sum(_moved(was[complaint], told[a][complaint]) for a in answers))
    found = []
    for answer in answers:
        causes = told[answer][moved]
        lead = max(causes, key=lambda cause: (cause != OTHER, causes[cause]))
        found.append(Outlook(answer, moved, lead, causes[lead], was[moved].get(lead, 0.0)))
    return tuple(found)


def _moved(before: Mapping[str, float], after: Mapping[str, float]) -> float:
    return sum(abs(after.get(cause, 0.0) - share) for cause, share in before.items())


@dataclass(frozen=True)
class Lead:
    """One line about an enquiry: its gravest hazard, if any, and its leading cause, if there is one; in words."""

    stop: Interlock | None
    cause: str = ""
    share: str = ""


def leads_of(enquiries: Iterable[Enquiry], tables: DiagnosisTables) -> list[tuple[Enquiry, Lead]]:
    """Hazard and leading cause of each, from its answers alone: nothing is read that was not read with it."""
    found = []
    for enquiry in enquiries:
        told = reason_from(answers_of(enquiry), enquiry, Measured(), tables).diagnosis
        stop = next((lock for lock in told.interlocks if lock.severity in GRAVE), None)
        lead = next((one for one in told.causes if one.code != OTHER), None) if told.complaints else None
        words = Lead(stop, lead.words, share_words(lead.probability)) if lead else Lead(stop)
        found.append((enquiry, words))
    return found
