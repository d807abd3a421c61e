"""Where everything of a water path stands: pure arithmetic on text widths, no drawing.

``plan_path(path, width)`` cuts the path into rows and gives every cell its place, in px.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

from sizing.drawing.cells import (
    Lead,
    hot_width,
    plan_lead,
    stage_lines,
    stage_need,
    tap_need,
    unit_name,
    unit_offset,
    units_end,
)
from sizing.drawing.values import LedgerRow, PathPoint, PathStage, StageState, WaterPath

AXIS: Final = 94
FLOOR_Y: Final = 208
STATE_Y: Final = 230
PITCH: Final = 20
LINE: Final = 14
HOT_LEAD: Final = 40  # from the split to what stands first on the hot line
INDENT: Final = 114  # match line of a row that goes on from another
MATCH: Final = 36  # room for the match line at the end of a row
SPARE_MOST: Final = 34


@dataclass(frozen=True)
class Cell:
    """One stage in its row. ``names`` and ``parts`` are its lines of text."""

    stage: PathStage
    gap: int  # the gap in front of it
    left: float
    right: float
    names: tuple[str, ...]
    parts: tuple[str, ...]

    @property
    def centre(self) -> float:
        """Where the glyph stands."""
        return (self.left + self.right) / 2


@dataclass(frozen=True)
class TapBlock:
    """The split and the taps, from ``left``; ``tap`` is where the spouts begin."""

    left: float
    tap: float
    units: tuple[tuple[float, PathStage], ...]
    point: float | None
    heated: tuple[tuple[float, PathStage], ...] = ()  # left edges of the stages on the hot line
    heater: float = 0.0  # left edge of the heater


@dataclass(frozen=True)
class Row:
    """One row of the drawing. ``start`` is where its pipe begins, ``end`` where its lines end."""

    cells: tuple[Cell, ...]
    points: tuple[tuple[float, PathPoint], ...]
    first: bool
    taps: TapBlock | None
    start: float
    end: float
    ledger: float  # baseline of the point letters
    rows: tuple[LedgerRow, ...]
    pitch: float
    height: float
    top: float


@dataclass(frozen=True)
class Plan:
    """The whole drawing: ``width`` may exceed what was asked when one stage alone needs it."""

    width: float
    height: float
    lead: Lead
    rows: tuple[Row, ...]


def _split(needs: list[float], lead: float, taps: float, width: float) -> list[list[int]]:
    """Fewest rows that fit; among those the split whose fullest row is least full."""
    count = len(needs)

    def row_width(first: int, after: int) -> float:
        start = lead if first == 0 else INDENT
        return start + sum(needs[first:after]) + (taps if after == count else MATCH)

    for rows in range(1, count + 1):
        best: tuple[float, list[int]] | None = None
        for cuts in _cuts(count, rows):
            bounds = [0, *cuts, count]
            fullest = max(row_width(a, b) for a, b in itertools.pairwise(bounds))
            if (fullest <= width or rows == count) and (best is None or fullest < best[0]):
                best = (fullest, bounds)
        if best is not None:
            return [list(range(a, b)) for a, b in zip(best[1], best[1][1:], strict=False)]
    return [[]]


def _cuts(count: int, rows: int, first: int = 1) -> list[list[int]]:
    """Every way to cut ``count`` stages into ``rows`` rows, none empty."""
    if rows == 1:
        return [[]]
    return [[at, *rest] for at in range(first, count - rows + 2) for rest in _cuts(count, rows - 1, at + 1)]


def plan_path(path: WaterPath, width: float) -> Plan:
    """The plan of ``path`` in ``width`` px: the fewest rows, spare width shared among the stages."""
    lead = plan_lead(path)
    needs = [stage_need(path, gap) for gap in range(len(path.main))]
    reach, room = tap_need(path)
    split = _split(needs, lead.point, reach + room, width)
    widest = max(
        (lead.point if not k else INDENT)
        + sum(needs[gap] for gap in gaps)
        + (reach + room if k == len(split) - 1 else MATCH)
        for k, gaps in enumerate(split)
    )
    width = max(width, widest)
    rows: list[Row] = []
    top = 0.0
    for k, gaps in enumerate(split):
        last = k == len(split) - 1
        row = _plan_row(path, lead, gaps, needs, width, (k == 0, last), (reach, room), top)
        rows.append(row)
        top += row.height + 28
    return Plan(width, top - 28, lead, tuple(rows))


def _plan_row(
    path: WaterPath,
    lead: Lead,
    gaps: list[int],
    needs: list[float],
    width: float,
    ends: tuple[bool, bool],
    taps: tuple[float, float],
    top: float,
) -> Row:
    """One row: cells with their share of the spare width, points, ledger, taps."""
    first, last = ends
    start = lead.point if first else float(INDENT)
    spare = width - start - sum(needs[gap] for gap in gaps) - (sum(taps) if last else MATCH)
    share = min(float(SPARE_MOST), max(0.0, spare) / len(gaps)) if gaps else 0.0
    if not last and gaps:
        share = max(0.0, spare) / len(gaps)
    cells: list[Cell] = []
    x = start
    for gap in gaps:
        right = float(round(x + needs[gap] + share))
        if not last and gap == gaps[-1]:
            right = width - MATCH
        names, parts = stage_lines(path.main[gap], right - x)
        cells.append(Cell(path.main[gap], gap, x, right, names, parts))
        x = right
    points = [(start, path.points[0])] if first else []
    points += [(cell.right, path.points[cell.gap + 1]) for cell in cells]
    block = _plan_taps(path, x, width, taps) if last else None
    if block is not None and block.point is not None and path.tap_point is not None:
        points.append((block.point, path.tap_point))
    ledger = _ledger_base(cells, block)
    pitch = 2 * LINE + 6.0 if lead.stacked and first else float(PITCH)
    held = tuple(row for row in path.rows if first or any(point.reading(row.code) for _, point in points))
    height = ledger + 21 + pitch * len(held) + 4
    return Row(tuple(cells), tuple(points), first, block, start, width, ledger, held, pitch, height, top)


def _ledger_base(cells: list[Cell], block: TapBlock | None) -> float:
    """Baseline of the point letters: clear of the lowest words of the stages and of the polishing units."""
    lowest = [_last_line(cell) + 27 for cell in cells]
    if block is not None:
        for _, unit in block.units:
            lines = len(unit.size) if _by_size(unit) else 2 + bool(unit.part)
            lowest.append(STATE_Y + 15 + LINE * (lines + len(unit_name(unit)) - 1))
    return max([float(STATE_Y + 34), *lowest])


def _by_size(stage: PathStage) -> bool:
    """Whether a stage shows its sizes instead of its state."""
    return stage.state is StageState.PROPOSED and bool(stage.size)


def _last_line(cell: Cell) -> float:
    if _by_size(cell.stage):
        return STATE_Y + LINE * (min(len(cell.stage.size), 2) - 1)
    return STATE_Y + 19.0 + LINE * len(cell.parts)


def _plan_taps(path: WaterPath, left: float, width: float, taps: tuple[float, float]) -> TapBlock:
    """The split from the last point at ``left``: spouts as far right as the words allow."""
    reach, room = taps
    tap = max(left + reach, width - room)
    units = tuple((left + unit_offset(path.polishing, k), unit) for k, unit in enumerate(path.polishing))
    point = None
    if path.tap_point is not None and units:
        point = float(round(left + units_end(path.polishing) + 10))
    heated, x = [], left + HOT_LEAD
    for unit in path.heated:
        heated.append((x, unit))
        x += hot_width(unit)
    return TapBlock(left, tap, units, point, tuple(heated), x)
