"""Pipe: two walls, the water in it, and ticks that tell how the water stands against its limits."""

from __future__ import annotations

from sizing.drawing.element import group, number, path
from sizing.drawing.values import PathPoint, StageState, Standing, WaterPath

_RANK = (Standing.WITHIN, Standing.AESTHETIC, Standing.HEALTH)


def pipe(standing: Standing, d: str, *, thin: bool = False, hot: bool = False) -> str:
    """A run of pipe along ``d``. Dense ticks: past a health limit; sparse: past an aesthetic one; broken walls:
    not known; chain line: hot. Ticked hot pipe keeps its ticks."""
    kind = "unknown" if standing is Standing.NONE else standing.value
    lines = [path("pw", d), path("pf", d)]
    if standing is Standing.HEALTH:
        lines.append(path("tk", d))
    elif standing is Standing.AESTHETIC:
        lines.append(path("ts", d))
    if hot:
        lines.append(path("th", d))
    names = ["pipe", "hot" if hot and not standing.past else kind]
    return group(" ".join([*names, "thin"] if thin else names), *lines)


def straight(standing: Standing, x1: float, x2: float, y: float, *, thin: bool = False) -> str:
    """A level run from x1 to x2, or nothing when there is no room for one."""
    return pipe(standing, f"M{number(x1)} {number(y)}H{number(x2)}", thin=thin) if x2 - x1 > 0.5 else ""


def _worst(known: dict[str, Standing]) -> Standing:
    ranked = [standing for standing in known.values() if standing in _RANK]
    return max(ranked, key=_RANK.index) if ranked else Standing.UNKNOWN


def _take(known: dict[str, Standing], point: PathPoint) -> None:
    for reading in point.readings:
        if reading.standing is not Standing.NONE:
            known[reading.row] = reading.standing


def gap_standings(path_: WaterPath) -> tuple[Standing, ...]:
    """How the water stands in each gap of the main line, worst parameter first.

    What is known of a parameter carries on down the pipe until a point says otherwise, so one bad
    sample turns the pipe ticked to the next point that answers it, or to the end.
    """
    known: dict[str, Standing] = {}
    out: list[Standing] = []
    for point in path_.points:
        _take(known, point)
        out.append(_worst(known))
    return tuple(out)


def tap_standing(path_: WaterPath) -> Standing:
    """How the water stands after the polishing units: not known while one of them is laid up and untested."""
    known: dict[str, Standing] = {}
    for point in path_.every_point:
        _take(known, point)
    if path_.tap_point is None and any(unit.state is StageState.LAID for unit in path_.polishing):
        return Standing.UNKNOWN
    return _worst(known)
