"""The lens through which one complaint is looked at: its causes, their shares, and what each would show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sizing.engine.design import SourceType
from sizing.engine.diagnosis_bayes import posterior
from sizing.engine.diagnosis_results import Result, class_shares
from sizing.engine.diagnosis_tables import ANSWERS, OTHER, Answer, DiagnosisTables, NotInTables

Array = NDArray[np.float64]
ANY = ""  # the lens where nobody complains of anything named yet


@dataclass(frozen=True, eq=False)
class Lens:
    """One complaint's alternatives, ``something_else`` last.

    ``yes`` is P(yes | cause), one row an observation in ``rows``; ``classes`` P(class | cause) a measure, of
    which only those in ``tells`` differ between its causes.
    """

    complaint: str
    causes: tuple[str, ...]
    prior: Array
    rows: Mapping[str, int]
    yes: Array
    classes: Mapping[str, Array]
    tells: frozenset[str]


@dataclass(frozen=True, eq=False)
class Piece:
    """One piece of evidence seen through a lens: ``likelihood`` is P(piece | cause)."""

    code: str
    answer: str
    likelihood: Array
    result: Result | None = None


@lru_cache(maxsize=512)
def lens_of(tables: DiagnosisTables, source: SourceType, complaint: str = ANY) -> Lens:
    """The lens of a complaint for a source; without a complaint, of everything the source can suffer from.

    Why: worked out once for each set of tables, so that an answer on the phone costs microseconds.
    Units: shares.
    Range: a complaint of the tables, or "" for none; a source.
    Raises: ``OutsideValidRange`` for an unknown complaint.
    Source: the tables; ``something_else`` and the band of certainty from ``diagnosis-practice`` (judgement).

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> lens = lens_of(load_tables(), SourceType.LAKE, "tea_clear")
    >>> lens.causes[0], round(float(lens.prior.sum()), 9)
    ('tannin', 1.0)
    """
    if complaint != ANY and complaint not in tables.shares:
        raise NotInTables("complaint", complaint)
    column = tables.columns[source.value]
    weights = _all_weights(tables, column) if complaint == ANY else _weights(tables, column, complaint)
    causes = (*weights, OTHER)
    total = sum(weights.values())
    other = max(tables.practice.something_else, 1.0 - total)
    prior = np.array([*(weight * (1.0 - other) / total for weight in weights.values()), other] if total else [1.0])
    low, high = tables.practice.certainty
    yes = np.array(
        [[_share_of_yes(tables, column, code, cause) for cause in causes] for code in tables.observations]
    ).clip(low, high)
    classes = {
        code: np.array([one.profiles[_profile(tables, cause, code)] for cause in causes]).T
        for code, one in tables.measures.items()
    }
    tells = frozenset(code for code, table in classes.items() if (table != table[:, :1]).any())
    rows = {code: row for row, code in enumerate(tables.observations)}
    return Lens(complaint, causes, prior, rows, yes, classes, tells)


def _weights(tables: DiagnosisTables, column: int, complaint: str) -> dict[str, float]:
    return {one.cause: one.weights[column] for one in tables.shares[complaint] if one.weights[column] > 0.0}


def _all_weights(tables: DiagnosisTables, column: int) -> dict[str, float]:
    """Every cause, each complaint counted as often as every other."""
    found: dict[str, float] = {}
    complaints = [weights for code in tables.shares if (weights := _weights(tables, column, code))]
    for weights in complaints:
        for cause, weight in weights.items():
            found[cause] = found.get(cause, 0.0) + weight / len(complaints)
    return found


def _share_of_yes(tables: DiagnosisTables, column: int, code: str, cause_code: str) -> float:
    """P(yes | cause). What the cause does not name comes at the background rate; a complaint it may make comes
    at least as often as it is the leading complaint of that cause."""
    observation = tables.observations[code]
    background = observation.background[column]
    cause = tables.causes.get(cause_code)
    if cause is None:
        return background
    named = (cause.presents if observation.complaint else cause.signs).get(code)
    if named is not None:
        return named[column]
    if not observation.complaint:
        return background
    return max(background, leading_share(tables, column, code, cause_code))


def leading_share(tables: DiagnosisTables, column: int, complaint: str, cause: str) -> float:
    """How often a cause makes this complaint before all others, by Bayes from the table of shares.

    Why: the shares say which causes stand behind a complaint; this turns them round.
    Units: share.
    Range: a complaint and a cause of the tables; column 0 to 3.
    Raises: ``KeyError`` for an unknown complaint.
    Source: Bayes' theorem, every complaint taken as equally frequent (judgement).

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> round(leading_share(load_tables(), 0, "tea_clear", "tannin"), 2)
    1.0
    """
    each = {code: _weights(tables, column, code).get(cause, 0.0) for code in tables.shares}
    total = sum(each.values())
    return each[complaint] / total if total else 0.0


def _profile(tables: DiagnosisTables, cause_code: str, analyte: str) -> str:
    cause = tables.causes.get(cause_code)
    return cause.results.get(analyte, "usual") if cause is not None else "usual"


def pieces(lens: Lens, answers: Mapping[str, Answer]) -> tuple[Piece, ...]:
    """The answers as this lens sees them: yes and no, its own complaint aside.

    Why: one form for asked and for measured evidence.
    Units: likelihoods, 0 to 1.
    Range: observations of the tables; "unknown" says nothing.
    Raises: ``OutsideValidRange`` for an unknown observation or answer.
    Source: the tables.

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> lens = lens_of(load_tables(), SourceType.LAKE, "tea_clear")
    >>> [piece.code for piece in pieces(lens, {"tea_clear": "yes", "autumn": "yes", "melt": "unknown"})]
    ['autumn']
    """
    for code, answer in answers.items():
        if code not in lens.rows:
            raise NotInTables("observation", code)
        if answer not in ANSWERS:
            raise NotInTables(code, answer, f"one of {', '.join(ANSWERS)}")
    found = []
    for code in sorted(answers, key=lens.rows.__getitem__):  # the tables' order: rounding must not know who was first
        if answers[code] == "unknown" or code == lens.complaint:
            continue
        yes = lens.yes[lens.rows[code]]
        found.append(Piece(code, answers[code], yes if answers[code] == "yes" else 1.0 - yes))
    return tuple(found)


def measured_pieces(tables: DiagnosisTables, lens: Lens, results: Mapping[str, Result]) -> tuple[Piece, ...]:
    """The measured values as this lens sees them; one that no cause of it speaks of stays in and changes nothing.

    Why: a result outranks a colour because its classes are far apart under the causes.
    Units: likelihoods, 0 to 1.
    Range: results already cleared of doubles by ``telling``.
    Raises: nothing.
    Source: the table of measured values (judgement).

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> tables = load_tables()
    >>> lens = lens_of(tables, SourceType.DRILLED_WELL, "tea_clear")
    >>> piece = measured_pieces(tables, lens, {"tannin": Result("tannin", 4.0)})[0]
    >>> lens.causes[int(piece.likelihood.argmax())]
    'tannin'
    """
    return tuple(
        Piece(code, "measured", class_shares(tables.measures[code], result) @ lens.classes[code], result)
        for code, result in results.items()
    )


def weigh(lens: Lens, evidence: tuple[Piece, ...]) -> Array:
    """The shares of the lens's causes after the evidence.

    Why: the ranking.
    Units: shares, summing to one.
    Range: any evidence; the band of certainty keeps every cause possible.
    Raises: nothing beyond ``posterior``.
    Source: Bayes' theorem, pieces independent given the cause.

    >>> from sizing.engine.diagnosis_load import load_tables
    >>> lens = lens_of(load_tables(), SourceType.LAKE, "tea_clear")
    >>> bool((weigh(lens, ()) == lens.prior).all())
    True
    """
    if not evidence:
        return lens.prior
    return posterior(lens.prior, np.array([piece.likelihood for piece in evidence]))
