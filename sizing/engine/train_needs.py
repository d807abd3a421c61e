"""What is wanted of a line, as bits, and which option may help with which."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence

from sizing.engine.design import StageKind
from sizing.engine.train_order import ONCE, SLOTS, is_fine
from sizing.engine.train_path import Line, Path
from sizing.engine.train_spot import Option, has_barrier
from sizing.engine.water import Water

NAMED_BOTH_WAYS = ("uvt", "ph")  # analytes whose rise ``improves`` names as well as their fall
ROUNDING = 1e-9

Limits = dict[tuple[str, str], float]
"""(analyte, "max" or "min") to value."""

ENTRY, TAP_SIDE = -1, -2  # where an analyte is wanted better: at the entry, at the tap; 0 and up = ahead of a slot
NO_ONE, MUST, BARRIER, FILTER, HELD = 1, 2, 4, 8, 16  # bits; the first is what no option can do
FREE = 5  # the place of the first bit that is an analyte's


def within_limit(water: Water, code: str, sense: str, value: float) -> bool:
    """Whether a measured analyte keeps a limit.

    Units: those of the analyte.
    Range: an analyte of the water.
    Raises: ``MissingEvidence`` for another.
    Source: comparison.

    >>> within_limit(Water({"iron": 0.2}), "iron", "max", 0.3)
    True
    """
    held: bool = water[code] <= value if sense == "max" else water[code] >= value
    return held


class Wanted:
    """The bits of one line's requirements: barrier, filter, restrictor, and "this analyte better, here", in degrees.

    "Here" is the entry, the tap, or ahead of a slot. Degrees are the shares that options can take out at most: where
    an analyte must fall to a share r and n slots can still help, one of them must take out 1 - r^(1/n) or more.
    """

    def __init__(self, line: Line, by_slot: Sequence[Sequence[Option]]) -> None:
        self.line = line
        shares = {option.index: shares_of(option) for row in by_slot for option in row}
        degrees: dict[str, set[float]] = {}
        for own in shares.values():
            for code, share in own.items():
                degrees.setdefault(code, set()).add(share)
        self._degrees = {code: sorted(found) for code, found in degrees.items()}
        self._first: dict[tuple[int, str], int] = {}  # the place of the first bit of a wish
        self._occupied = [slot for slot, row in enumerate(by_slot) if row]
        place = FREE
        for code in sorted(self._degrees):
            for where in (ENTRY, TAP_SIDE, *self._occupied):
                self._first[where, code] = place
                place += len(self._degrees[code])
        alike: dict[tuple[object, ...], int] = {}
        self._masks: dict[int, int] = {}
        for slot, row in enumerate(by_slot):
            for option in row:
                own = shares[option.index]
                key = (slot, option.stage.kind, has_barrier(option.stage), is_fine(option.stage), tuple(own.items()))
                if key not in alike:
                    alike[key] = self._mask(option, own)
                self._masks[option.index] = alike[key]
        self._limits: dict[int, Limits] = {}
        self._among(by_slot)

    def _among(self, by_slot: Sequence[Sequence[Option]]) -> None:
        self._reach = [
            (slot, {self._masks[option.index] for option in row}) for slot, row in enumerate(by_slot) if row
        ]
        self._last: dict[int, int] = {}
        self._helpers: dict[tuple[int, str], list[int]] = {}

    def among(self, by_slot: Sequence[Sequence[Option]]) -> Wanted:
        """The same bits, of which fewer options can do some."""
        other = Wanted.__new__(Wanted)
        other.__dict__.update(self.__dict__)
        other._among(by_slot)
        return other

    def covers(self, option: Option) -> int:
        """The requirements an option may help with."""
        return self._masks[option.index]

    def _mask(self, option: Option, shares: dict[str, float]) -> int:
        stage, found = option.stage, 0
        for code, share in shares.items():
            helped = (1 << (self._degrees[code].index(share) + 1)) - 1
            found |= helped << self._first[TAP_SIDE, code]
            if not option.at_tap:
                found |= helped << self._first[ENTRY, code]
                for slot in self._occupied:
                    if slot > option.slot:
                        found |= helped << self._first[slot, code]
        if has_barrier(stage):
            found |= BARRIER
        if stage.kind is StageKind.ULTRAFILTER or (stage.kind is StageKind.SEDIMENT and is_fine(stage)):
            found |= FILTER
        return found | HELD if stage.kind is StageKind.RESTRICTOR else found

    def limits(self, option: Option) -> Limits:
        """The hard limits of an option on what it is fed, but for its flow and what is let pass."""
        found = self._limits.get(option.index)
        if found is None:
            let = self.line.ignore
            found = self._limits[option.index] = {
                (limit.analyte, limit.sense): limit.value
                for limit in self.line.spot(option, self.line.brief.flow_l_min).limits
                if limit.hard
                and limit.analyte != "flow"
                and (limit.sense == "max" or limit.analyte in NAMED_BOTH_WAYS)
                and f"feed:{limit.analyte}" not in let
            }
        return found

    def last(self, bit: int) -> int:
        """The last slot in which a requirement can be met; -1 where none."""
        found = self._last.get(bit)
        if found is None:
            slots = [slot for slot, masks in self._reach if any(mask & bit for mask in masks)]
            found = self._last[bit] = max(slots, default=-1)
        return found

    def shared(self, known: Limits | None, option: Option) -> Limits:
        """Of limits known and those of one more option: those both have, the looser of each."""
        limits = self.limits(option)
        if known is None:
            return limits
        both = ((key, value, limits[key]) for key, value in known.items() if key in limits)
        return {key: max(one, other) if key[1] == "max" else min(one, other) for key, one, other in both}

    def ahead(self, bit: int, path: Path, code: str, sense: str, limit: float) -> int:
        """The bit of an analyte to be brought to a limit ahead of the last option that can meet a bit."""
        return self._better(self.last(bit), path, code, limit if sense == "max" else None)

    def bits(self, path: Path, armed: bool) -> Iterator[int]:
        """Goals, barrier, filter and restrictor not met by a path; ``armed`` = the barrier stands."""
        goals, water, let = self.line.brief.request.goals, path.water, self.line.ignore
        for where, name, wanted in ((ENTRY, "entry", goals.at_entry), (TAP_SIDE, "tap", goals.at_tap)):
            if where == ENTRY and path.at_tap:
                continue
            for code, limit in wanted.items():
                if code in water and water[code] > limit and f"goal:{code}:{name}" not in let:
                    yield self._better(where, path, code, limit)
        if "ph" in water and not path.at_tap and "goal:ph:entry" not in let:
            low, high = goals.ph_low, goals.ph_high
            if (low is not None and water["ph"] < low) or (high is not None and water["ph"] > high):
                yield self._better(ENTRY, path, "ph", None)
        if self.line.brief.held_by and StageKind.RESTRICTOR not in path.used and "peak" not in let:
            yield HELD
        if not armed and "barrier" not in let:
            yield BARRIER
            if not path.fine and "prefilter" not in let:
                yield FILTER

    def _better(self, where: int, path: Path, code: str, limit: float | None) -> int:
        """The bit of a wish; no limit = in whatever degree."""
        helpers = self._helpers.get((where, code))
        if helpers is None:
            some = 1 << self._first.get((where, code), 0)
            slots = [slot for slot, masks in self._reach if any(mask & some for mask in masks)]
            helpers = self._helpers[where, code] = slots
        left = [slot for slot in helpers if slot > path.slot]
        number = len(left) - max(sum(SLOTS[slot].kinds == ONCE for slot in left) - 1, 0)
        if not number:
            return NO_ONE
        first = self._first[where, code]
        if limit is None:
            return 1 << first
        share = max(limit, 0.0) / float(path.water[code])
        degree = bisect_left(self._degrees[code], 1.0 - share ** (1.0 / number) - ROUNDING)
        return NO_ONE if degree == len(self._degrees[code]) else 1 << (first + degree)


def shares_of(option: Option) -> dict[str, float]:
    """The largest share of each analyte that an option betters which it can take out.

    Units: fractions.
    Range: any option.
    Raises: nothing.
    Source: ``Stage.improves`` and ``Stage.most_removed``.

    >>> from types import SimpleNamespace as N
    >>> shares_of(N(stage=N(improves=lambda: ("iron", "ph"), most_removed=lambda: {"iron": 0.9})))
    {'iron': 0.9, 'ph': 1.0}
    """
    most = option.stage.most_removed()
    return {code: most.get(code, 1.0) for code in option.stage.improves()}
