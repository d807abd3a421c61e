"""Charts: marks where the numbers are, words that say the same, nothing rounded into comfort."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from sizing.drawing.bars import draw_costs, draw_life, draw_margins, draw_odds, odds_words
from sizing.drawing.chart_values import (
    ChartLimit,
    CostBar,
    MarginLine,
    PressureProfile,
    PressureStep,
)
from sizing.drawing.charts import draw_pressure, ticks

SVG = "{http://www.w3.org/2000/svg}"


def classes(svg: str) -> list[str]:
    return [element.get("class") or "" for element in ElementTree.fromstring(svg).iter()]


@pytest.mark.parametrize("high", [0.004, 0.3, 1, 7.5, 48, 345, 14900])
def test_ticks_are_round_and_enclose(high: float) -> None:
    marks = ticks(high)
    assert marks[0] == 0
    assert marks[-1] >= high
    assert len(marks) <= 5
    step = marks[1] - marks[0]
    assert float(f"{step:.0e}"[0]) in (1, 2, 5)


@pytest.mark.parametrize(
    ("share", "words"),
    [(1.0, "50 in 50"), (0.999, "49 in 50"), (0.96, "48 in 50"), (0.001, "1 in 50"), (0.0, "0 in 50")],
)
def test_odds_never_round_to_certainty(share: float, words: str) -> None:
    assert odds_words(share) == words
    assert classes(draw_odds(share, "o")).count("yes") == int(words.split(" ")[0])


def test_odds_outside_their_range_are_refused() -> None:
    with pytest.raises(ValueError, match="accepted is 0 to 1"):
        odds_words(1.2)


def test_a_margin_past_its_limit_is_drawn_and_said() -> None:
    lines = (
        MarginLine("Iron into softener", 0.14, 0.3, "max", "0.14 of 0.3 mg/L", "0.16", 0, 0.45),
        MarginLine("Upstairs shower", 16, 20, "min", "16 over 20 psi", "4", 0, 45),
    )
    svg = draw_margins("Margins", lines, "m")
    root = ElementTree.fromstring(svg)
    assert "Upstairs shower 16 over 20 psi, past the limit by 4" in (root[1].text or "")
    assert classes(svg).count("pto") == 1
    assert classes(svg).count("pt1") == 1


def test_cost_bars_keep_their_order_and_scale() -> None:
    bars = (
        CostBar("A", (6000, 2000, 1000, 500, 500), ("6,000", "2,000", "1,000", "500", "500"), "$10,000"),
        CostBar("B", (3000, 1000, 500, 250, 250), ("3,000", "1,000", "500", "250", "250"), "$5,000"),
    )
    root = ElementTree.fromstring(draw_costs("Cost", bars, "c", lambda amount: f"${amount:,.0f}"))
    fills = [e for e in root.iter(f"{SVG}path") if e.get("class") in ("c1", "c2", "c3", "c4", "c5")]
    assert [f.get("class") for f in fills] == ["c1", "c2", "c3", "c4", "c5"] * 2
    wide = [float((f.get("d") or "").split("h")[1].split("v")[0]) for f in fills]
    assert wide[0] == pytest.approx(2 * wide[5], abs=0.2)
    assert wide[0] == pytest.approx(3 * wide[1], abs=0.2)


def test_the_pressure_profile_names_every_step() -> None:
    steps = tuple(PressureStep(n, v, str(v), n == "A") for n, v in zip("ABC", (345, 331, 314), strict=True))
    svg = draw_pressure(
        PressureProfile("Pressure", "kPa", steps, ChartLimit(138, "least allowed: 138 kPa", "min")), "p"
    )
    root = ElementTree.fromstring(svg)
    assert root[1].text == "A 345, B 331, C 314 kPa. least allowed: 138 kPa."
    assert classes(svg).count("pe") == 2


def test_life_past_its_end_turns() -> None:
    assert "pto" in classes(draw_life(1.06, "12.7 of 12 months", "l"))
    assert "used" in classes(draw_life(0.2, "2 of 12 months", "l"))
    with pytest.raises(ValueError, match="accepted is 0 or more"):
        draw_life(-0.1, "", "l")
