"""The one way the engine refuses a number."""

from __future__ import annotations

from collections.abc import Sequence


class EngineError(ValueError):
    """Base of every refusal of the engine."""


class OutsideValidRange(EngineError):
    """A parameter lies outside the range in which the method is valid.

    Carries the parameter's name, the offending value (the first one, for an array), the limits
    (``None`` = open on that side), the unit and the source of the limits, so that a form can name
    the field, the value and what would be accepted.
    """

    def __init__(
        self,
        parameter: str,
        value: object,
        *,
        low: float | None = None,
        high: float | None = None,
        unit: str = "",
        source: str = "",
        low_open: bool = False,
    ) -> None:
        self.parameter = parameter
        self.value = value
        self.low = low
        self.high = high
        self.unit = unit
        self.source = source
        self.low_open = low_open
        super().__init__(self._sentence())

    @property
    def accepted(self) -> str:
        """What would be accepted, in words: "more than 0 and at most 100 %"."""
        unit = f" {self.unit}" if self.unit else ""
        over = "more than" if self.low_open else "at least"
        if self.low is not None and self.high is not None:
            return f"{over} {self.low:g} and at most {self.high:g}{unit}"
        if self.low is not None:
            return f"{over} {self.low:g}{unit}"
        if self.high is not None:
            return f"at most {self.high:g}{unit}"
        return "a finite number"

    def _sentence(self) -> str:
        text = f"{self.parameter} is {self.value}, accepted is {self.accepted}"
        return f"{text} ({self.source})" if self.source else text


class MissingEvidence(EngineError):
    """Something needed for the calculation was not measured; names what, and what to do to get it."""

    def __init__(self, missing: Sequence[str], message: str) -> None:
        self.missing = tuple(missing)
        super().__init__(message)


class UnreadableValue(EngineError):
    """A reported result could not be read; names the field, the text and what would do."""

    def __init__(self, field: str, text: str, accepted: str) -> None:
        self.field = field
        self.text = text
        self.accepted = accepted
        super().__init__(f"{field}: cannot read {text!r}; accepted is {accepted}")
