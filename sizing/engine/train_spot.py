"""One stage in its place: what the flow and the place refuse, whatever the water."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from sizing.engine.design import Needs, StageKind
from sizing.engine.stages.accessories import Jacket, Reducer
from sizing.engine.stages.base import Duty, FeedLimit, Stage
from sizing.engine.stages.order import Breach
from sizing.engine.train_duty import Brief
from sizing.engine.train_order import HOT, SLOTS, TAP, order_faults, slots_for
from sizing.engine.water import ANALYTES, Number

WATER_ONLY = (StageKind.SCREEN, StageKind.UV)  # kinds that are of use only by what they do to the water


@dataclass(frozen=True)
class Fault:
    """A limit not kept. ``family`` groups faults that one change would mend ("drain", "backwash", "goal:iron").

    ``label`` names the limit, ``text`` says it with the numbers, ``remedy`` what would open the way, in words.
    """

    family: str
    label: str
    text: str
    remedy: str
    value: float = 0.0
    limit: float = 0.0


@dataclass(frozen=True, eq=False)
class Option:
    """A product (or ``count`` of them side by side) in a slot. ``index`` is its place in the list of options."""

    index: int
    slot: int
    stage: Stage
    count: int = 1
    at_tap: bool = field(init=False)  # whether it stands at the drinking tap
    at_hot: bool = field(init=False)  # whether it stands on the hot line, so that the cold water passes it by

    def __post_init__(self) -> None:
        object.__setattr__(self, "at_tap", SLOTS[self.slot].at == TAP)
        object.__setattr__(self, "at_hot", SLOTS[self.slot].at == HOT)

    @property
    def name(self) -> str:
        """Name of the product, with the number of units where there is more than one."""
        name = self.stage.product.name
        return name if self.count == 1 else f"{self.count} x {name}"

    def share(self, duty: Duty) -> Duty:
        """The duty of one unit."""
        if self.count == 1:
            return duty
        part = 1.0 / self.count
        return replace(
            duty,
            flow_l_min=duty.flow_l_min * part,
            peak_l_min=duty.peak_l_min * part,
            daily_l=duty.daily_l * part,
            tap_l_d=duty.tap_l_d * part,
            people=duty.people * part,
        )

    def loss(self, flow_l_min: Number, *, dirty: bool) -> Number:
        """Pressure lost at a flow through the whole line, kPa."""
        return self.stage.loss(flow_l_min / self.count, dirty=dirty)


def laid(stages: Sequence[Stage], units: Sequence[int], *, hot: bool) -> tuple[Option, ...]:
    """A line set by hand as options in the order in which water meets them: what stands on the hot line comes behind
    the main line, wherever it was listed. ``index`` keeps the place in the list.

    Units: counts.
    Range: as many ``units`` as stages; ``hot`` = only hot water is softened.
    Raises: ``ValueError`` for another number of units.
    Source: none needed.

    >>> class Softener: kind = StageKind.SOFTENER
    >>> class Uv: kind = StageKind.UV
    >>> [option.index for option in laid([Softener(), Uv()], [1, 1], hot=True)]
    [1, 0]
    """
    options = [
        Option(place, slots_for(stage, hot=hot)[0], stage, count)
        for place, (stage, count) in enumerate(zip(stages, units, strict=True))
    ]
    rest = [option for option in options if not option.at_hot]
    cut = next((place for place, option in enumerate(rest) if option.at_tap), len(rest))
    return (*rest[:cut], *(option for option in options if option.at_hot), *rest[cut:])


def breaches_in(options: Sequence[Option]) -> tuple[Breach, ...]:
    """Hard rules of order that a line breaks; what stands on the hot line has no order against the main line.

    Units: none.
    Range: any list; a breach's places are those in ``options``.
    Raises: nothing.
    Source: ``train_order.order_faults``.

    >>> breaches_in(())
    ()
    """
    places = [place for place, option in enumerate(options) if not option.at_hot]
    found = order_faults([options[place].stage for place in places])
    return tuple(replace(b, first=places[b.first], second=places[b.second]) for b in found)


def name_of(analyte: str) -> str:
    """The analyte's name in the middle of a sentence.

    Units: none.
    Range: any code; "flow" and unknown codes are returned as they are.
    Raises: nothing.
    Source: the engine's table of analytes.

    >>> name_of("iron"), name_of("e_coli"), name_of("flow")
    ('iron', 'E. coli', 'flow')
    """
    found = ANALYTES.get(analyte)
    if found is None:
        return analyte.replace("_", " ")
    plain = found.name.split(",")[0]
    keep = analyte in ("ph", "uvt", "e_coli", "pfas") or not plain[1:2].islower()
    return plain if keep else plain[0].lower() + plain[1:]


def unit_of(analyte: str) -> str:
    """The analyte's unit with its basis, ready to stand after a number.

    Units: none.
    Range: any code.
    Raises: nothing.
    Source: the engine's table of analytes.

    >>> unit_of("hardness"), unit_of("ph"), unit_of("flow")
    (' mg/L as CaCO3', '', ' L/min')
    """
    if analyte == "flow":
        return " L/min"
    found = ANALYTES.get(analyte)
    words = " ".join(part for part in (found.unit, found.basis) if part) if found else ""
    return f" {words}" if words else ""


def has_barrier(stage: Stage) -> bool:
    """Whether a stage earns log credit as a barrier against germs.

    Units: none.
    Range: any stage.
    Raises: nothing.
    Source: the stage itself says so.

    >>> from types import SimpleNamespace as N
    >>> has_barrier(N(is_barrier=True)), has_barrier(N())
    (True, False)
    """
    return bool(getattr(stage, "is_barrier", False))


class Spot:
    """An option at the most that can pass there: all that does not hang on the water. ``duty`` is one unit's."""

    __slots__ = ("_body", "_limits", "_sound", "brief", "duty", "flow_l_min", "option")

    def __init__(self, brief: Brief, option: Option, flow_l_min: float, duty: Duty) -> None:
        self.brief, self.option, self.flow_l_min, self.duty = brief, option, flow_l_min, duty
        self._limits: tuple[FeedLimit, ...] | None = None
        self._body: Needs | None = None
        self._sound: bool | None = None

    @property
    def limits(self) -> tuple[FeedLimit, ...]:
        """The stage's feed limits at this duty."""
        if self._limits is None:
            self._limits = self.option.stage.feed_limits(self.duty)
        return self._limits

    @property
    def body(self) -> Needs:
        """What all units ask of the place, but for what hangs on the water."""
        if self._body is None:
            self._body = together(self.option.stage.body(self.duty), self.option.count)
        return self._body

    @property
    def too_small(self) -> bool:
        """Whether the flow alone refuses it."""
        if self.option.stage.too_small(self.duty):
            return True
        flow = self.duty.flow_l_min
        return any(limit.hard and not kept(limit, flow) for limit in self.limits if limit.analyte == "flow")

    @property
    def sound(self) -> bool:
        """Whether neither the flow nor the place refuses it."""
        if self._sound is None:
            self._sound = not self.option.stage.too_small(self.duty) and self._placed()
        return self._sound

    def _placed(self) -> bool:
        return next(place_faults(self), None) is None and not self.too_small

    @property
    def idle(self) -> bool:
        """Whether it changes nothing: it alters no water and earns no credit, or is a restrictor that holds nothing
        back here."""
        stage = self.option.stage
        if stage.kind is StageKind.RESTRICTOR:
            return self.flow_out >= self.flow_l_min and stage.product.code != self.brief.held_by
        inert = stage.kind in WATER_ONLY and not has_barrier(stage)
        earns = any(stage.most_credit(self.duty).values())
        return inert and not earns and stage.heeds() is not None and not stage.alters()

    @property
    def flow_out(self) -> float:
        """The most that can pass behind it, L/min."""
        if self.option.stage.kind is StageKind.RESTRICTOR:
            return min(self.flow_l_min, float(getattr(self.option.stage, "passes_l_min", self.flow_l_min)))
        return self.flow_l_min


def kept(limit: FeedLimit, value: Number) -> bool:
    """Whether a value keeps a feed limit (all draws, for an array).

    Units: the limit's.
    Range: any number.
    Raises: nothing.
    Source: comparison.

    >>> kept(FeedLimit("iron", "max", 0.3, "", ""), 0.3), kept(FeedLimit("ph", "min", 6.8, "", ""), 6.5)
    (True, False)
    """
    held = value <= limit.value if limit.sense == "max" else value >= limit.value
    return held if held is True or held is False else bool(np.all(held))


def together(one: Needs, count: int) -> Needs:
    """What some units ask of the place together; they are backwashed one after the other.

    Units: as ``Needs``.
    Range: count 1 or more.
    Raises: nothing.
    Source: sums of power, wall and water held.

    >>> together(Needs(power_w=5.0, wall_m=0.4, backwash_l_min=20.0), 2).power_w
    10.0
    """
    if count == 1:
        return one
    return replace(one, power_w=one.power_w * count, wall_m=one.wall_m * count, holds_litres=one.holds_litres * count)


def place_faults(spot: Spot) -> Iterator[Fault]:
    """What the place cannot give a stage, whatever its water: backwash flow, drain, power, warmth, depth, height.

    Units: canonical.
    Range: any spot.
    Raises: nothing.
    Source: needs of the stage against the limits of the place, as given. A tap unit drains into the sink.

    >>> from types import SimpleNamespace as N
    >>> site = N(drain=False, power="mains", winter_heated=True, depth_m=None, height_m=None)
    >>> option = N(name="Softener", at_tap=False, stage=N(product=N(ratings={})))
    >>> spot = N(brief=N(request=N(site=site)), option=option, body=Needs(drain=True), duty=N(pump_l_min=30.0))
    >>> [fault.text for fault in place_faults(spot)]
    ['Softener needs a drain, there is none']
    """
    site, needs, option = spot.brief.request.site, spot.body, spot.option
    pump, wash, at_tap = spot.duty.pump_l_min, needs.backwash_l_min, option.at_tap
    if wash > pump:
        text = f"{option.name} needs {wash:.3g} L/min to backwash, the pump gives {pump:.3g} L/min"
        yield Fault(
            "backwash",
            f"backwash of {option.name}",
            text,
            f"a pump that gives {wash:.3g} L/min for the backwash",
            wash,
            pump,
        )
    if needs.drain and not site.drain and not at_tap:
        text = f"{option.name} needs a drain, there is none"
        yield Fault("drain", f"drain for {option.name}", text, "a drain with an air gap in reach")
    if needs.power_w > 0:
        supplied = option.stage.product.ratings.get("supply", "mains")
        if site.power == "none":
            text = f"{option.name} needs {needs.power_w:.3g} W, there is no power"
            yield Fault("power", f"power for {option.name}", text, f"{needs.power_w:.3g} W of power", needs.power_w)
        elif site.power == "12v" and supplied == "mains":
            yield Fault(
                "power",
                f"power for {option.name}",
                f"{option.name} runs on mains, the place has 12 V",
                "mains power, or a 12 V unit",
            )
    yield from _accessory_faults(spot)
    if not site.winter_heated and not needs.drainable and not needs.portable:
        text = f"{option.name} can be neither drained nor carried home, and the place is not heated in winter"
        yield Fault("winter", f"{option.name} in winter", text, "heat in winter where it stands")
    for what, value, limit in (("depth", needs.depth_m, site.depth_m), ("height", needs.height_m, site.height_m)):
        if limit is not None and value > limit and not at_tap:
            text = f"{option.name} needs {value:.2f} m of {what}, there is {limit:.2f} m"
            yield Fault(what, f"{what} for {option.name}", text, f"{value:.2f} m of {what}", value, limit)


def _accessory_faults(spot: Spot) -> Iterator[Fault]:
    """A jacket that does not fit the tank or is too thin for the room's air; a valve set below cut-in."""
    stage, name = spot.option.stage, spot.option.name
    if not isinstance(stage, Reducer | Jacket):
        return
    supply = spot.brief.request.supply
    if isinstance(stage, Reducer):
        held = float(stage.product.ratings["set_kpa"])
        if held < supply.cut_in_kpa:
            text = f"{name} holds {held:.0f} kPa, less than the cut-in of {supply.cut_in_kpa:.0f} kPa"
            yield Fault("size", f"setting of {name}", text, f"a valve set to {supply.cut_in_kpa:.0f} kPa or more")
    else:
        across, tall, wanted = supply.tank_diameter_m, supply.tank_height_m, spot.brief.dew_resistance
        if across is not None and tall is not None and not stage.fits(across, tall):
            text = f"{name} does not fit a tank {across:.2f} m across and {tall:.2f} m high"
            yield Fault("size", f"size of {name}", text, f"a jacket for {across:.2f} x {tall:.2f} m")
        if stage.resistance < wanted:
            thick = wanted * float(stage.product.ratings["conductivity_w_mk"]) * 1000.0
            made = float(stage.product.ratings["thickness_m"]) * 1000.0
            text = (
                f"{name} is {made:.0f} mm thick, {thick:.0f} mm of its foam are needed to stay dry in the room's air"
            )
            yield Fault("size", f"thickness of {name}", text, f"a jacket of {thick:.0f} mm", made, thick)
