"""Reading results as they stand on papers, and refusing what does not say what it is."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine import units
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.units import accepted_units, parse_result
from sizing.engine.water import ANALYTES

NO_BREAK = "\u00a0"


@pytest.mark.parametrize(
    ("text", "analyte", "unit", "qualifier", "value", "canonical"),
    [
        ("0.31", "iron", "mg/L", "equal", 0.31, 0.31),
        ("<0.02", "iron", "mg/L", "below", 0.02, 0.02),
        ("< 0,02", "iron", "mg/L", "below", 0.02, 0.02),
        ("<0.02 mg/L", "iron", "", "below", 0.02, 0.02),
        ("310", "iron", "ug/L", "equal", 310.0, 0.310),
        ("310", "iron", "ppb", "equal", 310.0, 0.310),
        ("310", "iron", "\u00b5g/L", "equal", 310.0, 0.310),
        ("ND", "arsenic", "mg/L", "below", None, None),
        ("not detected", "lead", "", "below", None, None),
        (">200", "total_coliform", "CFU/100 mL", "above", 200.0, 200.0),
        ("TNTC", "total_coliform", "", "above", None, None),
        ("Overgrown", "e_coli", "", "above", None, None),
        ("absent", "e_coli", "", "absent", None, None),
        ("Present", "total_coliform", "", "present", None, None),
        ("<1", "e_coli", "MPN/100 mL", "below", 1.0, 1.0),
        ("7 gpg", "hardness", "", "equal", 7.0, 119.827),
        ("12", "hardness", "gpg", "equal", 12.0, 205.418),
        ("10", "hardness", "°dH", "equal", 10.0, 178.48),
        ("45", "nitrate", "mg/L as NO3", "equal", 45.0, 10.166),
        ("45 mg/L NO3", "nitrate", "", "equal", 45.0, 10.166),
        ("10", "nitrate", "mg/L NO3-N", "equal", 10.0, 10.0),
        ("10 mg/L", "nitrate", "as N", "equal", 10.0, 10.0),
        ("305", "alkalinity", "mg/L as HCO3", "equal", 305.0, 250.148),
        ("92.5", "uvt", "%/cm", "equal", 92.5, 92.5),
        ("40", "uvt", "% over 100 mm", "equal", 40.0, 91.24),
        ("0.05", "uvt", "abs/cm", "equal", 0.05, 89.13),
        ("50", "temperature", "°F", "equal", 50.0, 10.0),
        ("7.4", "ph", "", "equal", 7.4, 7.4),
        ("8.1 SU", "ph", "", "equal", 8.1, 8.1),
        ("0.5", "sulphide", "mg/L as H2S", "equal", 0.5, 0.4704),
        ("5", "radium", "pCi/L", "equal", 5.0, 0.185),
        ("1,234.5", "tds", "mg/L", "equal", 1234.5, 1234.5),
        ("4.2E-3", "lead", "mg/L", "equal", 0.0042, 0.0042),
        ("≤0.5", "turbidity", "NTU", "below", 0.5, 0.5),
    ],
)
def test_what_a_paper_says_is_read(text, analyte, unit, qualifier, value, canonical):
    found = parse_result(text, analyte, unit)
    assert (found.qualifier, found.value) == (qualifier, value)
    assert found.canonical == (None if canonical is None else pytest.approx(canonical, rel=1e-4))
    assert found.text == text


@pytest.mark.parametrize(
    ("text", "analyte", "unit", "words"),
    [
        ("10", "nitrate", "mg/L", "basis"),
        ("10", "nitrate", "", "basis"),
        ("3", "nitrite", "ppm", "basis"),
        ("0.4", "sulphide", "mg/L", "basis"),
        ("90", "uvt", "%", "path length"),
        ("90", "uvt", "", "path length"),
        ("20", "lead", "", "one of the units mg/L, ug/L"),
        ("trace", "iron", "mg/L", "a number"),
        ("", "iron", "mg/L", "a number"),
        ("see note", "iron", "mg/L", "a number"),
        ("absent", "iron", "mg/L", "a number"),
        ("1,234", "tds", "mg/L", "the comma could mean either"),
        ("7 gpg", "hardness", "mg/L", "one unit"),
        ("5", "iron", "mg/L as N", "one of the units"),
        ("<0", "e_coli", "CFU/100 mL", "TNTC"),
        ("-0.2", "uvt", "A254/cm", "absorbance of 0 or more"),
    ],
)
def test_what_is_not_clear_is_refused_with_what_would_do(text, analyte, unit, words):
    with pytest.raises(UnreadableValue) as caught:
        parse_result(text, analyte, unit)
    assert caught.value.field == ANALYTES[analyte].name
    assert words in caught.value.accepted


@pytest.mark.parametrize(
    ("text", "analyte", "unit"),
    [
        ("17", "ph", ""),
        ("-3", "hardness", "gpg"),
        ("120", "uvt", "%/cm"),
        ("0", "uvt", "%/cm"),
        ("1", "gold", "mg/L"),
    ],
)
def test_the_impossible_is_refused(text, analyte, unit):
    with pytest.raises(OutsideValidRange):
        parse_result(text, analyte, unit)


def test_a_small_absorbance_is_a_large_transmittance():
    found = parse_result("<0.02", "uvt", "A254/cm")
    assert found.qualifier == "above"
    assert found.canonical == pytest.approx(95.5, abs=0.05)


def test_non_detects_are_not_zero():
    """Pitfall: a non-detect stands for its reporting limit, or for nothing where none is stated."""
    assert parse_result("<0.02", "iron", "mg/L").for_water == 0.02
    assert parse_result("ND", "iron", "mg/L").for_water is None
    assert parse_result("absent", "e_coli").for_water == 0.0
    assert parse_result("TNTC", "total_coliform").for_water == 1.0


@pytest.mark.parametrize("code", sorted(ANALYTES))
def test_every_accepted_unit_is_read_as_it_stands(code):
    for unit in accepted_units(code):
        number = {"ph": "5", "temperature": "60", "uvt": "0.5"}.get(code, "7")
        for found in (parse_result(number, code, unit), parse_result(f"{number} {unit}", code)):
            assert found.qualifier == "equal"
            assert found.canonical is not None


@pytest.mark.parametrize("code", sorted(ANALYTES))
def test_the_first_unit_is_the_canonical_one(code):
    number = 5.0
    assert parse_result(f"{number}", code, accepted_units(code)[0]).canonical == pytest.approx(number)


@settings(max_examples=100, deadline=None)
@given(st.floats(0.001, 900.0), st.sampled_from([",", "."]), st.sampled_from(["", "<", ">"]), st.booleans())
def test_a_number_printed_either_way_comes_back(value, point, sign, spaced):
    text = f"{value:.4f}".replace(".", point)
    found = parse_result(f"{sign}{' ' if spaced else ''}{text}", "conductivity", "uS/cm")
    assert found.canonical == pytest.approx(value, abs=1e-4)
    assert found.qualifier == {"": "equal", "<": "below", ">": "above"}[sign]


EDGES = {
    "flow": ("L/minute", "gallon/minute"),
    "volume": ("L", "gallon"),
    "media_volume": ("L", "ft**3"),
    "pressure": ("kPa", "psi"),
    "length": ("m", "ft"),
    "length_small": ("m", "inch"),
    "area": ("m**2", "ft**2"),
    "hardness": ("mg/L", "gpg"),
    "salt_mass": ("kg", "lb"),
    "capacity": ("g", "grain"),
    "rate": ("m/hour", "gallon/minute/ft**2"),
}


@pytest.mark.parametrize("quantity", sorted(EDGES))
def test_display_agrees_with_a_library_of_units(quantity):
    metric, us = EDGES[quantity]
    assert units.to_display(1.0, quantity, "us")[0] == pytest.approx(units.factor(metric, us), rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(st.floats(-1e5, 1e6), st.sampled_from(units.QUANTITIES), st.sampled_from(["metric", "us"]))
def test_display_round_trips(value, quantity, system):
    shown, _ = units.to_display(value, quantity, system)
    assert units.from_display(shown, quantity, system) == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_display_takes_arrays():
    shown, unit = units.to_display(np.array([0.0, 10.0]), "temperature", "us")
    assert unit == "°F"
    assert shown == pytest.approx([32.0, 50.0])


def test_a_number_and_its_unit_do_not_break_apart():
    assert units.show(45.4249414, "flow", "us") == f"12.0{NO_BREAK}gpm"
    assert units.show(-0.01, "temperature", "metric") == f"0.0{NO_BREAK}°C"
    assert units.show(-4.0, "temperature", "metric") == f"−4.0{NO_BREAK}°C"
    assert units.show(1500.0, "daily", "metric") == f"1,500{NO_BREAK}L/day"


def test_us_and_imperial_gallons_are_never_confused():
    """Pitfall: one Alberta sheet counts imperial gallons, a fifth more than US gallons."""
    assert pytest.approx(1.20095, abs=1e-5) == units.L_PER_IMPERIAL_GALLON / units.L_PER_GALLON
    assert units.factor("imperial_gallon", "gallon") == pytest.approx(1.20095, abs=1e-5)
    assert units.to_display(4.54609, "volume", "us")[0] == pytest.approx(1.20095, abs=1e-5)


@pytest.mark.parametrize(("quantity", "system"), [("flow", "imperial"), ("weight of water", "us")])
def test_unknown_quantities_and_systems_are_refused(quantity, system):
    with pytest.raises(OutsideValidRange, match="known are"):
        units.to_display(1.0, quantity, system)


def test_the_exact_definitions_agree_with_a_library_of_units():
    assert pytest.approx(units.factor("gpg", "mg/L"), rel=1e-9) == units.MG_L_PER_GPG
    assert pytest.approx(units.factor("lb", "kg"), rel=1e-12) == units.KG_PER_POUND
    assert pytest.approx(units.factor("ft**3", "L"), rel=1e-12) == units.L_PER_FT3
    assert pytest.approx(units.factor("psi", "kPa"), rel=1e-9) == units.KPA_PER_PSI
    assert pytest.approx(units.factor("grain", "mg"), rel=1e-12) == units.MG_PER_GRAIN
