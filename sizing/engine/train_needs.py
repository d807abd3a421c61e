"""What is wanted of a line, as bits, and which option may help with which."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from types import MappingProxyType

from sizing.engine.design import StageKind
from sizing.engine.log_credits import ORGANISMS
from sizing.engine.stages.base import FeedLimit, Stage
from sizing.engine.stages.practice_figures import practice
from sizing.engine.train_final import SLACK, judged_waters
from sizing.engine.train_order import ONCE, SLOTS, is_fine
from sizing.engine.train_partial import CLEARING, CONTACT, PARTICLES
from sizing.engine.train_path import Line, Path
from sizing.engine.train_spot import Option, has_barrier
from sizing.engine.water import Water

NAMED_BOTH_WAYS = ("uvt", "ph")  # analytes whose rise ``improves`` names as well as their fall
ROUNDING = 1e-9

Limits = dict[tuple[str, str], float]
"""(analyte, "max" or "min") to value."""

ENTRY, TAP_SIDE, HOT_SIDE = -1, -2, -3  # where an analyte is wanted better; 0 and up = ahead of a slot
WHERE = MappingProxyType({"entry": ENTRY, "hot": HOT_SIDE, "tap": TAP_SIDE})
FILTER_AHEAD = ("filter", "ahead")  # stands among the limits of every UV
NO_ONE, MUST, BARRIER, FILTER, HELD, REDUCED, DRY = 1, 2, 4, 8, 16, 32, 64  # bits; the first is what no option can do
TIMED, CLEARED = 128, 256
ALTERED, BROUGHT = "+", "?"
FREE = 9  # the place of the first bit that is an analyte's


DOES = MappingProxyType(
    {
        StageKind.RESTRICTOR: HELD,
        StageKind.REDUCER: REDUCED,
        StageKind.JACKET: DRY,
        StageKind.RETENTION: TIMED,
        **dict.fromkeys(CLEARING, CLEARED),
    }
)


def within_limit(water: Water, code: str, sense: str, value: float) -> bool:
    """Whether a water keeps one of ``Limits``; what was not measured keeps all but "known".

    Units: those of the analyte.
    Range: any code.
    Raises: nothing.
    Source: comparison.

    >>> within_limit(Water({"iron": 0.2}), "iron", "max", 0.3), within_limit(Water({}), "?uvt", "known", 0.0)
    (True, False)
    """
    found = water.get(code.removeprefix(ALTERED).removeprefix(BROUGHT))
    if sense == "known" or found is None:
        return sense != "known" or found is not None
    held: bool = found <= value if sense == "max" else found >= value
    return held


class Wanted:
    """The bits of one line's requirements: barrier, filter, restrictor, and "this analyte better, here", in degrees.

    "Here" is the entry, the tap, or ahead of a slot. Degrees are the shares that options can take out at most: where
    an analyte must fall to a share r and n slots can still help, one of them must take out 1 - r^(1/n) or more.
    """

    def __init__(self, line: Line, by_slot: Sequence[Sequence[Option]]) -> None:
        self.line = line
        self._limits: dict[int, Limits] = {}
        asked = {code for row in by_slot for option in row for code, _ in self.limits(option)}
        self._raised = {code.removeprefix(ALTERED) for code in asked if code.startswith(ALTERED)}
        shares = {option.index: self._degrees_of(option) for row in by_slot for option in row}
        degrees: dict[str, set[float]] = {}
        for own in shares.values():
            for code, share in own.items():
                degrees.setdefault(code, set()).add(share)
        self._degrees = {code: sorted(found) for code, found in degrees.items()}
        self._first: dict[tuple[int, str], int] = {}  # the place of the first bit of a wish
        self._occupied = [slot for slot, row in enumerate(by_slot) if row]
        place = FREE
        for code in sorted(self._degrees):
            for where in (ENTRY, TAP_SIDE, *((HOT_SIDE,) if line.brief.hot else ()), *self._occupied):
                self._first[where, code] = place
                place += len(self._degrees[code])
        alike: dict[tuple[object, ...], int] = {}
        self._masks: dict[int, int] = {}
        for slot, row in enumerate(by_slot):
            for option in row:
                own = shares[option.index]
                stage = option.stage
                key = (slot, stage.kind, has_barrier(stage), self._filters(stage), tuple(own.items()))
                if key not in alike:
                    alike[key] = self._mask(option, own)
                self._masks[option.index] = alike[key]
        self._among(by_slot)

    def _degrees_of(self, option: Option) -> dict[str, float]:
        """What an option can better, with the largest share it takes out, and the most logs it earns."""
        stage = option.stage
        found = shares_of(option)
        changes = self._raised if stage.heeds() is None and not stage.alters() else stage.alters()
        found |= {altered(code): 1.0 for code in changes if code in self._raised}
        found |= {brought(code): 1.0 for code in stage.brings()}
        if self.line.germs:
            duty = self.line.spot(option, self.line.brief.flow_l_min).duty
            found |= {germ(name): logs for name, logs in stage.most_credit(duty).items() if logs > 0}
        return found

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
            if not option.at_tap and self.line.brief.hot:
                found |= helped << self._first[HOT_SIDE, code]
            if option.at_hot:
                continue
            found |= helped << self._first[TAP_SIDE, code]
            if not option.at_tap:
                found |= helped << self._first[ENTRY, code]
                for slot in self._occupied:
                    if slot > option.slot:
                        found |= helped << self._first[slot, code]
        if has_barrier(stage):
            found |= BARRIER
        if self._filters(stage):
            found |= FILTER
        return found | DOES.get(stage.kind, 0)

    def _filters(self, stage: Stage) -> bool:
        """Whether it is a filter that may stand ahead of a UV here."""
        if stage.kind is StageKind.ULTRAFILTER:
            return True
        fine = stage.kind is StageKind.SEDIMENT and is_fine(stage)
        return fine and (not self.line.brief.cyst_prefilter or bool(getattr(stage, "cyst_tested", False)))

    def filtered(self, path: Path) -> bool:
        """Whether a filter stands ahead of a UV that comes now, or none is asked for."""
        if self.line.brief.cyst_prefilter and "cysts" not in self.line.ignore:
            return path.cyst or "prefilter" in self.line.ignore
        return path.fine or "prefilter" in self.line.ignore

    def limits(self, option: Option) -> Limits:
        """The hard limits of an option on what it is fed, but for its flow and what is let pass."""
        found = self._limits.get(option.index)
        if found is None:
            found = self._limits[option.index] = {}
            for limit in self.line.spot(option, self.line.brief.flow_l_min).limits:
                self._note(found, limit)
            if option.stage.kind is StageKind.UV:
                found[FILTER_AHEAD] = 0.0
        return found

    def _note(self, found: Limits, limit: FeedLimit) -> None:
        code, let = limit.analyte, self.line.ignore
        if code in ("flow", "temperature"):
            return
        if limit.hard and f"feed:{code}" not in let:
            named = limit.sense == "max" or code in NAMED_BOTH_WAYS
            found[code if named else altered(code), limit.sense] = limit.value
        if limit.required and f"missing:{code}" not in let:
            found[brought(code), "known"] = 0.0

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
        goals, let = self.line.brief.request.goals, self.line.ignore
        for name, water, wanted in judged_waters(self.line.brief, path):
            where = WHERE[name]
            if where != TAP_SIDE and path.at_tap:
                continue
            for code, limit in wanted.items():
                if code in water and water[code] > limit and f"goal:{code}:{name}" not in let:
                    yield self._better(where, path, code, limit)
        water = path.water
        if "ph" in water and not path.at_tap and "goal:ph:entry" not in let:
            low, high = goals.ph_low, goals.ph_high
            if (low is not None and water["ph"] < low) or (high is not None and water["ph"] > high):
                yield self._better(ENTRY, path, "ph", None)
        if self.line.brief.held_by and StageKind.RESTRICTOR not in path.used and "peak" not in let:
            yield HELD
        if self.line.brief.dew_resistance > 0 and StageKind.JACKET not in path.used and "sweat" not in let:
            yield DRY
        if path.static > practice("plumbing_most") + SLACK and "static" not in let:
            yield REDUCED
        if path.owes & CONTACT and "contact" not in let:
            yield TIMED
        if path.owes & PARTICLES and "particles" not in let:
            yield CLEARED
        for organism, asked, earned in zip(ORGANISMS, self.line.brief.logs, path.logs, strict=True):
            if earned < asked - SLACK and f"logs:{organism}" not in let:
                yield self._credited(path, organism, asked - earned)
        if not armed and "barrier" not in let:
            yield BARRIER

    def _better(self, where: int, path: Path, code: str, limit: float | None) -> int:
        """The bit of a wish; no limit = in whatever degree."""
        number = self._left(where, code, path)
        if not number:
            return NO_ONE
        first = self._first[where, code]
        if limit is None:
            return 1 << first
        share = max(limit, 0.0) / float(path.water[code])
        degree = bisect_left(self._degrees[code], 1.0 - share ** (1.0 / number) - ROUNDING)
        return NO_ONE if degree == len(self._degrees[code]) else 1 << (first + degree)

    def _credited(self, path: Path, organism: str, logs: float) -> int:
        """The bit of log credit still wanted: where n slots can still earn it, one must earn the n-th part."""
        code = germ(organism)
        number = self._left(ENTRY, code, path)
        if not number:
            return NO_ONE
        degree = bisect_left(self._degrees[code], logs / number - ROUNDING)
        return NO_ONE if degree == len(self._degrees[code]) else 1 << (self._first[ENTRY, code] + degree)

    def _left(self, where: int, code: str, path: Path) -> int:
        """In how many slots from here on something can be done for a wish."""
        helpers = self._helpers.get((where, code))
        if helpers is None:
            some = 1 << self._first.get((where, code), 0)
            slots = [slot for slot, masks in self._reach if any(mask & some for mask in masks)]
            helpers = self._helpers[where, code] = slots
        left = [slot for slot in helpers if slot > path.slot]
        return len(left) - max(sum(SLOTS[slot].kinds == ONCE for slot in left) - 1, 0)


def altered(code: str) -> str:
    """The name under which "anything done to an analyte" stands beside the analytes bettered.

    Units: none.
    Range: any code.
    Raises: nothing.
    Source: none needed.

    >>> altered("free_chlorine")
    '+free_chlorine'
    """
    return f"{ALTERED}{code}"


def brought(code: str) -> str:
    """The name under which "made known" stands beside the analytes bettered.

    Units: none.
    Range: any code.
    Raises: nothing.
    Source: none needed.

    >>> brought("free_chlorine")
    '?free_chlorine'
    """
    return f"{BROUGHT}{code}"


def germ(organism: str) -> str:
    """The name under which log credit against an organism stands beside the analytes.

    Units: none.
    Range: ``log_credits.ORGANISMS``.
    Raises: nothing.
    Source: none needed.

    >>> germ("virus")
    'germ:virus'
    """
    return f"germ:{organism}"


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
