"""The water path as one SVG: ``draw_path`` for screens, papers and, cut down, for the strip."""

from __future__ import annotations

from typing import Literal

from sizing.drawing.element import figure, group, number, path, words
from sizing.drawing.glyphs import fragment, glyph_of
from sizing.drawing.ledger import diamonds, leaders, ledger
from sizing.drawing.listed import described
from sizing.drawing.marks import state_tag
from sizing.drawing.papers import svg_style
from sizing.drawing.path import AXIS, FLOOR_Y, INDENT, LINE, STATE_Y, Cell, Plan, Row, plan_path
from sizing.drawing.pipes import gap_standings, pipe, straight, tap_standing
from sizing.drawing.scenes import (
    branch_pipe,
    branch_things,
    floor_start,
    source_pipe,
    source_things,
    source_water,
    tank_things,
)
from sizing.drawing.speech import say
from sizing.drawing.strip import draw_strip
from sizing.drawing.taps import ring, tap_pipes, tap_things
from sizing.drawing.values import StageState, Standing, WaterPath

Mode = Literal["screen", "paper", "mini"]
MARGIN = 8


def draw_path(
    path_: WaterPath,
    width: float = 1100,
    mode: Mode = "screen",
    *,
    bypass: bool = False,
    ident: str = "",
    shown: float | None = None,
) -> str:
    """The drawing of a path, ``width`` px wide (wider when one stage alone needs more).

    ``mode``: "screen" takes its colours from the page's classes; "paper" carries print values in a style of
    its own and a fixed size, ``shown`` px wide on the sheet; "mini" is the strip without words.
    ``bypass`` adds the loops an installer fits. ``ident`` must be unique in the page.
    """
    ident = ident or f"path-{mode}-{number(width)}"
    if mode == "mini":
        return draw_strip(path_, width, ident)
    plan = plan_path(path_, width)
    standings = gap_standings(path_)
    body = [_row(path_, plan, row, standings, bypass) for row in plan.rows]
    box = (-MARGIN, -MARGIN, plan.width + 2 * MARGIN, plan.height + 2 * MARGIN)
    size = None
    if mode == "paper":
        body.insert(0, svg_style("".join(body)))
        if shown is not None:
            size = (shown, box[3] * shown / box[2])
    return figure("wp", ident, box, path_.title, described(path_), *body, size=size)


def _row(path_: WaterPath, plan: Plan, row: Row, standings: tuple[Standing, ...], bypass: bool) -> str:
    """One row, drawn back to front: waters and leaders, pipes, things, ledger."""
    waters = source_water(path_.source) if row.first else ""
    return group(
        "row",
        waters,
        leaders(row),
        _pipes(path_, plan, row, standings),
        _floor(path_, row),
        _things(path_, plan, row),
        "".join(_stage(cell) for cell in row.cells),
        "".join(_bypass(cell) for cell in row.cells) if bypass else "",
        tap_things(row.taps, path_.taps) if row.taps else _match_end(plan, row),
        diamonds(row),
        ledger(row, plan.lead.stacked),
        at=(0, row.top) if row.top else None,
    )


def _pipes(path_: WaterPath, plan: Plan, row: Row, standings: tuple[Standing, ...]) -> str:
    out: list[str] = []
    if row.first:
        out.append(source_pipe(path_.source, plan.lead.point, standings[0]))
        out.append(branch_pipe(plan.lead, standings[0]))
    for cell in row.cells:
        glyph = glyph_of(cell.stage)
        before, after = standings[cell.gap], standings[cell.gap + 1]
        out.append(straight(before, cell.left, cell.centre + glyph.enters, AXIS))
        out.append(straight(after, cell.centre + glyph.leaves, cell.right, AXIS))
    if row.taps is not None:
        out.append(tap_pipes(row.taps, path_.taps, standings[-1], tap_standing(path_)))
    else:
        end = row.cells[-1].right
        out.append(pipe(standings[row.cells[-1].gap + 1], f"M{number(end)} {AXIS}H{number(plan.width - 4)}"))
    return "".join(out)


def _floor(path_: WaterPath, row: Row) -> str:
    """Floor line with soil ticks, leaving room for a body of water."""
    start = floor_start(path_.source) if row.first else float(INDENT)
    end = row.end if row.taps else row.end - 12
    ticks = "".join(f"M{x} 209l-5 6" for x in range(int(start) + 8, int(end) + 1, 14))
    return path("fl", f"M{number(start)} {FLOOR_Y}H{number(end)}") + path("so", ticks)


def _things(path_: WaterPath, plan: Plan, row: Row) -> str:
    if row.first:
        return source_things(path_, plan.lead) + tank_things(path_, plan.lead) + branch_things(path_, plan.lead)
    return path("ml2", f"M{INDENT} 44V214") + words(
        "sm te", INDENT - 8, AXIS + 4, say("from M{line}", line=_match(plan, row))
    )


def _match(plan: Plan, row: Row) -> int:
    """Number of the match line a row begins with."""
    return plan.rows.index(row)


def _match_end(plan: Plan, row: Row) -> str:
    x = plan.width - 8
    return (
        path("ml2", f"M{number(x)} 44V214")
        + path("k", f"M{number(plan.width - 2)} {AXIS - 6}l9 6l-9 6z")
        + words("sm te", x - 6, 54, say("to M{line}", line=_match(plan, row) + 1))
    )


def _stage(cell: Cell) -> str:
    """Glyph, ring, name, state and dates of one stage."""
    stage, x = cell.stage, cell.centre
    glyph = fragment(glyph_of(stage).name)
    cls = f"gl stage is-{stage.state.value}"
    out: list[str] = []
    if stage.count > 1:
        out.append(group(f"{cls} behind", glyph, at=(x + 10, AXIS - 6)))
        out.append(ring(x - 12, 12, f"{stage.number}a") + ring(x + 12, 12, f"{stage.number}b"))
    else:
        out.append(ring(x, 12, str(stage.number)))
    out.append(group(cls, glyph, at=(x, AXIS)))
    out += [words("b tm", x, 37 + 14.5 * k, line) for k, line in enumerate(cell.names)]
    if stage.state is StageState.PROPOSED and stage.size:
        out += [words("tm" if not k else "sm tm", x, STATE_Y + LINE * k, s) for k, s in enumerate(stage.size[:2])]
        return "".join(out)
    out.append(state_tag(stage.state, x, STATE_Y))
    out.append(words("tm", x, STATE_Y + 18, stage.date))
    out += [words("sm tm", x, STATE_Y + 33 + LINE * k, line) for k, line in enumerate(cell.parts)]
    return "".join(out)


def _bypass(cell: Cell) -> str:
    """A loop over the stage with its valve, where the trade fits one: never round disinfection."""
    if not glyph_of(cell.stage).bypass:
        return ""
    left, right, x = number(cell.left + 11), number(cell.right - 11), cell.centre
    return path("by", f"M{left} 89V70H{right}V89") + path("k", f"M{number(x - 5)} 66l10 8v-8l-10 8z")
