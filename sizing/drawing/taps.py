"""The split after the last stage: hot line and heater, cold line, polishing units and the drinking tap."""

from __future__ import annotations

from sizing.drawing.cells import HOT_SCALE, hot_lines, note_lines, unit_name, unit_width
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
        out.insert(0, pipe(main, f"M{number(left + 18)} 89.5V{HOT_Y}H{number(_into_first(block))}"))
        out.insert(1, pipe(main, f"M{number(block.heater + 40)} {HOT_Y}H{number(tap)}", hot=True))
        for k, (_, unit) in enumerate(block.heated):
            leaves = hot_centre(block, k) + glyph_of(unit).leaves * HOT_SCALE
            last = k + 1 == len(block.heated)
            follows = (
                block.heater
                if last
                else hot_centre(block, k + 1) + glyph_of(block.heated[k + 1][1]).enters * HOT_SCALE
            )
            out.append(straight(main, leaves, follows, HOT_Y))
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


def hot_centre(block: TapBlock, k: int) -> float:
    """Where the glyph of a stage on the hot line stands."""
    left, unit = block.heated[k]
    return left + max(glyph_of(unit).cell * HOT_SCALE / 2, 20.0)


def _into_first(block: TapBlock) -> float:
    """Where the hot line meets what stands first on it: a stage, else the heater."""
    if not block.heated:
        return block.heater
    return hot_centre(block, 0) + glyph_of(block.heated[0][1]).enters * HOT_SCALE


def _heated(block: TapBlock) -> str:
    """Small glyphs on the hot line, above the cold one, with ring, name and size over them."""
    out = []
    for k, (left, unit) in enumerate(block.heated):
        name, note = hot_lines(unit)
        top = 16 - LINE * (len(name) - 1)
        out.append(
            group(
                f"gl stage is-{unit.state.value}",
                fragment(glyph_of(unit).name),
                at=(hot_centre(block, k), HOT_Y),
                scale=HOT_SCALE,
            )
        )
        out.append(ring(left + 10, top - 4, str(unit.number)))
        out += [words("b", left + 25, top + LINE * line, text) for line, text in enumerate(name)]
        out.append(words("sm", left + 25, 30, note))
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
        out.append(_heated(block) + _heater(block.heater, taps.heater))
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
