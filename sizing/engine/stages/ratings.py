"""What a catalogue product must state, kind by kind, and the refusal of ratings that cannot be."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sizing.engine.errors import OutsideValidRange, UnreadableValue

MOST = sys.float_info.max  # any finite number
SOURCE = "the catalogue's rating schema"


@dataclass(frozen=True)
class RatingField:
    """One rating of a kind of stage, in canonical units.

    ``quantity`` says what it is for display and parsing: "flow", "pressure", "volume", "length", "power",
    "dose", "concentration", "percent", "micron", "mass", "time", "nominal" (a trade size in inches, kept as
    the trade says it), "count", "choice" or "flag". ``choices`` lists the accepted words of a choice. ``low``
    is open where ``low_open``.

    >>> RatingField("micron", "Rating", "micron", "um", 0.1, 1000.0).accepted
    'at least 0.1 and at most 1000 um'
    """

    name: str
    label: str
    quantity: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    required: bool = True
    choices: tuple[str, ...] = ()
    default: Any = None
    low_open: bool = False

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""
        if self.choices:
            return "one of " + ", ".join(self.choices)
        if self.quantity == "flag":
            return "yes or no (true or false)"
        refusal = OutsideValidRange(
            self.label, "", low=self.low, high=self.high, unit=self.unit, low_open=self.low_open
        )
        return refusal.accepted

    def read(self, value: Any) -> Any:
        """The value normalised.

        Float, bool or choice. Raises ``UnreadableValue`` or ``OutsideValidRange``.
        """
        if self.choices:
            word = str(value).strip()
            if word not in self.choices:
                raise UnreadableValue(self.name, word, self.accepted)
            return word
        if self.quantity == "flag":
            if not isinstance(value, bool):
                raise UnreadableValue(self.name, str(value), self.accepted)
            return value
        return self._number(value)

    def holds(self, number: float) -> bool:
        """Whether a number lies within its bounds."""
        if self.low is not None and (number <= self.low if self.low_open else number < self.low):
            return False
        return number <= (MOST if self.high is None else self.high)

    def _number(self, value: Any) -> float:
        if type(value) is float and self.holds(value):  # the usual case, asked of a whole catalogue at once
            return value
        try:
            number = math.nan if isinstance(value, bool) else float(value)
        except (TypeError, ValueError):
            raise UnreadableValue(self.name, str(value), f"a number, {self.accepted}") from None
        if not math.isfinite(number):
            raise UnreadableValue(self.name, str(value), f"a number, {self.accepted}")
        if not self.holds(number):
            raise OutsideValidRange(
                self.name,
                number,
                low=self.low,
                high=self.high,
                unit=self.unit,
                source=SOURCE,
                low_open=self.low_open,
            )
        return number


Check = Callable[[Mapping[str, Any]], None]


@dataclass(frozen=True)
class Schema:
    """The rating fields of a kind and the checks across fields (an efficiency above its ceiling, for one)."""

    fields: tuple[RatingField, ...]
    checks: tuple[Check, ...] = ()

    @cached_property
    def known(self) -> Mapping[str, RatingField]:
        """The fields by name."""
        return {field.name: field for field in self.fields}

    def normalise(self, ratings: Mapping[str, Any]) -> dict[str, Any]:
        """All fields read, defaults filled in, checks run.

        Raises as ``RatingField.read``; unknown names raise too.
        """
        known = self.known
        for name in ratings:
            if name not in known:
                raise UnreadableValue(name, str(ratings[name]), "one of the ratings " + ", ".join(sorted(known)))
        normal: dict[str, Any] = {}
        for field in self.fields:
            value = ratings.get(field.name)
            if value is None or value == "":
                if field.required:
                    raise UnreadableValue(field.name, "", f"{field.label}: {field.accepted}")
                normal[field.name] = field.default
            else:
                normal[field.name] = field.read(value)
        for check in self.checks:
            check(normal)
        return normal


def flow_and_loss(*, most_l_min: float = 200.0) -> tuple[RatingField, ...]:
    """The two ratings every stage on a pipe states: a flow, and the pressure lost at that flow when clean.

    Units: L/min and kPa.
    Range: flow above 0 and at most ``most_l_min``; loss 0 to 200 kPa.
    Raises: nothing.
    Source: bounds of household equipment, common practice.

    >>> [field.name for field in flow_and_loss()]
    ['rated_flow_l_min', 'loss_kpa']
    """
    return (
        RatingField("rated_flow_l_min", "Rated flow", "flow", "L/min", 0.0, most_l_min, low_open=True),
        RatingField("loss_kpa", "Pressure lost at rated flow, clean", "pressure", "kPa", 0.0, 200.0),
    )


def bears() -> RatingField:
    """The highest pressure a stage bears at no flow, where the maker states one; nothing is assumed.

    Units: kPa gauge.
    Range: 200 to 2000 kPa.
    Raises: nothing.
    Source: product rating.

    >>> bears().required
    False
    """
    return RatingField("most_kpa", "Highest pressure it bears", "pressure", "kPa", 200.0, 2000.0, required=False)


def body(*names: str) -> tuple[RatingField, ...]:
    """Outer sizes and water held, by name: "width_m", "depth_m", "height_m", "holds_l".

    Units: m and L.
    Range: above 0 and at most 3 m; 0 to 1000 L.
    Raises: ``KeyError`` for another name.
    Source: bounds of household equipment, common practice.

    >>> [field.unit for field in body("width_m", "holds_l")]
    ['m', 'L']
    """
    table = {
        "width_m": RatingField("width_m", "Width", "length", "m", 0.0, 3.0, low_open=True),
        "depth_m": RatingField("depth_m", "Depth", "length", "m", 0.0, 3.0, low_open=True),
        "height_m": RatingField("height_m", "Height", "length", "m", 0.0, 3.0, low_open=True),
        "holds_l": RatingField("holds_l", "Water held", "volume", "L", 0.0, 1000.0),
    }
    return tuple(table[name] for name in names)


def power(*, most_w: float = 1500.0, choices: Iterable[str] = ("mains", "12v", "none")) -> tuple[RatingField, ...]:
    """Power drawn while in operation, and where it comes from.

    Units: W.
    Range: 0 to ``most_w``; the supplies of ``choices``.
    Raises: nothing.
    Source: bounds of household equipment, common practice.

    >>> [field.default for field in power()]
    [0.0, 'none']
    """
    return (
        RatingField("power_w", "Power", "power", "W", 0.0, most_w, required=False, default=0.0),
        RatingField("supply", "Electric supply", "choice", choices=tuple(choices), required=False, default="none"),
    )
