"""Results over time: every place its own mark and word, what was not detected drawn as such, no words on a limit."""

from __future__ import annotations

import re
from datetime import date
from xml.etree import ElementTree

import pytest

from sizing.drawing.chart_values import ChartLimit, HistoryPoint, ResultKind
from sizing.drawing.timeline import MARKS, Timeline, TimeSeries, draw_timeline, timeline_words

SVG = "{http://www.w3.org/2000/svg}"
OPEN = ((date(2025, 5, 1), date(2025, 9, 1)),)


def chart(*series: TimeSeries, limits: tuple[ChartLimit, ...] = (), seasons: tuple = ()) -> Timeline:
    return Timeline("Iron", "mg/L", series, date(2026, 6, 9), limits, seasons)


def raw(*points: HistoryPoint) -> TimeSeries:
    return TimeSeries("raw water", "square", points)


def drawn(timeline: Timeline) -> ElementTree.Element:
    return ElementTree.fromstring(draw_timeline(timeline, "t"))


def of_class(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [element for element in root.iter() if name in (element.get("class") or "").split()]


def test_a_result_under_its_reporting_limit_is_hollow_at_the_limit_with_an_arrow_down() -> None:
    point = HistoryPoint(date(2025, 6, 1), ResultKind.BELOW, "<0.2", 0.2)
    root = drawn(chart(raw(point), limits=(ChartLimit(0.3, "at most 0.3"),)))
    assert len(of_class(root, "nd")) == 1
    (arrow,) = of_class(root, "ln")
    top, floor = re.findall(r"[MV][\d.]+ ?([\d.]+)?", arrow.get("d") or "")[0], arrow.get("d") or ""
    assert top
    assert "V" in floor
    assert "<0.2" in {element.text for element in root.iter(f"{SVG}text")}
    assert not [mark for mark in of_class(root, "pt1") if mark.tag.endswith("path")][1:]  # only the key's own mark


def test_absent_lies_hollow_on_the_floor_with_its_word_and_no_arrow() -> None:
    point = HistoryPoint(date(2025, 6, 1), ResultKind.ABSENT, "absent")
    root = drawn(chart(raw(point), limits=(ChartLimit(0, "none"),)))
    assert len(of_class(root, "nd")) == 1
    assert of_class(root, "ln") == []
    assert "absent" in {element.text for element in root.iter(f"{SVG}text")}


def test_raw_and_treated_differ_by_shape_and_by_word() -> None:
    day = date(2025, 6, 1)
    series = [
        TimeSeries(name, mark, (HistoryPoint(day, ResultKind.VALUE, "0.4", 0.4),))
        for name, mark in zip(("raw water", "between", "treated water", "tap"), MARKS, strict=True)
    ]
    root = drawn(chart(*series))
    words = {element.text for element in root.iter(f"{SVG}text")}
    assert {"raw water", "between", "treated water", "tap"} <= words
    shapes = {re.sub(r"[\d.\-]+", "", element.get("d") or element.tag) for element in of_class(root, "pt1")}
    assert len(shapes) == 4


def test_past_a_limit_is_said_by_a_bar_and_not_by_colour_alone() -> None:
    points = (
        HistoryPoint(date(2025, 6, 1), ResultKind.VALUE, "0.2", 0.2),
        HistoryPoint(date(2026, 6, 1), ResultKind.VALUE, "0.4", 0.4, past=True),
    )
    root = drawn(chart(raw(*points)))
    assert len(of_class(root, "pto")) == 1
    assert len(of_class(root, "lim")) == 1  # the bar; this chart has no limit line


def test_the_open_season_is_shaded_and_lined() -> None:
    root = drawn(chart(raw(HistoryPoint(date(2024, 6, 1), ResultKind.VALUE, "0.2", 0.2)), seasons=OPEN))
    (shade,) = of_class(root, "shade")
    assert len(of_class(root, "open")) == 1
    # 123 of the 890 days from 1 January 2024 to 9 June 2026, on the width between the axis and the edge
    assert float(shade.get("width") or 0) == pytest.approx((384 - 8 - 42) * 123 / 890, abs=0.6)
    assert drawn(chart(raw(), seasons=((date(2020, 5, 1), date(2020, 9, 1)),))).findall(f"{SVG}rect") == []


def test_the_words_say_it_by_place() -> None:
    timeline = chart(
        raw(HistoryPoint(date(2025, 6, 1), ResultKind.VALUE, "1.4", 1.4, past=True)),
        TimeSeries(
            "treated water",
            "diamond",
            (
                HistoryPoint(date(2025, 7, 1), ResultKind.VALUE, "0.1", 0.1),
                HistoryPoint(date(2026, 6, 2), ResultKind.BELOW, "<0.05", 0.05),
            ),
        ),
        limits=(ChartLimit(0.3, "aesthetic limit: 0.3 mg/L"),),
    )
    assert timeline_words(timeline) == (
        "raw water: 1 result, 1 past the limit, newest 1.4 mg/L on 1 Jun 2025. "
        "treated water: 2 results, 0 past the limit, newest <0.05 mg/L on 2 Jun 2026. aesthetic limit: 0.3 mg/L."
    )
    assert timeline_words(chart()) == "No result yet."


@pytest.mark.parametrize("sense", ["max", "min"])
@pytest.mark.parametrize("limit", [0.0, 0.05, 0.2, 0.3, 0.45, 0.6])
@pytest.mark.parametrize("kind", [ResultKind.ABSENT, ResultKind.VALUE, ResultKind.BELOW, ResultKind.PRESENT])
def test_words_never_lie_on_a_limit_nor_on_each_other(kind: ResultKind, limit: float, sense: str) -> None:
    older = HistoryPoint(date(2024, 6, 2), ResultKind.VALUE, "0.5", 0.5)
    value = 0.0 if kind is ResultKind.ABSENT else 0.3
    newest = HistoryPoint(date(2026, 6, 2), kind, "newest", value, past=limit < 0.3)
    other = TimeSeries("treated water", "diamond", (HistoryPoint(date(2026, 5, 28), kind, "beside", value),))
    root = drawn(chart(raw(older, newest), other, limits=(ChartLimit(limit, "the limit", sense),)))
    line = next(e for e in of_class(root, "lim") if "H" in (e.get("d") or ""))
    at = float((line.get("d") or "").split(" ")[1].split("H")[0])
    ticks_to = at - 6 if sense == "max" else at + 6
    said = list(of_class(root, "v"))
    for element in said:
        foot = float(element.get("y") or 0)
        assert foot <= min(at, ticks_to) + 1 or foot - 10 >= max(at, ticks_to) - 1
    for one in said:
        for two in said:
            near_x = abs(float(one.get("x") or 0) - float(two.get("x") or 0)) < 30
            assert one is two or not near_x or abs(float(one.get("y") or 0) - float(two.get("y") or 0)) >= 14


def test_a_scale_of_transmittance_begins_high() -> None:
    points = [HistoryPoint(date(2025, m, 1), ResultKind.VALUE, str(v), v) for m, v in ((3, 89.0), (6, 92.0))]
    root = drawn(chart(raw(*points), limits=(ChartLimit(75, "at least 75", "min"),)))
    numbers = [float(e.text or 0) for e in of_class(root, "sm") if re.fullmatch(r"\d{1,3}", e.text or "")]
    assert min(numbers) > 40


def test_a_mark_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="accepted is one of square"):
        TimeSeries("raw", "star", ())
