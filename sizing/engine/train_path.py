"""A line built stage by stage: the water along it, what it has used up, and every limit it breaks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from types import MappingProxyType

from sizing.engine.cost import call_outs, first_cost
from sizing.engine.design import StageKind
from sizing.engine.hydraulics import PathPressure, path_pressure
from sizing.engine.log_credits import source_class
from sizing.engine.stages.base import Duty, Stage
from sizing.engine.stages.practice_figures import practice
from sizing.engine.train_duty import Brief
from sizing.engine.train_final import SLACK, final_faults, static_fault
from sizing.engine.train_floor import Costs, floor_costs
from sizing.engine.train_order import ONCE, SHEDDING, SLOTS
from sizing.engine.train_partial import PRESSING, Path, added, owed, pressed
from sizing.engine.train_spot import Fault, Option, Spot, place_faults
from sizing.engine.train_step import Feed
from sizing.engine.water import Water

__all__ = ["Line", "Path", "pressure_of"]

NO_LIMITS: Mapping[str, float] = MappingProxyType({})
SUMMED = ("pressure", "wall", "watts")  # families whose value grows from stage to stage
NOTED = (*ONCE, StageKind.RESTRICTOR, StageKind.JACKET)  # kinds the rest of a line depends on having met


class Line:
    """All that the paths of one request share: options, waters met, feeds worked out. ``ignore`` names families of
    faults that are let pass (to find out what would open a way), ``below`` up to which value where that matters."""

    def __init__(
        self,
        brief: Brief,
        options: Sequence[Option],
        ignore: frozenset[str] = frozenset(),
        below: Mapping[str, float] = NO_LIMITS,
    ) -> None:
        self.brief = brief
        self.options = tuple(options)
        self.ignore = ignore
        self.below = below
        self.seen: dict[str, Fault] = {}  # one fault of each family met, for the report
        self._waters: dict[tuple[tuple[str, float], ...], int] = {}
        self._feeds: dict[tuple[int, int, float], Feed] = {}
        self._out_ids: dict[int, int] = {}
        self._losses: dict[int, float] = {}
        self._spots: dict[tuple[int, float], Spot] = {}
        self._duties: dict[float, Duty] = {}
        self._bought: dict[int, int] = {}
        self._floors: dict[tuple[int, float], Costs] = {}
        self._least_waters: list[Water] = []
        self.germs = any(brief.logs)  # whether log credits are counted
        self._call_outs = int(call_outs(len(brief.duty.months_open), brief.request.cost) * 100)

    def lets(self, fault: Fault) -> bool:
        """Whether a fault is let pass."""
        return fault.family in self.ignore and fault.value < self.below.get(fault.family, math.inf)

    @property
    def most_loss(self) -> float:
        """The most pressure the stages may take, kPa."""
        if "pressure" in self.ignore:
            return self.below.get("pressure", math.inf) - SLACK
        return self.brief.stage_loss_budget_kpa + SLACK

    def most(self, family: str, there: float | None) -> float:
        """The most of wall or power that the stages may take; no limit = without end."""
        if family in self.ignore:
            return self.below.get(family, math.inf) - SLACK
        return math.inf if there is None else there + SLACK

    def letting(self, ignore: Iterable[str], below: Mapping[str, float] = NO_LIMITS) -> Line:
        """The same line with other families let pass; what was worked out is shared."""
        other = Line(self.brief, self.options, frozenset(ignore), below)
        other._waters, other._feeds = self._waters, self._feeds
        other._out_ids, other._losses = self._out_ids, self._losses
        other._spots, other._duties = self._spots, self._duties
        other._bought, other._floors = self._bought, self._floors
        other._least_waters = self._least_waters
        return other

    def start(self) -> Path:
        """The raw water at what the pump delivers."""
        water = self.brief.request.water
        path = Path(water, self._identity(water), self.brief.flow_l_min)
        path.static = self.brief.request.supply.cut_out_kpa
        return path

    def feed(self, path: Path, option: Option) -> Feed:
        """The option fed with the path's water."""
        key = (option.index, path.water_id, path.flow)
        found = self._feeds.get(key)
        if found is None:
            found = self._feeds[key] = Feed(self.spot(option, path.flow), path.water)
        return found

    def spot(self, option: Option, flow_l_min: float) -> Spot:
        """The option where no more than ``flow_l_min`` can pass."""
        key = (option.index, flow_l_min)
        found = self._spots.get(key)
        if found is None:
            base = self.brief.tap_duty if option.at_tap else self._duty(flow_l_min)
            if option.at_hot:
                base = self.brief.hot_at(flow_l_min)
            found = self._spots[key] = Spot(self.brief, option, flow_l_min, option.share(base))
        return found

    def _duty(self, flow_l_min: float) -> Duty:
        found = self._duties.get(flow_l_min)
        if found is None:
            found = self._duties[flow_l_min] = self.brief.at_flow(flow_l_min)
        return found

    def needless(self, option: Option) -> bool:
        """Whether it is a reducing valve or a jacket where nothing calls for one."""
        kind = option.stage.kind
        if kind is StageKind.JACKET:
            return not self.brief.dew_resistance
        return kind is StageKind.REDUCER and not self.strained

    @cached_property
    def strained(self) -> bool:
        """Whether the pressure at no flow, boosted or not, can be too much for the plumbing or a stage."""
        highest = self.brief.request.supply.cut_out_kpa
        boosters = [option.stage for option in self.options if option.stage.kind is StageKind.BOOSTER]
        boosted = highest + max((float(stage.product.ratings["shutoff_kpa"]) for stage in boosters), default=0.0)
        borne = [option.stage.most_kpa for option in self.options if option.stage.most_kpa is not None]
        return boosted > min([practice("plumbing_most"), *borne])

    @property
    def starved(self) -> bool:
        """Whether a line was refused because too little pressure was left, which a booster could mend."""
        return any(family in self.seen for family in ("pressure", "inlet"))

    def lets_stand(self, spot: Spot) -> bool:
        """Whether neither flow nor place refuses an option in a spot, but for what is let pass."""
        if spot.sound and next(self._flow_faults(spot), None) is None:
            return True
        if not self.ignore or (spot.too_small and "size" not in self.ignore):
            return False
        return all(self.lets(fault) for fault in (*place_faults(spot), *self._flow_faults(spot)))

    def floor(self, spot: Spot) -> Costs:
        """The least an option can cost in a spot, whatever it is fed."""
        option = spot.option
        key = (option.index, spot.flow_l_min)
        found = self._floors.get(key)
        if found is None:
            body = spot.body
            taken = (0.0, 0.0) if option.at_tap else (self.dirty_loss(option), body.wall_m)
            least = self._least_fed(option.slot)
            terms = self.brief.request.cost
            found = floor_costs(spot, terms, self.bought(option), (*taken, body.power_w), least)
            self._floors[key] = found
        return found

    def _least_fed(self, slot: int) -> Water:
        """What any feed in a slot has at least: of the raw water what nothing ahead of it betters."""
        if not self._least_waters:
            bettered: set[str] = set()
            for at in range(len(SLOTS)):
                raw = self.brief.request.water.values
                self._least_waters.append(Water({code: raw[code] for code in raw if code not in bettered}))
                for option in self.options:
                    if option.slot == at and not option.at_tap:
                        bettered.update(option.stage.improves())
        return self._least_waters[slot]

    def bought(self, option: Option) -> int:
        """First cost of an option, cents."""
        found = self._bought.get(option.index)
        if found is None:
            cost = first_cost(option.stage.product, option.count, self.brief.request.cost)
            found = self._bought[option.index] = int(cost * 100)
        return found

    def extend(self, path: Path, option: Option) -> Path:
        """The path with one more stage, admissible or not."""
        feed = self.feed(path, option)
        stage, needs = option.stage, feed.spot.body
        water = feed.out
        water_id = self._out_ids.get(id(feed))
        if water_id is None:
            water_id = self._out_ids[id(feed)] = self._identity(water)
        if option.at_hot:  # the cold water passes it by
            longer = Path(path.water, path.water_id, path.flow)
            longer.hot, longer.hot_id = water, water_id
        else:
            longer = Path(water, water_id, feed.flow_out)
            longer.hot, longer.hot_id = path.hot, path.hot_id
        longer.parent, longer.feed, longer.slot = path, feed, option.slot
        longer.fine, longer.cyst = (path.fine, path.cyst) if option.at_hot else self._filtered(path, stage)
        longer.dose = max(path.dose, feed.dose)
        longer.logs = added(path, feed) if self.germs else path.logs
        longer.owes = owed(path, stage) if path.owes or stage.kind is StageKind.CHLORINE else 0
        longer.used = (*path.used, stage.kind) if stage.kind in NOTED else path.used
        first = self.bought(option)
        running, upkeep = feed.running
        longer.first = path.first + first
        longer.life = path.life + first + running + (self._call_outs if path.feed is None else 0)
        longer.upkeep = path.upkeep + upkeep
        longer.watts = path.watts + needs.power_w
        longer.loss, longer.wall, longer.static = path.loss, path.wall, path.static
        if stage.kind in PRESSING:
            longer.static = pressed(path, stage)
        if not option.at_tap:
            longer.loss = self.held_back(path.loss, stage) + self.dirty_loss(option)
            longer.wall += needs.wall_m
        return longer

    def held_back(self, loss: float, stage: Stage) -> float:
        """Pressure taken ahead of a stage at peak, kPa: a valve takes what a booster added above its setting."""
        if stage.kind is not StageKind.REDUCER:
            return loss
        return max(loss, self.brief.request.supply.cut_in_kpa - float(stage.product.ratings["set_kpa"]))

    def dirty_loss(self, option: Option) -> float:
        """Pressure lost in a main-line option at peak with dirty filters, kPa."""
        found = self._losses.get(option.index)
        if found is None:
            found = self._losses[option.index] = float(option.loss(self.peak_at(option), dirty=True))
        return found

    def peak_at(self, option: Option) -> float:
        """The peak flow at an option, L/min."""
        return self.brief.hot_peak_l_min if option.at_hot else self.brief.peak_l_min

    def breaks(self, longer: Path) -> bool:
        """Whether the last step broke a limit; remembers one fault of each family met."""
        for fault in self.step_faults(longer):
            if not self.lets(fault):
                self.seen.setdefault(fault.family, fault)
                return True
        return False

    def refuses(self, path: Path, option: Option) -> bool:
        """Whether the stage itself is fed or asked outside its limits (looked at before the path is made longer)."""
        feed = self.feed(path, option)
        if feed.admissible:
            return False
        return not self.ignore or not all(self.lets(fault) for fault in feed.faults)

    @property
    def feeds(self) -> Iterable[Feed]:
        """Every option and water met so far."""
        return self._feeds.values()

    def step_faults(self, longer: Path) -> Iterator[Fault]:
        """Limits that the last step broke for the line as a whole."""
        feed, path = longer.feed, longer.parent
        assert feed is not None
        assert path is not None
        site, option, brief = self.brief.request.site, feed.option, self.brief
        stage = option.stage
        if longer.loss > brief.stage_loss_budget_kpa + SLACK:
            yield self.pressure_fault(longer.loss)
        if stage.most_kpa is not None and path.static > stage.most_kpa + SLACK:
            yield static_fault(option.name, path.static, stage.most_kpa)
        arriving = self.at_tap_kpa(path) if option.at_tap else brief.request.supply.cut_in_kpa - path.loss
        if 0 < feed.spot.body.min_inlet_kpa > arriving + SLACK:
            wanted = feed.spot.body.min_inlet_kpa
            text = f"{option.name} needs {wanted:.0f} kPa, {arriving:.0f} kPa arrive at cut-in"
            yield Fault(
                "inlet",
                f"pressure ahead of {option.name}",
                text,
                f"{wanted - arriving:.0f} kPa more ahead of {option.name}",
                wanted,
                arriving,
            )
        if site.wall_m is not None and longer.wall > site.wall_m + SLACK:
            yield self.wall_fault(longer.wall)
        if site.power_w is not None and longer.watts > site.power_w + SLACK:
            yield self.watts_fault(longer.watts)
        if stage.kind in ONCE and stage.kind in path.used:
            text = f"{option.name}: one {stage.kind.value} stage stands in the line already"
            yield Fault("order", "order of the stages", text, "one of them")
        yield from self._flow_faults(feed.spot)
        if stage.kind is StageKind.UV:
            yield from self._filter_faults(path, option)

    def at_tap_kpa(self, path: Path) -> float:
        """Pressure at the drinking tap at cut-in, nothing else drawn, kPa: what a booster adds at peak counts too."""
        brief, lift = self.brief, 0.0
        for feed in path.feeds if path.static > brief.request.supply.cut_out_kpa else ():
            if feed.option.stage.kind is StageKind.BOOSTER:
                lift = -self.dirty_loss(feed.option)
        return max(min(brief.request.supply.cut_in_kpa + lift, path.static) - brief.path.rise_kpa, 0.0)

    def pressure_fault(self, loss: float) -> Fault:
        """That the stages take more at peak than cut-in leaves them."""
        budget = self.brief.stage_loss_budget_kpa
        return Fault(
            "pressure",
            "pressure at the worst fixture",
            f"at peak with dirty filters the stages take {loss:.0f} kPa, at cut-in "
            f"{max(budget, 0.0):.0f} kPa are left for them",
            f"a cut-in pressure {max(loss - budget, 1.0):.0f} kPa higher",
            loss,
            budget,
        )

    def wall_fault(self, wall: float) -> Fault:
        """That the stages want more wall than there is."""
        there = self.brief.request.site.wall_m or 0.0
        text = f"the stages need {wall:.2f} m of wall, there is {there:.2f} m"
        return Fault("wall", "length of wall", text, f"{wall:.2f} m of wall", wall, there)

    def watts_fault(self, watts: float) -> Fault:
        """That the stages draw more power than there is."""
        there = self.brief.request.site.power_w or 0.0
        text = f"the stages draw {watts:.0f} W, the place gives {there:.0f} W"
        return Fault("watts", "power", text, f"{watts:.0f} W of power", watts, there)

    def _flow_faults(self, spot: Spot) -> Iterator[Fault]:
        stage, name = spot.option.stage, spot.option.name
        if stage.kind is not StageKind.RESTRICTOR:
            return
        held, peak = float(stage.product.ratings["flow_l_min"]), self.brief.peak_l_min
        if self.brief.held_by not in ("", stage.product.code):
            yield Fault("peak", "flow at peak", f"{name} is not the restrictor asked for", "the other one")
        if held < peak - SLACK:
            text = f"{name} holds {held:.3g} L/min, the house asks for {peak:.3g} L/min at peak"
            remedy = f"a household content with {held:.3g} L/min at peak ({name})"
            yield Fault("peak", "flow at peak", text, remedy, held, peak)

    def _filter_faults(self, path: Path, option: Option) -> Iterator[Fault]:
        if not path.fine:
            text = f"{option.name} has no filter of 5 um or finer directly ahead of it"
            yield Fault(
                "prefilter", "filter ahead of the UV", text, "a sediment cartridge of 5 um or finer ahead of the UV"
            )
        elif self.brief.cyst_prefilter and not path.cyst:
            water = source_class(self.brief.request.source)
            text = f"{option.name} treats {water}, and the filter ahead of it is not tested for cysts"
            yield Fault(
                "cysts",
                "cyst-tested filter ahead of the UV",
                text,
                "a cartridge of 1 um absolute, or certified for cysts, ahead of the UV",
            )

    def final_faults(self, path: Path) -> Iterator[Fault]:
        """Goals and barrier not met by the line as it stands."""
        if path.feed is None and self.brief.stage_loss_budget_kpa < -SLACK:
            yield self.pressure_fault(0.0)
        yield from final_faults(self.brief, path)

    def falls_short(self, path: Path) -> bool:
        """Whether a goal or the barrier is not met; remembers one fault of each family met."""
        for fault in self.final_faults(path):
            if not self.lets(fault):
                self.seen.setdefault(fault.family, fault)
                return True
        return False

    def walk(self, options: Iterable[Option]) -> tuple[Path, tuple[Fault, ...]]:
        """The whole line with all its faults, whatever they are."""
        path = self.start()
        found: list[Fault] = []
        for option in options:
            feed = self.feed(path, option)
            found += feed.faults
            path = self.extend(path, option)
            found += self.step_faults(path)
        found += self.final_faults(path)
        summed = {fault.family: fault for fault in found if fault.family in SUMMED}  # the last is the whole
        found = [fault for fault in found if summed.get(fault.family, fault) is fault]
        return path, tuple(fault for fault in found if not self.lets(fault))

    def _filtered(self, path: Path, stage: Stage) -> tuple[bool, bool]:
        if stage.kind in SHEDDING:
            return False, False
        if stage.kind is StageKind.ULTRAFILTER:
            return True, True
        if stage.kind is StageKind.SEDIMENT and getattr(stage, "fine", False):
            return True, path.cyst or bool(getattr(stage, "cyst_tested", False))
        return path.fine, path.cyst

    def _identity(self, water: Water) -> int:
        key = tuple(sorted((code, float(value)) for code, value in water.values.items()))
        return self._waters.setdefault(key, len(self._waters))


def pressure_of(line: Line, path: Path) -> PathPressure:
    """Pressure along a line at peak flow, filters dirty, pump at cut-in.

    Units: kPa.
    Range: any path of the line.
    Raises: as ``hydraulics.path_pressure``.
    Source: ``hydraulics.path_pressure``.

    >>> pressure_of.__name__
    'pressure_of'
    """
    brief = line.brief
    peak = brief.peak_l_min
    losses, taken = [], 0.0
    for option in (feed.option for feed in path.feeds if not feed.option.at_tap):
        behind = line.held_back(taken, option.stage) + line.dirty_loss(option)
        name = f"{option.name}, hot line at {line.peak_at(option):.3g} L/min" if option.at_hot else option.name
        losses.append((name, behind - taken))
        taken = behind
    return path_pressure(brief.request.supply, peak, losses, temperature_c=max(brief.duty.temperature_c, 0.0))
