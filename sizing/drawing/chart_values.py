"""The values charts are drawn from. Texts come ready to read; numbers only place the marks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class ResultKind(StrEnum):
    """What a laboratory reported: a number, less than its reporting limit, absent, or present uncounted."""

    VALUE = "value"
    BELOW = "below"  # ``value`` is the reporting limit
    ABSENT = "absent"
    PRESENT = "present"


@dataclass(frozen=True)
class HistoryPoint:
    """One result. ``text`` as reported ("<0.1", "4", "absent"); ``past`` when past the limit of the chart."""

    day: date
    kind: ResultKind
    text: str
    value: float = 0.0
    past: bool = False


@dataclass(frozen=True)
class ChartLimit:
    """A limit line. ``sense`` "max" = stay below, "min" = stay above; ``label`` "limit into UV: 1"."""

    value: float
    label: str
    sense: str = "max"

    def __post_init__(self) -> None:
        if self.sense not in ("max", "min"):
            raise ValueError(f"sense is {self.sense!r}, accepted is 'max' or 'min'")


@dataclass(frozen=True)
class PressureStep:
    """Pressure at a point of the path; ``name`` the point's letter, or the fixture at the end."""

    name: str
    value: float
    text: str
    measured: bool = False


@dataclass(frozen=True)
class PressureProfile:
    """Pressure along the path at one flow. ``least`` the line to stay above, ``end`` words beside the last step."""

    title: str
    unit: str
    steps: tuple[PressureStep, ...]
    least: ChartLimit | None = None
    end: str = ""


@dataclass(frozen=True)
class MarginLine:
    """A value against the limit it must keep, on a scale from ``low`` to ``high``.

    ``said`` is the value against its limit ("0.14 of 0.3 mg/L"), ``margin`` the distance ("0.16").
    Give the same line in every alternative the same scale.
    """

    label: str
    value: float
    limit: float
    sense: str
    said: str
    margin: str
    low: float
    high: float
    apart: bool = False  # label and value on lines of their own, also where one line would do

    @property
    def held(self) -> bool:
        """Whether the limit is kept."""
        return self.value <= self.limit if self.sense == "max" else self.value >= self.limit


@dataclass(frozen=True)
class CostBar:
    """Whole-life cost of one alternative: ``parts`` in the order bought, salt, parts, power, visits."""

    name: str
    parts: tuple[float, float, float, float, float]
    texts: tuple[str, str, str, str, str]
    total: str


COST_PARTS = ("bought and fitted", "salt", "cartridges, lamps, media", "power and water", "visits")
