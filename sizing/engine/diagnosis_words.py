"""Evidence for and against a cause, in words and bits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sizing.engine.diagnosis_model import ANY, Lens, Piece
from sizing.engine.diagnosis_tables import DiagnosisTables

LEAST_BITS = 0.2
MOST = 6


@dataclass(frozen=True)
class Reason:
    """One reason. ``bits`` over 0 speak for the cause, under 0 against it.

    ``answer``: "yes", "no", "measured" or "said" (the complaint itself); ``words`` is the statement it concerns,
    or the result as measured.
    """

    code: str
    answer: str
    words: str
    bits: float


def reasons(
    tables: DiagnosisTables, lens: Lens, cause: str, evidence: Sequence[Piece]
) -> tuple[tuple[Reason, ...], tuple[Reason, ...]]:
    """What speaks for a cause and what against it, strongest first.

    Why: nobody should have to believe a percentage.
    Units: bits: the logarithm to base 2 of P(evidence | this cause) over P(evidence | the others of the lens,
    by their shares before any evidence), so that the order of asking plays no part.
    Range: a cause of the lens; at most six reasons a side, of at least 0.2 bit.
    Raises: ``ValueError`` for a cause the lens does not hold.
    Source: Good's weight of evidence (computed).

    >>> from sizing.engine.design import SourceType
    >>> from sizing.engine.diagnosis_load import load_tables
    >>> from sizing.engine.diagnosis_model import lens_of, pieces
    >>> tables = load_tables()
    >>> lens = lens_of(tables, SourceType.DRILLED_WELL, "tea_clear")
    >>> pro, con = reasons(tables, lens, "tannin", pieces(lens, {"rust_stains": "yes", "autumn": "yes"}))
    >>> [one.code for one in pro], [one.code for one in con]
    (['tea_clear', 'autumn'], ['rust_stains'])
    """
    place = lens.causes.index(cause)
    others = lens.prior.copy()
    others[place] = 0.0
    found = []
    if others.sum() > 0.0:
        others /= others.sum()
        for piece in evidence:
            bits = math.log2(float(piece.likelihood[place]) / float(piece.likelihood @ others))
            words = piece.result.words if piece.result else tables.observations[piece.code].words
            found.append(Reason(piece.code, piece.answer, words, bits))
    found.sort(key=lambda one: (-abs(one.bits), one.code))
    supports = [one for one in found if one.bits >= LEAST_BITS][:MOST]
    against = [one for one in found if one.bits <= -LEAST_BITS][:MOST]
    if lens.complaint != ANY:
        supports.insert(0, Reason(lens.complaint, "said", tables.observations[lens.complaint].words, 0.0))
    return tuple(supports), tuple(against)


def unexplained(tables: DiagnosisTables, lens: Lens, cause: str, evidence: Sequence[Piece]) -> tuple[str, ...]:
    """What was answered yes though this cause makes it no likelier than usual: codes, as they were given.

    Why: a cause that leaves half the story untold may not be the only one.
    Units: none.
    Range: a cause of the lens.
    Raises: ``ValueError`` for a cause the lens does not hold.
    Source: the tables: likelihood at or under the background of the observation.

    >>> from sizing.engine.design import SourceType
    >>> from sizing.engine.diagnosis_load import load_tables
    >>> from sizing.engine.diagnosis_model import lens_of, pieces
    >>> tables = load_tables()
    >>> lens = lens_of(tables, SourceType.DRILLED_WELL, "tea_clear")
    >>> unexplained(tables, lens, "tannin", pieces(lens, {"salty": "yes", "autumn": "yes"}))
    ('salty',)
    """
    place, other = lens.causes.index(cause), len(lens.causes) - 1
    return tuple(
        piece.code
        for piece in evidence
        if piece.answer == "yes" and float(piece.likelihood[place]) <= float(piece.likelihood[other]) + 1e-12
    )
