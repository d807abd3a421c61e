"""The search: every admissible line that no other beats in first cost, whole-life cost and upkeep hours together.

Best-first over partial lines. A partial line is given up only where (a) it breaks a limit, (b) nothing left in the
catalogue can still meet what is wanting, (c) a complete line is known that is no worse in all three costs than the
least this one can come to, or (d) another partial line with the same water, in the same state, has cost and used no
more in anything. None of these loses a line of the answer, so the result equals full enumeration.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import count as counter

from sizing.engine.design import Product, StageKind
from sizing.engine.stages.base import Stage
from sizing.engine.train_bound import Bound, Costs, add
from sizing.engine.train_duty import Brief
from sizing.engine.train_order import SLOTS, slots_for
from sizing.engine.train_path import Line, Path
from sizing.engine.train_step import Option

ALL_THREE, FIRST, LIFE, NONE = (0, 1, 2), (0,), (1,), ()
SIDE_BY_SIDE = (StageKind.BACKWASH, StageKind.NEUTRALISER, StageKind.AIROX, StageKind.CATALYTIC)
"""Beds that may stand in pairs, backwashed one after the other, where the pump cannot lift one large enough."""

HASTE = 10  # how much more what is wanting counts than what is spent, where any line will do
HOUR_IN_CENTS = 10_000  # only steers which line is looked at first


@dataclass
class Found:
    """The lines no other beats, cheapest over the years first, and how many partial lines were looked at."""

    paths: list[Path] = field(default_factory=list)
    looked_at: int = 0


def options_of(stages: Iterable[Stage], brief: Brief) -> tuple[Option, ...]:
    """All the places the stages of a catalogue may take, cheapest first in each slot.

    Units: none.
    Range: any catalogue; kinds that are only placed by hand are left out.
    Raises: nothing.
    Source: the order of slots.

    >>> options_of((), None)
    ()
    """
    rows = [
        (slot, stage, count)
        for stage in stages
        for slot in slots_for(stage)
        if SLOTS[slot].searched
        for count in ((1, 2) if stage.kind in SIDE_BY_SIDE else (1,))
    ]
    rows.sort(key=lambda row: (row[0], row[1].product.price * row[2], row[1].product.code, row[2]))
    return tuple(Option(index, slot, stage, count) for index, (slot, stage, count) in enumerate(rows))


def beats(one: Costs, other: Costs) -> bool:
    """Whether ``one`` is no worse than ``other`` in all three costs (pressure does not count).

    Units: cents, cents, hours a year, kPa.
    Range: any.
    Raises: nothing.
    Source: Pareto order.

    >>> beats((1, 2, 3.0, 9.0), (1, 2, 3.5, 0.0)), beats((1, 2, 3.0, 0.0), (0, 9, 9.0, 0.0))
    (True, False)
    """
    return one[0] <= other[0] and one[1] <= other[1] and one[2] <= other[2]


class Search:
    """One search over one line's options, leaving out ``banned`` product codes.

    ``by`` says which costs count: all three for the lines no other beats, one alone for the line with the
    least of it, none for whether there is a line at all. ``below`` gives up
    lines that come to as much over the years or more.
    """

    def __init__(
        self,
        line: Line,
        bound: Bound | None = None,
        banned: frozenset[str] = frozenset(),
        by: tuple[int, ...] = ALL_THREE,
        below: float = math.inf,
    ) -> None:
        self.line = line
        self.bound = bound or Bound(line)
        self.by = by
        self.below = below
        self.most_loss = line.most_loss
        self.floors = [f for f in self.bound.floors if f.option.stage.product.code not in banned]
        self.front: list[Path] = []
        self.labels: dict[tuple[object, ...], list[tuple[float, ...]]] = {}
        self.looked_at = 0

    def run(self) -> Found:
        """The lines no other beats in the costs that count, cheapest over the years first."""
        order = counter()
        heap: list[tuple[float, int, Path]] = []
        start = self.line.start()
        self._push(heap, order, start)
        while heap:
            _, _, path = heapq.heappop(heap)
            if self._beaten(self._least(path)):
                continue
            if not self.bound.unmet(path) and not self.line.falls_short(path):
                self._keep(path)
                if not self.by:
                    break
            for longer in self._children(path):
                self._push(heap, order, longer)
        self.front.sort(key=lambda path: (path.life, path.first, path.hours))
        return Found(self.front, self.looked_at)

    def _children(self, path: Path) -> Iterable[Path]:
        unmet = self.bound.unmet(path)
        for floor in self.floors:
            option = floor.option
            if option.slot <= path.slot:
                continue
            rest = self.bound.least(unmet - floor.covers, option.slot + 1)
            if rest is None:
                continue
            if self._beaten(add(add(path.costs, floor.costs), rest)):
                continue
            self.looked_at += 1
            if self.line.refuses(path, option):
                continue
            longer = self.line.extend(path, option)
            if self.line.breaks(longer):
                continue
            yield longer

    def _push(self, heap: list[tuple[float, int, Path]], order: Iterable[int], path: Path) -> None:
        least = self._least(path)
        if least is None or self._beaten(least) or (not path.at_tap and self._matched(path)):
            return
        key = least[0] + least[1] + HOUR_IN_CENTS * least[2]
        if len(self.by) == 1:
            key = least[self.by[0]]
        elif not self.by:
            key = HASTE * (least[1] - path.life) + path.life
        heapq.heappush(heap, (key, next(iter(order)), path))

    def _least(self, path: Path) -> Costs | None:
        rest = self.bound.least(self.bound.unmet(path), path.slot + 1)
        return None if rest is None else add(path.costs, rest)

    def _beaten(self, costs: Costs | None) -> bool:
        if costs is None or costs[1] >= self.below:
            return True
        if costs[3] > self.most_loss:
            if "pressure" not in self.line.seen:
                self.line.seen["pressure"] = self.line.pressure_fault(costs[3])
            return True
        if self.by == ALL_THREE:
            return any(beats(known.costs, costs) for known in self.front)
        return any(all(known.costs[i] <= costs[i] for i in self.by) for known in self.front)

    def _matched(self, path: Path) -> bool:
        """Whether a partial line in the same state has cost and used no more; otherwise this one is noted."""
        site = self.line.brief.request.site
        wall = 0.0 if site.wall_m is None else path.wall
        watts = 0.0 if site.power_w is None else path.watts
        mine = (path.slot, path.loss, wall, watts, *(path.costs[i] for i in self.by))
        key = (*path.state[1:], self.bound.must is not None and path.slot < self.bound.must)
        known = self.labels.setdefault(key, [])
        if any(all(a <= b for a, b in zip(other, mine, strict=True)) for other in known):
            return True
        known[:] = [other for other in known if not all(a <= b for a, b in zip(mine, other, strict=True))]
        known.append(mine)
        return False

    def _keep(self, path: Path) -> None:
        if self.by == ALL_THREE:
            self.front = [known for known in self.front if not beats(path.costs, known.costs)]
        else:
            self.front = []
        self.front.append(path)


def named_products(path: Path) -> tuple[Product, ...]:
    """The products of a line, in order.

    Units: none.
    Range: any path.
    Raises: nothing.
    Source: the path.

    >>> from sizing.engine.water import Water
    >>> named_products(Path(Water({}), 0, 30.0))
    ()
    """
    return tuple(feed.option.stage.product for feed in path.feeds)


def next_best(line: Line, bound: Bound, known: Sequence[Path]) -> Path | None:
    """The cheapest line over the years that is none of ``known`` and is not one of them with stages added.

    Units: cents over the years.
    Range: one known line or more.
    Raises: nothing.
    Source: any other line lacks a product of each known one; the best is found by leaving products out in turn.

    >>> next_best(None, None, [])
    """
    bans: set[frozenset[str]] = {frozenset()} if known else set()
    for path in known:
        codes = sorted({product.code for product in named_products(path)})
        bans = {ban if ban & set(codes) else ban | {code} for ban in bans for code in codes}
    bans = {ban for ban in bans if not any(other < ban for other in bans)}
    best: Path | None = None
    for ban in sorted(bans, key=sorted):
        paths = Search(line, bound, ban, LIFE, math.inf if best is None else best.life).run().paths
        if paths:
            best = paths[0]
    return best
