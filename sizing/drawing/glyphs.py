"""The glyph of each kind of stage: one fragment of SVG, its width and where the pipe joins it.

Origin on the pipe's axis, floor 114 below it (70 below the tap line for polishing units). Classes only, so a
fragment takes its colours from the page or the paper. A new kind: one file in ``glyphs/``, one line here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from sizing.drawing.values import PathStage
from sizing.engine.design import StageKind

FLOOR: Final = 114
TAP_FLOOR: Final = 70


@dataclass(frozen=True)
class Glyph:
    """``cell`` is the width it needs, ``enters`` and ``leaves`` where the pipe meets it, ``top``/``foot`` its
    reach above and below the axis; px. ``bypass`` = the trade fits a bypass round it."""

    name: str
    cell: float
    enters: float
    leaves: float
    top: float
    foot: float
    purpose: str
    bypass: bool = True


_K = StageKind
_GLYPHS: dict[str, Glyph] = {
    glyph.name: glyph
    for glyph in (
        Glyph("sediment", 76, -19, 19, -14, 68, "Catches grit and fine particles"),
        Glyph("backwash", 88, -15, 15, -11, 114, "Catches grit and rinses itself"),
        Glyph("neutraliser", 88, -15, 15, -11, 114, "Raises the pH so the water stops eating pipes"),
        Glyph("airox", 88, -15, 15, -11, 114, "Takes out iron, manganese and the egg smell"),
        Glyph("softener", 96, -35, -5, -11, 114, "Takes out hardness"),
        Glyph("organics", 96, -35, -5, -11, 114, "Takes out the tea colour"),
        Glyph("nitrate", 96, -35, -5, -11, 114, "Takes out nitrate"),
        Glyph("carbon", 76, -19, 19, -14, 68, "Takes out taste and smell"),
        Glyph("carbon_tank", 88, -15, 15, -11, 114, "Takes out taste and smell"),
        Glyph("restrictor", 66, -17, 17, -13, 13, "Holds the flow to what the next stage can treat", False),
        Glyph("uv", 98, -39, 39, -17, 102, "Light that stops germs multiplying", False),
        Glyph("ro", 118, -43, 30, -7, 70, "Extra polish at one tap", False),
        Glyph("tap_carbon", 64, -14, 14, -12, 50, "Extra polish for taste at one tap", False),
        Glyph("screen", 72, -17, 17, -10, 73, "Catches sand; flushed by hand"),
        Glyph("soda_ash", 80, 0, 0, -5, 114, "Feeds soda ash to raise the pH", False),
        Glyph("catalytic", 88, -15, 15, -11, 114, "Takes out iron and manganese"),
        Glyph("permanganate", 100, -29, 1, -11, 114, "Takes out iron and manganese, renewed from a pot"),
        Glyph("feed", 80, 0, 0, -5, 114, "Feeds chlorine", False),
        Glyph("retention", 84, -27, 27, -4, 114, "Gives the chlorine time to work", False),
        Glyph("ultrafilter", 82, -16, 16, -10, 108, "Fine fibres that hold germs back", False),
        Glyph("booster", 72, -16, 16, -33, 80, "Raises the pressure", False),
        Glyph("reducer", 66, -17, 17, -33, 9, "Holds the pressure down", False),
        Glyph("jacket", 72, 0, 0, 0, 114, "Stops a cold tank from sweating", False),
    )
}
_BY_KIND: dict[StageKind, str] = {**{kind: kind.value for kind in _K}, _K.CHLORINE: "feed"}


def glyph_of(stage: PathStage) -> Glyph:
    """The glyph a stage is drawn with."""
    if stage.kind is StageKind.CARBON and stage.form == "tank":
        return _GLYPHS["carbon_tank"]
    return _GLYPHS[_BY_KIND[stage.kind]]


@cache
def fragment(name: str) -> str:
    """The SVG of glyph ``name``, without its group."""
    text = (Path(__file__).parent / "glyphs" / f"{name}.svg").read_text(encoding="utf-8")
    return text.replace("\n", "")
