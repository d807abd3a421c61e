"""Measured values as evidence: which class a value falls in, non-detects included, and what it says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sizing.engine.diagnosis_tables import Evidence, Measure, NotInTables
from sizing.engine.water import ANALYTES

Array = NDArray[np.float64]
IRON_SHARE = "iron_share"


@dataclass(frozen=True)
class Result:
    """One measured value: ``sign`` is "=", "<" (not found, the number is the reporting limit) or ">"."""

    code: str
    value: float
    sign: str = "="

    @property
    def words(self) -> str:
        """The result in words: "Manganese <0.02 mg/L"."""
        number = "" if self.sign == "=" else self.sign
        if self.code == IRON_SHARE:
            return f"Dissolved part of the iron {number}{self.value:.0%}"
        analyte = ANALYTES[self.code]
        unit = " ".join(part for part in (analyte.unit, analyte.basis) if part)
        return f"{analyte.name} {number}{self.value:g} {unit}".rstrip()

    def at_least(self, number: float) -> bool:
        """Whether it surely is: a value not found never is."""
        return self.sign != "<" and self.value >= number

    def over(self, number: float) -> bool:
        """Whether it surely lies over it."""
        return (self.sign == ">" and self.value >= number) or (self.sign == "=" and self.value > number)

    def under(self, number: float) -> bool:
        """Whether it surely lies under it: not found with a limit at or under it does."""
        return (self.sign == "<" and self.value <= number) or (self.sign == "=" and self.value < number)


def measured(evidence: Evidence) -> dict[str, Result]:
    """The single measured values of the evidence, the dissolved part of the iron worked out beside them.

    Why: iron and dissolved iron of one sample tell partly the same; the share tells what the total does not.
    Units: the engine's; the share from 0 to 1.
    Range: a ``Water`` of plain numbers; ``below`` and ``above`` name analytes of it.
    Raises: ``OutsideValidRange`` for a vector of draws, or where ``below`` or ``above`` names what is not there.
    Source: none needed (a form; the ratio is computed).

    >>> from sizing.engine.design import SourceType
    >>> from sizing.engine.water import Water
    >>> water = Water({"iron": 2.0, "iron_dissolved": 1.8})
    >>> measured(Evidence(SourceType.DRILLED_WELL, water=water))["iron_share"].words
    'Dissolved part of the iron 90%'
    """
    values: Mapping[str, object] = evidence.water.values if evidence.water is not None else {}
    for code in evidence.below | evidence.above:
        if code not in values:
            raise NotInTables("result", code, "an analyte of the water, where it is named as a reporting limit")
    found = {}
    for code, value in values.items():
        if np.ndim(np.asarray(value)):
            raise NotInTables(ANALYTES[code].name, "many values", "one value")
        sign = "<" if code in evidence.below else ">" if code in evidence.above else "="
        found[code] = Result(code, float(np.asarray(value)), sign)
    iron, dissolved = found.get("iron"), found.get("iron_dissolved")
    if iron and dissolved and iron.sign == "=" and iron.value > 0.0 and dissolved.sign != ">":
        found[IRON_SHARE] = Result(IRON_SHARE, dissolved.value / iron.value, dissolved.sign)
    return found


def telling(codes: frozenset[str], measures: Mapping[str, Measure]) -> tuple[str, ...]:
    """Of several measured things those that count, without one telling again what another told.

    Why: dissolved iron beside total iron, or solids beside conductivity, must not be counted twice.
    Units: none.
    Range: codes of analytes; the iron share stands for the dissolved figure where both irons are there.
    Raises: nothing; codes without a measure are left out.
    Source: ``yields_to`` of the measured-value table (common practice).

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> telling(frozenset({"iron", "iron_dissolved", "tds", "conductivity"}), load_tables().measures)
    ('iron', 'iron_share', 'conductivity')
    """
    wanted = set(codes)
    if {"iron", "iron_dissolved"} <= wanted:
        wanted.add(IRON_SHARE)
    return tuple(code for code, one in measures.items() if code in wanted and one.yields_to not in wanted)


def class_shares(measure: Measure, result: Result) -> Array:
    """How far each class is meant by a result: 1 where it lies, parts where only a limit is known.

    Why: a non-detect is not zero; it says that the value lies somewhere under the limit, no more.
    Units: shares of classes, one a class of the measure.
    Range: any result; a class cut by a limit counts by the part under (or over) it, the open top class as a
    whole.
    Raises: nothing.
    Source: interval-censored likelihood, even within a class (computed; the evenness is common practice).

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> iron = load_tables().measures["iron"]
    >>> class_shares(iron, Result("iron", 0.2)).tolist()
    [0.0, 1.0, 0.0, 0.0, 0.0]
    >>> class_shares(iron, Result("iron", 0.2, "<")).round(3).tolist()
    [1.0, 0.5, 0.0, 0.0, 0.0]
    """
    lows = np.array([0.0, *measure.cuts])
    highs = np.array([*measure.cuts, np.inf])
    if result.sign == "=":
        return np.asarray((lows <= result.value) & (result.value < highs), dtype=float)
    with np.errstate(invalid="ignore"):
        under = np.clip((result.value - lows) / (highs - lows), 0.0, 1.0)
    under[-1] = 0.0 if result.value <= lows[-1] else 1.0
    if result.sign == "<":
        return np.asarray(under)
    over = 1.0 - under
    over[-1] = 1.0
    return np.asarray(over)
