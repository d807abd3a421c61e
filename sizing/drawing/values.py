"""The values a water path is drawn from. All texts come ready to read: units shown, dates written out.

``WaterPath`` -> ``sizing.drawing.drawn.draw_path`` (the picture) and
``sizing.drawing.listed.path_list`` (the list that says the same in words).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from sizing.drawing.speech import say
from sizing.engine.design import SourceType, StageKind

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # no I and no O: they read as 1 and 0


class PathProblem(ValueError):
    """A path that cannot be drawn; names the field, what it holds and what would be accepted."""


class StageState(StrEnum):
    """Where a stage stands. The value is the class name in the drawing; ``word`` is what people read."""

    SERVICE = "service"
    SOON = "soon"
    OVERDUE = "overdue"
    LAID = "laid"
    UNPROVEN = "unproven"
    PROPOSED = "proposed"

    @property
    def word(self) -> str:
        """The state in words."""
        return say(_STATE_WORDS[self])


_STATE_WORDS: dict[StageState, str] = {
    StageState.SERVICE: "in service",
    StageState.SOON: "due soon",
    StageState.OVERDUE: "overdue",
    StageState.LAID: "laid up",
    StageState.UNPROVEN: "not yet proven",
    StageState.PROPOSED: "proposed",
}


class Standing(StrEnum):
    """How a value stands against its limit. ``NONE`` = no limit applies (pressure)."""

    NONE = "none"
    WITHIN = "within"
    AESTHETIC = "aesthetic"
    HEALTH = "health"
    UNKNOWN = "unknown"

    @property
    def past(self) -> bool:
        """Whether the value is past its limit."""
        return self in (Standing.AESTHETIC, Standing.HEALTH)


class PumpPlace(StrEnum):
    """Where the pump stands. ``INTAKE`` = down in the water (submersible)."""

    NONE = "none"
    FLOOR = "floor"
    INTAKE = "intake"


def point_letter(gap: int) -> str:
    """Letter of the water in gap ``gap``, 0 = before the first stage. Range 0 to 23, else ``PathProblem``."""
    if not 0 <= gap < len(LETTERS):
        raise PathProblem(f"gap is {gap}, accepted is 0 to {len(LETTERS) - 1}")
    return LETTERS[gap]


@dataclass(frozen=True)
class PathSource:
    """Where the water comes from. ``solar`` draws the solar mark.

    ``pump`` left out is chosen by kind: on the floor for open water, in a drilled well, none at a spring.
    """

    kind: SourceType
    name: str  # "Lake intake"
    detail: str = ""  # "4.2 m deep, jet pump"
    pump: PumpPlace | None = None
    solar: bool = False

    @property
    def pump_place(self) -> PumpPlace:
        """Where the pump is drawn."""
        if self.pump is not None:
            return self.pump
        if self.kind is SourceType.DRILLED_WELL:
            return PumpPlace.INTAKE
        return PumpPlace.NONE if self.kind is SourceType.SPRING else PumpPlace.FLOOR


@dataclass(frozen=True)
class PathTank:
    """The pressure tank: ``pressure`` "275–415 kPa", ``volume`` "76 L tank"."""

    pressure: str = ""
    volume: str = ""


@dataclass(frozen=True)
class PathBranch:
    """A tap before treatment."""

    name: str  # "Outside tap"
    note: str = "not treated"


@dataclass(frozen=True)
class PathStage:
    """One stage. ``number`` counts the path from 1, polishing units last.

    ``tap`` = at one tap, ``hot`` = on the hot line ahead of the heater, neither on the main line.
    ``date`` is written out ("20 Jun 2026"), ``part`` says of
    what ("salt top-up"). ``size`` holds up to two lines shown instead of state and dates when the stage is
    proposed. ``form`` "tank" draws carbon as a tank. ``count`` above 1 = units side by side.
    """

    number: int
    kind: StageKind
    name: str  # "Sediment 5 µm"; broken over at most two lines by the drawing
    state: StageState = StageState.SERVICE
    date: str = ""
    part: str = ""
    size: tuple[str, ...] = ()
    purpose: str = ""  # plain words for the list; empty = the kind's own
    count: int = 1
    tap: bool = False
    hot: bool = False
    form: str = ""

    def __post_init__(self) -> None:
        if self.number < 1:
            raise PathProblem(f"stage number is {self.number}, accepted is 1 or more")
        if self.count < 1:
            raise PathProblem(f"stage {self.number}: count is {self.count}, accepted is 1 or more")
        if not self.name.strip():
            raise PathProblem(f"stage {self.number}: name is empty, accepted is a name in words")


@dataclass(frozen=True)
class Reading:
    """One value of water. ``row`` is the ledger row's code; ``text`` is ready to read, without unit."""

    row: str
    text: str  # "48", "<0.02", "absent"
    measured: bool
    standing: Standing = Standing.NONE


@dataclass(frozen=True)
class PathPoint:
    """Water between two stages. ``date`` short for the drawing ("2 Jun"), ``day`` in full for the list."""

    letter: str
    readings: tuple[Reading, ...] = ()
    date: str = ""
    day: str = ""

    @property
    def measured(self) -> bool:
        """Whether any value here was measured."""
        return any(reading.measured for reading in self.readings)

    @property
    def known(self) -> bool:
        """Whether anything at all is known here."""
        return bool(self.readings)

    def reading(self, row: str) -> Reading | None:
        """The value of ledger row ``row`` at this point, if known."""
        return next((reading for reading in self.readings if reading.row == row), None)


@dataclass(frozen=True)
class LedgerRow:
    """One parameter of the ledger under the drawing. ``limit`` in words: "at most 15", "none", ""."""

    code: str
    label: str
    unit: str = ""
    limit: str = ""

    @property
    def note(self) -> str:
        """Unit and limit as written beside the label."""
        return ", ".join(part for part in (self.unit, self.limit) if part)


@dataclass(frozen=True)
class PathTaps:
    """What the split feeds: ``hot`` and ``cold`` say where ("kitchen, bath"); empty ``hot`` = no hot line."""

    cold: str = "house"
    hot: str = ""
    drinking: str = ""
    cold_name: str = "Cold taps"
    hot_name: str = "Hot taps"
    drinking_name: str = "Drinking tap"
    heater: str = "heater"


@dataclass(frozen=True)
class WaterPath:
    """Everything a water path shows. ``points`` has one entry per gap: one more than stages on the main line.

    ``tap_point`` is the water after the polishing unit. ``notice`` in words ("Do not drink the water")
    leads the text equivalents of a household under a notice.
    """

    title: str
    source: PathSource
    stages: tuple[PathStage, ...] = ()
    points: tuple[PathPoint, ...] = ()
    rows: tuple[LedgerRow, ...] = ()
    tank: PathTank | None = None
    branch: PathBranch | None = None
    taps: PathTaps = field(default_factory=PathTaps)
    tap_point: PathPoint | None = None
    notice: str = ""

    def __post_init__(self) -> None:
        if len(self.points) != len(self.main) + 1:
            raise PathProblem(
                f"points has {len(self.points)} entries, accepted is {len(self.main) + 1}: "
                "one before each main stage and one after the last"
            )
        if self.tap_point is not None and not self.polishing:
            letter = self.tap_point.letter
            raise PathProblem(f"tap_point is {letter}, accepted is none without a polishing unit")
        known = {row.code for row in self.rows}
        for point in self.every_point:
            for reading in point.readings:
                if reading.row not in known:
                    accepted = ", ".join(sorted(known))
                    raise PathProblem(f"point {point.letter}: row is {reading.row!r}, accepted is one of {accepted}")

    @property
    def main(self) -> tuple[PathStage, ...]:
        """Stages on the main line, in order."""
        return tuple(stage for stage in self.stages if not stage.tap and not stage.hot)

    @property
    def heated(self) -> tuple[PathStage, ...]:
        """Stages on the hot line, ahead of the heater."""
        return tuple(stage for stage in self.stages if stage.hot)

    @property
    def polishing(self) -> tuple[PathStage, ...]:
        """Stages at the drinking tap, in order."""
        return tuple(stage for stage in self.stages if stage.tap)

    @property
    def every_point(self) -> tuple[PathPoint, ...]:
        """Points of the main line, then the one at the drinking tap if there is one."""
        return (*self.points, self.tap_point) if self.tap_point else self.points
