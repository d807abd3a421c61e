"""The drawing is also the table: a ledger under it, its columns standing under their points."""

from __future__ import annotations

from sizing.drawing.cells import BODY, VALUE
from sizing.drawing.element import group, number, path, words
from sizing.drawing.metrics import text_width
from sizing.drawing.path import AXIS, Row
from sizing.drawing.speech import say
from sizing.drawing.taps import TAP_Y
from sizing.drawing.values import LedgerRow, PathPoint, Reading, Standing


def leaders(row: Row) -> str:
    """Thin leaders from each diamond down to its column."""
    return "".join(
        path("ld", f"M{number(x)} {(TAP_Y if _at_tap(row, x) else AXIS) + 9}V{number(row.ledger - 16)}")
        for x, _ in row.points
    )


def diamonds(row: Row) -> str:
    """Filled: something measured. Hollow: expected only. Thin: nothing known."""
    out: list[str] = []
    for x, point in row.points:
        kind = "pm" if point.measured else ("pe" if point.known else "pn")
        y = TAP_Y if _at_tap(row, x) else AXIS
        out.append(group(f"pt {kind}", f'<path d="M{number(x)} {y - 8}l8 8l-8 8l-8 -8z"/>'))
        out.append(words("b pl tm", x, y - 12, point.letter))
    return "".join(out)


def _at_tap(row: Row, x: float) -> bool:
    return row.taps is not None and row.taps.point == x


def ledger(row: Row, stacked: bool) -> str:
    """Letters, dates, a heavy rule and one ruled row per parameter."""
    if not row.rows:
        return _heads(row)
    y = row.ledger + 21
    out = [_heads(row), path("rl hv", f"M0 {number(y)}H{number(row.end)}")]
    for held in row.rows:
        base = y + row.pitch / 2 + 5
        y += row.pitch
        out.append(path("rl", f"M0 {number(y)}H{number(row.end)}"))
        out.append(_label(held, base, row.first, stacked))
        for k, (x, point) in enumerate(row.points):
            reading = point.reading(held.code)
            if reading is not None:
                delivered = row.taps is not None and (k == len(row.points) - 1 or x >= row.taps.left)
                out.append(_value(x, base, reading, delivered))
    return "".join(out)


def _heads(row: Row) -> str:
    out: list[str] = []
    for x, point in row.points:
        out.append(words("b tm", x, row.ledger, point.letter))
        out.append(_when(x, row.ledger + 15, point))
    return "".join(out)


def _when(x: float, y: float, point: PathPoint) -> str:
    if point.measured:
        return words("sm m tm", x, y, point.date)
    return words("sm x tm", x, y, say("expected") if point.known else "")


def _label(held: LedgerRow, base: float, first: bool, stacked: bool) -> str:
    """Label with unit and limit; a row that goes on repeats the label alone."""
    if not first:
        return words("b", 0, base, held.label)
    if stacked:
        return words("b", 0, base - 7, held.label) + words("sm", 0, base + 7, held.note)
    return words("b", 0, base, held.label) + words(
        "sm", text_width(held.label, BODY, "semibold") + 6, base, held.note
    )


def _value(x: float, base: float, reading: Reading, delivered: bool) -> str:
    """One value; a triangle before it when past its limit (filled: health, hollow: aesthetic)."""
    face = "semibold-italic" if reading.measured else "italic"
    kinds = ["wv", "m" if reading.measured else "x"]
    sign = ""
    if reading.standing.past:
        health = reading.standing is Standing.HEALTH
        tone = "oh" if health and delivered else "ov"
        kinds.append(tone)
        left = x - text_width(reading.text, VALUE, face) / 2 - 11
        shape = "ovm" if health else "ovm hollow"
        sign = path(f"{shape} {tone}", f"M{number(left)} {number(base)}l4 -8l4 8z")
    return sign + words(" ".join([*kinds, "tm"]), x, base, reading.text)
