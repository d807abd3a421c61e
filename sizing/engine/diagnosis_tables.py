"""The tables diagnosis reads: causes, questions, shares, measured values, rules. Values only, no reasoning.

What the numbers mean (and what is assumed) stands in ``sizing.engine.diagnosis``; that every share is judgement
stands in the figure files themselves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Literal

from sizing.engine.design import SourceType
from sizing.engine.errors import OutsideValidRange
from sizing.engine.water import Water

Answer = Literal["yes", "no", "unknown"]
Asked = Literal["phone", "home", "visit", "laboratory"]
Column = tuple[float, float, float, float]  # drilled well, dug well, lake, river / spring / cistern

ANSWERS: tuple[Answer, ...] = ("yes", "no", "unknown")
PROFILES = ("none", "low", "usual", "raised", "high")
OTHER = "something_else"
FACTS = ("infants", "pregnancy", "no_barrier", "barrier", "weak_immunity", "illness", "ro_guards")


class NotInTables(OutsideValidRange):
    """A name the tables do not know; ``accepted`` says what would do."""

    def __init__(self, parameter: str, value: str, known: str = "a name of the tables") -> None:
        self.known = known
        super().__init__(parameter, value or "empty")

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""
        return self.known


@dataclass(frozen=True)
class Evidence:
    """What is known of one household's water.

    ``answers``: observation code to yes, no or unknown; a complaint is an observation answered yes.
    ``water``: measured in the raw water. ``below`` names the analytes whose number is a reporting limit (not
    found), ``above`` those whose number is only a floor (">200"). ``facts``: "infants", "pregnancy",
    "no_barrier", "barrier", "weak_immunity", "illness", "ro_guards". ``jurisdiction``: whose limits hold.
    """

    source: SourceType
    answers: Mapping[str, Answer] = field(default_factory=dict)
    water: Water | None = None
    facts: frozenset[str] = frozenset()
    below: frozenset[str] = frozenset()
    above: frozenset[str] = frozenset()
    jurisdiction: str = "us"


@dataclass(frozen=True)
class Cause:
    """One cause. ``signs`` and ``presents``: P(yes | cause) by column of source; ``results``: analyte to profile."""

    code: str
    words: str
    plain: str
    confirm: str
    health: str = ""
    signs: Mapping[str, Column] = field(default_factory=dict)
    presents: Mapping[str, Column] = field(default_factory=dict)
    results: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Observation:
    """Something that can be asked or looked at. ``words`` is what a yes affirms, ``ask`` the plain question."""

    code: str
    words: str
    ask: str
    group: str
    picture: str = ""
    asked: Asked = "phone"
    background: Column = (0.1, 0.1, 0.1, 0.1)
    cost: Decimal = Decimal("1")
    days: float = 0.0
    answered: float = 0.9
    sources: frozenset[str] = frozenset()
    complaint: bool = False
    urgent: bool = False


@dataclass(frozen=True)
class Share:
    """How much of a complaint a cause stands behind, by column of source; whose word the link itself is."""

    cause: str
    weights: Column
    status: str
    source: str


@dataclass(frozen=True)
class Measure:
    """A measured value cut into classes, and how often each class is seen under each profile."""

    code: str
    cuts: tuple[float, ...]
    unit: str
    profiles: Mapping[str, tuple[float, ...]]
    yields_to: str = ""
    complaint: str = ""
    opens_from: float | None = None
    opens_to: float | None = None


@dataclass(frozen=True)
class Package:
    """Measurements bought together."""

    code: str
    words: str
    analytes: tuple[str, ...]
    asked: Asked
    cost: Decimal
    days: float
    answered: float


@dataclass(frozen=True)
class Rule:
    """An interlock or a contradiction: ``when`` holds where every word of any of its lines holds.

    Where a rule with ``no_boiling`` holds, every other says ``do_unboiled`` in place of ``do``.
    """

    code: str
    kind: str
    words: str
    do: str
    severity: str
    sizing: bool
    when: tuple[tuple[str, ...], ...]
    no_boiling: bool = False
    do_unboiled: str = ""
    plain: str = ""
    plain_unboiled: str = ""


@dataclass(frozen=True)
class Device:
    """A thing found in a basement. ``weight``: how common; ``features``: P(yes | device)."""

    code: str
    words: str
    stage_kind: str | None
    weight: Column
    features: Mapping[str, float]
    look_alikes: tuple[str, ...]
    tell_apart: str
    confirm: str
    photograph: str
    read_on_it: tuple[str, ...]
    unknowns: tuple[str, ...]
    caution: str = ""


@dataclass(frozen=True)
class Feature:
    """Something to be seen, heard or tried on a device. ``effort`` in the same money as questions."""

    code: str
    words: str
    ask: str
    picture: str
    background: float
    effort: float
    answered: float


@dataclass(frozen=True)
class Practice:
    """The numbers diagnosis reckons with beside the tables."""

    day_cost: float
    something_else: float
    certainty: tuple[float, float]
    prior_strength: float
    least_gain: float


@dataclass(frozen=True)
class Counts:
    """What finished jobs found.

    ``causes``: (complaint, column, cause) to jobs; ``answers``: (cause, observation, "yes" or "no") to jobs.
    """

    causes: Mapping[tuple[str, int, str], int] = field(default_factory=dict)
    answers: Mapping[tuple[str, str, str], int] = field(default_factory=dict)

    def seen(self, complaint: str, column: int) -> int:
        """Finished jobs of one complaint and column of source, whatever was found."""
        return sum(n for (code, place, _), n in self.causes.items() if code == complaint and place == column)


@dataclass(frozen=True, eq=False)
class DiagnosisTables:
    """Everything diagnosis and identification read. Frozen; compared by identity, so that work on it can be kept.

    ``origin`` and ``corrections`` say what was laid over which tables; both are empty for the shipped ones.
    """

    causes: Mapping[str, Cause]
    observations: Mapping[str, Observation]
    shares: Mapping[str, tuple[Share, ...]]
    measures: Mapping[str, Measure]
    packages: Mapping[str, Package]
    rules: tuple[Rule, ...]
    devices: Mapping[str, Device]
    features: Mapping[str, Feature]
    groups: Mapping[str, str]
    columns: Mapping[str, int]
    practice: Practice
    counts: Counts = field(default_factory=Counts)
    origin: DiagnosisTables | None = None
    corrections: tuple[Any, ...] = ()

    def __post_init__(self) -> None:
        for name in ("causes", "observations", "shares", "measures", "packages", "devices", "features", "groups"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))
