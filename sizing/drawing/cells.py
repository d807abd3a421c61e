"""How wide each part of a water path must be: widths of words, glyphs and ledger columns, in px."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from sizing.drawing.glyphs import glyph_of
from sizing.drawing.marks import tag_width
from sizing.drawing.metrics import balanced, broken, text_width
from sizing.drawing.speech import say
from sizing.drawing.values import PathPoint, PathStage, PumpPlace, StageState, WaterPath
from sizing.engine.design import SourceType

BODY: Final = 12.5
SMALL: Final = 12.0
VALUE: Final = 14.0
HOT_SCALE: Final = 0.4  # of a glyph on the hot line, so that it stands above the cold one
_NO_BREAK = "\u00a0"
_UNITS = r"(?:µm|um|mm|cm|m|L|gal|gpm|in|ft|ft³|psi|kPa|W|L/min|mJ/cm²|%)"
COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True)
class Lead:
    """What stands before the first point: source, pump, tank, untreated branch; px from the left."""

    source: float
    riser: float
    tank: float | None
    branch: float | None
    point: float
    stacked: bool  # ledger labels on two lines


def glued(text: str) -> str:
    """``text`` with a true times sign and micron, and every number held to its unit."""
    text = re.sub(r"(?<=\d) x (?=\d)", " × ", re.sub(r"(?<=\d) um\b", " µm", text))
    return re.sub(rf"(\d) (?={_UNITS}(?:\s|$|,))", rf"\1{_NO_BREAK}", text)


def point_width(point: PathPoint) -> float:
    """Width of a point's column in the ledger."""
    widest = [text_width(point.date if point.measured else say("expected"), SMALL, "semibold-italic")]
    for reading in point.readings:
        sign = 14 if reading.standing.past else 0
        widest.append(text_width(reading.text, VALUE, "semibold-italic") + 2 * sign)
    return max(widest)


def counted(number: int) -> str:
    """A small number in words, a larger one in figures."""
    return say(COUNTS[number]) if number < len(COUNTS) else str(number)


def side_by_side(stage: PathStage) -> str:
    """Second name line of a stage with several units: "two, side by side"."""
    return say("{count}, side by side", count=counted(stage.count))


def stage_lines(stage: PathStage, room: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Name lines and part lines of a stage in ``room`` px."""
    name = glued(stage.name)
    if text_width(name, BODY, "semibold") <= room - 4:
        names: tuple[str, ...] = (name,)
    else:
        names = balanced(name, BODY, "semibold")
    if stage.count > 1:
        names = (name, side_by_side(stage))
    part = glued(stage.part)
    parts = (part,) if text_width(part, SMALL) <= room - 4 else balanced(part, SMALL)
    return names, tuple(line for line in parts if line)


def stage_need(path: WaterPath, gap: int) -> float:
    """Least width of the cell of main stage ``gap``: glyph, words, and the ledger columns beside it."""
    stage = path.main[gap]
    name = glued(stage.name)
    lines = (name, side_by_side(stage)) if stage.count > 1 else balanced(name, BODY, "semibold")
    needs = [
        glyph_of(stage).cell + (10 if stage.count > 1 else 0),
        max(text_width(line, BODY, "semibold") for line in lines) + 8,
        max((text_width(line, SMALL) for line in balanced(glued(stage.part), SMALL)), default=0) + 6,
        text_width(stage.date, BODY) + 6,
        (point_width(path.points[gap]) + point_width(path.points[gap + 1])) / 2 + 8,
    ]
    if stage.state is not StageState.PROPOSED or not stage.size:
        needs.append(tag_width(stage.state) + 4)
    else:
        needs.append(max(text_width(line, BODY) for line in stage.size) + 6)
    return float(round(max(needs) + 0.5))


def label_width(path: WaterPath) -> float:
    """Width of the widest ledger label on one line, with its unit and limit."""
    return max(
        (text_width(row.label, BODY, "semibold") + 6 + text_width(row.note, SMALL) for row in path.rows),
        default=0.0,
    )


def stacked_width(path: WaterPath) -> float:
    """The same when the unit and limit stand under the label."""
    return max(
        (max(text_width(row.label, BODY, "semibold"), text_width(row.note, SMALL)) for row in path.rows),
        default=0.0,
    )


def plan_lead(path: WaterPath) -> Lead:
    """Cells of source, tank and branch, stretched until the ledger's labels clear the first column."""
    at_floor = path.source.pump_place is PumpPlace.FLOOR
    open_water = path.source.kind in (SourceType.LAKE, SourceType.RIVER)
    source = 126.0 if at_floor else (108.0 if open_water else 92.0)
    tank = 0.0
    if path.tank is not None:
        texts = max(text_width(path.tank.pressure, SMALL), text_width(path.tank.volume, SMALL))
        tank = max(60.0, texts - 26) if path.branch else max(74.0, texts + 8)
    branch = 0.0
    if path.branch is not None:
        name = balanced(path.branch.name, BODY, "semibold")
        branch = max(64.0, max(text_width(line, BODY, "semibold") for line in name) + 6)
    natural = source + tank + branch + (0 if path.tank or path.branch else 20)
    keep = point_width(path.points[0]) / 2 + 16
    short = label_width(path) + keep - natural
    stacked = short > 60
    if stacked:
        short = stacked_width(path) + keep - natural
    gain = max(0.0, short)
    point = float(round(natural + gain))
    branch_x = point - branch + 14 if branch else None
    tank_x = source + (tank + gain) / 2 if tank else None
    return Lead(source, 106.0 if at_floor else 36.0, tank_x, branch_x, point, stacked)


def tap_need(path: WaterPath) -> tuple[float, float]:
    """Offset of the spouts from the last point, and the room their words take after it."""
    reach = 58.0 if not path.taps.hot else 130.0 + hot_room(path.heated)
    if path.polishing:
        reach = max(reach, units_end(path.polishing) + 8)
    if path.tap_point is not None:
        reach += 28
    names = [path.taps.cold_name, path.taps.hot_name if path.taps.hot else ""]
    notes = [path.taps.cold, path.taps.hot]
    if path.polishing:
        names.append(path.taps.drinking_name)
        notes.append(path.taps.drinking)
    lines = [line for note in notes for line in note_lines(note)]
    room = max([text_width(n, BODY, "semibold") for n in names] + [text_width(n, SMALL) for n in lines])
    return reach, 34 + room


def hot_lines(stage: PathStage) -> tuple[tuple[str, ...], str]:
    """Name lines of a stage on the hot line, and the one line under them: its size, or its state and date."""
    name = broken(glued(stage.name), 200, BODY, "semibold")
    if stage.state is StageState.PROPOSED and stage.size:
        return name, stage.size[0]
    return name, ", ".join(part for part in (stage.state.word, stage.date) if part)


def hot_width(stage: PathStage) -> float:
    """Width of a stage on the hot line with its words."""
    name, note = hot_lines(stage)
    words = max(*(25 + text_width(line, BODY, "semibold") for line in name), 25 + text_width(note, SMALL))
    return float(round(max(words, glyph_of(stage).cell * HOT_SCALE) + 12))


def hot_room(units: tuple[PathStage, ...]) -> float:
    """Room that the stages of the hot line take ahead of the heater, px."""
    return sum(hot_width(unit) for unit in units)


def unit_offset(units: tuple[PathStage, ...], k: int) -> float:
    """Centre of polishing unit ``k``, px after the last main point."""
    before = sum(max(glyph_of(stage).cell, unit_width(stage) + 8) for stage in units[:k])
    return 124.0 + before


def unit_name(stage: PathStage) -> tuple[str, ...]:
    """Name lines of a polishing unit, beside its ring."""
    return broken(glued(stage.name), 150, BODY, "semibold")


def unit_width(stage: PathStage) -> float:
    """Width of a polishing unit's ring and name."""
    return 25 + max(text_width(line, BODY, "semibold") for line in unit_name(stage))


def units_end(units: tuple[PathStage, ...]) -> float:
    """Right edge of the last polishing unit and its words, px after the last main point."""
    last = units[-1]
    return unit_offset(units, len(units) - 1) + max(glyph_of(last).cell / 2, unit_width(last) / 2)


def note_lines(note: str) -> tuple[str, ...]:
    """What a tap feeds, on one line or on two of like length."""
    return (note,) if text_width(note, SMALL) <= 96 else balanced(note, SMALL)
