"""The least a stage can cost, whatever it is fed."""

from __future__ import annotations

from functools import lru_cache

from sizing.engine.cost import annuity, renewals
from sizing.engine.design import CostTerms, LifeKind, LifeRule
from sizing.engine.train_spot import Spot
from sizing.engine.upkeep import renewals_per_year
from sizing.engine.water import Water

CENTS_OF_DOUBT = 5  # roundings of the parts of one stage
HOUR_OF_DOUBT = 10  # millionths, for the same reason
MILLION = 1_000_000

Costs = tuple[int, int, int, float, float, float]
"""First and whole-life cost in cents, upkeep in millionths of an hour a year; what is taken: kPa at peak with dirty
filters, m of wall, W."""

NOTHING: Costs = (0, 0, 0, 0.0, 0.0, 0.0)


def floor_rule(rule: LifeRule) -> LifeRule | None:
    """The slowest a part can wear, whatever the water: its calendar life or cap; ``None`` where use alone decides.

    Units: months.
    Range: any life rule.
    Raises: nothing.
    Source: a stage may shorten the life of a part, never lengthen it (the contract of ``Stage.upkeep``).

    >>> floor_rule(LifeRule(LifeKind.LITRES, 5e4, cap_months=12)).amount
    12
    >>> floor_rule(LifeRule(LifeKind.LITRES, 5e4)) is None
    True
    """
    if rule.kind is not LifeKind.LITRES:
        return rule
    return None if rule.cap_months is None else LifeRule(LifeKind.CALENDAR, rule.cap_months)


def floor_costs(spot: Spot, terms: CostTerms, first: int, taken: tuple[float, float, float], least: Water) -> Costs:
    """First cost (exact), the least whole-life cost and upkeep of an option, call-outs apart; what it takes.

    Units: cents; millionths of an hour a year; kPa, m, W.
    Range: any spot; ``first`` is its first cost in cents, ``taken`` pressure, wall and power (exact), ``least`` what
    any feed here has at least.
    Raises: as ``cost.renewals``.
    Source: calendar wear of the product's parts, and the salt, water and power that no feed can undercut.

    >>> from types import SimpleNamespace as N
    >>> from decimal import Decimal
    >>> from sizing.engine.stages.base import Upkeep
    >>> stage = N(product=N(wear=()), least_upkeep=lambda duty, least: Upkeep(power_kwh_year=100.0))
    >>> spot = N(option=N(count=1, stage=stage), duty=N(months_open=(1,)))
    >>> floor_costs(spot, CostTerms(years=10, discount_rate=0.0), 10000, (5.0, 0.3, 40.0), None)
    (10000, 27995, 0, 5.0, 0.3, 40.0)
    """
    stage, count, months = spot.option.stage, spot.option.count, spot.duty.months_open
    bought, hours, dealer = 0.0, 0.0, 0.0
    for part in stage.product.wear:
        times, value = worn(part.life, months, terms.discount_rate, terms.years)
        worked = times * part.minutes / 60.0 * count
        hours += worked
        dealer += 0.0 if part.by_customer else worked
        bought += float(part.price) * count * value
    use = stage.least_upkeep(spot.duty, least)
    yearly = (
        use.salt_kg_year * float(terms.salt_per_kg)
        + use.water_l_year / 1000.0 * float(terms.water_per_m3)
        + use.power_kwh_year * float(terms.power_per_kwh)
    ) * count + dealer * float(terms.labour_per_hour)
    running = int(100 * (bought + yearly * annuity(terms.discount_rate, terms.years)))
    return first, first + running - CENTS_OF_DOUBT, max(round(hours * MILLION) - HOUR_OF_DOUBT, 0), *taken


@lru_cache(maxsize=1024)
def worn(rule: LifeRule, months_open: tuple[int, ...], rate: float, years: float) -> tuple[float, float]:
    """Times a year a part is renewed or looked at at least, and the present value of 1 at each renewal.

    Units: times a year; none.
    Range: life above 0.
    Raises: as ``cost.renewals``.
    Source: ``floor_rule``, ``upkeep.renewals_per_year``, ``cost.renewals``.

    >>> worn(LifeRule(LifeKind.CALENDAR, 60), (1,), 0.0, 15)
    (0.2, 2.0)
    """
    slowest = floor_rule(rule)
    if slowest is None:
        return 0.0, 0.0
    times = renewals_per_year(slowest, months_open, 0.0)
    if slowest.kind is not LifeKind.CONDITION:
        return times, renewals(1.0 / times, rate, years)
    capped = slowest.cap_months
    return times, 0.0 if capped is None else renewals(capped / 12.0, rate, years)


def least_of(one: Costs, other: Costs) -> Costs:
    """The lesser of two costs, each on its own.

    Units: as ``Costs``.
    Range: any.
    Raises: nothing.
    Source: comparison.

    >>> least_of((1, 5, 3, 9.0, 0.3, 0.0), (2, 4, 3, 8.0, 0.4, 0.0))
    (1, 4, 3, 8.0, 0.3, 0.0)
    """
    return (
        min(one[0], other[0]),
        min(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
        min(one[4], other[4]),
        min(one[5], other[5]),
    )


def add(one: Costs, other: Costs) -> Costs:
    """Two costs together.

    Units: as ``Costs``.
    Range: any.
    Raises: nothing.
    Source: sum.

    >>> add((1, 2, 5, 3.0, 0.3, 0.0), (1, 1, 5, 1.0, 0.5, 4.0))
    (2, 3, 10, 4.0, 0.8, 4.0)
    """
    a, b, c, d, e, f = one
    g, h, i, j, k, m = other
    return a + g, b + h, c + i, d + j, e + k, f + m
