"""Why a product of the catalogue is not in a line: the best line that holds it, or what refuses it."""

from __future__ import annotations

from sizing.engine.stages.base import Stage
from sizing.engine.train_bound import Bound
from sizing.engine.train_order import slots_for
from sizing.engine.train_path import Line, Path
from sizing.engine.train_search import By, Search
from sizing.engine.train_spot import Fault, Option


def best_with(line: Line, stage: Stage) -> Path | None:
    """The cheapest admissible line over the years that holds a stage of the line's options.

    Units: cents over the years.
    Range: a stage that has options in the line; others (placed by hand only) give ``None``.
    Raises: nothing.
    Source: in the stage's slot only the stage itself is allowed and it must be there; slot by slot.

    >>> from types import SimpleNamespace as N
    >>> best_with(N(options=()), N()) is None
    True
    """
    best: Path | None = None
    for slot in sorted({option.slot for option in line.options if option.stage is stage}):
        below = float("inf") if best is None else best.life
        paths = Search(line, Bound(line).holding(stage, slot), By.LIFE, below).run().paths
        best = paths[0] if paths else best
    return best


def placed_by_hand(line: Line, stage: Stage) -> tuple[Path, tuple[Option, ...], tuple[Fault, ...]]:
    """The line that is best without a stage (none, where there is none), with the stage put in its place there.

    Units: none.
    Range: any stage.
    Raises: nothing.
    Source: the same simulation as the search.

    >>> placed_by_hand.__name__
    'placed_by_hand'
    """
    paths = Search(line, by=By.LIFE).run().paths
    others = [feed.option for feed in paths[0].feeds] if paths else []
    answers = []
    for slot in slots_for(stage, hot=line.brief.hot is not None):
        mine = Option(len(line.options), slot, stage)
        kept = [other for other in others if other.slot != slot]
        options = tuple(sorted((*kept, mine), key=lambda option: option.slot))
        answers.append((*line.walk(options), options))
    path, faults, options = min(answers, key=lambda answer: (len(answer[1]), answer[0].life))
    return path, options, faults
