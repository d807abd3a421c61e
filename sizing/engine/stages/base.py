"""What every kind of stage answers. A stage is a value: product in, pure answers out."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import ClassVar

from sizing.engine.design import Margin, Needs, Product, Setting, StageKind, WearPart
from sizing.engine.findings import Finding
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step


@dataclass(frozen=True)
class Duty:
    """What the place asks of a stage.

    ``flow_l_min`` is the largest flow that can pass here (what the pump delivers, or a restrictor upstream),
    ``peak_l_min`` the peak demand of the fixtures, ``daily_l`` the mean draw on an occupied day,
    ``pump_l_min`` what the pump can deliver for a backwash, ``months_open`` the months in use (1-12),
    ``temperature_c`` the coldest water expected, ``feed_kpa`` the pressure arriving at cut-in,
    ``pump_kpa`` the cut-out pressure, ``tap_l_d`` what the drinking tap gives on an occupied day.
    """

    flow_l_min: float
    peak_l_min: float
    daily_l: float
    pump_l_min: float
    months_open: tuple[int, ...]
    temperature_c: float
    feed_kpa: float
    pump_kpa: float
    tap_l_d: float = 15.0
    people: float = 3.0

    @property
    def operating_days(self) -> float:
        """Days a year in use (months open x 365/12)."""
        return len(self.months_open) * 365.0 / 12.0


@dataclass(frozen=True)
class FeedLimit:
    """A limit on the water entering a stage. ``analyte`` may also be "flow". ``hard`` limits refuse a design;
    soft ones become findings. ``sense``: "max" (at most) or "min" (at least). Canonical units.

    When the analyte was not measured: ``required`` limits make the design ask for the test
    (``MissingEvidence``), others become a finding.
    """

    analyte: str
    sense: str
    value: float
    reason: str
    source: str
    hard: bool = True
    required: bool = False


@dataclass(frozen=True)
class Sizing:
    """The sizing of one stage: is it enough, and the numbers that say so."""

    margins: tuple[Margin, ...] = ()
    numbers: tuple[Setting, ...] = ()
    settings: tuple[Setting, ...] = ()
    steps: tuple[Step, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Upkeep:
    """A year of keeping the stage."""

    wear: tuple[WearPart, ...] = ()
    salt_kg_year: float = 0.0
    water_l_year: float = 0.0
    power_kwh_year: float = 0.0
    hours_year: float = 0.0


@dataclass(frozen=True)
class Rank:
    """Which stages a stage may be compared with (equal ``like``), and its merits: more is better.

    ``merits`` decide what it can bear, ``thrift`` what it uses in water, salt and power.
    """

    like: tuple[Hashable, ...]
    merits: tuple[float, ...] = ()
    thrift: tuple[float, ...] = ()


NO_WATER = Water({})
NO_UPKEEP = Upkeep()


class Stage(ABC):
    """One catalogue product as a stage. Five pure answers and its sizing; floats or arrays of draws alike."""

    kind: ClassVar[StageKind]
    purpose: ClassVar[str]  # plain words for the household: "Takes out the tea colour"

    def __init__(self, product: Product) -> None:
        self.product = product

    @property
    def most_kpa(self) -> float | None:
        """The highest pressure it bears at no flow, kPa; ``None`` where none is stated."""
        return self.product.ratings.get("most_kpa")

    @abstractmethod
    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """Limits on what may enter, after everything upstream."""

    @abstractmethod
    def treat(self, water: Water, duty: Duty) -> Water:
        """The water leaving at the duty's peak; analytes not measured stay absent."""

    @abstractmethod
    def needs(self, water: Water, duty: Duty) -> Needs:
        """Backwash, drain, power, space with service clearance, pressure, water held."""

    @abstractmethod
    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """Pressure lost at a flow, kPa; ``dirty`` = at the point of service (a loaded filter)."""

    @abstractmethod
    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """What it wears and uses in a year at this duty, fed with ``water``."""

    @abstractmethod
    def size(self, water: Water, duty: Duty) -> Sizing:
        """Whether it is enough for ``water`` at the duty, with worksheet steps, settings and margins."""

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """The margins of ``size`` alone, without its worksheet: what a search or a Monte-Carlo asks.

        Arrays of draws give margins with arrays. Cheap wherever a kind has margins; call this, not ``size``,
        in loops.
        """
        return self.size(water, duty).margins

    def body(self, duty: Duty) -> Needs:
        """``needs`` apart from what hangs on the water: the volume of a backwash and how often it comes."""
        return self.needs(NO_WATER, duty)

    def too_small(self, duty: Duty) -> bool:
        """Whether the duty alone refuses it, whatever it is fed: a quick no, before ``margins`` are worked out.

        Where this says yes, ``margins`` or ``feed_limits`` refuse it too; a no says nothing.
        """
        return False

    def least_upkeep(self, duty: Duty, least: Water = NO_WATER) -> Upkeep:
        """Salt, water and power of a year that no feed can undercut which has as much at ``least`` of what is there.

        Wear and hours are not asked here.
        """
        return NO_UPKEEP

    def spoilt_by(self, water: Water) -> bool:
        """Whether a water refuses the stage and every other of its kind, by a margin that no size can mend.

        Where this says yes, ``margins`` refuse it too; a no says nothing.
        """
        return False

    def most_removed(self) -> Mapping[str, float]:
        """The largest share of an analyte it ever takes out, whatever it is fed; all of it where none is named."""
        return {}

    def heeds(self, *, costs: bool = True) -> frozenset[str] | None:
        """What of the feed its margins and needs hang on, limits apart, and (where ``costs`` count) its upkeep.

        ``None`` = any may.
        With ``alters``, and its feed limits, this says when two waters are as good as one to a stage: a search then
        looks at one of them only.
        """
        return None

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """Analytes that may leave other than they came, each with those its new value hangs on besides ``heeds``.

        All others leave as they came. Where ``heeds`` is ``None`` what they hang on is not asked.
        """
        return {}

    def brings(self) -> tuple[str, ...]:
        """Analytes that leave it known though they were not measured in the feed; all others stay unknown."""
        return ()

    def most_credit(self, duty: Duty) -> Mapping[str, float]:
        """The most logs it can earn by organism (``log_credits.ORGANISMS``) at a duty, whatever it is fed."""
        return {}

    def log_credits(self, water: Water, duty: Duty) -> Mapping[str, Number]:
        """Logs it earns by organism, fed with ``water`` at the duty; floats or arrays of draws."""
        return {}

    def rank(self) -> Rank | None:
        """Where it stands among its like, so that a search may leave out what another betters in everything.

        Two stages of a kind with the same ``like`` do the same to any water. One that is no less in any of the
        ``merits`` keeps every limit of its own that the other keeps, fed with any water at any duty at which both are
        large enough. One that is no less in ``thrift`` too, whose parts wear no faster and cost no more, uses no
        more. ``None`` = it cannot be told.
        """
        return None

    def improves(self) -> tuple[str, ...]:
        """Analyte codes this stage makes better (for explaining why it is there).

        Empty for restrictors and the like.
        """
        return ()
