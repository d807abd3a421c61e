"""Designs and quotes at the prices of their day, and what is out keeps its own."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from customers.dealers.queries import today_at
from customers.households.models import LogEntry
from sizing.catalogue.actions import load_starter
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.price_actions import set_price
from sizing.engine.design import Goals
from sizing.engine.stages.starter import load_starter as starter_products
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import Wishes, request_for
from sizing.proposals.copies import products_of
from sizing.proposals.queries import train_value
from sizing.quotes.actions import draft_quote, mark_issued
from tests import factories
from tests.sizing.catalogue.made import WHO

CODES = ("soft-28", "soft-35", "soft-42", "uv-a-42", "sed-20x45-5-spun")


@pytest.fixture
def hard(dealer, site):
    """A household with hard water, and softeners on the shelf."""
    load_starter(dealer=dealer, products=tuple(p for p in starter_products() if p.code in CODES))
    factories.FlowTestFactory(site=site)
    water = {
        "hardness": 180.0,
        "iron": 0.02,
        "ph": 7.2,
        "turbidity": 0.4,
        "total_coliform": "absent",
        "e_coli": "absent",
    }
    factories.WaterTestFactory(site=site, results=water)
    return site


def designed(site, now):
    return make_design(site=site, actor_name=WHO, now=now, wishes=Wishes(at_entry={"hardness": 60.0}))


def raise_soft(day, today, now, amount="2000.00"):
    for item in CatalogueItem.objects.filter(kind="softener"):
        set_price(item=item, price=Decimal(amount), parts={}, on=day, today=today, actor_name=WHO, now=now)


def test_a_design_takes_the_prices_of_its_day_and_keeps_them(hard, today, now):
    raise_soft(today + timedelta(days=10), today, now)
    before = designed(hard, now)
    after = designed(hard, now + timedelta(days=10))
    for proposal, dear in ((before, False), (after, True)):
        train = train_value(proposal.trains.first())
        assert {stage.product.price == Decimal("2000.00") for stage in train.stages} == {dear}
        kept = {product.code: product.price for product in products_of(proposal)}
        assert (kept["soft-42"] == Decimal("2000.00")) is dear
    assert after.trains.first().first_cost > before.trains.first().first_cost


def test_a_quote_is_drafted_at_the_prices_of_its_day(hard, today, now):
    train = designed(hard, now).trains.first()
    first = draft_quote(train=train, actor_name=WHO, now=now)
    designed_at = first.lines.get(stage_number=1).unit_price
    mark_issued(quote=first, now=now, today=today, actor_name=WHO, fingerprint="5" * 64)
    raise_soft(today + timedelta(days=10), today, now)
    second = draft_quote(train=train, actor_name=WHO, now=now + timedelta(days=10))
    assert second.lines.get(stage_number=1).unit_price == Decimal("2000.00")
    assert "1 prices changed since the design" in LogEntry.objects.filter(site=hard).latest("pk").what
    first.refresh_from_db()
    assert first.lines.get(stage_number=1).unit_price == designed_at < Decimal("2000.00")


def test_the_day_is_the_dealers_own(hard, dealer, today, now):
    """17:00 UTC is 10 in the morning at the dealer's; eight hours on it is tomorrow in UTC and still today there."""
    raise_soft(today + timedelta(days=1), today, now)
    late = now + timedelta(hours=8)
    assert late.date() > today == today_at(dealer, late)
    train = train_value(designed(hard, late).trains.first())
    assert all(stage.product.price < Decimal("2000.00") for stage in train.stages)


def test_a_request_names_its_prices_by_the_day(hard, today, now):
    raise_soft(today + timedelta(days=1), today, now)
    asked = [
        request_for(site=hard, wishes=Wishes(at_entry={"hardness": 60.0}), on=today + timedelta(days=days))
        for days in (0, 1)
    ]
    dear = [{p.code for p in request.catalogue if p.price == Decimal("2000.00")} for request in asked]
    assert dear == [set(), {"soft-28", "soft-35", "soft-42"}]
    assert replace(asked[0], catalogue=()) == replace(asked[1], catalogue=())
    assert isinstance(asked[0].goals, Goals)
