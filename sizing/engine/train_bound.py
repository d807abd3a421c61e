"""What a line must still cost at least: the cheapest way to cover every requirement not met yet.

Requirements are bits: a goal at the entry or at the tap, the barrier, the filter ahead of it, and whatever *every*
option that could meet a requirement asks of its feed (that must be bettered ahead of the last of them). An option
covers what it may help with. The cheapest cover, one option in each slot at most, is found slot by slot, each of the
costs on its own; so no line costs less.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from sizing.engine.design import StageKind
from sizing.engine.stages.base import FeedLimit, Stage
from sizing.engine.train_floor import NOTHING, Costs, add, least_of
from sizing.engine.train_like import without_bettered
from sizing.engine.train_needs import FILTER, FILTER_AHEAD, MUST, Limits, Wanted, within_limit
from sizing.engine.train_order import RESTRICTOR_SLOT, SLOTS
from sizing.engine.train_path import SLACK, Line, Path
from sizing.engine.train_sketch import Sketches
from sizing.engine.train_spot import Option, Spot, kept
from sizing.engine.water import Water


@dataclass(eq=False)
class Group:
    """Options of one slot that may help with the same requirements, with the least each can cost."""

    slot: int
    covers: int
    least: Costs
    limits: tuple[FeedLimit, ...] = ()  # what every row asks of its feed
    rows: list[tuple[Costs, Option]] = field(default_factory=list)
    orders: dict[tuple[int, ...], list[tuple[Costs, Option]]] = field(default_factory=dict)

    def ordered(self, by: tuple[int, ...]) -> list[tuple[Costs, Option]]:
        """The rows, least first in the costs that count."""
        found = self.orders.get(by)
        if found is None:
            found = self.orders[by] = sorted(self.rows, key=lambda row: tuple(row[0][i] for i in by))
        return found


Rows = list[tuple[Costs, Option]]


class Bound:
    """Least remaining costs of a line's paths; ``costs`` = whether they count, or only whether there is a line.

    Rests on contracts of ``Stage``: ``improves`` and ``most_removed`` bound what a stage betters, ``too_small``
    refuses only what ``margins`` refuse, no feed undercuts ``least_upkeep`` and the calendar wear, and ``rank``,
    ``heeds`` and ``alters`` say what may be left out.
    """

    def __init__(self, line: Line, *, costs: bool = True) -> None:
        self.line, self.brief, self.costs = line, line.brief, costs
        self.must: int | None = None  # a slot that may not stay empty
        self._by_slot: list[list[Option]] = [[] for _ in SLOTS]
        tap = bool(self.brief.request.goals.at_tap)
        for option in line.options:
            if tap or not option.at_tap:  # without a goal there, nothing at the tap is of use
                self._by_slot[option.slot].append(option)
        self._rows: dict[tuple[int, float], Rows] = {}
        self._groups: dict[tuple[int, float], tuple[Group, ...]] = {}
        self._least: dict[tuple[int, int, float], Costs | None] = {}
        self._asked: dict[tuple[int, float], list[Limits]] = {}
        self._unmet: dict[tuple[object, ...], int] = {}
        self._barred: dict[tuple[int, int], bool] = {}

    def without(self, words: frozenset[str]) -> Bound:
        """The same with some kinds or product codes left out. What holds with them holds without."""
        other = Bound.__new__(Bound)
        shared = {"sketches": self.sketches, "flows": self.flows}
        other.__dict__.update(self.__dict__, **shared, _least={}, _groups={}, _rows={}, _asked={}, _unmet={})
        other.__dict__.pop("standing", None)
        other._by_slot = [
            [option for option in row if not words & {option.stage.kind.value, option.stage.product.code}]
            for row in self._by_slot
        ]
        for slot, row in enumerate(self._by_slot):
            if len(row) == len(other._by_slot[slot]):
                other._rows.update((key, rows) for key, rows in self._rows.items() if key[0] == slot)
                other._groups.update((key, made) for key, made in self._groups.items() if key[0] == slot)
        known = {option.index for row in self.standing for option in row}
        if all(option.index in known for row in other.standing for option in row):
            other.__dict__["wanted"] = self.wanted.among(other.standing)
        else:  # where an option is left out, one that it bettered in everything may stand
            for name in ("wanted", "sketches"):
                other.__dict__.pop(name, None)
            other._groups.clear()
        return other

    def holding(self, stage: Stage, slot: int) -> Bound:
        """The same for lines that hold a stage in a slot."""
        other = Bound(self.line)
        other.must = slot
        other._by_slot[slot] = [o for o in self.line.options if o.slot == slot and o.stage is stage]
        return other

    @cached_property
    def standing(self) -> list[list[Option]]:
        """In each slot the options that neither flow nor place refuses, and that no other betters in everything."""
        found: list[list[Option]] = []
        for slot in range(len(SLOTS)):
            there: dict[int, Option] = {}
            for flow in self.flows if slot > RESTRICTOR_SLOT else (self.brief.flow_l_min,):
                there.update((option.index, option) for _, option in self._standing(slot, flow))
            found.append(list(there.values()))
        return found

    @cached_property
    def flows(self) -> tuple[float, ...]:
        """The flows that can arrive behind the restrictors."""
        flow = self.brief.flow_l_min
        held = {self.line.spot(option, flow).flow_out for _, option in self._standing(RESTRICTOR_SLOT, flow)}
        return (flow, *sorted(held - {flow}))

    @cached_property
    def lift(self) -> float:
        """The most pressure a booster of the line adds at peak, kPa."""
        return max(
            (-self.line.dirty_loss(o) for o in self.line.options if o.stage.kind is StageKind.BOOSTER), default=0.0
        )

    @cached_property
    def wanted(self) -> Wanted:
        """The bits, and which option may help with which."""
        return Wanted(self.line, self.standing)

    @cached_property
    def sketches(self) -> Sketches:
        """When two waters are as good as one, for what may still stand behind a slot."""
        return Sketches(self.line, self.standing, costs=self.costs)

    def _standing(self, slot: int, flow_l_min: float) -> Rows:
        key = (slot, flow_l_min)
        found = self._rows.get(key)
        if found is None:
            line = self.line
            spots = [line.spot(option, flow_l_min) for option in self._by_slot[slot]]
            if slot != self.must:
                spots = [spot for spot in spots if not spot.idle and not line.needless(spot.option)]
            spots = [spot for spot in spots if line.lets_stand(spot)]
            floors = {spot.option.index: line.floor(spot) for spot in spots}
            spots = without_bettered(spots, floors, costs=self.costs)
            found = self._rows[key] = [(floors[spot.option.index], spot.option) for spot in spots]
        return found

    def groups(self, slot: int, flow_l_min: float) -> tuple[Group, ...]:
        """The options standing in a slot where no more than a flow can pass, by what they may help with."""
        key = (slot, flow_l_min)
        found = self._groups.get(key)
        if found is None:
            found = self._groups[key] = tuple(self._grouped(slot, flow_l_min))
        return found

    def _grouped(self, slot: int, flow_l_min: float) -> Iterable[Group]:
        made: dict[int, Group] = {}
        for costs, option in self._standing(slot, flow_l_min):
            covers = self.wanted.covers(option) | (MUST if slot == self.must else 0)
            group = made.get(covers)
            if group is None:
                group = made[covers] = Group(slot, covers, costs)
            group.rows.append((costs, option))
            group.least = least_of(group.least, costs)
        for group in made.values():
            group.limits = self._common([self.line.spot(option, flow_l_min) for _, option in group.rows])
        return made.values()

    def _common(self, spots: Sequence[Spot]) -> tuple[FeedLimit, ...]:
        """The feed limits that all of some spots have, the loosest of each, but for what is let pass."""
        let = self.line.ignore
        shared: dict[tuple[str, str], FeedLimit] = {}
        for place, spot in enumerate(spots):
            own = {
                (limit.analyte, limit.sense): limit
                for limit in spot.limits
                if limit.hard and limit.analyte not in ("flow", "temperature") and f"feed:{limit.analyte}" not in let
            }
            if place:
                own = {key: looser(own[key], held) for key, held in shared.items() if key in own}
            shared = own
        return tuple(shared.values())

    def barred(self, group: Group, path: Path) -> bool:
        """Whether what is fed refuses every row of a group at once."""
        key = (id(group), path.water_id)
        found = self._barred.get(key)
        if found is None:
            found = self._barred[key] = self._bars(group, path.water)
        return found

    def _bars(self, group: Group, water: Water) -> bool:
        values = water.values
        for limit in group.limits:
            value = values.get(limit.analyte)
            if value is not None and not kept(limit, value):
                return True
            if value is None and limit.required and f"missing:{limit.analyte}" not in self.line.ignore:
                return True
        if "size" in self.line.ignore:
            return False
        kinds = {type(option.stage): option.stage for _, option in group.rows}
        return all(stage.spoilt_by(water) for stage in kinds.values())

    def least(self, unmet: int, slot: int, flow_l_min: float) -> Costs | None:
        """Least costs to cover ``unmet`` with options in ``slot`` or later; ``None`` where nothing can."""
        if not unmet:
            return NOTHING
        if slot == len(SLOTS):
            return None
        key = (unmet, slot, flow_l_min)
        try:
            return self._least[key]
        except KeyError:
            found = self._least[key] = self._cover(unmet, slot, flow_l_min)
            return found

    def _cover(self, unmet: int, slot: int, flow_l_min: float) -> Costs | None:
        best = self.least(unmet, slot + 1, flow_l_min)
        for group in self.groups(slot, flow_l_min):
            if slot == RESTRICTOR_SLOT:
                for costs, option in group.rows:
                    passes = self.line.spot(option, flow_l_min).flow_out
                    best = _cheaper(best, costs, self.least(unmet & ~group.covers, slot + 1, passes))
            elif group.covers & unmet:
                best = _cheaper(best, group.least, self.least(unmet & ~group.covers, slot + 1, flow_l_min))
        return best

    def unmet(self, path: Path) -> int:
        """Requirements the path has not met yet."""
        armed = path.dose >= self.brief.barrier_dose - SLACK
        key = (
            path.water_id,
            path.slot,
            path.flow,
            path.fine,
            path.cyst,
            armed,
            path.used,
            path.logs,
            path.static,
            path.hot_id,
            path.owes,
        )
        found = self._unmet.get(key)
        if found is None:
            bits = list(self.wanted.bits(path, armed))
            found = sum(bits)
            for bit in bits:  # grows: what all that could meet a requirement ask of their feed
                for more in self._ahead(bit, path):
                    if not more & found:
                        found |= more
                        bits.append(more)
            self._unmet[key] = found
        return found | MUST if self.must is not None and path.slot < self.must else found

    def tap_wanted(self, unmet: int) -> bool:
        """Whether a stage at the tap can be of use: nothing but goals there calls for one."""
        return bool(unmet)

    def _ahead(self, bit: int, path: Path) -> Iterator[int]:
        """What every option that could meet a requirement from here on wants bettered first."""
        table = self._asked.get((bit, path.flow))
        if table is None:
            table = self._asked[bit, path.flow] = self._asks(bit, path.flow)
        for (code, sense), value in table[path.slot + 1].items():
            if (code, sense) == FILTER_AHEAD:
                if not self.wanted.filtered(path):
                    yield FILTER
            elif not within_limit(path.water, code, sense, value):
                yield self.wanted.ahead(bit, path, code, sense, value)

    def _asks(self, bit: int, flow_l_min: float) -> list[Limits]:
        """For each slot: the loosest of the limits that all options from there on have that could meet the bit."""
        table: list[Limits] = [{} for _ in range(len(SLOTS) + 1)]
        shared: Limits | None = None
        for slot in reversed(range(len(SLOTS))):
            for option in self.standing[slot]:
                if self.wanted.covers(option) & bit:
                    shared = self.wanted.shared(shared, option)
            table[slot] = shared or {}
        return table


def looser(one: FeedLimit, other: FeedLimit) -> FeedLimit:
    """The looser of two limits on one analyte; asked for only where both ask.

    Units: those of the limits.
    Range: two limits of one sense.
    Raises: nothing.
    Source: comparison.

    >>> looser(FeedLimit("iron", "max", 0.3, "", ""), FeedLimit("iron", "max", 1.0, "", "")).value
    1.0
    """
    wide = one if (one.value >= other.value) == (one.sense == "max") else other
    return wide if wide.required == (one.required and other.required) else replace(wide, required=False)


def _cheaper(known: Costs | None, costs: Costs, rest: Costs | None) -> Costs | None:
    if rest is None:
        return known
    whole = add(costs, rest)
    return whole if known is None else least_of(known, whole)
