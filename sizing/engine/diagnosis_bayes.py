"""Bayes over one list of alternatives: posterior, entropy and expected information, by full enumeration."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sizing.engine.errors import OutsideValidRange

Array = NDArray[np.float64]


def posterior(prior: Array, likelihoods: Array) -> Array:
    """P(alternative | evidence) for independent pieces of evidence, summing to one.

    Why: the ranking of causes, and of devices.
    Units: shares; ``prior`` (n,), ``likelihoods`` (pieces, n) holding P(piece | alternative).
    Range: prior at least 0 with a positive sum; likelihoods above 0 up to 1.
    Raises: ``OutsideValidRange`` where the evidence rules every alternative out.
    Source: Bayes' theorem with conditional independence given the alternative (computed).

    >>> posterior(np.array([0.5, 0.5]), np.array([[0.9, 0.1]])).round(3).tolist()
    [0.9, 0.1]
    """
    with np.errstate(divide="ignore"):
        logs = np.log(prior) + np.log(likelihoods).sum(axis=0)
    top = logs.max()
    if not np.isfinite(top):
        raise OutsideValidRange("likelihood", 0.0, low=0.0, low_open=True, source="some cause must stay possible")
    weights = np.exp(logs - top)
    result: Array = weights / weights.sum()
    return result


def entropy_bits(shares: Array) -> Array:
    """Entropy in bits along the last axis; nothing counts nothing.

    Why: how much is still open.
    Units: bits.
    Range: shares at least 0, summing to one along the last axis.
    Raises: nothing.
    Source: Shannon's entropy (computed).

    >>> float(entropy_bits(np.array([0.5, 0.5])))
    1.0
    """
    safe = np.where(shares > 0.0, shares, 1.0)
    result: Array = -(shares * np.log2(safe)).sum(axis=-1)
    return result


def question_gains(now: Array, yes: Array) -> Array:
    """Expected information of each yes-or-no question, exactly: entropy now less expected entropy afterwards.

    Why: which question to put next.
    Units: bits; ``now`` (n,), ``yes`` (questions, n) holding P(yes | alternative).
    Range: shares; never below 0 (rounding is cut off at 0).
    Raises: nothing.
    Source: mutual information of answer and cause, enumerated over both answers (computed).

    >>> question_gains(np.array([0.5, 0.5]), np.array([[1.0, 0.0], [0.3, 0.3]])).round(6).tolist()
    [1.0, 0.0]
    """
    answer = yes @ now
    return np.maximum(0.0, _binary(answer) - _binary(yes) @ now)


def _binary(share: Array) -> Array:
    """Entropy of a yes that comes with this share."""
    return entropy_bits(np.stack([share, 1.0 - share], axis=-1))


def outcome_gain(now: Array, outcomes: Sequence[Array]) -> float:
    """Expected information of several results that come together, exactly over every combination of them.

    Why: a package answers several analytes at once, and what one tells another may tell already.
    Units: bits; ``now`` (n,), each of ``outcomes`` (classes, n) holding P(class | alternative).
    Range: shares, each column summing to one; independent given the alternative. Never below 0.
    Raises: nothing.
    Source: mutual information of all results and cause, enumerated over their joint outcomes (computed).

    >>> fair = np.array([0.5, 0.5])
    >>> sure = np.array([[1.0, 0.0], [0.0, 1.0]])
    >>> round(outcome_gain(fair, [sure, sure]), 6)
    1.0
    """
    told = [table for table in outcomes if (table != table[:, :1]).any()]
    if not told:
        return 0.0
    # Alternatives that foretell the same results of every kind are one alternative here: exact, and far fewer.
    alike, place = np.unique(np.concatenate(told), axis=1, return_inverse=True)
    weights = np.bincount(np.ravel(place), weights=now, minlength=alike.shape[1])
    joint = np.ones((1, len(weights)))
    left, row = 0.0, 0
    for table in told:
        part = alike[row : row + len(table)]
        row += len(table)
        left += float(entropy_bits(part.T) @ weights)
        joint = (joint[:, None, :] * part[None, :, :]).reshape(-1, len(weights))
    return max(0.0, float(entropy_bits(joint @ weights)) - left)
