"""Pressure along one line, small: one scale for all columns, past its limit told by shape."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from sizing.drawing.chart_values import ChartLimit, PressureProfile, PressureStep
from sizing.drawing.profile import draw_profile


def profile(last: float, least: float = 100.0) -> PressureProfile:
    steps = tuple(PressureStep(name, value, f"{value:.0f}") for name, value in (("A", 280.0), ("B", 200.0)))
    return PressureProfile(
        "Pressure at peak",
        "kPa",
        (*steps, PressureStep("shower", last, f"{last:.0f}")),
        ChartLimit(least, "100 kPa", "min"),
    )


def classes(svg: str) -> list[str]:
    return [element.get("class") or "" for element in ElementTree.fromstring(svg).iter()]


def test_a_fixture_below_its_least_is_a_triangle() -> None:
    assert "pto" not in classes(draw_profile(profile(120.0), "p", 300.0))
    assert classes(draw_profile(profile(80.0), "p", 300.0)).count("pto") == 1


def test_the_same_pressure_stands_as_high_in_every_column() -> None:
    line = [
        c for c in ElementTree.fromstring(draw_profile(profile(120.0), "p", 300.0)).iter() if c.get("class") == "lim"
    ]
    other = [
        c for c in ElementTree.fromstring(draw_profile(profile(250.0), "q", 300.0)).iter() if c.get("class") == "lim"
    ]
    assert line[0].get("d") == other[0].get("d")


def test_the_words_say_every_step_and_the_limit() -> None:
    svg = draw_profile(profile(120.0), "p", 300.0)
    assert "A 280, B 200, shower 120 kPa" in svg
    assert "At least 100 kPa" in svg


@pytest.mark.parametrize("highest", [0.0, -1.0])
def test_a_scale_without_height_is_refused(highest: float) -> None:
    with pytest.raises(ValueError, match="accepted is above 0"):
        draw_profile(profile(120.0), "p", highest)
