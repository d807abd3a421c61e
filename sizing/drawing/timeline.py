"""Every result of one parameter over time, from every place it was drawn at, against its limits.

A place has its own mark and its word; a result under its reporting limit is a hollow mark at that limit with an
arrow down to the floor, since it lies anywhere between; absent lies hollow on the floor with its word.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sizing.drawing.chart_values import ChartLimit, HistoryPoint, ResultKind
from sizing.drawing.charts import limit_line, ticks
from sizing.drawing.element import figure, number, path, words
from sizing.drawing.metrics import text_width
from sizing.drawing.speech import say

_LEFT, _TOP = 42.0, 40.0
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MARKS = ("square", "circle", "diamond", "triangle")


@dataclass(frozen=True)
class TimeSeries:
    """Results from one place. ``mark`` is one of ``MARKS``, the same for a place in every chart."""

    name: str
    mark: str
    points: tuple[HistoryPoint, ...]

    def __post_init__(self) -> None:
        if self.mark not in MARKS:
            raise ValueError(f"mark is {self.mark!r}, accepted is one of {', '.join(MARKS)}")


@dataclass(frozen=True)
class Timeline:
    """The chart of one parameter. ``seasons`` are the times the house was open, ``until`` its last day."""

    title: str
    unit: str
    series: tuple[TimeSeries, ...]
    until: date
    limits: tuple[ChartLimit, ...] = ()
    seasons: tuple[tuple[date, date], ...] = ()

    @property
    def points(self) -> tuple[HistoryPoint, ...]:
        """Every result, oldest first."""
        return tuple(sorted((p for s in self.series for p in s.points), key=lambda p: p.day))


@dataclass(frozen=True)
class _Frame:
    """Where days and values lie."""

    start: date
    until: date
    low: float
    scale: float
    right: float
    bottom: float

    def x(self, day: date) -> float:
        """Place of a day."""
        days = max((self.until - self.start).days, 1)
        return _LEFT + (self.right - _LEFT) * max(0, min(days, (day - self.start).days)) / days

    def y(self, value: float) -> float:
        """Height of a value."""
        return self.bottom - (value - self.low) * self.scale


def shape(mark: str, cls: str, x: float, y: float) -> str:
    """A mark of class ``cls`` centred on x, y (px)."""
    if mark == "circle":
        return f'<circle class="{cls}" cx="{number(x)}" cy="{number(y)}" r="4.6"/>'
    body = {
        "square": f"M{number(x - 4.2)} {number(y - 4.2)}h8.4v8.4h-8.4z",
        "diamond": f"M{number(x)} {number(y - 5.6)}l5.6 5.6l-5.6 5.6l-5.6 -5.6z",
        "triangle": f"M{number(x)} {number(y + 5)}l-5.6 -9.6h11.2z",
    }
    return path(cls, body[mark])


def draw_timeline(chart: Timeline, ident: str, width: float = 384, height: float = 190, style: str = "") -> str:
    """The chart of one parameter: marks by place, limits, shaded seasons, words for what is no number.

    Why: whether the treatment works shows where raw and treated lie side by side.
    """
    right, bottom = width - 8, height - 26
    values = [p.value for p in chart.points if p.kind in (ResultKind.VALUE, ResultKind.BELOW)]
    values += [limit.value for limit in chart.limits]
    high = max([*values, 0.0]) or 1.0
    low = _floor(chart, high)
    marks = ticks(high * 1.15 if low == 0 else high + (high - low) * 0.15, low)
    frame = _Frame(_start(chart), chart.until, marks[0], (bottom - _TOP) / (marks[-1] - marks[0]), right, bottom)
    body = [_seasons(chart, frame), _grid(marks, frame), _years(frame), _key(chart)]
    body += [_limit(limit, frame, first=at == 0) for at, limit in enumerate(chart.limits)]
    body += [_result(point, series.mark, frame) for series in chart.series for point in series.points]
    body.append(_labels(chart, frame))
    return figure("fig", ident, (0, 0, width, height), chart.title, timeline_words(chart), style, *body)


def _start(chart: Timeline) -> date:
    """The first of January of the first year with a result."""
    return date(min([point.day.year for point in chart.points] + [chart.until.year]), 1, 1)


def _floor(chart: Timeline, high: float) -> float:
    """Where the scale begins: 0, unless every result is a number in the upper half of it (transmittance, pH)."""
    values = [p.value for p in chart.points if p.kind is ResultKind.VALUE] + [limit.value for limit in chart.limits]
    if any(p.kind is not ResultKind.VALUE for p in chart.points) or not values or min(values) < high / 2:
        return 0.0
    return max(0.0, min(values) - max(high - min(values), high * 0.1) * 0.6)


def _seasons(chart: Timeline, frame: _Frame) -> str:
    """The times the house was open, shaded over the whole height, with a heavy line under them."""
    out = []
    for opened, closed in chart.seasons:
        if closed < frame.start or opened > chart.until:
            continue
        a, b = frame.x(max(opened, frame.start)), frame.x(min(closed, chart.until))
        wide = max(b - a, 2.0)
        out.append(
            f'<rect class="shade" x="{number(a)}" y="{number(_TOP)}" width="{number(wide)}" '
            f'height="{number(frame.bottom - _TOP)}"/>'
        )
        out.append(path("open", f"M{number(a)} {number(frame.bottom + 3)}h{number(wide)}"))
    return "".join(out)


def _grid(marks: tuple[float, ...], frame: _Frame) -> str:
    out = []
    for mark in marks:
        y = frame.y(mark)
        cls = "ax" if mark == marks[0] else "gr"
        out.append(path(cls, f"M{number(_LEFT)} {number(y)}H{number(frame.right)}"))
        out.append(words("sm te", _LEFT - 6, y + 4, f"{mark:g}"))
    return "".join(out)


def _years(frame: _Frame) -> str:
    out, edge = [], -99.0
    for year in range(frame.start.year, frame.until.year + 1):
        left, right = frame.x(date(year, 1, 1)), frame.x(min(date(year, 12, 31), frame.until))
        if (left + right) / 2 - edge >= 34:
            edge = (left + right) / 2
            out.append(words("sm tm", edge, frame.bottom + 20, str(year)))
        if year > frame.start.year:
            out.append(path("ax", f"M{number(left)} {number(frame.bottom)}v5"))
    return "".join(out)


def _key(chart: Timeline) -> str:
    """Each place with its mark, in a line over the chart."""
    out, x = [], _LEFT + 6
    for series in chart.series:
        out.append(shape(series.mark, "pt1", x, 14))
        out.append(words("sm", x + 11, 18, series.name))
        x += text_width(series.name, 12) + 32
    return "".join(out)


def _limit(limit: ChartLimit, frame: _Frame, *, first: bool) -> str:
    """A limit line with its words: the first one's at the right, the second one's at the left."""
    return limit_line(_LEFT, frame.right, _limit_height(limit, frame), limit, left=not first)


def _result(point: HistoryPoint, mark: str, frame: _Frame) -> str:
    x = frame.x(point.day)
    if point.kind is ResultKind.BELOW:
        y = frame.y(point.value)
        return _arrow(x, y + 6, frame.bottom) + shape(mark, "nd", x, y)
    if point.kind is ResultKind.ABSENT:
        return shape(mark, "nd", x, frame.bottom)
    if point.kind is ResultKind.PRESENT:
        return shape(mark, "pto", x, frame.bottom - 14) + _past(x, frame.bottom - 14)
    y = frame.y(point.value)
    return shape(mark, "pto", x, y) + _past(x, y) if point.past else shape(mark, "pt1", x, y)


def _arrow(x: float, y: float, floor: float) -> str:
    """From a reporting limit down: the result lies somewhere along it."""
    if floor - y < 5:
        return ""
    return path("ln", f"M{number(x)} {number(y)}V{number(floor - 1)}M{number(x - 3)} {number(floor - 5)}l3 4l3 -4")


def _past(x: float, y: float) -> str:
    """A short bar over a mark past its limit, so that colour never says it alone."""
    return path("lim", f"M{number(x - 5)} {number(y - 9)}h10")


_Box = tuple[float, float, float, float]


def _labels(chart: Timeline, frame: _Frame) -> str:
    """Words at the newest result of each place, and at results that are no number, where there is room: never on a
    limit, its ticks or its words, never on one another."""
    out: list[str] = []
    taken = [box for at, limit in enumerate(chart.limits) for box in _limit_boxes(limit, frame, first=at == 0)]
    newest = {id(max(s.points, key=lambda p: p.day)) for s in chart.series if s.points}
    ordered = sorted(chart.points, key=lambda p: (id(p) not in newest, -p.day.toordinal()))
    for point in ordered:
        if id(point) not in newest and point.kind is ResultKind.VALUE:
            continue
        wide = text_width(point.text, 14, "semibold-italic")
        x, y = frame.x(point.day), _height(point, frame)
        middle = min(max(x, _LEFT + wide / 2 + 2), frame.right - wide / 2)
        box = next((box for box in _places(middle, x, y, wide, frame) if not _meets(box, taken)), None)
        if box is None:
            continue
        taken.append(box)
        out.append(words("v tm", (box[0] + box[2]) / 2, box[3] - 3, point.text))
    return "".join(out)


def _places(middle: float, x: float, y: float, wide: float, frame: _Frame) -> list[_Box]:
    """Where the words of a mark may stand: over it, at its left or right, under it, high over it."""
    half = wide / 2
    tries = [
        (middle - half, y - 24, middle + half, y - 10),
        (x - 9 - wide, y - 10, x - 9, y + 4),
        (x + 9, y - 10, x + 9 + wide, y + 4),
        (middle - half, y + 9, middle + half, y + 23),
        (middle - half, y - 44, middle + half, y - 30),
    ]
    across, down = (_LEFT, frame.right + 1), (_TOP - 14, frame.bottom + 3)
    return [b for b in tries if across[0] <= b[0] and b[2] <= across[1] and down[0] <= b[1] and b[3] <= down[1]]


def _meets(box: _Box, taken: list[_Box]) -> bool:
    return any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in taken)


def _limit_height(limit: ChartLimit, frame: _Frame) -> float:
    """A limit line, kept a little off the floor where nothing may be found."""
    return min(frame.y(limit.value), frame.bottom - (9.0 if limit.sense == "max" else 0.0))


def _limit_boxes(limit: ChartLimit, frame: _Frame, *, first: bool) -> list[_Box]:
    """What a limit covers: its line with ticks, and its words at one end."""
    y = _limit_height(limit, frame)
    above = limit.sense == "max"
    band = (_LEFT, y - 8, frame.right, y + 2) if above else (_LEFT, y - 2, frame.right, y + 8)
    wide = text_width(limit.label, 12) + 4
    left = frame.right - wide if first else _LEFT
    return [band, (left, y - 21, left + wide, y - 7) if above else (left, y + 6, left + wide, y + 20)]


def _height(point: HistoryPoint, frame: _Frame) -> float:
    if point.kind is ResultKind.ABSENT:
        return frame.bottom
    return frame.bottom - 14 if point.kind is ResultKind.PRESENT else frame.y(point.value)


def timeline_words(chart: Timeline) -> str:
    """The answer in words: how many results from each place, how many past a limit, the newest of each."""
    if not chart.points:
        return say("No result yet.")
    told = []
    for series in chart.series:
        points = sorted(series.points, key=lambda p: p.day)
        if not points:
            continue
        count = say("1 result") if len(points) == 1 else say("{count} results", count=len(points))
        past = sum(p.past for p in points)
        newest = points[-1]
        day = f"{newest.day.day} {say(_MONTHS[newest.day.month - 1])} {newest.day.year}"
        unit = f" {chart.unit}" if chart.unit and newest.kind in (ResultKind.VALUE, ResultKind.BELOW) else ""
        told.append(
            say(
                "{place}: {count}, {past} past the limit, newest {result} on {day}.",
                place=series.name,
                count=count,
                past=past,
                result=f"{newest.text}{unit}",
                day=day,
            )
        )
    if chart.limits:
        told.append("; ".join(limit.label for limit in chart.limits) + ".")
    return " ".join(told)
