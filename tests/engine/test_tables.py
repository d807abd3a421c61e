"""The tables other parts of the house rely on, against plain lists kept beside the tests.

``data/analytes.csv`` and ``data/ratings.csv`` are what stored waters, catalogue files and the API were promised: a
change there is a change for every dealer's data, so it is made in both places or not at all. The bounds are physical
possibility and household equipment (common practice). The fixtures' numbers are the published ones: probability of
use and flow in US gpm from the Peak Water Demand Study (IAPMO/WQA/ASPE 2017, recommended p and q values), fixture
units from IPC 2018 Table E103.3(2), the sillcock's 5 gpm from its Table 604.3.
"""

import csv
from pathlib import Path

import pytest

from sizing.engine.design import StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.fixtures import FIXTURES
from sizing.engine.stages.registry import SCHEMAS
from sizing.engine.water import ANALYTES, check_possible

FOLDER = Path(__file__).parent / "data"


def _rows(name):
    return list(csv.DictReader((FOLDER / name).read_text(encoding="utf-8").splitlines()))


def _number(text):
    return float(text) if text else None


def test_the_analytes_are_those_promised():
    stated = [
        (r["code"], r["name"], r["unit"], r["basis"], float(r["low"]), _number(r["high"]), r["group"])
        for r in _rows("analytes.csv")
    ]
    assert [(a.code, a.name, a.unit, a.basis, a.low, a.high, a.group) for a in ANALYTES.values()] == stated
    assert list(ANALYTES) == [row[0] for row in stated]


@pytest.mark.parametrize("row", _rows("analytes.csv"), ids=lambda row: row["code"])
def test_a_value_of_an_analyte_just_inside_is_taken_and_just_outside_refused(row):
    analyte, low, high = ANALYTES[row["code"]], float(row["low"]), float(row["high"])
    step = 1e-6 * max(high, 1.0)
    check_possible(analyte, high)
    check_possible(analyte, low + step)
    for bad in (low - step, high + step, float("nan")):
        with pytest.raises(OutsideValidRange) as refusal:
            check_possible(analyte, bad)
        assert (refusal.value.parameter, refusal.value.low, refusal.value.high) == (row["name"], low, high)
        assert refusal.value.unit == f"{row['unit']} {row['basis']}".strip()


RATED = {(r["kind"], r["name"]): r for r in _rows("ratings.csv")}


def test_every_kind_asks_for_the_ratings_promised():
    asked = [(kind.value, field.name) for kind in StageKind for field in SCHEMAS[kind]]
    assert sorted(asked) == sorted(RATED)


@pytest.mark.parametrize("kind", StageKind, ids=str)
def test_a_rating_is_what_was_promised(kind):
    for field in SCHEMAS[kind]:
        row = RATED[kind.value, field.name]
        assert field.label[:1].isupper()
        assert (field.quantity, field.unit) == (row["quantity"], row["unit"])
        assert (field.low, field.high) == (_number(row["low"]), _number(row["high"]))
        assert field.low_open is bool(row["open"])
        assert field.required is bool(row["required"])
        assert field.choices == tuple(row["choices"].split("|") if row["choices"] else ())
        assert ("" if field.default is None else str(field.default)) == _default(row)


def _default(row):
    return str(float(row["default"])) if row["default"][:1].isdigit() else row["default"]


PRINTED = {
    # code: name, probability of use, US gpm, fixture units
    "shower": ("Shower, per head", 0.045, 2.0, 1.4),
    "bath_shower": ("Bath with shower", 0.055, 5.5, 1.4),
    "bath": ("Bath without shower", 0.01, 5.5, 1.4),
    "lavatory": ("Washbasin", 0.02, 1.5, 0.7),
    "toilet": ("Toilet with tank", 0.01, 3.0, 2.2),
    "bidet": ("Bidet", 0.01, 2.0, 2.0),
    "kitchen_faucet": ("Kitchen sink", 0.02, 2.2, 1.4),
    "bar_sink": ("Bar sink", 0.02, 1.5, 1.4),
    "dishwasher": ("Dishwasher", 0.005, 1.3, 1.4),
    "clothes_washer": ("Clothes washer", 0.055, 3.5, 1.4),
    "laundry_faucet": ("Laundry sink", 0.02, 2.0, 1.4),
    "outdoor_tap": ("Outdoor tap left running", None, 5.0, 0.0),
}


def test_the_fixtures_carry_the_printed_numbers():
    assert {f.code: (f.name, f.probability, f.flow_gpm, f.wsfu) for f in FIXTURES} == PRINTED
