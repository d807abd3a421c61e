"""The cut-down strip of a path: glyphs on their pipe, numbers under the floor, no words. For bench and tablet."""

from __future__ import annotations

from typing import Final

from sizing.drawing.element import figure, group, number, path, words
from sizing.drawing.glyphs import FLOOR, fragment, glyph_of
from sizing.drawing.listed import described
from sizing.drawing.pipes import gap_standings, pipe, straight, tap_standing
from sizing.drawing.speech import say
from sizing.drawing.values import Standing, WaterPath

LARGEST: Final = 0.62
SMALLEST: Final = 0.42
_LEAD: Final = 44  # tank, px
_END: Final = 14  # arrow
HOT_GAP: Final = 8  # between the end of the hot line and what goes on
_ABOVE: Final = 26  # room for the word over the pipe when "here" is marked


def strip_scale(path_: WaterPath, width: float) -> float:
    """Scale of the glyphs so that all stand in ``width`` px; never under ``SMALLEST`` (the strip grows instead)."""
    cells = sum(glyph_of(stage).cell for stage in path_.stages)
    return max(SMALLEST, min(LARGEST, (width - _LEAD - _END) / cells)) if cells else LARGEST


def draw_strip(path_: WaterPath, width: float, ident: str, here: int | None = None) -> str:
    """The strip, ``width`` px wide or wider where the glyphs need it.

    ``here`` marks where the reader stands: the number of a stage, 0 for the pressure tank.
    """
    scale = strip_scale(path_, width)
    need = _LEAD + _END + sum(glyph_of(stage).cell for stage in path_.stages) * scale
    width = max(width, round(need + 0.5))
    spare = (width - need) / len(path_.stages) if path_.stages else 0.0
    axis, floor = 40 * scale + 2, (40 + FLOOR) * scale + 2
    standings = [*gap_standings(path_)]
    pipes: list[str] = [straight(standings[0], 0, _LEAD, axis, thin=True)]
    things: list[str] = []
    if here == 0:
        things.append(_here(20))
    if path_.tank is not None:
        things.append(group("gl", fragment("ptank"), at=(20, axis), scale=scale))
    x, standing = float(_LEAD), standings[0]
    for stage in (*path_.main, *path_.heated, *path_.polishing):
        glyph = glyph_of(stage)
        right = x + glyph.cell * scale + spare
        centre = (x + right) / 2
        after = tap_standing(path_) if stage.tap else standing
        if not stage.tap and not stage.hot:
            after = standings[path_.main.index(stage) + 1]
        pipes.append(straight(standing, x, centre + glyph.enters * scale, axis, thin=True))
        if stage.hot:  # a line of its own: it ends here, and the next goes on from the main line
            pipes.append(_hot_end(centre + glyph.leaves * scale, right - HOT_GAP, axis))
        else:
            pipes.append(straight(after, centre + glyph.leaves * scale, right, axis, thin=True))
        things.append(group(f"gl stage is-{stage.state.value}", fragment(glyph.name), at=(centre, axis), scale=scale))
        if stage.count > 1:
            things.insert(
                -1,
                group(
                    f"gl stage is-{stage.state.value}", fragment(glyph.name), at=(centre + 6, axis - 4), scale=scale
                ),
            )
        things.append(words("b tm", centre, floor + 16, str(stage.number)))
        if stage.number == here:
            things.append(_here(centre))
        x, standing = right, after
    pipes.append(straight(standing, x, width - 6, axis, thin=True))
    arrow = path("k", f"M{width - 8:g} {axis - 6:.1f}l8 6l-8 6z")
    floor_line = path("fl", f"M0 {floor:.1f}H{width:g}")
    top = 0 if here is None else -_ABOVE
    return figure(
        "wp mini",
        ident,
        (0, top, width, floor + 22 - top),
        path_.title,
        described(path_),
        *pipes,
        arrow,
        floor_line,
        *things,
    )


def _hot_end(start: float, end: float, axis: float) -> str:
    """The hot line behind what stands on it, with its arrowhead."""
    run = pipe(Standing.NONE, f"M{number(start)} {number(axis)}H{number(end - 6)}", thin=True, hot=True)
    return run + path("k", f"M{number(end - 8)} {number(axis - 6)}l8 6l-8 6z")


def _here(x: float) -> str:
    """The word and an arrowhead pointing down at the place."""
    return words("b tm", max(x, 16), -12, say("here")) + path("k", f"M{x - 6:g} -8h12l-6 8z")
