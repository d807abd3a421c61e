"""Figures that compare: margins as dimension lines, odds as dots, whole-life cost as bars, life used."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sizing.drawing.chart_values import COST_PARTS, CostBar, MarginLine
from sizing.drawing.charts import ticks
from sizing.drawing.element import figure, number, path, words
from sizing.drawing.metrics import text_width
from sizing.drawing.speech import say

_STEP, _MORE = 50.0, 16.0


def draw_margins(title: str, lines: Sequence[MarginLine], ident: str, width: float = 252, style: str = "") -> str:
    """One dimension line per limit, from the value (diamond) to the limit (ticked line): its length is the margin."""
    tops = [0.0]
    for line in lines:
        tops.append(tops[-1] + _STEP + (0 if _one_line(line, width) else _MORE))
    body = "".join(_margin(line, top, width) for line, top in zip(lines, tops, strict=False))
    said = "; ".join(f"{line.label} {line.said}, {_said(line)}" for line in lines)
    return figure("fig", ident, (0, 0, width, tops[-1]), title, said, style, body)


def _said(line: MarginLine) -> str:
    if line.held:
        return say("margin {by}", by=line.margin)
    return say("past the limit by {by}", by=line.margin)


def _one_line(line: MarginLine, width: float) -> bool:
    """Whether label and value go beside each other."""
    return not line.apart and text_width(line.label, 12.5) + text_width(line.said, 14, "semibold-italic") + 8 <= width


def _margin(line: MarginLine, top: float, width: float) -> str:
    one = _one_line(line, width)
    said_y = top + 13 + (0 if one else _MORE)
    y = said_y + 18
    span = line.high - line.low or 1.0

    def across(value: float) -> float:
        return 6 + (width - 12) * max(0.0, min(1.0, (value - line.low) / span))

    x, limit = across(line.value), across(line.limit)
    side = 5 if line.sense == "max" else -5
    out = [
        words("", 0, top + 13, line.label),
        words("v te" if line.held else "v te over", width, said_y, line.said),
        path("gr", f"M0 {number(y)}H{number(width)}"),
        path("lim", f"M{number(limit)} {number(y - 9)}v18"),
        path("limt", "".join(f"M{number(limit)} {number(y - 5 + 6 * k)}l{side} -4" for k in range(3))),
    ]
    if line.held:
        out.append(path("pt1", f"M{number(x)} {number(y - 5)}l5 5l-5 5l-5 -5z"))
    else:
        out.append(path("pto", f"M{number(x)} {number(y - 6)}l6 11h-12z"))
    out.append(_dimension(x, limit, y, line.held))
    middle = (x + limit) / 2
    half = text_width(line.margin, 12.5, "semibold") / 2
    middle = min(max(middle, half), width - half)
    out.append(words("dimt tm" if line.held else "dimt tm over", middle, y + 16, line.margin))
    return "".join(out)


def _dimension(x: float, limit: float, y: float, held: bool) -> str:
    """The line with arrowheads; too short for both it is left out."""
    ends = sorted((x, limit))
    gap = 7.0
    left, right = ends[0] + (gap if ends[0] == x else 1), ends[1] - (gap if ends[1] == x else 1)
    if right - left < 14:
        return ""
    tone = "" if held else " over"
    heads = f"M{number(left)} {number(y)}l7 -3v6zM{number(right)} {number(y)}l-7 -3v6z"
    return path("dim", f"M{number(left + 3)} {number(y)}H{number(right - 3)}") + path(f"dimh{tone}", heads)


def _held(share: float, of: int) -> int:
    """How many of ``of`` hold: never rounded up to all, nor down to none."""
    if not 0 <= share <= 1:
        raise ValueError(f"share is {share}, accepted is 0 to 1")
    held = round(share * of)
    if share < 1:
        held = min(held, of - 1)
    return max(held, 1) if share > 0 else held


def odds_words(share: float, of: int = 50) -> str:
    """The share as a count: "48 in 50"."""
    return say("{held} in {of}", held=_held(share, of), of=of)


def draw_odds(share: float, ident: str, of: int = 50, width: float = 252, style: str = "") -> str:
    """One dot per plausible peak, hollow where a limit breaks; 25 to a row."""
    held = _held(share, of)
    step = (width - 14) / 24
    dots = "".join(
        f'<circle class="{"yes" if k < held else "no"}" cx="{number(7 + step * (k % 25))}" '
        f'cy="{7 + 14 * (k // 25)}" r="3.6"/>'
        for k in range(of)
    )
    title = say("{odds} plausible peaks hold every limit", odds=odds_words(share, of))
    return figure("fig", ident, (0, 0, width, 14 * ((of + 24) // 25)), title, "", style, dots)


def draw_costs(
    title: str,
    bars: Sequence[CostBar],
    ident: str,
    money: Callable[[float], str],
    width: float = 850,
    style: str = "",
) -> str:
    """Whole-life cost of each alternative on one scale, parts in a fixed order, told apart by fill and hatch."""
    name = max((text_width(bar.name, 12.5, "semibold") for bar in bars), default=0) + 12
    aside = max((text_width(bar.total, 12.5, "semibold") for bar in bars), default=0) + 12
    marks = ticks(max((sum(bar.parts) for bar in bars), default=1.0) or 1.0)
    scale = (width - name - aside) / marks[-1]
    out: list[str] = []
    for mark in marks:
        x = name + mark * scale
        out.append(path("gr", f"M{number(x)} 18V{18 + 40 * len(bars)}"))
        anchor = "sm" if mark == marks[0] else ("sm te" if mark == marks[-1] else "sm tm")
        out.append(words(anchor, x, 12, money(mark)))
    for k, bar in enumerate(bars):
        y = 26 + 40 * k
        x = name
        out.append(words("b", 0, y + 19, bar.name))
        for part, (amount, text) in enumerate(zip(bar.parts, bar.texts, strict=True)):
            out.append(_block(part, x, y, amount * scale, text))
            x += amount * scale
        out.append(words("b", x + 7, y + 19, bar.total))
    said = "; ".join(f"{bar.name}: {bar.total}, " + ", ".join(_named(bar)) for bar in bars)
    return figure("fig", ident, (0, 0, width, 26 + 40 * len(bars)), title, said, style, *out)


def _named(bar: CostBar) -> list[str]:
    return [f"{text} {say(name)}" for name, text, part in zip(COST_PARTS, bar.texts, bar.parts, strict=True) if part]


def _block(part: int, x: float, y: float, wide: float, text: str) -> str:
    """One part of a bar, its figure inside where it fits."""
    if wide < 0.5:
        return ""
    d = f"M{number(x)} {y}h{number(wide)}v28h-{number(wide)}z"
    out = [path(f"c{part + 1}", d), cost_hatch(part, x, y, wide, 28), path("cb", d)]
    if part < 3 and text_width(text, 12.5, "semibold") + 8 <= wide:
        out.append(words("inv tm" if part < 2 else "b tm", x + wide / 2, y + 18.5, text))
    return "".join(out)


def cost_hatch(part: int, x: float, y: float, wide: float, high: float) -> str:
    """Hatch of power (strokes) and of visits (dots); nothing for the plain parts."""
    if part == 3 and wide > 10:
        lean = high * 0.22
        lines = "".join(
            f"M{number(x + k)} {number(y + high)}l{number(lean)} -{number(high)}"
            for k in _steps(2, wide - lean - 1, 6)
        )
        return path("ch", lines)
    if part == 4 and wide > 8:
        rows = _steps(6, high - 4, 8) or [high / 2]
        dots = "".join(f"M{number(x + a)} {number(y + b)}h.1" for a in _steps(5, wide - 3, 7) for b in rows)
        return path("ch", dots)
    return ""


def _steps(first: float, last: float, step: float) -> list[float]:
    return [first + step * k for k in range(int((last - first) / step) + 1)] if last >= first else []


def draw_life(used: float, words_: str, ident: str, style: str = "") -> str:
    """How much of a part's life is used: a bar on a scale in quarters; past the end it turns and ends in a bar."""
    if used < 0:
        raise ValueError(f"used is {used}, accepted is 0 or more")
    wide = 118 * min(used, 1.0)
    bar = path("pto" if used > 1 else "used", f"M1 2H{number(1 + max(wide, 1))}V7H1Z")
    axis = path("ax", "M1 12H119M1 8V12M30.5 10V12M60 8V12M89.5 10V12M119 8V12")
    end = path("last", "M119 0V12") if used > 1 else ""
    return figure("fig life", ident, (0, 0, 120, 14), words_, "", style, axis, bar, end)
