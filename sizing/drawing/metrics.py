"""Widths of text in the face we ship, from its own advance widths: nothing is measured in a browser."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Final

FACES: Final = ("regular", "semibold", "italic", "semibold-italic")
_WIDEST: Final = 1000  # thousandths of an em, for a character the face does not hold


@lru_cache(maxsize=1)
def _advances() -> dict[str, dict[str, int]]:
    held = json.loads((Path(__file__).parent / "advances.json").read_text(encoding="utf-8"))
    faces: dict[str, dict[str, int]] = held["faces"]
    return faces


def text_width(text: str, size: float, face: str = "regular") -> float:
    """Width of ``text`` in px at ``size`` px, plus 1 px for the kerning that is not counted.

    A character outside the face counts a full em, so a box never comes out too small.
    """
    widths = _advances()[face]
    return sum(widths.get(char, _WIDEST) for char in text) * size / 1000 + (1 if text else 0)


def broken(text: str, room: float, size: float, face: str = "regular", most: int = 2) -> tuple[str, ...]:
    """``text`` over at most ``most`` lines of ``room`` px, broken at plain spaces only.

    The last line takes what is left, however long: never shrunk, never cut.
    """
    lines: list[str] = []
    left = text.split(" ")
    while left and len(lines) < most - 1:
        line = left.pop(0)
        while left and text_width(f"{line} {left[0]}", size, face) <= room:
            line = f"{line} {left.pop(0)}"
        lines.append(line)
    if left:
        lines.append(" ".join(left))
    return tuple(line for line in lines if line)


def balanced(text: str, size: float, face: str = "regular") -> tuple[str, ...]:
    """``text`` on two lines whose longer one is as short as can be; one line if it has one word."""
    parts = text.split(" ")
    if len(parts) < 2:
        return (text,) if text else ()
    splits = [(" ".join(parts[:at]), " ".join(parts[at:])) for at in range(1, len(parts))]
    return min(splits, key=lambda pair: max(text_width(line, size, face) for line in pair))
