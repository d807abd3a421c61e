"""Words as papers set them, and the rows papers are made of."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest

from customers.water_tests.actions import RowIn, record_water_test
from service.documents.drafts import boiling_of
from service.documents.rows import life_words, lowered, unsaid
from service.documents.water_rows import report_of
from service.documents.words import for_form, formula_words, held, nothing, typeset, why_words
from service.office.templatetags.papers import MOST_HEIGHT, paper_path
from sizing.engine.design import LifeKind, LifeRule
from tests.drawing import paths

NB = "\u00a0"


@pytest.mark.parametrize(
    ("plain", "set_"),
    [
        ("Sediment 5 um, 20 x 4.5 in", "Sediment 5_µm, 20_×_4.5_in"),
        ("40 mJ/cm2 at 254 nm", "40_mJ/cm² at 254 nm"),
        ("150 mg/L as CaCO3", "150_mg/L_as_CaCO₃"),
        ("9.0 degC", "9.0_°C"),
        ("PH entering", "pH entering"),
        ("1.5 ft3", "1.5_ft³"),
        ("box of 6 in all", "box of 6_in all"),
        ("max x min", "max_×_min"),
    ],
)
def test_signs_and_units(plain: str, set_: str) -> None:
    assert typeset(plain).replace(NB, "_") == set_


@pytest.mark.parametrize(
    ("reason", "system", "words"),
    [
        (
            "Without it hardness at the entry 274 mg/L as CaCO3, at most 60 mg/L as CaCO3 is wanted",
            "us",
            "Hardness 16.0 gpg; at most 3.5 gpg wanted",  # 1 gpg = 17.1 mg/L as CaCO3
        ),
        (
            "Without it iron 1.9 mg/L into Carbon cartridge, 20 x 4.5 in, its feed limit is at most 0.3 mg/L: "
            "iron coats the carbon",
            "metric",
            "Iron 1.9 mg/L; Carbon cartridge takes at most 0.3 mg/L",
        ),
        (
            "Without it 36.1 L/min can pass into UV class A, 26 L/min, its feed limit is 26 L/min",
            "us",
            "9.5 gpm could pass; UV class A is rated for 6.9 gpm",  # 3.785 L a gallon
        ),
        (
            "Without it Total coliform 9 per 100 mL was found, and water from a spring is presumed to carry germs, "
            "whatever one sample says: 40 mJ/cm2 are wanted, the line gives 0",
            "metric",
            "Total coliform 9 per 100 mL found; 40 mJ/cm² of light wanted",
        ),
        ("Without it something else breaks", "metric", "Without it something else breaks"),
        (
            "Hours on site, two people where lifting needs it",
            "us",
            "Hours on site, two people where lifting needs it",
        ),
    ],
)
def test_reasons_keep_their_numbers(reason: str, system: str, words: str) -> None:
    assert why_words(reason, system).replace(NB, " ") == words


def test_held_text_is_escaped_and_not_torn_at_a_slash() -> None:
    assert held(typeset("<b> 0.3 mg/L & more")) == f'&lt;b&gt; <span class="nb">0.3{NB}mg/L</span> &amp; more'


def test_formulas_are_written_by_hand() -> None:
    assert formula_words("(1 - p)^2 x 3").replace(NB, "_") == "(1 −_p)²_×_3"


def test_a_note_on_two_forms_is_halved() -> None:
    note = "A tank with a clock: outlet always live. A cartridge: none"
    assert for_form(note, "tank") == "Outlet always live"
    assert nothing(for_form(note, "cartridge"))
    assert for_form(note, "") == note
    assert for_form("Union on both sides", "tank") == "Union on both sides"


@pytest.mark.parametrize(
    ("life", "system", "words"),
    [
        (LifeRule(LifeKind.CALENDAR, 9), "metric", "every 9 months"),
        (LifeRule(LifeKind.OPERATING, 12, 24), "metric", "every 12 months of operation, at most 24 months"),
        (LifeRule(LifeKind.LITRES, 200_000, 12), "us", "every 53,000 gal, at most 12 months"),
        (LifeRule(LifeKind.OPENING, 12), "metric", "each opening, or every 12 months"),
        (LifeRule(LifeKind.CONDITION, 1), "metric", "as used, about every month"),
    ],
)
def test_lives_in_words(life: LifeRule, system: str, words: str) -> None:
    assert life_words(life, system).replace(NB, " ") == words


def test_small_words() -> None:
    assert [lowered(name) for name in ("Lamp", "UV lamp", "O-ring")] == ["lamp", "UV lamp", "O-ring"]
    assert unsaid("9 x 48 in, 28 L", "Organics filter, 28 L resin, 9 x 48 in") == ""
    assert unsaid("lamp 36 W", "Lamp") == "lamp 36\u00a0W"


def sample(site: Any, now: Any, on: date, *rows: RowIn, **heading: Any) -> None:
    fields = {"kind": "lab", "place": "raw", "sampled_on": on, "laboratory": "Northreach Laboratory", **heading}
    record_water_test(site=site, actor_name="Maren Vik", now=now, heading=fields, rows=rows)


def test_boiling_is_advised_against_germs_alone(site: Any, now: Any, today: date) -> None:
    """Boiling kills germs and concentrates nitrate: EPA and public health leaflets (published, see the engine)."""
    sample(site, now, today, RowIn("e_coli", "3", "CFU/100 mL"))
    assert boiling_of(site) is None  # nitrate was never tested
    sample(site, now, today, RowIn("nitrate", "2", "mg/L as N"))
    advised = boiling_of(site)
    assert advised is not None
    assert advised.code == "boiling.stopgap"
    sample(site, now, today, RowIn("nitrate", "14.2", "mg/L as N"))
    refused = boiling_of(site)
    assert refused is not None
    assert refused.code == "boiling.refused"


def test_a_report_lists_what_was_not_tested(site: Any, now: Any, today: date) -> None:
    sample(site, now, today, RowIn("nitrate", "14.2", "mg/L as N"), RowIn("iron", "<0.02", "mg/L"))
    report = report_of(site, today)
    rows = {row.name: row for _kind, rows in report.groups for row in rows}
    assert (rows["Nitrate"].verdict, rows["Nitrate"].past, rows["Nitrate"].sample) == ("not met", True, "S1")
    assert rows["Iron, total"].result.replace(NB, " ") == "<0.02 mg/L"
    assert "Arsenic" in report.untested
    assert "Nitrate" not in report.untested
    assert [letter for letter, _test in report.samples] == ["S1"]


@pytest.mark.parametrize(("path", "width"), [(paths.nine_stages(), 725.0), (paths.lake_cabin(), 703.0)])
def test_a_drawing_leaves_its_sheet_room(path: Any, width: float) -> None:
    svg = paper_path(path, width)
    size = re.search(r'width="([\d.]+)" height="([\d.]+)"', svg)
    assert size is not None
    assert float(size[1]) <= width
    assert float(size[2]) <= MOST_HEIGHT
