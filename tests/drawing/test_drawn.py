"""The pictures: well-formed, titled, escaped, the same facts as the list."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from sizing.drawing.cells import HOT_SCALE, hot_lines
from sizing.drawing.drawn import Mode, draw_path
from sizing.drawing.glyphs import FLOOR, fragment, glyph_of
from sizing.drawing.listed import path_list
from sizing.drawing.metrics import text_width
from sizing.drawing.path import AXIS, plan_path
from sizing.drawing.pipes import gap_standings, tap_standing
from sizing.drawing.speech import speaking
from sizing.drawing.strip import draw_strip
from sizing.drawing.taps import HOT_Y
from sizing.drawing.values import PathBranch, PathSource, PathStage, StageState, Standing, WaterPath
from sizing.engine.design import SourceType, StageKind
from tests.drawing import paths

SVG = "{http://www.w3.org/2000/svg}"
EVERY = [
    paths.one_stage(),
    paths.proposed_well(),
    paths.lake_cabin("4", "Do not drink the water"),
    paths.soft_hot_water(),
    paths.nine_stages(),
    paths.long_names(),
    *paths.every_kind(),
]
HOSTILE = "<script>alert(1)</script>&\"'\x00\x1b ]]> <!--"


def drawn(path: WaterPath, mode: Mode = "screen", width: float = 1100) -> ElementTree.Element:
    return ElementTree.fromstring(draw_path(path, width, mode))


def said(root: ElementTree.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.title)
@pytest.mark.parametrize("mode", ["screen", "paper", "mini"])
@pytest.mark.parametrize("width", [254, 700, 1100])
def test_every_drawing_is_well_formed_and_titled(path: WaterPath, mode: Mode, width: float) -> None:
    root = drawn(path, mode, width)
    assert root.tag == f"{SVG}svg"
    assert root[0].tag == f"{SVG}title"  # papers read only the title, and only when it comes first
    assert root[0].text == path.title
    assert root[1].tag == f"{SVG}desc"
    assert float(root.get("width") or 0) >= min(width, 254)
    assert not [element for element in root.iter() if element.get("style")]
    assert root.get("aria-labelledby") == f"{root[0].get('id')} {root[1].get('id')}"


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.title)
def test_every_fact_of_the_drawing_is_in_the_list(path: WaterPath) -> None:
    """Names, dates, parts and every value, expected ones and pressure too."""
    spoken = " ".join(item.words for item in path_list(path)).replace("\u00a0", " ")
    shown = " ".join(said(drawn(path))).replace("\u00a0", " ")
    for stage in path.stages:
        assert stage.name in spoken
        for text in (stage.date, stage.part, *stage.size):
            assert text in spoken
        if not stage.size:
            assert stage.state.word in spoken
        assert stage.name.split(" ")[0] in shown
    for point in path.every_point:
        for reading in point.readings:
            held = next(row for row in path.rows if row.code == reading.row)
            assert f"{reading.text} {held.unit}".strip() in spoken
            assert reading.text in shown
    assert path.source.name in spoken
    assert path.taps.cold_name.lower() in spoken.lower()
    assert path.taps.cold in spoken


def test_a_point_says_who_knows_and_what_is_past() -> None:
    items = {item.name: item.words for item in path_list(paths.lake_cabin("4"))}
    assert items["Point G"].startswith("Point G, measured 2 Jun 2026: ")
    assert "total coliform 4 per 100 mL, past the health limit, none" in items["Point G"]
    assert items["Point B"].startswith("Point B, expected: colour 46 TCU, past the aesthetic limit, at most 15")
    assert items["UV"] == (
        "Stage 6, UV, Light that stops germs multiplying: overdue, lamp, 12 months was due 30 Sep 2025"
    )


def test_the_notice_leads_the_description() -> None:
    root = drawn(paths.lake_cabin("4", "Do not drink the water"))
    assert (root[1].text or "").startswith("Do not drink the water. ")


def test_no_drawing_calls_water_safe() -> None:
    for path in EVERY:
        whole = draw_path(path) + " ".join(item.words for item in path_list(path))
        assert "safe" not in whole.lower()


def test_hostile_words_stay_words() -> None:
    base = paths.lake_cabin()
    stage = PathStage(1, StageKind.UV, HOSTILE, StageState.SOON, HOSTILE, HOSTILE)
    hostile = replace(
        base,
        title=HOSTILE,
        notice=HOSTILE,
        source=PathSource(SourceType.LAKE, HOSTILE, HOSTILE),
        branch=PathBranch(HOSTILE, HOSTILE),
        stages=(stage, *base.stages[1:]),
    )
    for mode in ("screen", "paper", "mini"):
        text = draw_path(hostile, 1100, mode)
        root = ElementTree.fromstring(text)
        assert not list(root.iter(f"{SVG}script"))
        assert "<script" not in text
        assert "\x00" not in text


def test_ids_take_only_what_they_are_given() -> None:
    root = ElementTree.fromstring(draw_path(paths.one_stage(), ident='a" onload="x'))
    assert root.get("onload") is None


@pytest.mark.parametrize("kind", list(StageKind))
def test_every_kind_has_a_glyph_that_stands_on_the_floor_or_hangs(kind: StageKind) -> None:
    glyph = glyph_of(PathStage(1, kind, "x"))
    ElementTree.fromstring(f"<g>{fragment(glyph.name)}</g>")
    assert glyph.enters <= 0 <= glyph.cell / 2
    assert glyph.enters <= glyph.leaves
    assert glyph.foot <= FLOOR
    assert glyph.purpose


def test_every_glyph_uses_the_classes_of_the_grammar_only() -> None:
    allowed = {"o", "n", "s", "w", "d", "k", "g", "e", "r", "h", "salt", "lamp", "ray"}
    for kind in StageKind:
        for form in ("", "tank"):
            name = glyph_of(PathStage(1, kind, "x", form=form)).name
            assert set(re.findall(r'class="([^"]*)"', fragment(name))) <= allowed
            assert 'style="' not in fragment(name)


def test_disinfection_gets_no_bypass_loop() -> None:
    """A loop round disinfection would let raw water to the taps (common practice: none is fitted)."""
    loops = {
        path.title: sum(e.get("class") == "by" for e in ElementTree.fromstring(draw_path(path, bypass=True)).iter())
        for path in EVERY
    }
    assert loops["Water path, one stage"] == 0  # UV alone
    assert loops["Water path proposed for Quern Lane"] == 3  # not round the UV
    assert loops["Water path, Alder Point cabin"] == 4  # not round restrictor and UV


def test_pipe_keeps_its_ticks_until_a_sample_answers() -> None:
    clear = gap_standings(paths.lake_cabin("absent"))
    assert clear == (Standing.HEALTH,) * 6 + (Standing.WITHIN,)
    assert gap_standings(paths.lake_cabin("4"))[-1] is Standing.HEALTH
    nine = gap_standings(paths.nine_stages())
    assert nine == (Standing.AESTHETIC,) * 5 + (Standing.WITHIN,) * 5


def test_nothing_tested_is_not_known_and_a_laid_up_unit_tells_nothing() -> None:
    bare = replace(paths.one_stage(), points=(paths.point(0), paths.point(1)))
    assert gap_standings(bare) == (Standing.UNKNOWN, Standing.UNKNOWN)
    assert tap_standing(paths.lake_cabin()) is Standing.UNKNOWN
    assert tap_standing(paths.proposed_well()) is Standing.WITHIN


def test_pressure_alone_never_makes_pipe_plain() -> None:
    path = replace(
        paths.one_stage(),
        points=(paths.point(0, *paths.readings(True, colour="12")), paths.point(1)),
    )
    assert gap_standings(path)[0] is Standing.UNKNOWN


def test_side_by_side_units_share_a_number() -> None:
    shown = said(drawn(paths.proposed_well()))
    assert "1a" in shown
    assert "1b" in shown
    assert "two, side by side" in shown


def test_paper_carries_its_own_colours_and_size() -> None:
    text = draw_path(paths.one_stage(), 828, "paper", shown=725)
    root = ElementTree.fromstring(text)
    assert "var(" not in text
    assert root.get("width") == "725"
    box = [float(part) for part in (root.get("viewBox") or "").split(" ")]
    assert float(root.get("height") or 0) == pytest.approx(725 * box[3] / box[2], abs=0.1)


def test_the_drawing_speaks_the_readers_language() -> None:
    french = {
        "expected": "attendu",
        "in service": "en service",
        "Stage {number}": "Étape {number}",
        "past a health limit": "au-delà d’une limite de santé",
    }
    with speaking(lambda text: french.get(text, text)):
        shown = said(drawn(paths.lake_cabin()))
        items = path_list(paths.lake_cabin())
    assert "attendu" in shown
    assert "expected" not in shown
    assert "en service" in shown
    assert items[0].rail_words == "au-delà d’une limite de santé"
    assert any(item.words.startswith("Étape 1, ") for item in items)
    assert "expected" in said(drawn(paths.lake_cabin()))  # and back again


@pytest.mark.parametrize("width", [700, 1100])
def test_a_softener_on_the_hot_line_stands_between_the_split_and_the_heater(width: float) -> None:
    path = paths.soft_hot_water()
    plan = plan_path(path, width)
    taps = next(row.taps for row in plan.rows if row.taps is not None)
    ((left, unit),) = taps.heated
    assert taps.left < left < taps.heater < taps.tap
    assert unit.number == 2
    # Its glyph, scaled, ends above the cold pipe (walls 4.5 px from the axis).
    assert HOT_Y + glyph_of(unit).foot * HOT_SCALE < AXIS - 4.5
    # Its words end before the heater begins.
    name, note = hot_lines(unit)
    assert left + 25 + max(text_width(line, 12.5, "semibold") for line in name) < taps.heater
    assert left + 25 + text_width(note, 12.0) < taps.heater
    plain = replace(path, stages=(path.stages[0], replace(path.stages[2], number=2)))
    assert len(plan_path(plain, width).rows) >= 1
    assert all(row.taps is None or not row.taps.heated for row in plan_path(plain, width).rows)


def test_a_hot_line_is_no_gap_of_the_main_line_and_is_told_in_words() -> None:
    path = paths.soft_hot_water()
    assert [stage.number for stage in path.main] == [1]
    assert len(path.points) == 2
    items = path_list(path)
    (softener,) = [item for item in items if item.kind == "stage" and "Softener" in item.name]
    assert "hot line, ahead of the heater" in softener.words
    assert items.index(softener) < next(k for k, item in enumerate(items) if item.kind == "taps")
    assert "on the hot line" in draw_path(path, 1100)


def test_the_strip_ends_the_hot_line_before_what_goes_on() -> None:
    path = paths.soft_hot_water()
    assert draw_strip(path, 260, "s").count('class="pipe hot') == 1
    assert 'class="pipe hot' not in draw_strip(paths.proposed_well(), 260, "s")
