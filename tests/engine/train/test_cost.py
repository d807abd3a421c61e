"""Present values against a published example, against sums year by year, and the split of a stage's cost."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.engine.cost import (
    annuity,
    call_outs,
    first_cost,
    life_years,
    money,
    renewals,
    stage_bars,
    train_bars,
)
from sizing.engine.design import CostTerms, LifeKind, LifeRule, Product, StageKind, WearPart
from sizing.engine.errors import OutsideValidRange
from sizing.engine.stages.base import Upkeep


def test_monthly_payment_of_a_published_loan():
    # NumPy 1.3 reference, numpy.pmt: a loan of 200,000 over 15 years at 7.5 % a year, paid monthly, takes
    # 1854.0247200054619 a month.
    assert 200_000 / annuity(0.075 / 12, 15 * 12) == pytest.approx(1854.0247200054619, rel=1e-12)


@given(st.floats(0.0, 0.2), st.integers(1, 60))
def test_annuity_is_the_sum_of_discounted_years(rate, years):
    by_year = sum(1.0 / (1.0 + rate) ** year for year in range(1, years + 1))
    assert annuity(rate, years) == pytest.approx(by_year, rel=1e-9)


@given(st.floats(0.05, 20.0), st.floats(0.0, 0.2), st.integers(1, 40))
def test_renewals_are_the_sum_of_discounted_purchases(life, rate, years):
    total, when = 0.0, life
    while when < years - 1e-6 * life:
        total += (1.0 + rate) ** -when
        when += life
    # The last purchase may stand on the horizon itself: rounding decides, so one purchase is the tolerance.
    edge = abs(years / life - round(years / life)) < 1e-5
    assert renewals(life, rate, years) == pytest.approx(total, rel=1e-7, abs=1.0 if edge else 1e-9)


YEAR = tuple(range(1, 13))
SUMMER = (5, 6, 7, 8, 9, 10)


@pytest.mark.parametrize(
    ("kind", "amount", "cap", "months", "litres_day", "expected"),
    [
        (LifeKind.CALENDAR, 6.0, None, YEAR, 500.0, 0.5),
        (LifeKind.OPERATING, 12.0, None, YEAR, 500.0, 1.0),
        # Twelve months of operation at six months a year: two seasons (common practice).
        (LifeKind.OPERATING, 12.0, None, SUMMER, 500.0, 2.0),
        (LifeKind.OPERATING, 12.0, 18.0, SUMMER, 500.0, 1.5),
        (LifeKind.LITRES, 91_250.0, None, YEAR, 500.0, 0.5),
        (LifeKind.LITRES, 1e9, 12.0, YEAR, 500.0, 1.0),
        (LifeKind.LITRES, 1e9, None, YEAR, 0.0, None),
        (LifeKind.OPENING, 12.0, None, SUMMER, 500.0, 1.0),
        (LifeKind.CONDITION, 3.0, None, YEAR, 500.0, None),
        (LifeKind.CONDITION, 3.0, 60.0, YEAR, 500.0, 5.0),
    ],
)
def test_years_between_purchases(kind, amount, cap, months, litres_day, expected):
    part = WearPart("p", "Part", LifeRule(kind, amount, cap))
    assert life_years(part, months, litres_day) == expected


def test_a_stage_by_hand():
    # By hand at 0 % over 10 years: 900 + 2 h x 100; 50 kg salt x 0.60 x 10; a 30.00 part each half year,
    # bought 19 times; 87.6 kWh x 0.20 + 2 m3 x 0.50 = 18.52 a year; 1.5 h a year, 0.5 h of it the customer's.
    parts = (
        WearPart("cartridge", "Cartridge", LifeRule(LifeKind.CALENDAR, 6.0), price=Decimal("30")),
        WearPart("salt", "Salt", LifeRule(LifeKind.CALENDAR, 2.0), minutes=5.0, by_customer=True),
    )
    product = Product("x", StageKind.SOFTENER, "X", {}, Decimal("900"), install_hours=2.0)
    terms = CostTerms(
        years=10, discount_rate=0.0, salt_per_kg=Decimal("0.60"), power_per_kwh=Decimal("0.20"),
        water_per_m3=Decimal("0.50"), labour_per_hour=Decimal("100"), visit=Decimal("120"),
    )  # fmt: skip
    bars = stage_bars(product, Upkeep(parts, 50.0, 2000.0, 87.6, 1.5), YEAR, 500.0, terms)
    assert bars.bought == Decimal("1100.00")
    assert bars.salt == Decimal("300.00")
    assert bars.parts == Decimal("570.00")
    assert bars.power == Decimal("185.20")
    assert bars.visits == Decimal("1000.00")
    train = train_bars([bars, bars], 12, terms)
    assert train.visits == Decimal("3200.00")  # twice 1000, and ten call-outs of 120 once
    assert train.total == 2 * bars.total + call_outs(12, terms)


def test_two_units_cost_twice():
    product = Product("x", StageKind.SEDIMENT, "X", {}, Decimal("99.99"), install_hours=0.5)
    assert first_cost(product, 2, CostTerms()) == 2 * first_cost(product, 1, CostTerms())


@pytest.mark.parametrize(("rate", "years"), [(-0.01, 10), (1.5, 10), (0.03, -1), (float("nan"), 10)])
def test_impossible_terms_are_refused(rate, years):
    with pytest.raises(OutsideValidRange):
        annuity(rate, years)


def test_a_life_of_nothing_is_refused():
    with pytest.raises(OutsideValidRange, match="life"):
        life_years(WearPart("p", "P", LifeRule(LifeKind.CALENDAR, 0.0)), YEAR, 500.0)


def test_money_that_is_no_number_is_refused():
    with pytest.raises(OutsideValidRange, match="amount"):
        money(float("inf"))
