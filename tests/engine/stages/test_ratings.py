"""Catalogue ratings: what is refused, and that the refusal names field, value and what would do."""

import pytest

from sizing.engine.design import StageKind
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.stages.registry import SCHEMAS, schema_of, stage_class, validate_ratings
from tests.engine.stages.made import catalogue


def ratings(code, **changes):
    product = catalogue()[code]
    return product.kind, {**product.ratings, **changes}


def test_every_kind_has_a_schema_and_a_purpose():
    assert set(SCHEMAS) == set(StageKind)
    for kind in StageKind:
        assert schema_of(kind).fields
        assert stage_class(kind).purpose


@pytest.mark.parametrize(
    ("code", "field", "value"),
    [
        ("soft-42", "rated_capacity_g", 4000.0),  # 4 kg of salt can exchange 3.46 kg at most: 5,994 gr/lb (computed)
        ("soft-42", "loss_kpa", -5.0),
        ("soft-42", "media_l", 90.0),  # more than three quarters of a 10 x 54 in tank
        ("uv-a-42", "rated_dose", 20.0),  # class A gives 40 mJ/cm2 or more (second-hand)
        ("uv-a-42", "rated_uvt", 120.0),
        ("airox-10", "air_head_l", 60.0),  # no room above the bed
        ("sed-20x45-5-spun", "micron", 0.0),
        ("sed-20x45-5-spun", "rated_flow_l_min", 0.0),
        ("restrict-30", "flow_l_min", -3.0),
        ("ro-50", "recovery", 1.2),
        ("contact-300", "baffling", 0.05),
        # 48 W of lamp give 19.2 W at 254 nm at most (from memory); at 42 L/min and 75 %/cm that is 95 mJ/cm2:
        # 19.2 W over 28.8 per m and 0.0007 m3/s (computed)
        ("uv-a-42", "rated_dose", 120.0),
        ("uv-a-42", "power_w", 30.0),  # less than its lamp
        ("uv-a-42", "lamp_length_m", 1.5),  # longer than the unit
        ("uv-a-42", "holds_l", 60.0),  # 0.22 x 0.2 x 1.02 m is 45 L outside
        ("sed-20x45-1-pleated-abs", "micron", 10.0),  # certified for cysts of 4 to 6 um
        ("tap-lead", "micron", 20.0),
        ("sed-20x45-5-spun", "height_m", 0.3),  # a 20 in cartridge is 0.508 m long
        ("sed-10x25-5-spun", "dirt_g", 1200.0),  # 0.8 L of cartridge
        ("carb-20x45", "media_l", 8.0),
        ("bed-10", "rated_flow_l_min", 190.0),  # 225 m/h in a 10 in tank
        ("bed-10", "drain_flow_l_min", 190.0),
        ("soft-42", "rated_salt_kg", 99.0),  # its tank holds 110, but 42 L of resin take 20 lb/ft3 at most, 13.5 kg
        ("boost-38", "shutoff_kpa", 150.0),  # less at a standstill than while it runs
        ("boost-38", "power_w", 100.0),  # 38 L/min x 200 kPa is 127 W of water lifted (computed)
        ("ro-75-pump", "power_w", 1.0),  # 284 L/d at 40 % recovery x 240 kPa is 2 W (computed)
        ("ro-50", "storage_l", 20.0),
        ("contact-300", "volume_l", 900.0),
        ("chlor-20", "solution_l", 300.0),
    ],
)
def test_impossible_ratings_are_refused(code, field, value):
    kind, changed = ratings(code, **{field: value})
    with pytest.raises(OutsideValidRange) as refusal:
        validate_ratings(kind, changed)
    assert str(value).rstrip("0").rstrip(".") in str(refusal.value)
    assert "accepted is" in str(refusal.value)


def test_watts_without_a_supply_are_refused():
    kind, changed = ratings("ro-75-pump", supply="none")
    with pytest.raises(UnreadableValue, match="supply: cannot read 'none'; accepted is where its 35 W come from"):
        validate_ratings(kind, changed)


def test_salt_must_fit_the_salt_tank():
    kind, changed = ratings("soft-42", salt_tank_kg=5.0, rated_salt_kg=6.0)
    with pytest.raises(OutsideValidRange, match=r"rated_salt_kg is 6\.0, accepted is at least 0 and at most 5 kg"):
        validate_ratings(kind, changed)


def test_clear_water_has_no_ceiling_for_light():
    kind, changed = ratings("uv-a-42", rated_uvt=100.0, rated_dose=390.0)
    assert validate_ratings(kind, changed)["rated_dose"] == 390.0


def test_resin_cannot_hold_more_than_its_total_capacity():
    # 43,683 grains per ft3 at most (published); with salt enough for more, the resin is the ceiling
    kind, changed = ratings("soft-42", rated_salt_kg=20.0, rated_capacity_g=4500.0)
    with pytest.raises(OutsideValidRange, match="softener capacity is 4500"):
        validate_ratings(kind, changed)


@pytest.mark.parametrize(
    ("code", "changes", "words"),
    [
        ("uv-a-42", {"uv_class": "C"}, "uv_class: cannot read 'C'; accepted is one of A, B"),
        ("uv-a-42", {"rated_flow_l_min": "fast"}, "rated_flow_l_min: cannot read 'fast'"),
        ("uv-a-42", {"rated_flow_l_min": None}, "rated_flow_l_min: cannot read ''"),
        ("uv-a-42", {"sensor": "perhaps"}, "sensor: cannot read 'perhaps'; accepted is yes or no"),
        ("uv-a-42", {"colour": "blue"}, "colour: cannot read 'blue'; accepted is one of the ratings"),
        ("uv-a-42", {"lamp_w": True}, "lamp_w: cannot read 'True'"),
        ("uv-a-42", {"lamp_w": float("nan")}, "lamp_w: cannot read 'nan'"),
        ("carb-20x45", {"rated_litres": None}, "rated_litres: cannot read ''"),
        ("carb-12", {"tank_diameter_in": None}, "tank_diameter_in: cannot read ''"),
    ],
)
def test_unreadable_ratings_name_field_and_what_would_do(code, changes, words):
    kind, changed = ratings(code, **changes)
    with pytest.raises(UnreadableValue) as refusal:
        validate_ratings(kind, changed)
    assert words in str(refusal.value)


def test_text_numbers_become_numbers():
    kind, changed = ratings("restrict-30", flow_l_min=" 28.5 ")
    assert validate_ratings(kind, changed)["flow_l_min"] == 28.5


@pytest.mark.parametrize("code", sorted(catalogue()))
def test_normalising_twice_changes_nothing(code):
    product = catalogue()[code]
    once = validate_ratings(product.kind, product.ratings)
    assert validate_ratings(product.kind, once) == once
