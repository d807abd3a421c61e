"""Cuts the shipped faces down from the full ones, and writes their advance widths beside the drawing code.

Run it when the face changes: ``python -m sizing.drawing.faces <folder with the otf files> <target folder>``.
The full faces come with the package ``font-source-sans-pro`` (SIL Open Font Licence 1.1). The licence
reserves their name, so the cut ones carry another: ``Tarn Sans``.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from fontTools.subset import Options, Subsetter, parse_unicodes  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

FAMILY = "Tarn Sans"
FACES = {
    "regular": "SourceSansPro-Regular.otf",
    "semibold": "SourceSansPro-Semibold.otf",
    "italic": "SourceSansPro-It.otf",
    "semibold-italic": "SourceSansPro-SemiboldIt.otf",
}
# Latin with accents, signs of the trade (µ ² ³ ½ ± × − ≤ ≥ ≈), subscripts, quotes, arrows, euro, triangle
UNICODES = (
    "20-7E,A0-17F,218-21B,2BC,394,3A9,3BC,2002,2009,2013,2014,2018-201A,201C-201E,2022,2026,202F,2032,2033,"
    "2080-2089,20AC,2190,2192,2212,2248,2264,2265,25B2"
)


def _rename(face: TTFont, style: str) -> None:
    """Puts our own family name wherever the face states its name; copyright and licence stay."""
    plain = f"{FAMILY} {style}".title()
    joined = plain.replace(" ", "")
    for name_id, text in ((1, FAMILY), (2, style.title()), (3, joined), (4, plain), (6, joined)):
        for record in [held for held in face["name"].names if held.nameID == name_id]:
            face["name"].setName(text, name_id, record.platformID, record.platEncID, record.langID)
    outlines = face["CFF "].cff
    outlines.fontNames[0] = joined
    outlines[0].FullName, outlines[0].FamilyName = plain, FAMILY


def cut(source: Path, target: Path, style: str) -> dict[str, int]:
    """One face cut to ``UNICODES`` as woff2; returns its advance widths in thousandths of an em."""
    options = Options()
    options.flavor = "woff2"
    options.layout_features = ["kern", "liga", "ccmp", "locl", "mark", "mkmk", "tnum", "lnum"]
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    face = TTFont(source, recalcTimestamp=False)
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=parse_unicodes(UNICODES))
    subsetter.subset(face)
    _rename(face, style.replace("-", " "))
    face.flavor = "woff2"
    face.save(target)
    em = face["head"].unitsPerEm
    chosen = sorted(face.getBestCmap().items())
    return {chr(code): round(face["hmtx"][name][0] * 1000 / em) for code, name in chosen}


def main(source: Path, target: Path) -> None:
    """All four faces, then the widths the drawing measures text with."""
    widths = {face: cut(source / name, target / f"tarn-sans-{face}.woff2", face) for face, name in FACES.items()}
    held = {"family": FAMILY, "unit": "1/1000 em", "faces": widths}
    written = json.dumps(held, ensure_ascii=False, separators=(",", ":"))
    (Path(__file__).parent / "advances.json").write_text(written + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
