"""The starter catalogue: every item valid, buyable anywhere, priced, and in sizes that exist."""

from collections import Counter
from decimal import Decimal

import pytest

from sizing.engine.design import LifeKind, StageKind
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.stages.starter import load_starter
from tests.engine.stages.made import catalogue, stage

ITEMS = list(catalogue().values())
GOOD = b"""
[[product]]
code = "r"
kind = "restrictor"
name = "Restrictor"
price = "40.00"
ratings = { flow_l_min = 30, loss_kpa = 35, pipe = "1", width_m = 0.1 }

[[product.wear]]
code = "rubber"
name = "Rubber"
life = "condition"
amount = 12
price = "9.00"
"""


def test_about_three_hundred_items_and_every_kind():
    assert 290 <= len(ITEMS) <= 340
    assert {item.kind for item in ITEMS} == set(StageKind)
    assert all(count >= 4 for count in Counter(item.kind for item in ITEMS).values())


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.code)
def test_item_makes_a_stage_and_is_priced(item):
    assert stage(item.code).kind is item.kind
    assert isinstance(item.price, Decimal)
    assert item.price > 0
    assert item.price == item.price.quantize(Decimal("0.01"))
    assert item.name
    assert item.size_label
    assert item.install_hours > 0
    codes = [part.code for part in item.wear]
    assert len(codes) == len(set(codes))
    assert codes, "every stage has something that wears or is looked at"


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.code)
def test_bought_parts_have_an_open_specification(item):
    for part in item.wear:
        if part.price > 0:
            assert part.specification, part
        assert part.life.amount > 0
        assert part.minutes > 0


def test_lamps_count_operating_months_and_two_seasons_at_most():
    lamps = [part for item in ITEMS for part in item.wear if part.code == "lamp"]
    assert lamps
    for lamp in lamps:
        assert (lamp.life.kind, lamp.life.amount, lamp.life.cap_months) == (LifeKind.OPERATING, 12, 24)
        assert "W" in lamp.specification
        assert "mm" in lamp.specification


def test_cartridges_are_new_at_each_opening_and_yearly_at_most():
    cartridges = [part for item in ITEMS for part in item.wear if part.code == "cartridge"]
    assert cartridges
    assert {(part.life.kind, part.life.amount) for part in cartridges} == {(LifeKind.OPENING, 12)}


def test_each_restrictor_has_a_uv_that_treats_what_it_passes():
    flows = sorted(
        i.ratings["rated_flow_l_min"] for i in ITEMS if i.kind is StageKind.UV and i.ratings["uv_class"] == "A"
    )
    for item in ITEMS:
        if item.kind is StageKind.RESTRICTOR:
            assert any(stage(item.code).passes_l_min <= flow for flow in flows), item.code


def test_twelve_volt_units_are_there():
    assert sum(item.ratings.get("supply") == "12v" for item in ITEMS) >= 4


def test_bytes_load_like_a_file():
    (product,) = load_starter(GOOD)
    assert (product.code, product.price, product.wear[0].price) == ("r", Decimal("40.00"), Decimal("9.00"))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b'kind = "restrictor"', b'kind = "teapot"', "r: kind: cannot read 'teapot'"),
        (b'price = "40.00"', b'price = "-1"', "r: price: cannot read '-1'"),
        (b'price = "40.00"', b"price = 40.0", "r: price: cannot read '40.0'"),
        (b'price = "40.00"', b'price = "NaN"', "r: price: cannot read 'NaN'"),
        (b'pipe = "1"', b'pipe = "7"', "r: pipe: cannot read '7'"),
        (b'life = "condition"', b'life = "moons"', "r: life: cannot read 'moons'"),
        (b'name = "Restrictor"', b'name = " "', "name: cannot read ''"),
    ],
)
def test_a_bad_row_is_named(old, new, words):
    with pytest.raises(UnreadableValue) as refusal:
        load_starter(GOOD.replace(old, new))
    assert words in str(refusal.value)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b"flow_l_min = 30", b"flow_l_min = -30", "r: flow_l_min is -30"),
        (b"amount = 12", b"amount = 0", "r: amount of rubber is 0"),
    ],
)
def test_a_value_that_cannot_be_is_named(old, new, words):
    with pytest.raises(OutsideValidRange, match=words):
        load_starter(GOOD.replace(old, new))


def test_a_code_stands_once():
    with pytest.raises(UnreadableValue, match="a code used once"):
        load_starter(GOOD + GOOD)
