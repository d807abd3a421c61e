"""The ends of a water path: the source with its pump, the tank, the untreated branch, the split and the taps."""

from __future__ import annotations

from sizing.drawing.cells import SMALL, Lead
from sizing.drawing.element import group, number, path, words
from sizing.drawing.glyphs import fragment
from sizing.drawing.metrics import balanced, broken
from sizing.drawing.path import AXIS, FLOOR_Y, LINE
from sizing.drawing.pipes import pipe
from sizing.drawing.values import PathSource, PumpPlace, Standing, WaterPath
from sizing.engine.design import SourceType

SPOUT = (
    '<path class="o" d="M0 -4.5H14Q24 -4.5 24 6V10H15V7Q15 4.5 12 4.5H0Z"/><path class="d" d="M9 -4.5V-10M4 -11H14"/>'
)
_FOOT_VALVE = '<path class="o" d="M28 240h12l-3 10h-6z"/>'
_LEVEL = path("d", "M8 192h14M11 196h8M9 180h12l-6 6z")
_OPEN = (
    path("w", "M0 186H70L52 262H0Z")
    + path("wl", "M0 186H70")
    + _LEVEL
    + path("bank", "M82 208L70 186M70 186L52 262H0")
)
_BODIES: dict[SourceType, str] = {
    SourceType.LAKE: _OPEN + path("d", "M44 200h14M6 216h14M42 236h12M8 248h10"),
    SourceType.RIVER: _OPEN
    + path(
        "d", "M42 198h18M55 195l5 3l-5 3M2 214h18M15 211l5 3l-5 3M40 226h16M51 223l5 3l-5 3M4 246h16M15 243l5 3l-5 3"
    ),
    SourceType.DRILLED_WELL: path("s", "M26 192h20v74h-20z")
    + path("w", "M26 230h20v36h-20z")
    + path("n", "M26 266V192H46V266")
    + path("wl", "M26 230h20")
    + path("d", "M8 222h12l-6 7zM4 230H24M8 234h12M11 238h6")
    + path("so2", "M54 222h12M58 240h8M52 256h14M4 256h12"),
    SourceType.DUG_WELL: path("s", "M8 196H64V266H8Z")
    + path("w", "M14 228H58V266H14Z")
    + path("o", "M8 196H14V266H8ZM58 196H64V266H58Z")
    + path("d", "M8 210H14M8 224H14M8 238H14M8 252H14M58 210H64M58 224H64M58 238H64M58 252H64")
    + path("wl", "M14 228H58")
    + path("d", "M16 220h10l-5 6zM42 240h10M44 244h6")
    + path("o", "M4 190H68V196H4Z"),
    SourceType.CISTERN: path("s", "M4 200H68V262H4Z")
    + path("w", "M7 222H65V259H7Z")
    + path("n", "M4 200H68V262H4ZM7 203H65V259H7Z")
    + path("wl", "M7 222H65")
    + path("d", "M46 214h10l-5 6zM44 230h14M47 234h8")
    + path("o", "M44 194H60V200H44Z")
    + path("n", "M0 112L20 124")
    + path("d", "M16 126H26V130Q21 135 16 130ZM21 133V200"),
    SourceType.SPRING: path("s", "M6 190H64V262H6Z")
    + path("w", "M10 222H60V258H10Z")
    + path("n", "M6 190H64V262H6ZM10 194H60V258H10Z")
    + path("wl", "M10 222H60")
    + path("d", "M0 230q5 -3 10 0M0 238q5 -3 10 0M0 246q5 -3 10 0M46 214h10l-5 6z"),
}
_HIGH_SPRING = (
    path("bank", "M0 54H8M44 86L64 112L78 208")
    + path("so2", "M0 60l6 8M2 76l6 8M48 98l-6 7M56 116l-6 7M62 136l-6 7M66 158l-6 7M69 180l-6 7")
    + path("s", "M8 56H44V94H8Z")
    + path("w", "M8 70H44V94H8Z")
    + path("n", "M8 56H44V94H8Z")
    + path("wl", "M8 70H44")
    + path("o", "M6 51H46V56H6Z")
    + path("d", "M0 78q4 -3 8 0M0 85q4 -3 8 0M26 62h10l-5 6z")
)
_PANEL = (
    path("e", "M0 13V40")
    + path("o", "M-16 10L-8 -10H20L12 10Z")
    + path("d", "M-12 0H16M-5.500 10L2.500 -10M4 10L12 -10")
    + '<circle class="d" cx="-14" cy="-24" r="5"/>'
    + path(
        "d",
        "M-14 -32v-3M-14 -13v-3M-6 -24h3M-25 -24h3M-8 -30l2 -2M-20 -18l-2 2M-8 -18l2 2M-20 -30l-2 -2",
    )
)


def source_water(source: PathSource) -> str:
    """The body of water and what holds it."""
    if source.kind is SourceType.SPRING and source.pump_place is PumpPlace.NONE:
        return group("src", _HIGH_SPRING)
    return group("src", _BODIES[source.kind])


def source_pipe(source: PathSource, to: float, standing: Standing) -> str:
    """Suction or riser from the water to x = ``to`` on the axis."""
    end = f"V{AXIS}H{number(to)}"
    if source.pump_place is PumpPlace.FLOOR:
        return pipe(standing, "M34 240V178H89", thin=True) + pipe(standing, f"M106 161{end}")
    if source.pump_place is PumpPlace.NONE:
        if source.kind is SourceType.SPRING:
            return pipe(standing, f"M44 88H72V{AXIS}H{number(to)}" if to < 60 else f"M44 {AXIS}H{number(to)}")
        return pipe(standing, f"M34 240{end}")
    return pipe(standing, f"M36 240{end}")


def floor_start(source: PathSource) -> float:
    """Where the floor line begins, px."""
    if source.kind is SourceType.SPRING and source.pump_place is PumpPlace.NONE:
        return 78.0
    return 82.0 if source.kind in (SourceType.LAKE, SourceType.RIVER) else 0.0


def source_things(path_: WaterPath, lead: Lead) -> str:
    """Foot valve, pump, solar mark and the words of the source."""
    source = path_.source
    parts: list[str] = []
    high = source.kind is SourceType.SPRING and source.pump_place is PumpPlace.NONE
    if source.pump_place is PumpPlace.INTAKE:
        parts.append(path("k", "M32 240h8v18h-8z"))
    elif not high:
        parts.append(_FOOT_VALVE)
    if source.pump_place is PumpPlace.FLOOR:
        parts.append(group("gl", fragment("pump"), at=(106, AXIS)))
    if source.solar:
        parts.append(_solar(source.pump_place))
    room = (lead.branch - 24 if lead.branch else lead.point - 40) - 0
    name = balanced(source.name, 12.5, "semibold") if room < 60 else (source.name,)
    for k, line in enumerate(name):
        parts.append(words("b", 0, 17 + LINE * k, line))
    y = 17 + LINE * len(name) + 1
    highest = 3 - len(name) if lead.tank is None or room < 150 else 3
    for k, line in enumerate(broken(source.detail, max(80, min(room, 170)), SMALL, most=max(1, highest))):
        parts.append(words("sm", 0, y + LINE * k, line))
    return "".join(parts)


def _solar(pump: PumpPlace) -> str:
    """The solar mark: a panel in the sun, its cord to the pump."""
    if pump is PumpPlace.FLOOR:
        return path("e", "M62 160V172H90") + group("solar", _PANEL, at=(62, 132))
    return path("e", "M70 168V202H46") + group("solar", _PANEL, at=(70, 132))


def tank_things(path_: WaterPath, lead: Lead) -> str:
    """The pressure tank with its gauge and its words under the floor."""
    if path_.tank is None or lead.tank is None:
        return ""
    return (
        group("gl", fragment("ptank"), at=(lead.tank, AXIS))
        + words("sm tm", lead.tank, FLOOR_Y + 20, path_.tank.pressure)
        + words("sm tm", lead.tank, FLOOR_Y + 34, path_.tank.volume)
    )


def branch_pipe(lead: Lead, standing: Standing) -> str:
    """The riser of the untreated tap."""
    if lead.branch is None:
        return ""
    x = number(lead.branch)
    return pipe(standing, f"M{x} 89.5V58H{number(lead.branch + 10)}")


def branch_things(path_: WaterPath, lead: Lead) -> str:
    """The untreated tap and its words."""
    if path_.branch is None or lead.branch is None:
        return ""
    left = lead.branch - 10
    name = broken(path_.branch.name, lead.point - left + 10, 12.5, "semibold")
    texts = [words("b", left, 16 - LINE * (len(name) - 1) + LINE * k, line) for k, line in enumerate(name)]
    return group("tap", SPOUT, at=(lead.branch + 10, 58)) + "".join(texts) + words("sm", left, 30, path_.branch.note)
