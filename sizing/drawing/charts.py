"""What charts share, limit lines and scales, and the pressure along the path at peak flow."""

from __future__ import annotations

import math

from sizing.drawing.chart_values import ChartLimit, PressureProfile
from sizing.drawing.element import figure, number, path, words
from sizing.drawing.metrics import text_width

_LEFT = 38.0


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
