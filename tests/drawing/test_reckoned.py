"""Charts of the small calculations: what is drawn, what is said, what is refused."""

import itertools
import re
from xml.etree import ElementTree as ET

import pytest

from sizing.drawing.chart_values import ChartLimit
from sizing.drawing.reckoned import Curve, CurveChart, MonthChart, draw_curves, draw_months, months_words

SVG = "{http://www.w3.org/2000/svg}"
MADE = (500.0, 600.0, 800.0, 900.0, 950.0, 960.0, 1000.0, 990.0, 970.0, 700.0, 500.0, 400.0)
SUMMER = tuple(5 <= month <= 10 for month in range(1, 13))


def curves(*ends: float) -> CurveChart:
    rows = tuple(Curve(f"curve {end:g}", ((0.0, 0.0), (10.0, end)), end == ends[0]) for end in ends)
    return CurveChart("T", "x", "y", rows, "said", ChartLimit(5.0, "limit", "min"), (5.0, 2.5, "here"))


def test_curves_carry_title_words_labels_and_the_case_asked():
    root = ET.fromstring(draw_curves(curves(10.0, 9.9), "c"))
    assert [root.find(SVG + tag).text for tag in ("title", "desc")] == ["T", "said"]
    texts = [text.text for text in root.iter(SVG + "text")]
    assert {"x", "y", "limit", "here", "curve 10", "curve 9.9"} <= set(texts)
    assert not [element for element in root.iter() if "style" in element.attrib]


def test_labels_of_curves_that_end_together_do_not_overlap():
    root = ET.fromstring(draw_curves(curves(10.0, 9.9, 9.8), "c"))
    heights = sorted(float(t.get("y")) for t in root.iter(SVG + "text") if (t.text or "").startswith("curve"))
    assert min(b - a for a, b in itertools.pairwise(heights)) >= 14.9


def test_a_curve_of_one_point_is_refused():
    with pytest.raises(ValueError, match="two points"):
        draw_curves(CurveChart("T", "x", "y", (Curve("c", ((0.0, 1.0),)),), ""), "c")


def test_months_in_use_that_fall_short_are_named_and_marked():
    chart = MonthChart("T", "Wh", MADE, SUMMER, 960.0, "960 Wh")
    # By hand: of May to October only May (950) and October (700) stay under 960.
    assert chart.short == ("May", "Oct")
    assert "May, Oct" in months_words(chart)
    svg = draw_months(chart, "m")
    assert len(re.findall('class="pto"', svg)) == 2
    assert len(re.findall('class="used"', svg)) == 4
    assert len(re.findall('class="pe"', svg)) == 6


def test_months_that_suffice_are_said_to():
    chart = MonthChart("T", "Wh", MADE, SUMMER, 100.0, "100 Wh")
    assert chart.short == ()
    assert months_words(chart).startswith("Every month in use")


def test_eleven_months_are_refused():
    with pytest.raises(ValueError, match="12 and 12"):
        MonthChart("T", "Wh", MADE[:11], SUMMER, 1.0, "")
