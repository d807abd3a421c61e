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
    ],
)
def test_impossible_ratings_are_refused(code, field, value):
    kind, changed = ratings(code, **{field: value})
    with pytest.raises(OutsideValidRange) as refusal:
        validate_ratings(kind, changed)
    assert str(value).rstrip("0").rstrip(".") in str(refusal.value)
    assert "accepted is" in str(refusal.value)


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
