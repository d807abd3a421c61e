"""Pressure along one alternative, small: for a column of the bench, all columns on one scale."""

from __future__ import annotations

from sizing.drawing.chart_values import PressureProfile
from sizing.drawing.charts import diamond
from sizing.drawing.element import figure, number, path, words
from sizing.drawing.metrics import text_width
from sizing.drawing.speech import say

_HIGH, _FOOT, _HEAD = 92.0, 22.0, 18.0


def draw_profile(chart: PressureProfile, ident: str, highest: float, width: float = 252, style: str = "") -> str:
    """The steps of a profile from the tank to the fixture, first and last in figures, the least allowed below.

    ``highest`` is the top of the scale: give every column the same.
    """
    if highest <= 0 or not chart.steps:
        raise ValueError(f"highest is {highest}, accepted is above 0, with one step or more")
    floor = _HIGH - _FOOT
    scale = (floor - _HEAD) / highest
    left, right = 8.0, width - 8.0
    gap = (right - left) / max(1, len(chart.steps) - 1)
    spots = [(left + gap * k, floor - max(step.value, 0.0) * scale) for k, step in enumerate(chart.steps)]
    out = [path("ax", f"M0 {number(floor)}H{number(width)}")]
    if chart.least is not None:
        y = floor - chart.least.value * scale
        ticks = "".join(f"M{number(x)} {number(y)}l-4 5" for x in range(12, int(width), 24))
        out += [path("lim", f"M0 {number(y)}H{number(width)}"), path("limt", ticks)]
    out.append(path("ln", "M" + "L".join(f"{number(x)} {number(y)}" for x, y in spots)))
    for k, ((x, y), step) in enumerate(zip(spots, chart.steps, strict=True)):
        low = chart.least is not None and k == len(spots) - 1 and step.value < chart.least.value
        out.append(path("pto", f"M{number(x)} {number(y - 6)}l6 11h-12z") if low else diamond("pe", x, y, 4.5))
        if k in (0, len(spots) - 1):
            out.append(_figure(step.text, x, y - 9, width))
        if k == len(spots) - 1:
            out.append(words("sm te", width, _HIGH - 6, step.name))
        elif x < width - text_width(chart.steps[-1].name, 12) - 8:
            out.append(words("sm tm", x, _HIGH - 6, step.name))
    said = ", ".join(f"{step.name} {step.text}" for step in chart.steps)
    least = f". {say('At least')} {chart.least.label}" if chart.least else ""
    return figure("fig", ident, (0, 0, width, _HIGH), chart.title, f"{said} {chart.unit}{least}", style, *out)


def _figure(text: str, x: float, y: float, width: float) -> str:
    half = text_width(text, 14, "italic") / 2
    return words("lit tm", min(max(x, half), width - half), y, text)
