"""Whole-life cost: what is bought, and the present value of salt, parts, power, water and visits."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from sizing.engine.design import CostBars, CostTerms, LifeKind, Product, WearPart
from sizing.engine.figures import figure
from sizing.engine.ranges import within
from sizing.engine.stages.base import Upkeep
from sizing.engine.upkeep import renewals_per_year

CENT = Decimal("0.01")
MOST_YEARS = 60.0
NO_INTEREST = 1e-12  # below this a rate changes nothing and the closed forms lose their digits
NOTHING = CostBars(Decimal(0), Decimal(0), Decimal(0), Decimal(0), Decimal(0))


def money(amount: float | Decimal) -> Decimal:
    """An amount rounded to the cent, halves away from zero.

    Units: the dealer's currency.
    Range: any finite amount.
    Raises: ``OutsideValidRange`` where it is not finite.
    Source: ordinary commercial rounding, common practice.

    >>> money(10.005000001)
    Decimal('10.01')
    """
    if isinstance(amount, Decimal):
        return amount.quantize(CENT, ROUND_HALF_UP)
    return Decimal(repr(within("amount", amount))).quantize(CENT, ROUND_HALF_UP)


@lru_cache(maxsize=64)
def annuity(rate: float, years: float) -> float:
    """Present value of 1 a year, paid at the end of each of n years: (1 - (1+r)^-n) / r, and n where r = 0.

    Units: rate per year as a fraction (real, after inflation), years a.
    Range: rate 0 to 1, years 0 to 60 (any period will do, months with a monthly rate up to 720).
    Raises: ``OutsideValidRange`` outside these.
    Source: uniform present value factor, any text on life-cycle cost (closed form).

    >>> round(annuity(0.03, 15), 4)
    11.9379
    """
    rate = within("discount rate", rate, low=0.0, high=1.0)
    years = within("years", years, low=0.0, high=MOST_YEARS * 12)
    if rate < NO_INTEREST:
        return float(years)
    return float(-math.expm1(-years * math.log1p(rate)) / rate)


@lru_cache(maxsize=4096)
def renewals(life_years: float, rate: float, years: float) -> float:
    """Present value of 1 paid at each renewal: at L, 2L, 3L ... strictly before ``years``.

    Units: life and years in a, rate per year as a fraction.
    Range: life above 0, rate 0 to 1, years 0 to 60.
    Raises: ``OutsideValidRange`` outside these.
    Source: geometric series (closed form).

    >>> renewals(5.0, 0.0, 15.0), round(renewals(5.0, 0.03, 15.0), 4)
    (2.0, 1.6067)
    """
    life = within("life", life_years, low=0.0, low_open=True, unit="a")
    rate = within("discount rate", rate, low=0.0, high=1.0)
    years = within("years", years, low=0.0, high=MOST_YEARS)
    times = max(math.ceil(years / life - 1e-9) - 1, 0)
    one = life * math.log1p(rate)
    if times == 0 or one < NO_INTEREST:
        return float(times)
    return float(math.exp(-one) * math.expm1(-one * times) / math.expm1(-one))


def life_years(part: WearPart, months_open: tuple[int, ...], litres_per_day: float) -> float | None:
    """Mean years between purchases of a part at this use; ``None`` where it is only looked at and has no cap.

    Units: a; litres a day on an open day.
    Range: life above 0; months 1 to 12.
    Raises: ``OutsideValidRange`` outside these.
    Source: the part's life rule, ``upkeep.renewals_per_year``.

    >>> from sizing.engine.design import LifeRule
    >>> lamp = WearPart("lamp", "Lamp", LifeRule(LifeKind.OPERATING, 12.0))
    >>> life_years(lamp, (5, 6, 7, 8, 9, 10), 600.0)
    2.0
    """
    rule = part.life
    within("life", rule.amount, low=0.0, low_open=True)
    if rule.kind is LifeKind.CONDITION:
        return None if rule.cap_months is None else rule.cap_months / 12.0
    rate = renewals_per_year(rule, months_open, litres_per_day)
    return 1.0 / rate if rate > 0.0 else None


def first_cost(product: Product, count: int, terms: CostTerms) -> Decimal:
    """Price and fitting of ``count`` units.

    Units: the dealer's currency; labour per hour.
    Range: count 1 or more.
    Raises: nothing beyond what ``money`` raises.
    Source: catalogue price and hours.

    >>> from sizing.engine.design import StageKind
    >>> unit = Product("u", StageKind.UV, "UV", {}, Decimal("800"), install_hours=2.0)
    >>> first_cost(unit, 1, CostTerms())
    Decimal('990.00')
    """
    fitting = Decimal(repr(product.install_hours)) * terms.labour_per_hour
    return money((product.price + fitting) * count)


def stage_bars(
    product: Product,
    upkeep: Upkeep,
    months_open: tuple[int, ...],
    litres_per_day: float,
    terms: CostTerms,
    count: int = 1,
) -> CostBars:
    """Whole-life cost of one stage, each part rounded to the cent. Call-outs are counted once for the train.

    ``upkeep`` is that of all ``count`` units together, but ``wear`` lists the parts of one unit, through
    which ``litres_per_day`` pass on an open day.
    ``power`` holds power and water; ``visits`` the hands-on hours that the customer does not give.
    Units: currency, present value over ``terms.years``.
    Range: as ``annuity`` and ``renewals``.
    Raises: as these.
    Source: present value of yearly and periodic amounts (closed form).

    >>> from sizing.engine.design import StageKind
    >>> unit = Product("s", StageKind.SOFTENER, "Softener", {}, Decimal("1000"), install_hours=0.0)
    >>> stage_bars(unit, Upkeep(salt_kg_year=100.0), tuple(range(1, 13)), 600.0, CostTerms()).salt
    Decimal('716.28')
    """
    salt, parts, power, visits = present_values(upkeep, months_open, litres_per_day, terms, count)
    return CostBars(
        bought=first_cost(product, count, terms),
        salt=money(salt),
        parts=money(parts),
        power=money(power),
        visits=money(visits),
    )


def present_values(
    upkeep: Upkeep, months_open: tuple[int, ...], litres_per_day: float, terms: CostTerms, count: int = 1
) -> tuple[float, float, float, float]:
    """Salt, parts, power with water, and visits of one stage, not rounded: what ``stage_bars`` rounds.

    Units: currency, present value over ``terms.years``; the rest as ``stage_bars``.
    Range: as ``annuity`` and ``renewals``.
    Raises: as these.
    Source: present value of yearly and periodic amounts (closed form).

    >>> present_values(Upkeep(power_kwh_year=100.0), (1,), 600.0, CostTerms(years=10, discount_rate=0.0))
    (0.0, 0.0, 180.0, 0.0)
    """
    factor = annuity(terms.discount_rate, terms.years)
    parts, customer_hours = 0.0, 0.0
    for part in upkeep.wear:
        life = life_years(part, months_open, litres_per_day)
        if life is None:
            continue
        parts += count * float(part.price) * renewals(life, terms.discount_rate, terms.years)
        if part.by_customer:
            customer_hours += count * part.minutes / 60.0 / life
    power = upkeep.power_kwh_year * float(terms.power_per_kwh)
    water = upkeep.water_l_year / 1000.0 * float(terms.water_per_m3)
    hours = max(upkeep.hours_year - customer_hours, 0.0)
    return (
        upkeep.salt_kg_year * float(terms.salt_per_kg) * factor,
        parts,
        (power + water) * factor,
        hours * float(terms.labour_per_hour) * factor,
    )


def cents(amount: float) -> int:
    """An amount in whole cents, halves away from zero: ``money`` times a hundred, quicker.

    Units: the dealer's currency in, cents out.
    Range: 0 and more; a half is told within a ten-millionth of a cent.
    Raises: nothing.
    Source: ordinary commercial rounding, common practice.

    >>> cents(10.005), cents(10.004), int(money(10.005) * 100)
    (1001, 1000, 1001)
    """
    return int(amount * 100.0 + 0.5000001)


def visits_a_year(months_open: int) -> float:
    """Call-outs a year for a train: one where it is lived in all year, otherwise an opening and a closing.

    Units: visits a year.
    Range: months open 1 to 12.
    Raises: ``OutsideValidRange`` outside it.
    Source: common practice.

    >>> visits_a_year(12), visits_a_year(5)
    (1.0, 2.0)
    """
    months = within("months open", months_open, low=1, high=12)
    key = "visits_year_round" if months == 12 else "visits_seasonal"
    return float(figure("design-practice", key).value)


def call_outs(months_open: int, terms: CostTerms) -> Decimal:
    """Present value of the call-outs of a train.

    Units: currency.
    Range: as ``visits_a_year`` and ``annuity``.
    Raises: as these.
    Source: ``visits_a_year`` times the visit charge times the annuity factor.

    >>> call_outs(12, CostTerms())
    Decimal('1432.55')
    """
    return money(visits_a_year(months_open) * float(terms.visit) * annuity(terms.discount_rate, terms.years))


def train_bars(stages: Iterable[CostBars], months_open: int, terms: CostTerms) -> CostBars:
    """The bars of a train: the sums of its stages, and the call-outs once (none where there is no stage).

    Units: currency, present value.
    Range: as ``call_outs``.
    Raises: as ``call_outs``.
    Source: sum.

    >>> train_bars([], 12, CostTerms()).total
    Decimal('0')
    """
    rows = tuple(stages)
    if not rows:
        return NOTHING
    zero = Decimal(0)
    return CostBars(
        bought=sum((row.bought for row in rows), zero),
        salt=sum((row.salt for row in rows), zero),
        parts=sum((row.parts for row in rows), zero),
        power=sum((row.power for row in rows), zero),
        visits=sum((row.visits for row in rows), zero) + call_outs(months_open, terms),
    )
