"""Colours, styles and faces: contrast by WCAG's own formula, one source for screen and paper, nothing inline."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sizing.drawing.papers import PRINT, font_faces, paper_css, svg_rules

ROOT = Path(__file__).parents[2]
CSS = ROOT / "service" / "static" / "css"
DRAWING = ROOT / "sizing" / "drawing"
TOKENS = (CSS / "tokens.css").read_text(encoding="utf-8")


def theme(start: str) -> dict[str, str]:
    block = TOKENS[TOKENS.index(start) :]
    return dict(re.findall(r"--([a-z0-9-]+): (#[0-9A-Fa-f]{6})", block[: block.index("}")]))


THEMES = {
    "light": theme(':root, [data-theme="light"] {'),
    "dark": theme('[data-theme="dark"] {'),
    "night by device": theme(":root:not([data-theme]) {"),
    "outdoor": theme('[data-theme="outdoor"] {'),
    "print": theme("@media print {"),
}


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definition of "relative luminance"."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_black_on_white_21() -> None:
    """WCAG 2.2 states the ratio runs from 1 to 21."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == pytest.approx(1.0)


@pytest.mark.parametrize("name", list(THEMES))
def test_words_reach_their_contrast(name: str) -> None:
    """4.5:1 for words and 3:1 for edges of controls (WCAG 2.2, 1.4.3 and 1.4.11); 7:1 for every word outdoors."""
    held = THEMES[name]
    least = 7.0 if name in ("outdoor", "print") else 4.5
    for word in ("ink", "ink-2", "ink-3", "water", "raw", "hot", "go", "soon", "late", "laid", "unproven"):
        for ground in ("paper", "sheet"):
            limit = 6.99 if least == 7.0 else least
            assert contrast(held[word], held[ground]) >= limit, (name, word, ground)
    assert contrast(held["on-alarm"], held["alarm"]) >= least
    assert contrast(held["on-act"], held["act"]) >= least
    for fill in ("water-fill", "raw-fill", "late-fill", "soon-fill", "hot-fill"):
        assert contrast(held["ink"], held[fill]) >= 4.5, (name, fill)
    for edge in ("edge", "focus", "pipe"):
        assert contrast(held[edge], held["paper"]) >= 3.0, (name, edge)


def test_night_by_device_is_night_by_choice() -> None:
    assert THEMES["night by device"] == THEMES["dark"]


def test_papers_print_the_values_of_the_print_theme() -> None:
    assert {name: value.upper() for name, value in THEMES["print"].items()} == {
        name: value for name, value in PRINT.items() if value.startswith("#")
    }


@pytest.mark.parametrize(
    ("sheet", "rules", "start", "end"),
    [
        ("path.css", "rules.css", "/* drawing */\n", "/* end of drawing */"),
        ("components.css", "charts.css", "charts.css, word for word */\n", "/* end of figures */"),
    ],
)
def test_screen_and_paper_share_their_rules(sheet: str, rules: str, start: str, end: str) -> None:
    text = (CSS / sheet).read_text(encoding="utf-8")
    begin = text.index(start) + len(start)
    assert text[begin : text.index(end)] == (DRAWING / rules).read_text(encoding="utf-8")


def test_every_name_of_a_colour_is_known() -> None:
    tokens = set(re.findall(r"--([a-z0-9-]+):", TOKENS))
    for sheet in CSS.glob("*.css"):
        used = set(re.findall(r"var\(--([a-z0-9-]+)\)", sheet.read_text(encoding="utf-8")))
        assert used <= tokens, sheet.name
    assert "var(" not in svg_rules()


@pytest.mark.parametrize("size", ["Letter", "A4"])
def test_a_paper_fetches_nothing(size: str) -> None:
    css = paper_css(size)
    assert f"size: {size};" in css
    assert "var(" not in css
    assert set(re.findall(r"url\((\w+):", css)) == {"data"}
    assert css.count("@font-face") == 4
    with pytest.raises(ValueError, match="accepted is 'Letter' or 'A4'"):
        paper_css("A5")


def test_the_faces_stay_small_and_keep_their_licence() -> None:
    assert len(font_faces()) < 130_000
    assert "SIL OPEN FONT LICENSE" in (ROOT / "service/static/fonts/OFL.txt").read_text(encoding="utf-8")


def test_nothing_is_styled_inline() -> None:
    for page in (ROOT / "templates").rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        assert not re.search(r"\sstyle=", text), page
        assert not re.search(r"\son[a-z]+=", text), page
        if "documents" not in page.parts:
            assert "<style" not in text, page
        assert not re.search(r"<script(?![^>]*\bsrc=)(?![^>]*application/json)", text), page


def test_templates_keep_their_size() -> None:
    for page in (ROOT / "templates").rglob("*.html"):
        assert len(page.read_text(encoding="utf-8").splitlines()) < 130, page
