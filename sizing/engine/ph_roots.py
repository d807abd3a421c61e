"""Finding the pH at which a balance of the carbonate system closes, for one water or ten thousand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

LOW_PH, HIGH_PH = 3.0, 12.5


def root_in_ph(rising: Any, start: Any, low: float = LOW_PH, high: float = HIGH_PH) -> Any:
    """pH at which a function that rises with pH passes zero.

    Why: every what-if of the carbonate system ends in one such pH.
    Units: first guess in, pH out; floats or arrays.
    Range: ``low`` to ``high``; without a crossing the nearer end is returned.
    Raises: nothing.
    Source: Newton's steps, and halving of the bracket where they do not settle (computed), to 0.00001.

    >>> round(root_in_ph(lambda ph: ph - 7.25, 6.0), 4)
    7.25
    """
    ph = start
    for _ in range(7):
        move = newton_step(rising, ph)
        ph = min(max(ph - move, low), high) if isinstance(ph, float) else np.clip(ph - move, low, high)
        if is_small(move):
            return ph
    return _halved(rising, np.shape(start), low, high)


def newton_step(rising: Any, ph: Any) -> Any:
    """How far above its root a pH is, by Newton's step, at most one unit.

    Why: pairs and activity settle together with the pH, one step at a time.
    Units: a function of pH that rises, and a pH in; pH units out; float or array.
    Range: a step against a falling function is one unit by the sign of the value.
    Raises: nothing.
    Source: Newton's method with a numerical slope (computed).

    >>> round(newton_step(lambda ph: ph - 7.25, 7.5), 4)
    0.25
    """
    step = 1e-4
    value = rising(ph)
    slope = (rising(ph + step) - value) / step
    if isinstance(ph, float):
        move = value / slope if slope > 0.0 else math.copysign(1.0, value)
        return min(max(move, -1.0), 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        move = np.where(slope > 0.0, value / slope, np.sign(value))
    return np.clip(move, -1.0, 1.0)


def is_small(move: Any) -> bool:
    """Whether Newton's step has become smaller than matters: 0.00001, or 0.0001 in arrays.

    Why: the loop may stop.
    Units: pH units in; float or array.
    Range: any.
    Raises: nothing.
    Source: choice of the engine (computed).

    >>> is_small(0.000001), is_small(0.01)
    (True, False)
    """
    return abs(move) < 1e-5 if isinstance(move, float) else bool((np.abs(move) < 1e-4).all())


def _halved(rising: Any, shape: tuple[int, ...], low: float, high: float) -> Any:
    """The same root by halving alone: slow, and sure."""
    left, right = np.full(shape, low), np.full(shape, high)
    for _ in range(25):
        trial = 0.5 * (left + right)
        above = np.asarray(rising(trial if trial.ndim else float(trial))) > 0.0
        right = np.where(above, trial, right)
        left = np.where(above, left, trial)
    root = 0.5 * (left + right)
    return root if root.ndim else float(root)
