"""Printed results that are possible but so far out that a unit or a column may be wrong: asked about once."""

from __future__ import annotations

from sizing.engine.figures import figure
from sizing.engine.ranges import within


def usual_range(analyte: str) -> tuple[float, float] | None:
    """The range inside which a result is not asked about, or ``None`` where none is set (counts of microbes).

    Why: lead in mg/L that was printed in ug/L, iron under the heading of hardness: each is a number that could be.
    Units: the canonical unit of the analyte.
    Range: any code.
    Raises: nothing.
    Source: widest values usually met in private water, with room (common practice).

    >>> usual_range("lead"), usual_range("e_coli")
    ((0.0, 1.0), None)
    """
    row = figure("unusual-results", "ask").value.get(analyte)
    return (float(row[0]), float(row[1])) if row else None


def is_unusual(analyte: str, value: float) -> bool:
    """Whether a result lies outside the range in which it is not asked about.

    Why: see ``usual_range``.
    Units: the canonical unit of the analyte.
    Range: any finite value.
    Raises: ``OutsideValidRange`` for a value that is not finite.
    Source: see ``usual_range``.

    >>> is_unusual("iron", 180.0), is_unusual("iron", 3.0)
    (True, False)
    """
    number = float(within("result", value))
    found = usual_range(analyte)
    return found is not None and not found[0] <= number <= found[1]
