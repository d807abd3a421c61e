"""A dealer's own causes, questions and numbers, and what finished jobs found, laid over the shipped tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Literal

from sizing.engine.design import SourceType, StageKind
from sizing.engine.diagnosis_load import column
from sizing.engine.diagnosis_tables import (
    ANSWERS,
    OTHER,
    Answer,
    Asked,
    Cause,
    Column,
    Counts,
    Device,
    DiagnosisTables,
    Feature,
    NotInTables,
    Observation,
    Share,
)
from sizing.engine.errors import OutsideValidRange

CorrectionKind = Literal["cause", "observation", "share", "likelihood", "finished", "device", "feature", "seen_on"]
KINDS: tuple[CorrectionKind, ...] = (
    "cause",
    "observation",
    "share",
    "likelihood",
    "finished",
    "device",
    "feature",
    "seen_on",
)
OWN = "dealer's own"
ASKED: tuple[Asked, ...] = ("phone", "home", "visit", "laboratory")


@dataclass(frozen=True)
class Correction:
    """One correction. Which fields count depends on ``kind``:

    - cause: ``code words plain confirm health``, ``shares`` (complaint to share), ``signs`` (observation to P(yes))
    - observation: ``code words plain group asked cost days``, ``signs`` (cause to P(yes)), ``value`` the background
    - share: ``code`` (cause) ``target`` (complaint) ``source`` ("" for all) ``value``
    - likelihood: ``code`` (cause) ``target`` (observation) ``value``
    - finished: ``code`` (the cause found) ``target`` (complaint) ``source``, ``answers`` as given in that job
    - device: ``code words stage_kind``, ``value`` (how often asked about), ``signs`` (feature to P(yes))
    - feature: ``code words plain cost``, ``signs`` (device to P(yes)), ``value`` the background
    - seen_on: ``code`` (device) ``target`` (feature) ``value``
    """

    kind: CorrectionKind
    code: str
    target: str = ""
    source: str = ""
    value: float = 0.0
    words: str = ""
    plain: str = ""
    confirm: str = ""
    health: str = ""
    group: str = "house"
    asked: Asked = "phone"
    cost: Decimal = Decimal("1")
    days: float = 0.0
    stage_kind: str = ""
    shares: Mapping[str, float] = field(default_factory=dict)
    signs: Mapping[str, float] = field(default_factory=dict)
    answers: Mapping[str, Answer] = field(default_factory=dict)


@dataclass(frozen=True)
class Misfit:
    """A correction that fits the tables no more: its place in the list, and why."""

    place: int
    reason: str


@dataclass(frozen=True)
class Laid:
    """Tables with the corrections laid over them that fit, and those that did not."""

    tables: DiagnosisTables
    misfits: tuple[Misfit, ...]


def tables_with(tables: DiagnosisTables, corrections: Sequence[Correction]) -> DiagnosisTables:
    """The tables with corrections laid over them, in order; the given tables stay as they are.

    Why: judgement gives way to what a dealer finds. Leaving a correction out of the list takes it back whole.
    Units: shares.
    Range: shares 0 to 1; finished jobs raise a share to (strength x share + found) / (strength + seen), and a
    likelihood to (strength x P + yes) / (strength + answered), whatever their order among themselves.
    Raises: ``OutsideValidRange`` naming the field, the value and what is known.
    Source: the mean of a Dirichlet (and of a beta) posterior whose prior is worth ``prior_strength`` jobs
    (computed; the strength is judgement).

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> job = Correction("finished", "silica", target="white_scale", source="drilled_well")
    >>> learnt = tables_with(load_tables(), [job] * 20)
    >>> [round(one.weights[0], 3) for one in learnt.shares["white_scale"] if one.cause == "silica"]
    [0.525]
    """
    origin = tables.origin or tables
    every = (*tables.corrections, *corrections)
    book = _Book(origin)
    for one in every:
        book.apply(one)
    return book.bound(origin, every)


def laid_over(tables: DiagnosisTables, corrections: Sequence[Correction]) -> Laid:
    """As ``tables_with``, but a correction that does not fit is left out and told, instead of stopping all.

    Why: the shipped tables change over the years; what a dealer noted long ago must not close the phone line.
    Units: shares.
    Range: any corrections; each is laid whole or not at all.
    Raises: nothing; what does not fit stands in ``misfits``.
    Source: as ``tables_with``.

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> gone = Correction("finished", "a_cause_of_old", target="white_scale", source="drilled_well")
    >>> laid_over(load_tables(), [gone]).misfits[0].reason
    'cause is a_cause_of_old, accepted is a name of the tables'
    """
    origin = tables.origin or tables
    book, kept, misfits = _Book(origin), list(tables.corrections), []
    for one in tables.corrections:
        book.apply(one)
    for place, one in enumerate(corrections):
        try:
            book.apply(one)
        except OutsideValidRange as refused:
            misfits.append(Misfit(place, str(refused)))
        else:
            kept.append(one)
    return Laid(book.bound(origin, tuple(kept)), tuple(misfits))


class _Book:
    """The tables while corrections are laid over them."""

    def __init__(self, tables: DiagnosisTables) -> None:
        self.tables = tables
        self.causes = dict(tables.causes)
        self.observations = dict(tables.observations)
        self.shares = {code: {one.cause: one for one in rows} for code, rows in tables.shares.items()}
        self.devices = dict(tables.devices)
        self.features = dict(tables.features)
        self.found: dict[tuple[str, int, str], int] = {}
        self.said: dict[tuple[str, str, str], int] = {}

    def apply(self, one: Correction) -> None:
        """Lay one correction over what stands."""
        if one.kind not in KINDS:
            raise _unknown("kind of correction", one.kind, KINDS)
        getattr(self, f"_{one.kind}")(one)

    def _cause(self, one: Correction) -> None:
        _new("cause", one, self.causes, OTHER)
        for code, value in one.signs.items():
            _known("observation", code, self.observations)
            _share(value)
        for complaint, value in one.shares.items():
            _known("complaint", complaint, self.shares)
            _share(value)
        self.causes[one.code] = Cause(
            code=one.code,
            words=one.words,
            plain=one.plain or one.words,
            confirm=one.confirm,
            health=one.health,
            signs={code: column(value) for code, value in one.signs.items()},
        )
        for complaint, value in one.shares.items():
            self._set_share(complaint, one.code, value, "")

    def _observation(self, one: Correction) -> None:
        _new("observation", one, self.observations)
        for code, value in one.signs.items():
            _known("cause", code, self.causes)
            _share(value)
        _known("group", one.group, self.tables.groups)
        if one.asked not in ASKED:
            raise _unknown("asked", one.asked, ASKED)
        shipped = next(known for known in self.tables.observations.values() if not known.complaint)
        alike = [known for known in self.tables.observations.values() if known.asked == one.asked]
        self.observations[one.code] = Observation(
            code=one.code,
            words=one.words,
            ask=one.plain or one.words,
            group=one.group,
            asked=one.asked,
            background=column(_share(one.value)),
            cost=one.cost,
            days=one.days,
            answered=alike[-1].answered if alike else shipped.answered,
        )
        for code, value in one.signs.items():
            self._set_sign(code, one.code, column(value))

    def _share(self, one: Correction) -> None:
        _known("cause", one.code, self.causes)
        _known("complaint", one.target, self.shares)
        self._set_share(one.target, one.code, _share(one.value), one.source)

    def _likelihood(self, one: Correction) -> None:
        _known("cause", one.code, self.causes)
        _known("observation", one.target, self.observations)
        self._set_sign(one.code, one.target, column(_share(one.value)))

    def _finished(self, one: Correction) -> None:
        _known("cause", one.code, {**self.causes, OTHER: None})
        _known("complaint", one.target, self.shares)
        place = self._columns(one.source)[0] if one.source else None
        if place is None:
            raise _unknown("source", "", self.tables.columns)
        for code, answer in one.answers.items():
            _known("observation", code, self.observations)
            if answer not in ANSWERS:
                raise _unknown(code, answer, ANSWERS)
        key = (one.target, place, one.code)
        self.found[key] = self.found.get(key, 0) + 1
        for code, answer in one.answers.items():
            if answer != "unknown" and one.code != OTHER and code != one.target:
                told = (one.code, code, str(answer))
                self.said[told] = self.said.get(told, 0) + 1

    def _device(self, one: Correction) -> None:
        _new("device", one, self.devices, OTHER)
        for code in one.signs:
            _known("feature", code, self.features)
        if one.stage_kind and one.stage_kind not in {kind.value for kind in StageKind}:
            raise _unknown("stage_kind", one.stage_kind, [kind.value for kind in StageKind])
        self.devices[one.code] = Device(
            code=one.code,
            words=one.words,
            stage_kind=one.stage_kind or None,
            weight=column(_share(one.value)),
            features={code: _share(value) for code, value in one.signs.items()},
            look_alikes=(),
            tell_apart=one.plain,
            confirm=one.confirm,
            photograph="",
            read_on_it=(),
            unknowns=(),
            caution=one.health,
        )

    def _feature(self, one: Correction) -> None:
        _new("feature", one, self.features)
        for code, value in one.signs.items():
            _known("device", code, self.devices)
            _share(value)
        background = _share(one.value)
        self.features[one.code] = Feature(
            one.code, one.words, one.plain or one.words, "", background, float(one.cost), 0.9
        )
        for code, value in one.signs.items():
            self._set_feature(code, one.code, value)

    def _seen_on(self, one: Correction) -> None:
        _known("device", one.code, self.devices)
        _known("feature", one.target, self.features)
        self._set_feature(one.code, one.target, _share(one.value))

    def _columns(self, source: str) -> tuple[int, ...]:
        if not source:
            return (0, 1, 2, 3)
        if source not in {kind.value for kind in SourceType}:
            raise _unknown("source", source, self.tables.columns)
        return (self.tables.columns[source],)

    def _set_share(self, complaint: str, cause: str, value: float, source: str) -> None:
        """One cause's share; the others keep their proportions and make room."""
        rows = self.shares[complaint]
        for place in self._columns(source):
            old = rows[cause].weights[place] if cause in rows else 0.0
            total = sum(one.weights[place] for one in rows.values())
            rest = total - old
            room = max(0.0, max(total, value) - value) / rest if rest > 0.0 else 0.0
            for code, one in rows.items():
                if code != cause:
                    rows[code] = replace(one, weights=_put(one.weights, place, one.weights[place] * room))
            was = rows.get(cause, Share(cause, (0.0, 0.0, 0.0, 0.0), OWN, ""))
            rows[cause] = replace(was, weights=_put(was.weights, place, value))

    def _set_sign(self, cause: str, observation: str, value: Column) -> None:
        one = self.causes[cause]
        if self.observations[observation].complaint:
            self.causes[cause] = replace(one, presents={**one.presents, observation: value})
        else:
            self.causes[cause] = replace(one, signs={**one.signs, observation: value})

    def _set_feature(self, device: str, feature: str, value: float) -> None:
        one = self.devices[device]
        self.devices[device] = replace(one, features={**one.features, feature: value})

    def bound(self, origin: DiagnosisTables, every: tuple[Correction, ...]) -> DiagnosisTables:
        """The corrected tables, finished jobs counted in."""
        counts = Counts(self.found, self.said)
        self._count_causes(counts)
        self._count_answers()
        return replace(
            origin,
            causes=self.causes,
            observations=self.observations,
            shares={code: tuple(rows.values()) for code, rows in self.shares.items()},
            devices=self.devices,
            features=self.features,
            counts=counts,
            origin=origin,
            corrections=every,
        )

    def _count_causes(self, counts: Counts) -> None:
        strength = self.tables.practice.prior_strength
        for complaint, place in sorted({(code, place) for code, place, _ in self.found}):
            rows, seen = self.shares[complaint], counts.seen(complaint, place)
            for code in {cause for told, at, cause in self.found if (told, at) == (complaint, place)} - {
                OTHER,
                *rows,
            }:
                rows[code] = Share(code, (0.0, 0.0, 0.0, 0.0), OWN, "")
            for code, one in rows.items():
                found = self.found.get((complaint, place, code), 0)
                weight = (strength * one.weights[place] + found) / (strength + seen)
                rows[code] = replace(one, weights=_put(one.weights, place, weight))

    def _count_answers(self) -> None:
        strength = self.tables.practice.prior_strength
        for cause, observation in sorted({(cause, code) for cause, code, _ in self.said}):
            yes = self.said.get((cause, observation, "yes"), 0)
            no = self.said.get((cause, observation, "no"), 0)
            known, one = self.observations[observation], self.causes[cause]
            was = (one.presents if known.complaint else one.signs).get(observation, known.background)
            parts = [(strength * part + yes) / (strength + yes + no) for part in was]
            self._set_sign(cause, observation, column(parts))


def _put(weights: Column, place: int, value: float) -> Column:
    return column([value if at == place else part for at, part in enumerate(weights)])


def _share(value: float) -> float:
    if not 0.0 <= value <= 1.0:
        raise OutsideValidRange("share", value, low=0.0, high=1.0)
    return float(value)


def _unknown(what: str, value: str, known: Iterable[str]) -> NotInTables:
    return NotInTables(what, value, f"one of {', '.join(known)}")


def _known(what: str, code: str, among: Mapping[str, object]) -> None:
    if code not in among:
        raise NotInTables(what, code)


def _new(what: str, one: Correction, among: Mapping[str, object], *taken: str) -> None:
    if not one.code.replace("_", "").isalnum() or not one.code.isascii() or one.code != one.code.lower():
        raise NotInTables(f"code of the {what}", one.code, "small letters, figures and underscores")
    if one.code in among or one.code in taken:
        raise NotInTables(f"code of the {what}", one.code, "a name that is not in the tables yet")
    if not one.words.strip():
        raise NotInTables(f"words of the {what}", one.words.strip(), "words that say what it is")
