"""Prices by the day: lists that begin, raises that round, and what was quoted before."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from customers.tenancy.scope import dealer_scope
from sizing.catalogue.actions import change_item
from sizing.catalogue.adapters import product_of
from sizing.catalogue.models import ItemLog, ListPrice, PriceList
from sizing.catalogue.price_actions import (
    ListFixed,
    PriceRefused,
    PricesMoved,
    keep_raise,
    set_price,
    withdraw_list,
)
from sizing.catalogue.queries import active_products, items, price_lists, price_of, prices_on
from sizing.catalogue.raising import STEPS, mark_of, raised, to_step
from tests.sizing.catalogue.made import WHO, shelf

NEW_YEAR = date(2027, 1, 1)


@pytest.fixture
def shelved(dealer):
    return shelf(dealer)


def put(item, amount, on, today, now, **parts):
    values = {code: Decimal(text) for code, text in parts.items()}
    set_price(item=item, price=Decimal(amount), parts=values, on=on, today=today, actor_name=WHO, now=now)


def keep(dealer, today, now, on=NEW_YEAR, percent="5", step="1", rows=None, name="2027", agreed=None, parts=True):
    found = raised(
        rows if rows is not None else items(), percent=Decimal(percent), step=Decimal(step), on=on, parts=parts
    )
    mark = mark_of(found)
    return keep_raise(
        dealer=dealer,
        name=name,
        on=on,
        today=today,
        rows=found,
        agreed=agreed or mark,
        mark=mark,
        actor_name=WHO,
        now=now,
    )


def prices(on, code):
    return next(p for p in active_products(on) if p.code == code)


def test_a_price_holds_from_its_day_and_not_before(shelved, today, now):
    item = shelved["uv-a-42"]
    put(item, "1100.00", NEW_YEAR, today, now, lamp="120.00")
    assert price_of(item, NEW_YEAR - timedelta(days=1)).price == Decimal("1060.00")
    there = price_of(item, NEW_YEAR)
    assert (there.price, there.parts["lamp"], there.parts["sleeve"]) == (
        Decimal("1100.00"),
        Decimal("120.00"),
        Decimal("48.00"),
    )
    assert there.source == "Prices set for 1 Jan 2027"
    assert prices(NEW_YEAR, "uv-a-42").wear[0].price == Decimal("120.00")
    assert prices(today, "uv-a-42").price == Decimal("1060.00")


def test_of_two_lists_the_newer_day_counts_item_by_item(shelved, today, now):
    item, other = shelved["uv-a-42"], shelved["soft-42"]
    put(item, "1100.00", NEW_YEAR, today, now)
    put(other, "1200.00", NEW_YEAR, today, now)
    put(item, "1150.00", date(2027, 6, 1), today, now)
    assert price_of(item, date(2027, 5, 31)).price == Decimal("1100.00")
    assert price_of(item, date(2027, 6, 1)).price == Decimal("1150.00")
    assert price_of(other, date(2027, 6, 1)).price == Decimal("1200.00")
    assert [(row.valid_from, row.named) for row in price_lists()] == [(date(2027, 6, 1), 1), (NEW_YEAR, 2)]


def test_todays_price_is_plain_until_a_list_is_in_force(shelved, today, now):
    item = shelved["uv-a-42"]
    put(item, "1070.00", today, today, now, lamp="115.00")
    item.refresh_from_db()
    assert (item.price, item.wear[0]["price"]) == (Decimal("1070.00"), "115.00")
    assert not PriceList.objects.exists()
    put(item, "1100.00", today + timedelta(days=1), today, now)
    put(item, "1090.00", today + timedelta(days=2), today + timedelta(days=2), now)
    assert price_of(item, today + timedelta(days=1)).price == Decimal("1100.00")
    assert price_of(item, today + timedelta(days=2)).price == Decimal("1090.00")
    item.refresh_from_db()
    assert item.price == Decimal("1070.00"), "what it cost before the lists stays as it was"


def test_a_changed_item_gets_its_price_from_today_also_under_a_list(shelved, today, now):
    item = shelved["uv-a-42"]
    put(item, "1100.00", today, today, now)
    put(item, "1200.00", NEW_YEAR, today, now)
    later = NEW_YEAR + timedelta(days=10)
    from dataclasses import replace

    product = replace(product_of(item, prices_on(later)[item.pk]), price=Decimal("1250.00"), name="Renamed")
    change_item(item=item, product=product, active=True, actor_name=WHO, now=now, today=later)
    item.refresh_from_db()
    assert (item.name, item.price) == ("Renamed", Decimal("1100.00"))
    assert price_of(item, later).price == Decimal("1250.00")
    assert price_of(item, NEW_YEAR).price == Decimal("1200.00")


@pytest.mark.parametrize("amount", ["-1.00", "100000000.00"])
def test_prices_that_cannot_be(shelved, today, now, amount):
    with pytest.raises(PriceRefused, match="accepted is an amount from 0"):
        put(shelved["uv-a-42"], amount, NEW_YEAR, today, now)
    assert not PriceList.objects.exists()


def test_no_price_for_a_day_that_is_past(shelved, today, now):
    with pytest.raises(PriceRefused, match="accepted is today, 9 Jun 2026, or later"):
        put(shelved["uv-a-42"], "1.00", today - timedelta(days=1), today, now)


@pytest.mark.parametrize(
    ("amount", "step", "rounded"),
    [
        ("103.10", "5", "105.00"),
        ("102.49", "5", "100.00"),
        ("102.50", "5", "105.00"),
        ("0.30", "1", "1.00"),
        ("0", "10", "0.00"),
        ("12.344", "0.01", "12.34"),
        ("12.345", "0.01", "12.35"),
        ("12.32", "0.05", "12.30"),
    ],
)
def test_rounding_to_a_step(amount, step, rounded):
    assert to_step(Decimal(amount), Decimal(step)) == Decimal(rounded)


@pytest.mark.parametrize("step", STEPS)
def test_a_raise_never_lowers_and_rounds_by_half_a_step_at_most(shelved, today, step):
    for row in raised(items(), percent=Decimal("4.2"), step=step, on=today):
        exact = row.old.price * Decimal("1.042")
        assert abs(row.new.price - exact) <= step / 2 or row.new.price == step
        for code, amount in row.new.parts.items():
            assert (amount == 0) is (row.old.parts[code] == 0)


def test_a_raise_of_a_kind_is_looked_at_and_then_kept(dealer, shelved, today, now):
    carbon = items().filter(kind="carbon")
    looked = raised(carbon, percent=Decimal(10), step=Decimal(1), on=NEW_YEAR)
    assert [(row.item.code, row.old.price, row.new.price) for row in looked] == [
        ("carb-20x45", Decimal("210.00"), Decimal("231.00")),
        ("carb-12", Decimal("1444.00"), Decimal("1588.00")),  # 1588.40
    ]
    kept = keep(dealer, today, now, percent="10", rows=carbon)
    assert kept.prices.count() == 2
    assert prices(NEW_YEAR, "carb-12").price == Decimal("1588.00")
    assert prices(NEW_YEAR, "carb-12").wear[0].price == Decimal("244.50")  # 222.30 + 10 % = 244.53, to 0.50
    assert prices(NEW_YEAR, "uv-a-42").price == Decimal("1060.00")
    assert ItemLog.objects.filter(what__contains="1444.00 → 1588.00 from 1 Jan 2027, 2027", who=WHO).count() == 1


def test_a_raise_upon_a_raise_begins_from_the_prices_of_that_day(dealer, shelved, today, now):
    keep(dealer, today, now, percent="10", rows=items().filter(code="restrict-30"))
    keep(dealer, today, now, percent="10", rows=items().filter(code="restrict-30"))
    assert prices(NEW_YEAR, "restrict-30").price == Decimal("58.00")  # 48 -> 52.80 = 53 -> 58.30 = 58
    assert PriceList.objects.count() == 1


def test_parts_may_keep_their_prices(dealer, shelved, today, now):
    keep(dealer, today, now, rows=items().filter(code="uv-a-42"), parts=False)
    assert prices(NEW_YEAR, "uv-a-42").price == Decimal("1113.00")
    assert prices(NEW_YEAR, "uv-a-42").wear[0].price == Decimal("113.20")


def test_what_moved_between_looking_and_agreeing_is_not_written(dealer, shelved, today, now):
    looked = mark_of(raised(items(), percent=Decimal(5), step=Decimal(1), on=NEW_YEAR))
    put(shelved["uv-a-42"], "1999.00", today, today, now)
    with pytest.raises(PricesMoved):
        keep(dealer, today, now, agreed=looked)
    assert not ListPrice.objects.exists()


def test_a_raise_that_changes_nothing_is_refused(dealer, shelved, today, now):
    with pytest.raises(PriceRefused, match="changes no price"):
        keep(dealer, today, now, percent="0.1", step="10", rows=items().filter(code="uv-a-42"), parts=False)


def test_a_list_to_come_can_be_withdrawn_one_in_force_cannot(dealer, shelved, today, now):
    kept = keep(dealer, today, now)
    with pytest.raises(ListFixed, match="in force since 1 Jan 2027"):
        withdraw_list(price_list=kept, today=NEW_YEAR, actor_name=WHO, now=now)
    withdraw_list(price_list=kept, today=today, actor_name=WHO, now=now)
    assert not PriceList.objects.exists()
    assert prices(NEW_YEAR, "uv-a-42").price == Decimal("1060.00")
    assert ItemLog.objects.filter(what="2027, from 1 Jan 2027, withdrawn").count() == len(shelved)


def test_lists_of_another_dealer_set_no_price_here(dealer, shelved, other_dealer, today, now):
    with dealer_scope(other_dealer):
        theirs = shelf(other_dealer)
        put(theirs["uv-a-42"], "5.00", NEW_YEAR, today, now)
    assert prices(NEW_YEAR, "uv-a-42").price == Decimal("1060.00")


def test_prices_of_a_day_take_two_queries(dealer, shelved, today, now, django_assert_num_queries):
    for month in range(1, 7):
        keep(dealer, today, now, on=date(2027, month, 1), percent=str(month), name=f"list {month}")
    with django_assert_num_queries(2):
        active_products(date(2027, 8, 1))
