"""Leaving out what another option of the same place betters in everything: it can be in no line worth having."""

from __future__ import annotations

import math
from collections.abc import Iterable

from sizing.engine.design import LifeKind, WearPart
from sizing.engine.stages.base import Rank
from sizing.engine.train_floor import Costs
from sizing.engine.train_spot import Option, Spot


def without_bettered(spots: Iterable[Spot], floors: dict[int, Costs], *, costs: bool = True) -> list[Spot]:
    """The spots of one slot less those that another betters in everything; of equals the first stays.

    Units: none.
    Range: spots that stand; ``floors`` has the floor of each option by its index; ``costs`` = whether these count.
    Raises: nothing.
    Source: the contract of ``Stage.rank``.

    >>> without_bettered([], {})
    []
    """
    kept: list[Spot] = []
    alike: dict[object, list[tuple[Spot, Rank]]] = {}
    for spot in spots:
        option = spot.option
        rank = option.stage.rank()
        if rank is None:
            kept.append(spot)
            continue
        others = alike.setdefault((option.stage.kind, type(option.stage), option.count, rank.like), [])
        if any(betters(other, first, spot, rank, floors, costs=costs) for other, first in others):
            continue
        for row in [row for row in others if betters(spot, rank, *row, floors, costs=costs)]:
            others.remove(row)
            kept.remove(row[0])
        others.append((spot, rank))
        kept.append(spot)
    return kept


def betters(
    one: Spot, mine: Rank, other: Spot, theirs: Rank, floors: dict[int, Costs], *, costs: bool = True
) -> bool:
    """Whether one option is no worse than another in everything: merits, pressure, room, power, and what it costs.

    Units: none.
    Range: two options of one kind and of equal ``like`` at the same flow.
    Raises: nothing.
    Source: comparison.

    >>> from types import SimpleNamespace as N
    >>> from sizing.engine.design import Needs
    >>> brief = N(request=N(site=N(wall_m=None, power_w=None), supply=N(well_storage_l=None)))
    >>> stage = N(most_kpa=None, product=N(wear=()))
    >>> unit = lambda index: N(brief=brief, body=Needs(), option=N(index=index, stage=stage))
    >>> floors = {0: (100, 100, 0, 5.0), 1: (100, 100, 0, 6.0)}
    >>> betters(unit(0), Rank(()), unit(1), Rank(()), floors), betters(unit(1), Rank(()), unit(0), Rank(()), floors)
    (True, False)
    """
    cheap, dear = floors[one.option.index], floors[other.option.index]
    if cheap[3] > dear[3] or any(a < b for a, b in zip(mine.merits, theirs.merits, strict=True)):
        return False
    request, small, large = one.brief.request, one.body, other.body
    site = request.site
    if small.min_inlet_kpa > large.min_inlet_kpa or _bears(one) < _bears(other):
        return False
    if (site.wall_m is not None and small.wall_m > large.wall_m) or (
        site.power_w is not None and small.power_w > large.power_w
    ):
        return False
    if (costs or request.supply.well_storage_l is not None) and any(
        a < b for a, b in zip(mine.thrift, theirs.thrift, strict=True)
    ):
        return False
    return not costs or (cheap[0] <= dear[0] and wears_no_more(one.option, other.option))


def _bears(spot: Spot) -> float:
    most = spot.option.stage.most_kpa
    return math.inf if most is None else most


def wears_no_more(one: Option, other: Option) -> bool:
    """Whether the parts of one are those of the other, and none of them wears faster, costs more or takes longer.

    Units: none.
    Range: any options.
    Raises: nothing.
    Source: comparison.

    >>> from types import SimpleNamespace as N
    >>> bare = N(stage=N(product=N(wear=())))
    >>> wears_no_more(bare, bare)
    True
    """
    mine, theirs = one.stage.product.wear, other.stage.product.wear
    return len(mine) == len(theirs) and all(_no_more(a, b) for a, b in zip(mine, theirs, strict=True))


def _no_more(part: WearPart, other: WearPart) -> bool:
    mine, theirs = part.life, other.life
    if part.code != other.code or mine.kind is not theirs.kind or part.by_customer != other.by_customer:
        return False
    if part.price > other.price or part.minutes > other.minutes or mine.amount < theirs.amount:
        return False
    if mine.kind is LifeKind.CONDITION and mine.cap_months != theirs.cap_months:
        return False
    return mine.cap_months == theirs.cap_months or (
        mine.cap_months is None or (theirs.cap_months is not None and mine.cap_months >= theirs.cap_months)
    )
