"""What a small calculation asks, what it answers, and how it is declared."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from sizing.drawing.chart_values import PressureProfile
from sizing.drawing.reckoned import CurveChart, MonthChart
from sizing.engine.display import to_display
from sizing.engine.findings import Finding
from sizing.engine.worksheet import Section, Step

#: Answers of a form by name, canonical; ``None`` where an optional one was left empty.
Values = Mapping[str, Any]
#: A lazily translated text, or a plain one.
Words = Any


class DoesNotFit(ValueError):
    """Answers that do not go together; names the one to mend and what would be accepted."""

    def __init__(self, name: str, accepted: str) -> None:
        self.name = name
        self.accepted = accepted
        super().__init__(f"{name}: accepted is {accepted}")


def _alike(_values: Values) -> float:
    return 1.0


@dataclass(frozen=True)
class Ask:
    """One question: a measure unless it has ``choices`` or ``text`` (the most characters of a name).

    ``quantity``, ``low``, ``high`` and ``default`` are canonical ("" = a bare number of ``unit``). ``says`` are the
    parameters under which the engine refuses it, ``per`` turns the engine's limits into the canonical ones.
    """

    name: str
    label: Words
    quantity: str = ""
    low: float | None = None
    high: float | None = None
    unit: str = ""
    default: Any = None
    required: bool = True
    hint: Words = ""
    whole: bool = False
    choices: tuple[tuple[str, Words], ...] = ()
    text: int = 0
    block: Words = ""
    says: tuple[str, ...] = ()
    per: Callable[[Values], float] = _alike


@dataclass(frozen=True)
class Chart:
    """A drawing with its table: ``head`` names the columns, ``rows`` hold words and numbers ready to read."""

    title: str
    drawing: CurveChart | MonthChart | PressureProfile
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


@dataclass(frozen=True)
class Reckoned:
    """The answer: the few numbers asked for, the whole worksheet, remarks by weight, and a chart."""

    headline: tuple[Step, ...]
    sections: tuple[Section, ...]
    findings: tuple[Finding, ...] = ()
    chart: Chart | None = None

    @property
    def by_weight(self) -> list[Finding]:
        """Remarks, health first."""
        return sorted(self.findings, key=lambda finding: finding.severity.rank)


@dataclass(frozen=True)
class Calculator:
    """A small calculation. ``run(values, system)`` calls the engine; ``cautions`` belong to every answer of it."""

    name: str
    title: Words
    line: Words
    asks: tuple[Ask, ...]
    run: Callable[[Values, str], Reckoned]
    cautions: tuple[Words, ...] = ()

    @property
    def href(self) -> str:
        """The address of its page."""
        return reverse(f"reckon-{self.name}")


def picked(steps: tuple[Step, ...], *symbols: str) -> tuple[Step, ...]:
    """The steps of these symbols, in this order; ``KeyError`` for one that is missing."""
    by_symbol = {step.symbol: step for step in steps}
    return tuple(by_symbol[symbol] for symbol in symbols)


def shown(value: float, quantity: str, system: str) -> float:
    """A canonical value as a bare number in the reader's units, for the scale of a chart."""
    return float(to_display(float(value), quantity, system)[0])
