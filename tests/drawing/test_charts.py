"""Charts: marks where the numbers are, words that say the same, nothing rounded into comfort."""

from __future__ import annotations

from datetime import date
from xml.etree import ElementTree

import pytest

from sizing.drawing.bars import draw_costs, draw_life, draw_margins, draw_odds, odds_words
from sizing.drawing.chart_values import (
    ChartLimit,
    CostBar,
    History,
    HistoryPoint,
    MarginLine,
    PressureProfile,
    PressureStep,
    ResultKind,
)
from sizing.drawing.charts import draw_history, draw_pressure, history_words, ticks

SVG = "{http://www.w3.org/2000/svg}"


def classes(svg: str) -> list[str]:
    return [element.get("class") or "" for element in ElementTree.fromstring(svg).iter()]


def history(*points: HistoryPoint, limit: ChartLimit | None = None) -> History:
    return History("Iron, point A", "mg/L", points, date(2026, 6, 9), limit, ((date(2025, 5, 1), date(2025, 9, 1)),))


def test_a_result_below_the_reporting_limit_is_an_interval_never_a_dot() -> None:
    chart = history(
        HistoryPoint(date(2025, 6, 1), ResultKind.BELOW, "<0.02", 0.02), limit=ChartLimit(0.3, "at most 0.3")
    )
    root = ElementTree.fromstring(draw_history(chart, "h"))
    marks = [e for e in root.iter(f"{SVG}path") if e.get("class") in ("nd", "pt1", "pto")]
    assert [mark.get("class") for mark in marks] == ["nd"]
    assert (marks[0].get("d") or "").count("V") == 2  # up from the axis and down to it again


def test_history_says_how_many_and_what_was_newest() -> None:
    chart = history(
        HistoryPoint(date(2026, 6, 2), ResultKind.VALUE, "0.4", 0.4, past=True),
        HistoryPoint(date(2024, 6, 2), ResultKind.VALUE, "0.2", 0.2),
        limit=ChartLimit(0.3, "at most 0.3"),
    )
    assert history_words(chart) == (
        "2 results from 2024 to 2026, 1 past the limit (at most 0.3). Newest: 0.4 mg/L on 2 Jun 2026."
    )
    assert classes(draw_history(chart, "h")).count("pto") == 1


@pytest.mark.parametrize("sense", ["max", "min"])
@pytest.mark.parametrize("limit", [0.0, 0.05, 0.2, 0.3, 0.45, 0.6])
@pytest.mark.parametrize("kind", [ResultKind.ABSENT, ResultKind.VALUE, ResultKind.BELOW, ResultKind.PRESENT])
def test_the_newest_results_words_never_lie_on_the_limit(kind: ResultKind, limit: float, sense: str) -> None:
    older = HistoryPoint(date(2024, 6, 2), ResultKind.VALUE, "0.5", 0.5)
    newest = HistoryPoint(
        date(2026, 6, 2), kind, "newest", 0.0 if kind is ResultKind.ABSENT else 0.3, past=limit < 0.3
    )
    chart = history(older, newest, limit=ChartLimit(limit, "the limit", sense))
    root = ElementTree.fromstring(draw_history(chart, "h"))
    (line,) = [e for e in root.iter(f"{SVG}path") if e.get("class") == "lim"]
    at = float((line.get("d") or "").split(" ")[1].split("H")[0])
    ticks_to = at - 6 if sense == "max" else at + 6
    said = {e.text: e for e in root.iter(f"{SVG}text")}
    foot = float(said["newest"].get("y") or 0)
    body = (foot - 10, foot)  # the height of a figure set in 14 px, and its foot
    assert body[1] <= min(at, ticks_to) or body[0] >= max(at, ticks_to)
    beside = said["the limit"]
    level = float(beside.get("y") or 0)
    assert "te" not in (beside.get("class") or "").split() or level - 9 >= foot or body[0] >= level


def test_an_empty_history_is_drawn_and_says_so() -> None:
    root = ElementTree.fromstring(draw_history(history(), "h"))
    assert root[1].text == "No result yet."


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
