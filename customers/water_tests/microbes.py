"""What coliform results say, and how many clear samples in a row stand after a remedy. Pure.

The rule, decided once for every surface and paper:

- *found*: "present", a count above none, or an overgrown plate, of total coliform or E. coli.
- A sample drawn after treatment or at a tap opens the notice when something is found in it. Raw water and
  water between stages open it only while no barrier to microbes is in service (with one, such water is
  expected to carry them, and it is not what people drink).
- *clear*: a laboratory sample drawn after treatment or at a tap (raw water where nothing is installed) that
  reports both total coliform and E. coli, and neither found.
- The notice is lifted by two clear samples in a row, of different days, both after the day of the remedy.
  A sample that finds something starts the count again, wherever it stands in the order of entry.
- A sample that says neither (only one of the two reported, or a reporting limit above one) changes nothing.

Source: two consecutive clear samples after the remedy is common practice; local rules may ask for more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import Enum

COLIFORMS = ("e_coli", "total_coliform")
DRUNK = frozenset({"entry", "tap"})
BARRIERS = frozenset({"uv", "chlorine", "ultrafilter"})
CLEARS_NEEDED = 2


class Said(Enum):
    """What a sample says about microbes."""

    FOUND = "found"
    CLEAR = "clear"
    NOTHING = "nothing"


def found(qualifier: str, value: float | None) -> bool:
    """Whether one coliform result says that some were there."""
    if qualifier in ("present", "above"):
        return True
    return qualifier == "equal" and value is not None and value > 0


def none_found(qualifier: str, value: float | None) -> bool:
    """Whether one coliform result says none in 100 mL: "absent", 0, or below a limit of one at most."""
    if qualifier == "absent":
        return True
    if qualifier == "equal":
        return value == 0
    return qualifier == "below" and value is not None and value <= 1


def said_by(results: Mapping[str, tuple[str, float | None]]) -> Said:
    """What the coliform results of one sample (analyte -> qualifier, value) say together."""
    tested = [results[code] for code in COLIFORMS if code in results]
    if any(found(*result) for result in tested):
        return Said.FOUND
    if len(tested) == len(COLIFORMS) and all(none_found(*result) for result in tested):
        return Said.CLEAR
    return Said.NOTHING


@dataclass(frozen=True)
class Sample:
    """One sample as far as microbes go. ``order`` breaks ties of a day."""

    on: date
    place: str
    laboratory: bool
    said: Said
    order: int = 0

    def opens(self, *, barrier: bool) -> bool:
        """Whether it opens (or keeps open) the notice."""
        return self.said is Said.FOUND and (self.place in DRUNK or not barrier)

    def clears(self, *, treated: bool) -> bool:
        """Whether it counts as a clear sample."""
        return self.said is Said.CLEAR and self.laboratory and (self.place in DRUNK or not treated)


def clears_in_a_row(samples: Iterable[Sample], after: date, *, barrier: bool, treated: bool) -> int:
    """Clear samples in a row, of different days, since the last one that found something; only after ``after``."""
    days: list[date] = []
    for sample in sorted(samples, key=lambda one: (one.on, one.order)):
        if sample.on <= after:
            continue
        if sample.opens(barrier=barrier):
            days = []
        elif sample.clears(treated=treated) and sample.on not in days:
            days.append(sample.on)
    return len(days)
