"""The recorded calculation: what another professional checks by hand.

A ``Step`` is one line of the worksheet; functions that people must be able to check return their
steps beside their number, and screens, papers and the API all render the same ``Worksheet``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from typing import Any

STATUSES = ("published", "computed", "common practice", "from memory", "measured", "given")


@dataclass(frozen=True)
class Step:
    """One line: ``symbol = value unit``, its meaning, the formula with the numbers in it, and its source.

    ``quantity`` names the physical quantity for display in the household's units ("flow", "pressure",
    "volume", "length", "temperature", "hardness", "" = leave the unit as it is).
    """

    symbol: str
    meaning: str
    value: float | str
    unit: str = ""
    formula: str = ""
    source: str = ""
    status: str = "computed"
    quantity: str = ""

    def __post_init__(self) -> None:
        if self.status not in STATUSES:
            raise ValueError(f"status is {self.status!r}, accepted is one of {', '.join(STATUSES)}")


@dataclass(frozen=True)
class Section:
    """A titled group of steps: one stage, or one question such as peak demand."""

    title: str
    steps: tuple[Step, ...]
    note: str = ""


@dataclass(frozen=True)
class Worksheet:
    """All sections of one design, in reading order."""

    sections: tuple[Section, ...] = field(default_factory=tuple)

    def with_section(self, title: str, steps: Iterable[Step], note: str = "") -> Worksheet:
        """A copy with one more section at the end."""
        return Worksheet((*self.sections, Section(title, tuple(steps), note)))

    def as_data(self) -> dict[str, Any]:
        """Plain lists and dicts for JSON storage."""
        return asdict(self)

    @classmethod
    def from_data(cls, data: dict[str, Any]) -> Worksheet:
        """The worksheet stored by ``as_data``."""
        return cls(
            tuple(
                Section(s["title"], tuple(Step(**step) for step in s["steps"]), s.get("note", ""))
                for s in data.get("sections", ())
            )
        )
