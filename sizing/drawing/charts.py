"""Charts over time and along the path: results against their limit, and pressure at peak flow."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from sizing.drawing.chart_values import ChartLimit, History, HistoryPoint, PressureProfile, ResultKind
from sizing.drawing.element import figure, number, path, words
from sizing.drawing.metrics import text_width
from sizing.drawing.speech import say

_LEFT, _TOP = 38.0, 24.0
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def ticks(high: float, low: float = 0.0, most: int = 4) -> tuple[float, ...]:
    """Round numbers from at or under ``low`` to at or over ``high``, at most ``most`` steps of 1, 2 or 5."""
    span = max(high - low, 1e-9)
    exponent = math.floor(math.log10(span / most))
    for factor in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0):
        step = factor * 10.0**exponent
        first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
        if last - first <= most:
            return tuple(round(k * step, 10) for k in range(first, last + 1))
    return (low, high)


def limit_line(x1: float, x2: float, y: float, limit: ChartLimit, left: bool = False) -> str:
    """A heavy line with ticks on the side to stay out of, and its words at the right end, or the left one."""
    down = limit.sense == "min"
    rise = 6 if down else -6
    marks = "".join(f"M{x} {number(y)}l-5 {rise}" for x in range(int(x1) + 8, int(x2), 9))
    label = y + 17 if down else y - 9
    return (
        path("lim", f"M{number(x1)} {number(y)}H{number(x2)}")
        + path("limt", marks)
        + (words("sm", x1 + 4, label, limit.label) if left else words("sm te", x2, label, limit.label))
    )


def diamond(cls: str, x: float, y: float, r: float = 5.0) -> str:
    """A diamond of class ``cls`` centred on x, y (px)."""
    r_ = number(r)
    return path(cls, f"M{number(x)} {number(y - r)}l{r_} {r_}l-{r_} {r_}l-{r_} -{r_}z")


def _ground(x: float, y: float, text: str) -> str:
    """Clear ground behind a figure that may stand on a hairline."""
    wide = text_width(text, 14, "semibold-italic") + 4
    return f'<rect class="bg" x="{number(x - wide / 2)}" y="{number(y - 11)}" width="{number(wide)}" height="14"/>'


def _grid(marks: tuple[float, ...], place: float, scale: float, bottom: float, right: float) -> str:
    """Hairlines with their numbers; ``place`` is the value at ``bottom``."""
    out = []
    for mark in marks:
        y = bottom - (mark - place) * scale
        if mark != marks[0]:
            out.append(path("gr", f"M{number(_LEFT)} {number(y)}H{number(right)}"))
        out.append(words("sm te", _LEFT - 6, y + 4, f"{mark:g}"))
    return "".join(out)


def draw_history(chart: History, ident: str, width: float = 372, height: float = 158, style: str = "") -> str:
    """Results of one parameter over time against the limit.

    A result under the reporting limit is the interval from 0 up to it, never a dot; absent is a hollow
    diamond on the floor; past the limit a triangle. The times the house was open lie as a heavy line below.
    """
    right, bottom = width - 6, height - 26
    values = [p.value for p in chart.points if p.kind in (ResultKind.VALUE, ResultKind.BELOW)]
    if chart.limit is not None:
        values.append(chart.limit.value)
    high = max([*values, 0.0]) or 1.0
    low = _floor_of(chart, high)
    marks = ticks(high * 1.12 if low == 0 else high + (high - low) * 0.12, low)
    scale = (bottom - _TOP) / (marks[-1] - marks[0])
    start = date(
        min([p.day.year for p in chart.points] + [s.year for s, _ in chart.seasons] + [chart.until.year]), 1, 1
    )
    days = max((chart.until - start).days, 1)

    def across(day: date) -> float:
        return _LEFT + (right - _LEFT) * max(0, min(days, (day - start).days)) / days

    body = [
        _grid(marks, marks[0], scale, bottom, right),
        path("ax", f"M{number(_LEFT)} {number(bottom)}H{number(right)}"),
    ]
    body.append(_years(chart, start, across, bottom))
    ordered = sorted(chart.points, key=lambda p: p.day)
    spots = [_Spot(result, across(result.day), _height_of(result, bottom, marks[0], scale)) for result in ordered]
    at = spots[-1].label_y if spots else 0.0
    if chart.limit is not None:
        least = 9.0 if chart.limit.sense == "max" else 0.0
        line = bottom - max((chart.limit.value - marks[0]) * scale, least)
        crowded = bool(spots) and _meets(at, line, chart.limit.sense)
        body.append(limit_line(_LEFT, right, line, chart.limit, left=crowded))
        if crowded:
            at = _beside(at, line, chart.limit.sense, bottom)
    body.extend(_result(spot, bottom) for spot in spots)
    if spots:
        body.append(words("v te", spots[-1].x - 9, at, ordered[-1].text))
    return figure("fig", ident, (0, 0, width, height), chart.title, history_words(chart), style, *body)


def _floor_of(chart: History, high: float) -> float:
    """Where the scale begins: 0, unless every value lies in the upper half of it (transmittance, pH)."""
    values = [p.value for p in chart.points if p.kind is ResultKind.VALUE]
    if chart.limit is not None:
        values.append(chart.limit.value)
    if len(values) < len(chart.points) or not values or min(values) < high / 2:
        return 0.0
    return max(0.0, min(values) - max(high - min(values), high * 0.1) * 0.6)


def _years(chart: History, start: date, across: Callable[[date], float], bottom: float) -> str:
    """Year names, a tick at each new year, and the open seasons as heavy lines."""
    out = [
        path("open", f"M{number(across(max(a, start)))} {number(bottom + 3)}H{number(max(across(b), across(a) + 2))}")
        for a, b in chart.seasons
        if b >= start and a <= chart.until
    ]
    edge = -99.0
    for year in range(start.year, chart.until.year + 1):
        left, right = across(date(year, 1, 1)), across(min(date(year, 12, 31), chart.until))
        middle = (left + right) / 2
        if middle - edge >= 34:
            out.append(words("sm tm", middle, bottom + 20, str(year)))
            edge = middle
        if year > start.year:
            out.append(path("ax", f"M{number(left)} {number(bottom)}v5"))
    return "".join(out)


@dataclass(frozen=True)
class _Spot:
    """A result with the place of its mark."""

    result: HistoryPoint
    x: float
    y: float

    @property
    def label_y(self) -> float:
        """Where the words of the newest result stand when nothing is in the way."""
        return self.y + (4 if self.result.past else -4)


def _height_of(result: HistoryPoint, bottom: float, low: float, scale: float) -> float:
    """The height of a result's mark; absent lies on the floor, present uncounted just over it."""
    if result.kind is ResultKind.ABSENT:
        return bottom
    if result.kind is ResultKind.PRESENT:
        return bottom - 12
    return bottom - (result.value - low) * scale


def _meets(label: float, line: float, sense: str) -> bool:
    """Whether words standing at ``label`` would touch a limit line, its ticks or its own words."""
    above, below = (21, 2) if sense == "max" else (2, 19)
    return line - above < label and label - 12 < line + below


def _beside(label: float, line: float, sense: str, bottom: float) -> float:
    """The nearest place for the words that clears a limit line and its ticks (its own words have moved away)."""
    over, under = (line - 9, line + 14) if sense == "max" else (line - 3, line + 18)
    if label <= over or (label >= under and label <= bottom - 3):
        return label
    return under if label - 5 >= line and under <= bottom - 3 else over


def _result(spot: _Spot, bottom: float) -> str:
    result, x, y = spot.result, spot.x, spot.y
    if result.kind is ResultKind.BELOW:
        return path("nd", f"M{number(x - 3.5)} {number(bottom)}V{number(y)}H{number(x + 3.5)}V{number(bottom)}")
    if result.kind is ResultKind.ABSENT:
        return diamond("nd", x, y, 5.5)
    if result.past or result.kind is ResultKind.PRESENT:
        return path("pto", f"M{number(x)} {number(y - 6)}l6 11h-12z")
    return diamond("pt1", x, y)


def history_words(chart: History) -> str:
    """The answer in words: how many results, how many past the limit, the newest."""
    if not chart.points:
        return say("No result yet.")
    ordered = sorted(chart.points, key=lambda p: p.day)
    first, newest = ordered[0].day.year, ordered[-1]
    count = say("1 result") if len(ordered) == 1 else say("{count} results", count=len(ordered))
    last = newest.day.year
    span = say("in {year}", year=last) if first == last else say("from {first} to {last}", first=first, last=last)
    past = sum(p.past for p in ordered)
    limit = ""
    if chart.limit:
        limit = ", " + say("{count} past the limit ({limit})", count=past, limit=chart.limit.label)
    unit = f" {chart.unit}" if chart.unit and newest.kind in (ResultKind.VALUE, ResultKind.BELOW) else ""
    day = f"{newest.day.day} {say(_MONTHS[newest.day.month - 1])} {last}"
    said = say("Newest: {result} on {day}.", result=f"{newest.text}{unit}", day=day)
    return f"{count} {span}{limit}. {said}"


def draw_pressure(
    chart: PressureProfile, ident: str, width: float = 725, height: float = 132, style: str = ""
) -> str:
    """Pressure along the path at one flow: filled diamond measured, hollow expected; the least allowed below."""
    aside = [chart.end, chart.least.label if chart.least else ""]
    right = width - max(text_width(line, 12) for line in aside) - 16
    bottom = height - 26
    high = max(step.value for step in chart.steps)
    marks = ticks(high * 1.1, 0, 3)
    scale = (bottom - 14) / (marks[-1] - marks[0])
    gap = (right - _LEFT - 28) / max(1, len(chart.steps) - 1)
    spots = [(_LEFT + 14 + gap * k, bottom - step.value * scale) for k, step in enumerate(chart.steps)]
    body = [_grid(marks, 0, scale, bottom, right), path("ax", f"M{number(_LEFT)} {number(bottom)}H{number(right)}")]
    if chart.least is not None:
        y = bottom - chart.least.value * scale
        body.append(limit_line(_LEFT, right, y, ChartLimit(chart.least.value, "", "min")))
        body.append(words("sm", right + 10, y + 4, chart.least.label))
    body.append(path("lim", "M" + "L".join(f"{number(x)} {number(y)}" for x, y in spots)))
    for (x, y), step in zip(spots, chart.steps, strict=True):
        body.append(diamond("pt1" if step.measured else "pe", x, y, 6))
        body.append(_ground(x, y - 10, step.text))
        body.append(words("v tm" if step.measured else "lit tm", x, y - 10, step.text))
        body.append(words("b tm", x, bottom + 18, step.name))
    body.append(words("sm", right + 10, spots[-1][1] + 4, chart.end))
    said = ", ".join(f"{step.name} {step.text}" for step in chart.steps)
    least = f" {chart.least.label}." if chart.least else ""
    return figure("fig", ident, (0, 0, width, height), chart.title, f"{said} {chart.unit}.{least}", style, *body)
