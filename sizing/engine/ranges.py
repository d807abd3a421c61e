"""Checking that a parameter lies where a method is valid, for floats and arrays alike."""

from __future__ import annotations

from math import isfinite
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.water import Number


def within(
    parameter: str,
    value: Number,
    *,
    low: float | None = None,
    high: float | None = None,
    unit: str = "",
    source: str = "",
    low_open: bool = False,
) -> Any:
    """The value itself (float, or float array) when every element is finite and within ``low``..``high``.

    Why: the engine refuses what a method does not cover, in one wording that a form can show.
    Units: those of the parameter; ``unit`` is only printed. ``low_open`` excludes the lower bound itself.
    Range: any; ``None`` leaves a side open.
    Raises: ``OutsideValidRange`` with the parameter, the first offending value and what would be accepted.
    Source: none needed (a check, not a figure).

    >>> within("flow", 12, low=0.0, unit="L/min")
    12.0
    >>> within("flow", -1, low=0.0, unit="L/min")
    Traceback (most recent call last):
    ...
    sizing.engine.errors.OutsideValidRange: flow is -1.0, accepted is at least 0 L/min
    """
    if isinstance(value, float | int):  # the usual case, asked hundreds of thousands of times
        kept = (low is None or (value > low if low_open else value >= low)) and (high is None or value <= high)
        if kept and isfinite(value):
            return float(value)
    array = np.asarray(value, dtype=float)
    bad = ~np.isfinite(array)
    if low is not None:
        bad |= (array <= low) if low_open else (array < low)
    if high is not None:
        bad |= array > high
    if bad.any():
        first = float(array[bad].flat[0]) if array.ndim else float(array)
        raise OutsideValidRange(parameter, first, low=low, high=high, unit=unit, source=source, low_open=low_open)
    return array if array.ndim else float(array)
