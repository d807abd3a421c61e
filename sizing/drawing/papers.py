"""What a figure needs on paper: print values for its classes, and the faces as data.

A paper's page style does not reach inside an SVG, so a drawing for paper carries its rules with it.
"""

from __future__ import annotations

import base64
import re
from functools import lru_cache
from pathlib import Path
from typing import Final

PRINT: Final[dict[str, str]] = {
    "paper": "#FFFFFF",
    "sheet": "#FFFFFF",
    "ink": "#111111",
    "ink-2": "#3A3A3A",
    "ink-3": "#595959",
    "rule": "#BDBDBD",
    "edge": "#6E6E6E",
    "water": "#0B5F78",
    "water-fill": "#DCE9ED",
    "pipe": "#111111",
    "raw": "#3D2E0F",
    "raw-fill": "#EDE6D6",
    "hot": "#6E2A18",
    "hot-fill": "#F4E7E2",
    "lamp": "#FFF4CF",
    "go": "#111111",
    "soon": "#111111",
    "late": "#111111",
    "alarm": "#111111",
    "on-alarm": "#FFFFFF",
    "late-fill": "#EFEFEF",
    "soon-fill": "#F4F4F4",
    "laid": "#3A3A3A",
    "unproven": "#111111",
    "focus": "#111111",
    "act": "#111111",
    "on-act": "#FFFFFF",
    "draw-1": "1",
    "draw-2": "1.5",
}
FACES: Final = (
    ("regular", 400, "normal"),
    ("semibold", 600, "normal"),
    ("italic", 400, "italic"),
    ("semibold-italic", 600, "italic"),
)
_HERE: Final = Path(__file__).parent
_FONTS: Final = _HERE.parents[1] / "service" / "static" / "fonts"


def _printed(rules: str) -> str:
    """``rules`` with every colour name replaced by its print value; an unknown name is an error."""
    bare = re.sub(r"/\*.*?\*/", "", rules, flags=re.S)
    return re.sub(r"var\(--([a-z0-9-]+)\)", lambda found: PRINT[found[1]], bare)


@lru_cache(maxsize=1)
def svg_rules() -> str:
    """The rules of the water path and of the charts, print values written in."""
    rules = (_HERE / "rules.css").read_text(encoding="utf-8") + (_HERE / "charts.css").read_text(encoding="utf-8")
    return _printed(rules).replace("\n", "")


@lru_cache(maxsize=1)
def _rules_by_class() -> tuple[tuple[str, frozenset[str]], ...]:
    """Every rule with the classes its selectors ask for, the root's own left out."""
    rules = re.findall(r"[^{}]+\{[^{}]*\}", svg_rules())
    roots = {"wp", "fig"}
    return tuple((rule, frozenset(re.findall(r"\.([a-z][\w-]*)", rule.split("{")[0])) - roots) for rule in rules)


def svg_style(body: str = "") -> str:
    """The one ``<style>`` a drawing for paper carries: the rules the path in ``body`` uses, all without it.

    A paper reads a drawing's rules anew each time; those of marks that are not drawn would be read for nothing.
    """
    if not body:
        return f"<style>{svg_rules()}</style>"
    used = {name for names in re.findall(r'class="([^"]+)"', body) for name in names.split()}
    kept = "".join(
        rule for rule, classes in _rules_by_class() if rule.startswith(".wp") and (not classes or classes & used)
    )
    return f"<style>{kept}</style>"


@lru_cache(maxsize=1)
def font_faces() -> str:
    """``@font-face`` rules with the four faces as data, about 110 kB: nothing is fetched while a paper is made."""
    rules = []
    for face, weight, style in FACES:
        data = base64.b64encode((_FONTS / f"tarn-sans-{face}.woff2").read_bytes()).decode("ascii")
        rules.append(
            f'@font-face{{font-family:"Tarn Sans";font-weight:{weight};font-style:{style};'
            f'src:url(data:font/woff2;base64,{data}) format("woff2")}}'
        )
    return "\n".join(rules)


@lru_cache(maxsize=1)
def sheet_rules() -> str:
    """The rules of every paper without faces and sheet size: these go with the paper, the faces stay loaded."""
    return _printed((_HERE / "paper.css").read_text(encoding="utf-8"))


def page_rule(size: str) -> str:
    """The sheet: "Letter" or "A4"; else ``ValueError``."""
    if size not in ("Letter", "A4"):
        raise ValueError(f"size is {size!r}, accepted is 'Letter' or 'A4'")
    return f"@page {{ size: {size}; }}"


def paper_css(size: str = "Letter") -> str:
    """The whole style of a paper: faces, print values, page. ``size`` is "Letter" or "A4"; else ``ValueError``."""
    return f"{font_faces()}\n{sheet_rules()}\n{page_rule(size)}"
