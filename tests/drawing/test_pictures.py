"""Every question has its picture, every picture is small, whole and takes its colours from the page."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from customers.enquiries.facts import FACTS
from customers.households.models import Source
from sizing.drawing.pictures import PICTURES, picture
from sizing.engine.diagnosis_load import load_tables

TABLES = load_tables()
CSS = (Path(__file__).parents[2] / "service/static/css/path.css").read_text() + (
    Path(__file__).parents[2] / "service/static/css/enquiry.css"
).read_text()


def test_every_question_fact_and_source_has_a_picture() -> None:
    missing = [code for code, one in TABLES.observations.items() if not (picture(code) or picture(one.picture))]
    missing += [code for code, one in TABLES.features.items() if not picture(one.picture)]
    missing += [fact.code for fact in FACTS.values() if not picture(fact.picture)]
    missing += [code for code in Source.values if not picture(code)]
    assert missing == []
    assert picture("nothing of the kind") == ""


def test_every_complaint_has_one_of_its_own() -> None:
    codes = [code for code, one in TABLES.observations.items() if one.complaint]
    drawn = [PICTURES[code] for code in codes]
    assert len(set(drawn)) == len(codes) == 34


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_stays_in_its_square_and_has_no_colour_of_its_own(name: str) -> None:
    text = picture(name, 40)
    root = ET.fromstring(text)
    assert root.get("viewBox") == "0 0 48 48"
    assert root.get("aria-hidden") == "true"
    assert len(text) < 1300
    assert not re.search(r"style=|fill=|stroke=|<text|href|url\(", text)
    used = {cls for part in root.iter() for cls in (part.get("class") or "").split()} - {"wp", "sketch", "in"}
    assert all(re.search(rf"\.wp(?:\.sketch)? \.{cls}[,{{\s]", CSS) for cls in used), used
    starts = [float(number) for pair in re.findall(r"M(-?[\d.]+) (-?[\d.]+)", text) for number in pair]
    assert all(-12 <= number <= 48 for number in starts)  # parts moved into place begin left of their middle
