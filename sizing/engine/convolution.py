"""Exact distribution of the flow of independent on-off fixtures, on a grid of a tenth of a US gpm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import comb, prod
from typing import Any

import numpy as np
from numpy.typing import NDArray

_TIE = 1e-12  # probabilities closer than this are equal
_MOST_SUBSETS = 400_000
_SMALL_PRODUCT = 250_000  # multiplications


@dataclass(frozen=True)
class Group:
    """``count`` equal fixtures, each on with ``probability`` at ``tenths`` of a gpm."""

    count: int
    probability: float
    tenths: int


@dataclass(frozen=True)
class Largest:
    """Largest quantile over sub-sets, in tenths; ``complete`` = every sub-set was looked at."""

    tenths: int
    complete: bool


@lru_cache(maxsize=4096)
def _binomial(count: int, probability: float) -> tuple[float, ...]:
    return tuple(comb(count, k) * probability**k * (1 - probability) ** (count - k) for k in range(count + 1))


def distribution(groups: Sequence[Group], width: int | None = None) -> NDArray[np.float64]:
    """Probability of every total flow (of those below ``width``, if given).

    Why: the exact peak flow of a house is a quantile of it.
    Units: element i is the probability of i tenths of a gpm.
    Range: counts 0 or more, probabilities 0 to 1.
    Raises: nothing; callers check the counts.
    Source: convolution of binomials (computed).

    >>> [round(float(x), 3) for x in distribution([Group(2, 0.5, 1)])]
    [0.25, 0.5, 0.25]
    """
    pmf = _prefix(tuple(groups))
    return pmf if width is None else pmf[:width]


@lru_cache(maxsize=2048)
def _prefix(groups: tuple[Group, ...]) -> NDArray[np.float64]:
    """Distribution of a list, built on that of the list less its last kind: houses share their beginnings."""
    if not groups:
        pmf = np.ones(1)
    else:
        before, group = _prefix(groups[:-1]), groups[-1]
        pmf = np.zeros(before.size + group.count * group.tenths)
        for k, chance in enumerate(_binomial(group.count, group.probability)):
            start = k * group.tenths
            pmf[start : start + before.size] += before * chance
    pmf.setflags(write=False)
    return pmf


def quantile(pmf: NDArray[np.float64], percentile: float, *, conditional: bool = True) -> int:
    """Smallest flow not exceeded with the wanted probability.

    Why: with ``conditional`` the time when no water runs does not count, which is the study's definition.
    Units: tenths of a gpm; ``percentile`` a fraction.
    Range: percentile between 0 and 1.
    Raises: nothing.
    Source: (F(x) - P0) / (1 - P0) >= percentile, Peak Water Demand Study 2017 (published definition).

    >>> quantile(distribution([Group(1, 0.01, 30)]), 0.99)
    30
    """
    allowed = (1.0 - percentile) * ((1.0 - float(pmf[0])) if conditional else 1.0)
    reached = int(np.searchsorted(np.cumsum(pmf), 1.0 - allowed - _TIE))
    return min(reached, int(pmf.size) - 1)


def _rows(groups: Sequence[Group], width: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distributions (cut at ``width``) of every sub-multiset of ``groups``, one a row, and the chance of no flow."""
    table = np.zeros((1, width))
    table[0, 0] = 1.0
    none = np.ones(1)
    for group in groups:
        layers = [table]
        on, shift = group.probability, group.tenths
        for _ in range(group.count):
            layer = layers[-1] * (1.0 - on)
            layer[:, shift:] += layers[-1][:, : max(width - shift, 0)] * on
            layers.append(layer)
        table = np.concatenate(layers)
        none = np.concatenate([none * (1 - group.probability) ** count for count in range(group.count + 1)])
    return table, none


def _product(left: NDArray[np.float64], right: NDArray[np.float64]) -> NDArray[np.float64]:
    """Matrix product in blocks small enough that the linear algebra library does not wake its threads."""
    block = max(1, _SMALL_PRODUCT // (right.size or 1))
    if left.shape[0] <= block:
        return left @ right
    return np.concatenate([left[i : i + block] @ right for i in range(0, left.shape[0], block)])


def _halves(groups: Sequence[Group]) -> tuple[list[Group], list[Group]]:
    first: list[Group] = []
    second: list[Group] = []
    for group in groups:
        small = first if prod(g.count + 1 for g in first) <= prod(g.count + 1 for g in second) else second
        small.append(group)
    return first, second


def _merged(groups: Sequence[Group]) -> list[Group]:
    counts: dict[tuple[float, int], int] = {}
    for group in groups:
        key = (group.probability, group.tenths)
        counts[key] = counts.get(key, 0) + group.count
    return [Group(count, p, q) for (p, q), count in counts.items() if count]


def largest_over_subsets(groups: Sequence[Group], pmf: NDArray[np.float64], percentile: float) -> Largest:
    """Largest conditional quantile over all sub-multisets, never below the largest single fixture.

    Why: the conditional quantile of a longer list can be lower (washer and kitchen 5.7 gpm, with a shower 5.5),
    which no one would believe; the largest over sub-sets never falls when a fixture is added.
    Units: tenths of a gpm; ``pmf`` the distribution of the whole list.
    Range: up to 400,000 sub-sets; beyond, only the whole list and single fixtures count (``complete`` false).
    Raises: nothing.
    Source: running maximum over sub-sets (common practice of this engine), exact arithmetic (computed).
    Equation: a sub-set A + B exceeds x when sum_a P_A(a) P(B > x - a) > (1 - percentile)(1 - P0_A P0_B): one matrix
    product of the two halves of the list per level of x.

    >>> three = [Group(1, 0.055, 35), Group(1, 0.02, 22), Group(1, 0.045, 20)]
    >>> whole = distribution(three)
    >>> quantile(whole, 0.99), largest_over_subsets(three, whole, 0.99)
    (55, Largest(tenths=57, complete=True))
    """
    level = max([quantile(pmf, percentile), *(g.tenths for g in groups)])
    merged = _merged(groups)
    while kinds := _useful(merged, pmf, percentile, level):
        if prod(g.count + 1 for g in kinds) > _MOST_SUBSETS:
            return Largest(level, complete=False)
        higher = _exceeding(
            tuple(sorted(kinds, key=lambda g: (-g.count, g.tenths, g.probability))), percentile, level
        )
        if higher is None:
            break
        level = higher
    return Largest(level, complete=True)


@lru_cache(maxsize=8192)
def _exceeding(kinds: tuple[Group, ...], percentile: float, level: int) -> int | None:
    """Quantile of the sub-set that exceeds ``level`` by most, or nothing where none does."""
    first, second = _halves(kinds)
    left, left_none = _rows(first, level + 1)
    right, right_none = _rows(second, level + 1)
    beyond = 1.0 - np.cumsum(right, axis=1)[:, ::-1]  # column a: P(B > level - a)
    allowed = 1.0 - percentile
    # A row can only exceed if it does beside the whole other half while counting as busy alone.
    over = 1.0 - left.sum(axis=1)
    rows = np.flatnonzero(left @ beyond[-1] + over > allowed * (1.0 - left_none))
    other = 1.0 - np.cumsum(left[-1])[::-1]
    columns = np.flatnonzero(right @ other + 1.0 - right.sum(axis=1) > allowed * (1.0 - right_none))
    if not rows.size or not columns.size:
        return None
    exceed = _product(left[rows], beyond[columns].T) + over[rows][:, None]
    excess = exceed - allowed * (1.0 - np.outer(left_none[rows], right_none[columns]))
    if float(excess.max()) <= _TIE:
        return None
    row, column = np.unravel_index(int(excess.argmax()), excess.shape)
    return _next_level(first, second, (rows[row], columns[column]), percentile, level)


def _useful(groups: list[Group], pmf: NDArray[np.float64], percentile: float, level: int) -> list[Group]:
    """The kinds that can belong to a sub-set exceeding ``level``.

    With the odds o = p / (1-p) and G(y) = P(X=y) / P(X=0), which only grows with the list, one more fixture at q
    raises the excess of a sub-set S over ``level`` only if the sum of G_S(y) over level-q < y <= level is more than
    1 - percentile. A kind that fails this in the whole list (less one of its own) fails it in every sub-set.
    """
    running = (np.cumsum(pmf[: level + 1]) / pmf[0]).tolist()
    running += [running[-1]] * (level + 1 - len(running))
    least = 1.0 - percentile - _TIE
    # The first term of the series alone is an upper bound, and settles most kinds.
    return [
        g
        for g in groups
        if running[level] - (running[level - g.tenths] if level >= g.tenths else 0.0) > least
        and _window(running, g, level) > least
    ]


def _window(running: list[float], group: Group, level: int) -> float:
    """Sum over level-q < y <= level of G for the list less one fixture of ``group``, from the running sum of G.

    Dividing the generating function by (1 + o z^q) gives the series sum_k (-o)^k G(y - kq).
    """
    odds = group.probability / (1 - group.probability)
    total, weight, upper = 0.0, 1.0, level
    while upper >= 0:
        lower = upper - group.tenths
        total += weight * (running[upper] - (running[lower] if lower >= 0 else 0.0))
        weight *= -odds
        upper = lower
    return total


def _next_level(
    first: list[Group], second: list[Group], where: tuple[Any, ...], percentile: float, level: int
) -> int:
    """Quantile of the sub-set at ``where`` (row of each half), at least one tenth more than ``level``."""
    chosen: list[Group] = []
    for groups, index in ((first, int(where[0])), (second, int(where[1]))):
        sizes = 1
        counts = []
        for group in groups:
            sizes *= group.count + 1
        for group in reversed(groups):
            sizes //= group.count + 1
            counts.append((group, index // sizes))
            index %= sizes
        chosen += [Group(n, g.probability, g.tenths) for g, n in counts if n]
    return max(level + 1, quantile(distribution(chosen), percentile))
