"""Charts of the small calculations: curves with the place one stands on, and twelve months against a need."""

from __future__ import annotations

from dataclasses import dataclass

from sizing.drawing.chart_values import ChartLimit
from sizing.drawing.charts import diamond, limit_line, ticks
from sizing.drawing.element import figure, number, path, words
from sizing.drawing.metrics import text_width
from sizing.drawing.speech import say

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_LEFT, _TOP, _FOOT = 44.0, 30.0, 42.0
_LINE = 15.0  # px between two labels at the ends of curves


@dataclass(frozen=True)
class Curve:
    """A curve with its name at the right end; ``own`` marks the one that is asked about."""

    label: str
    points: tuple[tuple[float, float], ...]
    own: bool = False


@dataclass(frozen=True)
class CurveChart:
    """Curves over one scale. ``across`` and ``up`` name the scales with their units, ``here`` is the case that was
    asked (x, y, text), ``said`` what the chart shows in a sentence."""

    title: str
    across: str
    up: str
    curves: tuple[Curve, ...]
    said: str
    limit: ChartLimit | None = None
    here: tuple[float, float, str] | None = None


@dataclass(frozen=True)
class MonthChart:
    """Twelve values against what is needed; ``used`` tells the months that count, ``label`` names the need."""

    title: str
    unit: str
    values: tuple[float, ...]
    used: tuple[bool, ...]
    need: float
    label: str

    def __post_init__(self) -> None:
        if len(self.values) != 12 or len(self.used) != 12:
            raise ValueError(f"months are {len(self.values)} and {len(self.used)}, accepted is 12 and 12")

    @property
    def short(self) -> tuple[str, ...]:
        """Months in use that stay under the need."""
        rows = zip(MONTHS, self.values, self.used, strict=True)
        return tuple(say(name) for name, value, used in rows if used and value < self.need - 1e-9)


@dataclass(frozen=True)
class _Frame:
    """Where values lie on the paper."""

    low_x: float
    high_x: float
    top_y: float
    right: float
    bottom: float

    def x(self, value: float) -> float:
        """Across, px."""
        return _LEFT + (self.right - _LEFT) * (value - self.low_x) / (self.high_x - self.low_x)

    def y(self, value: float) -> float:
        """Down, px; what lies above the scale stays at its top."""
        return self.bottom - (self.bottom - _TOP) * min(value, self.top_y) / self.top_y


def _scale_up(marks: tuple[float, ...], frame: _Frame, name: str) -> str:
    out = [words("sm", 0, 12, name)]
    for mark in marks:
        y = frame.y(mark)
        if mark:
            out.append(path("gr", f"M{number(_LEFT)} {number(y)}H{number(frame.right)}"))
        out.append(words("sm te", _LEFT - 6, y + 4, f"{mark:g}"))
    out.append(path("ax", f"M{number(_LEFT)} {number(frame.bottom)}H{number(frame.right)}"))
    return "".join(out)


def _scale_across(frame: _Frame, name: str) -> str:
    out = []
    for mark in ticks(frame.high_x, frame.low_x, 5):
        if frame.low_x - 1e-9 <= mark <= frame.high_x + 1e-9:
            out.append(path("ax", f"M{number(frame.x(mark))} {number(frame.bottom)}v5"))
            out.append(words("sm tm", frame.x(mark), frame.bottom + 18, f"{mark:g}"))
    out.append(words("sm te", frame.right, frame.bottom + 36, name))
    return "".join(out)


def _spread(heights: list[float], least: float, most: float) -> list[float]:
    """Heights of labels moved apart so that none lies on another, kept between ``least`` and ``most``."""
    order = sorted(range(len(heights)), key=lambda k: heights[k])
    placed = list(heights)
    under = least - _LINE
    for k in order:
        placed[k] = under = max(heights[k], under + _LINE)
    over = most + _LINE
    for k in reversed(order):
        placed[k] = over = min(placed[k], over - _LINE)
    return placed


def draw_curves(chart: CurveChart, ident: str, width: float = 400, height: float = 250, style: str = "") -> str:
    """Curves over one scale from zero, each named at its end; the case asked about a filled diamond.

    Raises ``ValueError`` for a chart without a curve of at least two points.
    """
    if not chart.curves or any(len(curve.points) < 2 for curve in chart.curves):
        raise ValueError("curves need two points each, and there must be one")
    xs = [x for curve in chart.curves for x, _ in curve.points]
    ys = [y for curve in chart.curves for _, y in curve.points]
    if chart.limit is not None:
        ys.append(chart.limit.value)
    marks = ticks(max(*ys, 1e-9) * 1.04, 0.0, 5)
    right = width - max(text_width(curve.label, 12.5) for curve in chart.curves) - 12
    frame = _Frame(min(xs), max(xs), marks[-1], right, height - _FOOT)
    body = [_scale_up(marks, frame, chart.up), _scale_across(frame, chart.across)]
    if chart.limit is not None:
        body.append(limit_line(_LEFT, right, frame.y(chart.limit.value), chart.limit))
    ends = [frame.y(curve.points[-1][1]) for curve in chart.curves]
    for curve, y in zip(chart.curves, _spread(ends, _TOP, frame.bottom), strict=True):
        line = "L".join(f"{number(frame.x(a))} {number(frame.y(b))}" for a, b in curve.points)
        body.append(path("dim" if curve.own else "ln", f"M{line}"))
        body.append(words("dimt" if curve.own else "sm", right + 6, y + 4, curve.label))
    if chart.here is not None:
        x, y = frame.x(min(max(chart.here[0], frame.low_x), frame.high_x)), frame.y(chart.here[1])
        body.append(diamond("pt1", x, y, 6))
        late = x > (_LEFT + right) / 2
        body.append(words("v te" if late else "v", x + (-9 if late else 9), y - 8, chart.here[2]))
    return figure("fig", ident, (0, 0, width, height), chart.title, chart.said, style, *body)


def draw_months(chart: MonthChart, ident: str, width: float = 400, height: float = 220, style: str = "") -> str:
    """A bar for each month: filled in use, hollow out of use, and a triangle over one that stays under the need."""
    right, bottom = width - 6, height - 28
    marks = ticks(max(*chart.values, chart.need, 1e-9) * 1.12, 0.0, 4)
    frame = _Frame(0.0, 12.0, marks[-1], right, bottom)
    body = [_scale_up(marks, frame, chart.unit)]
    wide = (right - _LEFT) / 12
    for k, (name, value, used) in enumerate(zip(MONTHS, chart.values, chart.used, strict=True)):
        x, y, short = _LEFT + wide * k, frame.y(value), used and value < chart.need - 1e-9
        cls = "pe" if not used else "over" if short else "used"
        left, across = number(x + 4), number(wide - 8)
        body.append(path(cls, f"M{left} {number(bottom)}V{number(y)}h{across}V{number(bottom)}z"))
        if short:
            body.append(path("pto", f"M{number(x + wide / 2)} {number(y - 15)}l6 11h-12z"))
        body.append(words("b tm" if used else "sm tm", x + wide / 2, bottom + 18, say(name)))
    body.append(limit_line(_LEFT, right, frame.y(chart.need), ChartLimit(chart.need, "", "min")))
    body.append(words("sm te", right, 12, chart.label))
    return figure("fig", ident, (0, 0, width, height), chart.title, months_words(chart), style, *body)


def months_words(chart: MonthChart) -> str:
    """The answer in words: which months in use stay under the need."""
    if chart.short:
        return say("Under the need ({need}) in {months}.", need=chart.label, months=", ".join(chart.short))
    return say("Every month in use makes what is needed ({need}).", need=chart.label)
