"""A dealer's own items: what can be added and changed, and what every change leaves behind."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from customers.tenancy.scope import dealer_scope
from sizing.catalogue.actions import CodeTaken, KindFixed, add_item, change_item, offer_item
from sizing.catalogue.adapters import product_of
from sizing.catalogue.checking import ItemRefused, check_product, claims_of
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.queries import active_products, found_items, price_of, unused
from sizing.engine.design import LifeKind, LifeRule, StageKind, WearPart
from sizing.engine.errors import EngineError, OutsideValidRange
from tests import factories
from tests.sizing.catalogue.made import WHO, shelf


@pytest.fixture
def items(dealer):
    return shelf(dealer)


def change(item, now, today, active=True, **values):
    product = replace(product_of(item), **values)
    return change_item(item=item, product=product, active=active, actor_name=WHO, now=now, today=today)


def test_an_item_of_ones_own_is_added_and_noted(dealer, items, now):
    product = replace(product_of(items["uv-a-42"]), code="uv-ours", name="Our lamp")
    item = add_item(dealer=dealer, product=product, actor_name=WHO, now=now)
    assert item.own
    assert [(row.who, row.what) for row in item.log.all()] == [(WHO, "added")]
    assert "uv-ours" in {p.code for p in active_products(now.date())}
    with pytest.raises(CodeTaken, match="uv-ours"):
        add_item(dealer=dealer, product=product, actor_name=WHO, now=now)


def test_a_change_says_what_was_and_what_is(items, now, today):
    item = change(items["uv-a-42"], now, today, name="UV, 42 L/min", install_hours=2.5)
    assert [row.what for row in item.log.all()] == ["name UV class A, 42 L/min → UV, 42 L/min; install_hours 2 → 2.5"]
    again = change(CatalogueItem.objects.get(pk=item.pk), now, today)
    assert again.log.count() == 1, "what changes nothing is not noted"


def test_an_impossible_rating_changes_nothing(items, now, today):
    item = items["uv-a-42"]
    ratings = {**item.ratings, "loss_kpa": -5.0}
    with pytest.raises(OutsideValidRange, match="loss_kpa is -5"):
        change(item, now, today, ratings=ratings, name="Changed")
    item.refresh_from_db()
    assert item.name == "UV class A, 42 L/min"
    assert item.log.count() == 0


def test_code_and_kind_stay(items, now, today):
    for values in ({"code": "other"}, {"kind": StageKind.RO}):
        with pytest.raises(KindFixed):
            change(items["uv-a-42"], now, today, **values)


def test_retired_items_stay_out_of_new_designs_and_come_back(items, now):
    item = offer_item(item=items["uv-a-42"], active=False, actor_name=WHO, now=now)
    assert "uv-a-42" not in {p.code for p in active_products(now.date())}
    assert "uv-a-42" in {row.code for row in found_items(retired=True)}
    offer_item(item=item, active=True, actor_name=WHO, now=now)
    assert "uv-a-42" in {p.code for p in active_products(now.date())}
    assert [row.what for row in item.log.all()] == ["offered again", "retired from new designs"]


PART = WearPart("lamp", "Lamp", LifeRule(LifeKind.OPERATING, 12.0), "lamp 48 W, 840 mm", Decimal("113.20"))


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"code": "UV 42"}, "code"),
        ({"code": "=cmd"}, "code"),
        ({"name": " "}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"name": "two\nlines"}, "name"),
        ({"price": Decimal("-1")}, "price"),
        ({"price": Decimal("0.005")}, "price"),
        ({"price": Decimal("NaN")}, "price"),
        ({"install_hours": -1.0}, "install_hours"),
        ({"install_hours": float("nan")}, "install_hours"),
        ({"certified_for": ("lead",)}, "certified_for"),  # a lamp takes no lead out
        ({"wear": (replace(PART, code="Lamp!"),)}, "part1_code"),
        ({"wear": (PART, PART)}, "part1_code"),
        ({"wear": (replace(PART, specification=""),)}, "part1_specification"),
        ({"wear": (replace(PART, price=Decimal("-2")),)}, "part1_price"),
        ({"wear": (replace(PART, life=LifeRule(LifeKind.OPERATING, 0.0)),)}, "part1_amount"),
        ({"wear": (replace(PART, life=LifeRule(LifeKind.OPERATING, 12.0, -1.0)),)}, "part1_cap_months"),
        ({"wear": (replace(PART, minutes=-1.0),)}, "part1_minutes"),
        ({"wear": tuple(replace(PART, code=f"p{n}") for n in range(9))}, "wearing parts"),
    ],
)
def test_what_cannot_be_names_its_field(items, values, field):
    with pytest.raises(ItemRefused) as refusal:
        check_product(replace(product_of(items["uv-a-42"]), **values))
    assert refusal.value.field == field
    assert "accepted is" in str(refusal.value)


def test_claims_are_of_kinds_that_treat(items):
    assert "lead" in claims_of(StageKind.TAP_CARBON)
    assert claims_of(StageKind.RESTRICTOR) == ()
    check_product(replace(product_of(items["carb-20x45"]), certified_for=("voc",)))


def test_every_starter_item_can_be(dealer):
    found = shelf(
        dealer, codes={p.code for p in __import__("sizing.engine.stages.starter", fromlist=["x"]).load_starter()}
    )
    refused = []
    for item in found.values():
        try:
            check_product(product_of(item))
        except (ItemRefused, EngineError) as bad:
            refused.append(f"{item.code}: {bad}")
    assert refused == []


@pytest.mark.parametrize(
    ("words", "code"),
    [("uv 42", "uv-a-42"), ("5 um", "sed-20x45-5-spun"), ("RESTRICT", "restrict-30"), ("nitrate", "ro-75-cert")],
)
def test_every_word_must_be_found_somewhere(items, words, code):
    assert code in {row.code for row in found_items(words=words)}
    assert not found_items(words=words + " teapot").exists()


def test_only_what_nothing_names_may_go(dealer, items, site):
    quote = factories.QuoteFactory(site=site)
    factories.QuoteLineFactory(quote=quote, position=1, item=items["uv-a-42"])
    left = {row.code for row in unused(CatalogueItem.objects.all())}
    assert left == set(items) - {"uv-a-42"}


def test_another_dealer_sees_nothing(items, other_dealer, now):
    with dealer_scope(other_dealer):
        assert active_products(now.date() + timedelta(days=400)) == ()
        assert not found_items().exists()


def test_a_price_of_today_is_the_items_own(items, today):
    assert price_of(items["uv-a-42"], today).price == Decimal("1060.00")
