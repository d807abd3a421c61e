"""When two waters are as good as one for the rest of a line.

Behind a slot only some analytes still matter: those a later stage heeds, exactly; those that are only held against
limits and goals, by which of these they keep; the others not at all. What is left of a water then is its sketch. Two
partial lines with one sketch go on alike, so that the dearer one can be given up.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from typing import Any

from sizing.engine.train_final import split_goals
from sizing.engine.train_order import HOT, SLOTS, TAP
from sizing.engine.train_path import Line
from sizing.engine.train_spot import Option
from sizing.engine.water import Water

EXACT: tuple[tuple[float, ...], tuple[float, ...]] | None = None

Marks = dict[str, tuple[tuple[float, ...], tuple[float, ...]] | None]
"""Analyte to the upper and the lower limits it is held against; ``None`` = its exact value counts."""


class Sketches:
    """The sketches of one line's waters, behind each slot."""

    def __init__(self, line: Line, by_slot: Sequence[Sequence[Option]], *, costs: bool = True) -> None:
        self.line, self.costs = line, costs
        self._marks = self._worked_back(by_slot)
        self.phases: list[int] = []  # for each slot the first of those behind which the same matters
        for slot, marks in enumerate(self._marks):
            same = slot > 0 and marks == self._marks[slot - 1]
            self.phases.append(self.phases[-1] if same else slot)
        self._known: dict[tuple[int, int], int] = {}
        self._numbers: dict[tuple[object, ...], int] = {}

    def later(self, slot: int) -> list[int]:
        """The phases from a slot on."""
        return list(dict.fromkeys(self.phases[max(slot, 0) :]))

    def of(self, water_id: int, water: Water, phase: int) -> int:
        """The number of a water's sketch behind a phase's slot: equal for waters that are as good as one."""
        key = (water_id, phase)
        found = self._known.get(key)
        if found is None:
            marks = self._marks[phase]
            if marks is None:
                sketch: tuple[object, ...] = (water_id,)
            else:
                values = water.values
                sketch = (phase, *(_mark(values.get(code), held) for code, held in marks.items()))
            found = self._known[key] = self._numbers.setdefault(sketch, len(self._numbers))
        return found

    def _worked_back(self, by_slot: Sequence[Sequence[Option]]) -> list[Marks | None]:
        """What matters behind each slot, from the last slot back; ``None`` = everything, exactly."""
        goals = self.line.brief.request.goals
        found: list[Marks | None] = [None] * len(SLOTS)
        entry, hot = split_goals(goals.at_entry, hot=self.line.brief.hot is not None)
        held: Marks = {code: ((limit,), ()) for code, limit in entry.items()}
        upper = () if goals.ph_high is None else (goals.ph_high,)
        _hold(held, "ph", upper, () if goals.ph_low is None else (goals.ph_low,))
        matters: Marks | None = held
        for slot in reversed(range(len(SLOTS))):
            found[slot] = None if matters is None else dict(sorted(matters.items()))
            if SLOTS[slot].at == TAP:
                matters = self._beside(by_slot[slot], matters, goals.at_tap)
            elif SLOTS[slot].at == HOT:
                matters = self._beside(by_slot[slot], matters, hot)
            elif matters is not None and by_slot[slot]:
                matters = self._ahead_of(by_slot[slot], matters)
        return found

    def _beside(self, options: Sequence[Option], entry: Marks | None, goals: Mapping[str, float]) -> Marks | None:
        """What matters ahead of the tap or the hot line: what does at the entry, the goals there, and what a stage
        there asks."""
        if entry is None:
            return None
        tap = self._ahead_of(options, {code: ((limit,), ()) for code, limit in goals.items()})
        if tap is None:
            return None
        found = dict(entry)
        for code, held in tap.items():
            if held is None:
                found[code] = EXACT
            else:
                _hold(found, code, *held)
        return found

    def _ahead_of(self, options: Sequence[Option], behind: Marks) -> Marks | None:
        """What matters ahead of a slot, given what matters behind it: any of its options may follow, or none."""
        ahead = dict(behind)
        for option in options:
            heeds = option.stage.heeds(costs=self.costs)
            if heeds is None:
                return None
            for code in heeds:
                ahead[code] = EXACT
            for code, sources in option.stage.alters().items():
                if code in behind:
                    for source in sources:
                        ahead[source] = EXACT
            for limit in self.line.spot(option, self.line.brief.flow_l_min).limits:
                if (limit.hard or limit.required) and limit.analyte != "flow":
                    upper, lower = ((limit.value,), ()) if limit.sense == "max" else ((), (limit.value,))
                    _hold(ahead, limit.analyte, upper, lower)
        return ahead


def _hold(marks: Marks, code: str, upper: tuple[float, ...], lower: tuple[float, ...]) -> None:
    known = marks.get(code, ((), ()))
    if known is not None:
        marks[code] = tuple(sorted({*known[0], *upper})), tuple(sorted({*known[1], *lower}))


def _mark(value: Any, held: tuple[tuple[float, ...], tuple[float, ...]] | None) -> object:
    """A value as far as it matters: itself, or how many of the limits it keeps; ``None`` where not measured."""
    if value is None or held is None:
        return value
    return bisect_left(held[0], value), bisect_right(held[1], value)
