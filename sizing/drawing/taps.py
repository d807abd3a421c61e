"""The split after the last stage: hot line and heater, cold line, polishing units and the drinking tap."""

from __future__ import annotations

from sizing.drawing.cells import note_lines, unit_name, unit_width
from sizing.drawing.element import group, number, path, words
from sizing.drawing.glyphs import fragment, glyph_of
from sizing.drawing.marks import state_tag
from sizing.drawing.path import AXIS, LINE, STATE_Y, TapBlock
from sizing.drawing.pipes import pipe, straight
from sizing.drawing.scenes import SPOUT
from sizing.drawing.values import PathStage, PathTaps, StageState, Standing

HOT_Y = 42
TAP_Y = 138


def tap_pipes(block: TapBlock, taps: PathTaps, main: Standing, polished: Standing) -> str:
    """Cold line to its spout, hot line through the heater, the drop to the polishing units."""
    left, tap = block.left, block.tap
    out = [straight(main, left, tap, AXIS)]
    if taps.hot:
        out.insert(0, pipe(main, f"M{number(left + 18)} 89.5V{HOT_Y}H{number(left + 40)}"))
        out.insert(1, pipe(main, f"M{number(left + 80)} {HOT_Y}H{number(tap)}", hot=True))
    x = left + 50
    down = f"M{number(x)} 98.5V{TAP_Y}"
    for k, (centre, unit) in enumerate(block.units):
        glyph = glyph_of(unit)
        start = down if k == 0 else f"M{number(x)} {TAP_Y}"
        out.append(pipe(main if k == 0 else polished, f"{start}H{number(centre + glyph.enters)}", thin=True))
        x = centre + glyph.leaves
    if block.units:
        out.append(straight(polished, x, tap, TAP_Y, thin=True))
    return "".join(out)


def _heater(left: float, name: str) -> str:
    x = number(left)
    return group(
        "heat",
        path("o hfill", f"M{x} 28h40v28h-40z"),
        path("d", f"M{number(left + 8)} 42l3 -7l6 14l6 -14l6 14l3 -7"),
    ) + words("sm tm", left + 20, 69, name)


def _spout(x: float, y: float, name: str, note: str) -> str:
    lines = note_lines(note)
    return (
        group("tap", SPOUT, at=(x, y))
        + words("b", x + 32, y - 2, name)
        + "".join(words("sm", x + 32, y + 12 + LINE * k, line) for k, line in enumerate(lines))
    )


def tap_things(block: TapBlock, taps: PathTaps) -> str:
    """Heater, spouts, polishing units and all their words."""
    out: list[str] = []
    if taps.hot:
        out.append(_heater(block.left + 40, taps.heater))
        out.append(_spout(block.tap, HOT_Y, taps.hot_name, taps.hot))
    out.append(_spout(block.tap, AXIS, taps.cold_name, taps.cold))
    for centre, unit in block.units:
        out.append(group(f"gl stage is-{unit.state.value}", fragment(glyph_of(unit).name), at=(centre, TAP_Y)))
        out.append(_unit_words(centre, unit))
    if block.units:
        out.append(_spout(block.tap, TAP_Y, taps.drinking_name, taps.drinking))
    return "".join(out)


def _unit_words(centre: float, unit: PathStage) -> str:
    """Ring and name beside it, state, date and part, under the floor."""
    name = unit_name(unit)
    left = centre - unit_width(unit) / 2
    out = [ring(left + 10, STATE_Y - 2, str(unit.number))]
    out += [words("b", left + 25, STATE_Y + 2.5 + LINE * k, line) for k, line in enumerate(name)]
    y = STATE_Y + 25 + LINE * (len(name) - 1)
    if unit.state is StageState.PROPOSED and unit.size:
        out += [words("tm" if k == 0 else "sm tm", centre, y + LINE * k, line) for k, line in enumerate(unit.size)]
        return "".join(out)
    out.append(state_tag(unit.state, centre, y))
    out.append(words("tm", centre, y + 18, unit.date))
    out.append(words("sm tm", centre, y + 32, unit.part))
    return "".join(out)


def ring(x: float, y: float, number_: str) -> str:
    """A stage's number in its ring, centred on x, y."""
    return group(
        "no",
        f'<circle cx="{number(x)}" cy="{number(y)}" r="10"/>',
        words("b tm", x, y + 4.5, number_),
    )
