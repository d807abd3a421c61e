"""Results that cannot be, results that are doubtful, and good results that must not be blamed."""

import pytest

from sizing.engine import balance
from sizing.engine.errors import MissingEvidence
from sizing.engine.plausibility import is_usable, remarks, saturation_remark
from sizing.engine.water import Water
from tests.engine import waters

GOOD = [case for case in waters.table() if case not in ("PQ-26", "PQ-27")]


def codes(**values):
    return {finding.code for finding in remarks(Water(values))}


@pytest.mark.parametrize("case", GOOD)
def test_good_analyses_pass(case):
    assert is_usable(waters.water(case))


@pytest.mark.parametrize("case", ["PQ-26", "PQ-27"])
def test_bad_analyses_are_rejected(case):
    """Sodium left out (-26 %), and bicarbonate typed as calcium carbonate (-7.7 %)."""
    found = remarks(waters.water(case))
    assert found[0].code == "plausibility.impossible.charge"
    assert not is_usable(waters.water(case))


def test_rain_is_not_rejected_for_a_trace():
    """Rain: -12 % but only 0.02 meq/L off: judged by the difference."""
    rain = waters.water("PQ-15")
    assert balance.charge_balance(rain) == pytest.approx(-12.0, abs=0.1)
    assert is_usable(rain)


def test_a_charge_balance_needs_the_main_ions():
    with pytest.raises(MissingEvidence) as caught:
        balance.charge_balance(Water({"calcium": 40.0, "alkalinity": 100.0}))
    assert {"sodium", "chloride", "sulphate", "magnesium"} <= set(caught.value.missing)


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"iron": 0.5, "iron_dissolved": 2.0}, "plausibility.impossible.iron"),
        ({"hardness": 15.0, "calcium": 90.0, "magnesium": 24.0}, "plausibility.impossible.hardness"),
        ({"hardness": 300.0, "calcium": 90.0, "magnesium": 5.0}, "plausibility.hardness"),
        ({"hardness": 120.0, "calcium": 110.0}, "plausibility.impossible.calcium"),
        ({"ph": 4.0, "alkalinity": 80.0}, "plausibility.impossible.alkalinity"),
        ({"ph": 9.2, "carbon_dioxide": 20.0}, "plausibility.impossible.co2_alkaline"),
        ({"tds": 50.0, "conductivity": 500.0}, "plausibility.tds_conductivity"),
        ({"ph": 6.2, "alkalinity": 30.0, "carbon_dioxide": 5.0, "temperature": 8.0}, "plausibility.carbon_dioxide"),
        ({"e_coli": 20.0, "total_coliform": 3.0}, "plausibility.coliform"),
        ({"uvt": 98.0, "colour": 60.0}, "plausibility.uvt"),
        ({"sulphide": 1.0, "dissolved_oxygen": 8.0}, "plausibility.sulphide_oxygen"),
        ({"iron_dissolved": 3.0, "iron": 3.0, "dissolved_oxygen": 9.0, "ph": 7.4}, "plausibility.iron_oxygen"),
        ({"free_chlorine": 1.0, "sulphide": 0.5}, "plausibility.chlorine"),
        ({"dissolved_oxygen": 30.0, "temperature": 10.0}, "plausibility.oxygen"),
        ({"turbidity": 0.2, "suspended_solids": 300.0}, "plausibility.turbidity"),
    ],
)
def test_what_does_not_go_together_is_said(values, code):
    assert code in codes(**values)


@pytest.mark.parametrize(
    "values",
    [
        {"iron": 0.5, "iron_dissolved": 0.54},
        {"hardness": 323.6, "calcium": 90.0, "magnesium": 24.0},
        {"hardness": 120.0, "calcium": 40.0},
        {"tds": 150.0, "conductivity": 240.0},
        {"ph": 6.2, "alkalinity": 30.0, "carbon_dioxide": 48.5, "temperature": 8.0},
        {"e_coli": 0.0, "total_coliform": 3.0},
        {"iron_dissolved": 3.0, "iron": 3.1, "dissolved_oxygen": 0.4, "ph": 6.9},
        {},
    ],
)
def test_ordinary_results_are_left_alone(values):
    assert codes(**values) == set()


def test_a_positive_sample_is_never_called_impossible_away():
    """More E. coli than coliform is a laboratory slip, yet the finding keeps the sample positive."""
    found = next(f for f in remarks(Water({"e_coli": 9.0, "total_coliform": 1.0})) if f.subject == "e_coli")
    assert "positive" in found.what_to_do
    assert is_usable(Water({"e_coli": 9.0, "total_coliform": 1.0}))


@pytest.mark.parametrize("case", ["PQ-01", "PQ-02", "PQ-15", "PQ-20"])
def test_very_soft_water_has_no_saturation_ph(case):
    """Pitfall: hydroxide exceeds the alkalinity first; say so instead of printing an index."""
    assert saturation_remark(waters.water(case)).code == "plausibility.no_saturation"


@pytest.mark.parametrize("case", ["PQ-03", "PQ-04", "PQ-07", "PQ-19"])
def test_other_waters_have_one(case):
    assert saturation_remark(waters.water(case)) is None


def test_impossible_comes_first():
    water = Water({"iron": 0.5, "iron_dissolved": 2.0, "tds": 50.0, "conductivity": 500.0})
    assert [f.code.startswith("plausibility.impossible") for f in remarks(water)] == [True, False]
