"""Ratings as leaflets print them, in whatever unit; conversions against pint and against exact definitions."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.stages.ratings import RatingField
from sizing.engine.stages.registry import SCHEMAS
from sizing.engine.stages.typed import accepted_shown, quantity_of, shown_rating, typed_rating, unit_shown

FIELDS = {field.name: field for schema in SCHEMAS.values() for field in schema}


@pytest.mark.parametrize(
    ("name", "text", "canonical"),
    [
        # 1 US gallon = 231 in3 = 3.785411784 L, 1 imperial gallon = 4.54609 L, 1 in = 25.4 mm, 1 lb = 0.45359237 kg,
        # 1 grain = 64.79891 mg exactly, 1 psi = 6.894757 kPa: definitions, from memory; pint has the same.
        ("rated_flow_l_min", "8 US gpm", 8 * 3.785411784),
        ("rated_flow_l_min", "8 gpm", 8 * 3.785411784),
        ("rated_flow_l_min", "8 US gal/min", 8 * 3.785411784),
        ("rated_flow_l_min", "8 imp gpm", 8 * 4.54609),
        ("rated_flow_l_min", "1.5 m³/h", 25.0),
        ("rated_flow_l_min", "30 L/min", 30.0),
        ("rated_flow_l_min", "30l/min", 30.0),
        ("rated_flow_l_min", "0.5 L/s", 30.0),
        ("rated_flow_l_min", "30", 30.0),
        ("loss_kpa", "5 psi", 5 * 6.894757),
        ("loss_kpa", "0.2 bar", 20.0),
        ("media_l", "1.5 ft³", 1.5 * 28.316846592),
        ("media_l", "1.5 cu ft", 1.5 * 28.316846592),
        ("rated_l_d", "75 gpd", 75 * 3.785411784),
        ("width_m", "9 in", 0.2286),
        ("width_m", '9"', 0.2286),
        ("width_m", "230 mm", 0.23),
        ("micron", "5 micron", 5.0),
        ("micron", "0.5 µm", 0.5),
        ("rated_salt_kg", "9 lb", 9 * 0.45359237),
        ("rated_capacity_g", "30000 grains", 30000 * 0.06479891),
        ("rated_capacity_g", "30 kgr", 30000 * 0.06479891),
        ("lamp_w", "0.055 kW", 55.0),
        ("rated_dose", "400 J/m2", 40.0),
        ("rated_dose", "40 mJ/cm²", 40.0),
        ("rated_uvt", "75 %/cm", 75.0),
        ("rated_uvt", "75%", 75.0),
        ("recovery", "25 %", 0.25),
        ("recovery", "0.25", 0.25),
        ("tank_diameter_in", "10 in", 10.0),
        ("feed_ml_min", "0.02 L/min", 20.0),
        ("conductivity_w_mk", "0.04 W/(m K)", 0.04),
        ("conductivity_w_mk", "0.04 W/mK", 0.04),
    ],
)
def test_units_of_the_trade(name, text, canonical):
    assert typed_rating(FIELDS[name], text) == pytest.approx(canonical, rel=2e-7)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("rated_flow_l_min", "8 kPa", "cannot read '8 kPa'; accepted is a number in L/min"),
        ("rated_flow_l_min", "8 furlongs", "cannot read '8 furlongs'"),
        ("rated_flow_l_min", "8 L", "cannot read '8 L'"),
        ("rated_flow_l_min", "gpm", "cannot read 'gpm'; accepted is a number"),
        ("rated_flow_l_min", "", "accepted is a number, more than 0"),
        ("rated_flow_l_min", "8,5", "cannot read '8,5'"),
        ("rated_flow_l_min", "2 __import__('os')", "cannot read"),
        ("rated_flow_l_min", "2 L**9999999999/min", "cannot read"),
        ("rated_uvt", "75 gpm", "cannot read '75 gpm'"),
        ("sensor", "perhaps", "accepted is yes or no"),
        ("uv_class", "C", "accepted is one of A, B"),
        ("baffling", "0.3 L", "cannot read '0.3 L'"),
    ],
)
def test_what_does_not_fit_is_named(name, text, words):
    with pytest.raises(UnreadableValue) as refusal:
        typed_rating(FIELDS[name], text)
    assert words in str(refusal.value)


def test_a_bare_number_stands_in_the_readers_unit():
    assert typed_rating(FIELDS["rated_flow_l_min"], "10", "us") == pytest.approx(37.85411784)
    assert typed_rating(FIELDS["rated_flow_l_min"], "10 L/min", "us") == 10.0
    assert typed_rating(FIELDS["height_m"], "450", "metric") == 0.45
    assert typed_rating(FIELDS["recovery"], "25", "us") == 0.25
    assert typed_rating(FIELDS["sensor"], "Yes") is True
    assert typed_rating(FIELDS["drain_flow_l_min"], "0") == 0.0


def test_a_value_out_of_range_is_refused_in_the_readers_unit():
    field = FIELDS["loss_kpa"]
    with pytest.raises(OutsideValidRange) as refusal:
        typed_rating(field, "40 psi")
    assert refusal.value.high == 200.0
    assert accepted_shown(field, refusal.value, "us") == "at least 0 and at most 29 psi"
    assert accepted_shown(field, refusal.value, "metric") == "at least 0 and at most 200 kPa"


@given(st.sampled_from(sorted(FIELDS)), st.sampled_from(("metric", "us")), st.floats(0.0, 1.0))
def test_shown_and_typed_again_is_the_same(name, system, share):
    field = FIELDS[name]
    if field.choices or field.quantity == "flag" or field.high is None:
        return
    low = field.low or 0.0
    value = low + (0.01 + 0.98 * share) * (field.high - low)
    shown = shown_rating(field, value, system)
    assert typed_rating(field, repr(float(shown)), system) == pytest.approx(value, rel=1e-9)
    assert unit_shown(field, system) or not field.unit


@pytest.mark.parametrize("name", sorted(FIELDS))
def test_every_shown_unit_is_understood_when_typed(name):
    field = FIELDS[name]
    if field.choices or field.quantity == "flag" or not quantity_of(field):
        return
    for system in ("metric", "us"):
        value = (field.low or 0.0) + 0.4 * ((field.high or 100.0) - (field.low or 0.0))
        text = f"{shown_rating(field, value, system)!r} {unit_shown(field, system)}"
        assert typed_rating(field, text) == pytest.approx(value, rel=1e-9)


def test_pint_agrees_on_every_pair_of_flow_units():
    units = pint.UnitRegistry()
    for text, name in (("gpm", "gallon/minute"), ("L/h", "liter/hour"), ("imp gpm", "imperial_gallon/minute")):
        field = RatingField("flow", "Flow", "flow", "L/min", 0.0, 1e6)
        assert typed_rating(field, f"7 {text}") == pytest.approx(units.Quantity(7, name).to("L/min").magnitude)
