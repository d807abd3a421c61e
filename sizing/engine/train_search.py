"""The search: the best admissible lines, exactly.

Best-first over partial lines. A step is worked out only when none is more promising: until then it waits under the
least it can come to. A partial line is given up only where (a) it breaks a limit, (b) nothing left in the catalogue
can still meet what is wanting, (c) a complete line is known that is no worse than the least this one can come to, or
(d) another partial line with the same water, in the same state, has cost and used no more. None of these loses a line
of the answer, so the result equals full enumeration.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import Enum
from itertools import count as counter
from typing import Any

from sizing.engine.design import StageKind
from sizing.engine.log_credits import Logs
from sizing.engine.stages.base import Stage
from sizing.engine.train_bound import Bound
from sizing.engine.train_duty import Brief
from sizing.engine.train_floor import Costs, add
from sizing.engine.train_order import RESTRICTOR_SLOT, SLOTS, TAP, slots_for
from sizing.engine.train_path import Line, Path
from sizing.engine.train_spot import Option

SIDE_BY_SIDE = (StageKind.BACKWASH, StageKind.NEUTRALISER, StageKind.AIROX, StageKind.CATALYTIC)
"""Beds that may stand in pairs, backwashed one after the other, where the pump cannot lift one large enough."""

ROUNDED = 1e-9  # of sums taken in another order
MOST_STEPS = 6000  # looked at for one more line beside the best; beyond that none is shown
HASTE = 10  # how much more what is wanting counts than what is spent, where any line will do
HOUR_IN_CENTS = 0.01  # of a millionth of an hour; only steers which line is looked at first


class By(Enum):
    """Which costs count: all three (the lines no other beats), one ahead of the others, or none (any line)."""

    FRONT = ()
    LIFE = (1, 0, 2)
    FIRST = (0, 1, 2)
    HOURS = (2, 1, 0)
    NONE = (3,)


@dataclass
class Found:
    """The lines no other beats, cheapest over the years first; how many steps were looked at, and whether steps were
    left when it gave up."""

    paths: list[Path] = field(default_factory=list)
    looked_at: int = 0
    cut: bool = False


def options_of(stages: Iterable[Stage], brief: Brief, *, boosted: bool = False) -> tuple[Option, ...]:
    """All the places the stages of a catalogue may take, cheapest first in each slot.

    Units: none.
    Range: any catalogue; booster pumps only where ``boosted``.
    Raises: nothing.
    Source: the order of slots.

    >>> options_of((), None)
    ()
    """
    rows = [
        (slot, stage, count)
        for stage in stages
        for slot in slots_for(stage, hot=brief.hot is not None)
        if boosted or SLOTS[slot].searched
        for count in ((1, 2) if stage.kind in SIDE_BY_SIDE else (1,))
    ]
    rows.sort(key=lambda row: (row[0], row[1].product.price * row[2], row[1].product.code, row[2]))
    return tuple(Option(index, slot, stage, count) for index, (slot, stage, count) in enumerate(rows))


def beats(one: Costs, other: Costs) -> bool:
    """Whether ``one`` is no worse than ``other`` in all three costs (pressure does not count).

    Units: cents, cents, millionths of an hour a year, kPa.
    Range: any.
    Raises: nothing.
    Source: Pareto order.

    >>> beats((1, 2, 3, 9.0), (1, 2, 4, 0.0)), beats((1, 2, 3, 0.0), (0, 9, 9, 0.0))
    (True, False)
    """
    return one[0] <= other[0] and one[1] <= other[1] and one[2] <= other[2]


Rows = Sequence[tuple[Costs, Option]]


@dataclass(frozen=True, eq=False)
class _Steps:
    """Steps from a path that wait: rows from ``at`` on, behind each of them ``rest`` at least is still to come."""

    path: Path
    rows: Rows
    at: int
    rest: Costs


class Search:
    """One search over one line's options. ``below`` gives up lines that come to as much over the years or more,
    ``most_steps`` gives up altogether."""

    def __init__(
        self,
        line: Line,
        bound: Bound | None = None,
        by: By = By.FRONT,
        below: float = math.inf,
        *,
        most_steps: float = math.inf,
    ) -> None:
        self.most_steps = most_steps
        self.line, self.bound, self.by, self.below = line, bound or Bound(line, costs=by is not By.NONE), by, below
        self.ranked: tuple[int, ...] = by.value
        self.most_loss = line.most_loss
        site = line.brief.request.site
        self.most_wall, self.most_watts = line.most("wall", site.wall_m), line.most("watts", site.power_w)
        self.walled, self.powered = site.wall_m is not None, site.power_w is not None
        self.lift = 0.0  # what a booster could still add
        self.front: list[Path] = []
        self.labels: dict[tuple[object, ...], list[tuple[int, float, float, float, tuple[float, ...], Logs]]] = {}
        self.heap: list[tuple[Any, int, Path | _Steps]] = []
        self.order = counter()
        self.looked_at = 0

    def run(self) -> Found:
        """The lines no other beats in the costs that count, cheapest over the years first."""
        self.lift = self.bound.lift
        self._wait(self.line.start())
        self.lift = 0.0
        while self.heap and self.looked_at < self.most_steps:
            _, _, waiting = heapq.heappop(self.heap)
            if isinstance(waiting, _Steps):
                self._step(waiting)
            elif self.by is By.FRONT and self._beaten(waiting.costs):
                continue
            elif self.bound.unmet(waiting) or self.line.falls_short(waiting):
                self._open(waiting)
            else:
                self._keep(waiting)
                if self.by is not By.FRONT:
                    break
        self.front.sort(key=lambda path: (path.life, path.first, path.upkeep))
        return Found(self.front, self.looked_at, bool(self.heap) and self.looked_at >= self.most_steps)

    def _open(self, path: Path) -> None:
        """All the steps from a path wait, slot by slot."""
        if path.at_tap:
            return
        bound, unmet, flow, by = self.bound, self.bound.unmet(path), path.flow, self.ranked
        for slot in range(path.slot + 1, len(SLOTS)):
            if SLOTS[slot].at == TAP and not bound.tap_wanted(unmet):
                continue
            for group in bound.groups(slot, flow):
                if bound.barred(group, path):
                    continue
                still = unmet & ~group.covers
                rows = group.ordered(by)
                if slot == RESTRICTOR_SLOT:
                    for row in rows:
                        rest = bound.least(still, slot + 1, self.line.spot(row[1], flow).flow_out)
                        self._queue(path, (row,), 0, rest)
                else:
                    self._queue(path, rows, 0, bound.least(still, slot + 1, flow))

    def _queue(self, path: Path, rows: Rows, at: int, rest: Costs | None) -> None:
        """The next step of some rows waits, unless nothing can come of it."""
        if rest is None:
            return
        spent = add(path.costs, rest)
        for place in range(at, len(rows)):
            least = add(spent, rows[place][0])
            if not self._beaten(least):
                key = self._key(least, path.life)
                heapq.heappush(self.heap, (key, next(self.order), _Steps(path, rows, place, rest)))
                return

    def _step(self, steps: _Steps) -> None:
        """The first of some steps is taken; the others wait on."""
        path, line = steps.path, self.line
        costs, option = steps.rows[steps.at]
        self._queue(path, steps.rows, steps.at + 1, steps.rest)
        if self.by is By.FRONT and self._beaten(add(add(path.costs, steps.rest), costs)):
            return
        self.looked_at += 1
        if line.refuses(path, option):
            return
        longer = line.extend(path, option)
        if not line.breaks(longer):
            self._wait(longer)

    def _wait(self, path: Path) -> None:
        rest = self.bound.least(self.bound.unmet(path), path.slot + 1, path.flow)
        if rest is None:
            return
        least = add(path.costs, rest)
        if not self._beaten(least) and (path.at_tap or not self._matched(path)):
            heapq.heappush(self.heap, (self._key(least, path.life), next(self.order), path))

    def _key(self, least: Costs, spent: int) -> Any:
        """Where in the queue a path stands that comes to ``least`` at least and has spent so much over the years."""
        if self.by is By.FRONT:
            return least[0] + least[1] + HOUR_IN_CENTS * least[2]
        if self.by is By.NONE:
            return HASTE * (least[1] - spent) + spent
        first, second, third = self.ranked
        return least[first], least[second], least[third]

    def _beaten(self, least: Costs) -> bool:
        if least[1] >= self.below:
            return True
        if least[3] > self.most_loss + self.lift:
            if "pressure" not in self.line.seen:
                self.line.seen["pressure"] = self.line.pressure_fault(least[3])
            return True
        if least[4] > self.most_wall + ROUNDED:
            if "wall" not in self.line.seen:
                self.line.seen["wall"] = self.line.wall_fault(least[4])
            return True
        if least[5] > self.most_watts + ROUNDED:
            if "watts" not in self.line.seen:
                self.line.seen["watts"] = self.line.watts_fault(least[5])
            return True
        return any(beats(known.costs, least) for known in self.front)

    def _matched(self, path: Path) -> bool:
        """Whether a partial line in the same state has cost and used no more; otherwise this one is noted."""
        sketches, must, slot, loss = self.bound.sketches, self.bound.must, path.slot, path.loss
        wall = path.wall if self.walled else 0.0
        watts = path.watts if self.powered else 0.0
        state = (*path.state, must is not None and slot < must)
        mine = self._compared(path)
        front, germs = self.by is By.FRONT, self.line.germs
        phases = sketches.later(slot)
        key = (phases[0], sketches.of(path.water_id, path.water, phases[0]), state)
        for other in self.labels.get(key, ()):
            if other[1] <= loss and other[0] <= slot and other[2] <= wall and other[3] <= watts:
                costs = other[4]
                if germs and any(a < b for a, b in zip(other[5], path.logs, strict=True)):
                    continue
                if (costs[0] <= mine[0] and costs[1] <= mine[1] and costs[2] <= mine[2]) if front else costs <= mine:
                    return True
        label = (slot, loss, wall, watts, mine, path.logs)
        for phase in phases:
            key = (phase, sketches.of(path.water_id, path.water, phase), state)
            self.labels.setdefault(key, []).append(label)
        return False

    def _compared(self, path: Path) -> tuple[float, ...]:
        """The costs that count: of partial lines in one state only the least of these can be worth going on with."""
        if self.by is By.NONE:
            return ()
        if self.by is By.FRONT:
            return path.first, path.life, path.upkeep
        costs = path.costs
        first, second, third = self.ranked
        return costs[first], costs[second], costs[third]

    def _keep(self, path: Path) -> None:
        self.front = [known for known in self.front if not beats(path.costs, known.costs)]
        self.front.append(path)


def next_best(
    line: Line, bound: Bound, known: Sequence[Sequence[str]], *, most_steps: float = MOST_STEPS
) -> Path | None:
    """The cheapest line over the years that lacks one word of each set known: kinds of stages, or product codes.

    Units: cents over the years.
    Range: one known set or more; an empty set is lacked by no line. A way of leaving out that takes more than
    ``most_steps`` steps to try counts as none.
    Raises: nothing.
    Source: the best is found by leaving words out in turn, in every way that leaves out one of each set.

    >>> next_best(None, None, [])
    """
    bans: set[frozenset[str]] = {frozenset()} if known else set()
    for words in known:
        bans = {ban if ban & set(words) else ban | {word} for ban in bans for word in words}
    bans = {ban for ban in bans if not any(other < ban for other in bans)}
    best: Path | None = None
    for ban in sorted(bans, key=sorted):
        below = math.inf if best is None else best.life
        paths = Search(line, bound.without(ban), By.LIFE, below, most_steps=most_steps).run().paths
        if paths:
            best = paths[0]
    return best
