"""What a line must still cost at least: the cheapest way to cover every requirement not met yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sizing.engine.cost import annuity, first_cost, renewals
from sizing.engine.design import CostTerms, LifeKind, LifeRule, StageKind, WearPart
from sizing.engine.stages.base import Duty
from sizing.engine.train_order import SLOTS, is_fine
from sizing.engine.train_path import Line, Path
from sizing.engine.train_step import Option
from sizing.engine.upkeep import renewals_per_year
from sizing.engine.water import Water

CENTS_OF_DOUBT = 5  # roundings of the parts of one stage

Costs = tuple[int, int, float, float]
"""First cost and whole-life cost in cents, hours a year, and pressure taken at peak with dirty filters in kPa."""

NOTHING: Costs = (0, 0, 0.0, 0.0)
UV_SLOT = next(index for index, slot in enumerate(SLOTS) if slot.code == "uv")
BARRIER, FILTER, MUST = "barrier", "filter", "must"


@dataclass(frozen=True)
class Floor:
    """The least an option can cost whatever it is fed, and the requirements it may help with."""

    option: Option
    costs: Costs
    covers: frozenset[str]


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


def floor_costs(option: Option, duty: Duty, terms: CostTerms, loss_kpa: float) -> Costs:
    """First cost (exact), the least whole-life cost and upkeep hours of an option, call-outs apart; its loss.

    Units: cents; hours a year; kPa.
    Range: any option.
    Raises: as ``cost.renewals``.
    Source: calendar wear of the product's parts alone; salt, water and power left out.

    >>> from types import SimpleNamespace as N
    >>> from decimal import Decimal
    >>> product = N(price=Decimal(100), install_hours=0.0, wear=())
    >>> floor_costs(N(count=1, stage=N(product=product)), N(months_open=(1,), daily_l=1.0), CostTerms(), 5.0)
    (10000, 9995, 0.0, 5.0)
    """
    product, count = option.stage.product, option.count
    first = int(first_cost(product, count, terms) * 100)
    parts, hours, dealer = 0.0, 0.0, 0.0
    for part in product.wear:
        rule = floor_rule(part.life)
        if rule is None:
            continue
        worked = renewals_per_year(rule, duty.months_open, 0.0) * part.minutes / 60.0 * count
        hours += worked
        dealer += 0.0 if part.by_customer else worked
        parts += _bought(part, rule, duty) * count * renewals_of(rule, duty, terms)
    visits = dealer * float(terms.labour_per_hour) * annuity(terms.discount_rate, terms.years)
    life = first + int(100 * (parts + visits)) - CENTS_OF_DOUBT
    return first, life, max(round(hours - 1e-5, 6), 0.0), loss_kpa


def _bought(part: WearPart, rule: LifeRule, duty: Duty) -> float:
    return 0.0 if rule.kind is LifeKind.CONDITION and rule.cap_months is None else float(part.price)


def renewals_of(rule: LifeRule, duty: Duty, terms: CostTerms) -> float:
    """Present value of 1 at each renewal under a life rule that does not depend on litres.

    Units: none.
    Range: life above 0.
    Raises: as ``cost.renewals``.
    Source: ``cost.renewals``.

    >>> from types import SimpleNamespace as N
    >>> renewals_of(LifeRule(LifeKind.CALENDAR, 60), N(months_open=(1,)), CostTerms(discount_rate=0.0))
    2.0
    """
    if rule.kind is LifeKind.CONDITION:
        life = None if rule.cap_months is None else rule.cap_months / 12.0
    else:
        life = 1.0 / renewals_per_year(rule, duty.months_open, 0.0)
    return 0.0 if life is None else renewals(life, terms.discount_rate, terms.years)


class Bound:
    """Least remaining costs. Rests on ``Stage.improves``: a stage never betters an analyte it does not name."""

    def __init__(self, line: Line, must: int | None = None) -> None:
        self.must = must  # a slot that may not stay empty
        self.brief = line.brief
        self.ignore = line.ignore
        self.floors = tuple(self._floor(line, option) for option in line.options)
        self._by_slot: list[dict[frozenset[str], Costs]] = [{} for _ in SLOTS]
        for floor in self.floors:
            best = self._by_slot[floor.option.slot]
            best[floor.covers] = _least(best.get(floor.covers), floor.costs)
        self._uv_limits = self._loosest(line.options)
        self._cache: dict[tuple[frozenset[str], int], Costs | None] = {}
        self._unmet: dict[tuple[object, ...], frozenset[str]] = {}

    def _floor(self, line: Line, option: Option) -> Floor:
        loss = 0.0 if option.at_tap else line.dirty_loss(option)
        terms = self.brief.request.cost
        return Floor(option, floor_costs(option, option.share(self.brief.duty), terms, loss), self._covers(option))

    def _covers(self, option: Option) -> frozenset[str]:
        stage, found = option.stage, set()
        for code in stage.improves():
            found.add(f"tap:{code}")
            if not option.at_tap:
                found.add(f"entry:{code}")
                if option.slot < UV_SLOT:
                    found.add(f"uv:{code}")
        if getattr(stage, "is_barrier", False):
            found.add(BARRIER)
        if stage.kind is StageKind.ULTRAFILTER or (stage.kind is StageKind.SEDIMENT and is_fine(stage)):
            found.add(FILTER)
        if option.slot == self.must:
            found.add(MUST)
        return frozenset(found)

    def _loosest(self, options: Sequence[Option]) -> dict[tuple[str, str], float]:
        """For each analyte that every barrier limits hard: the loosest of their limits."""
        tables = []
        for option in options:
            if getattr(option.stage, "is_barrier", False):
                limits = option.stage.feed_limits(option.share(self.brief.duty))
                tables.append({(x.analyte, x.sense): x.value for x in limits if x.hard and x.analyte != "flow"})
        if not tables:
            return {}
        shared = set(tables[0]).intersection(*tables[1:])
        return {
            key: (max if key[1] == "max" else min)(table[key] for table in tables)
            for key in shared
            if f"feed:{key[0]}" not in self.ignore
        }

    def unmet(self, path: Path) -> frozenset[str]:
        """Requirements the path has not met yet, as codes."""
        key = (path.water_id, path.fine, path.dose, path.at_tap, self.must is not None and path.slot < self.must)
        found = self._unmet.get(key)
        if found is None:
            found = self._unmet[key] = frozenset(self._wanting(path))
        return found

    def _wanting(self, path: Path) -> set[str]:
        goals, water, let = self.brief.request.goals, path.water, self.ignore
        found: set[str] = {MUST} if self.must is not None and path.slot < self.must else set()
        for where, wanted in (("entry", goals.at_entry), ("tap", goals.at_tap)):
            if where == "entry" and path.at_tap:
                continue
            for code, limit in wanted.items():
                if code in water and water[code] > limit and f"goal:{code}:{where}" not in let:
                    found.add(f"{where}:{code}")
        if "ph" in water and not path.at_tap and "goal:ph:entry" not in let:
            low, high = goals.ph_low, goals.ph_high
            if (low is not None and water["ph"] < low) or (high is not None and water["ph"] > high):
                found.add("entry:ph")
        if path.dose < self.brief.barrier_dose and "barrier" not in let:
            found.add(BARRIER)
            if not path.fine and "prefilter" not in let:
                found.add(FILTER)
            found |= {f"uv:{code}" for code in self._starved(water)}
        return found

    def _starved(self, water: Water) -> set[str]:
        found = set()
        for (code, sense), value in self._uv_limits.items():
            if code in water and not (water[code] <= value if sense == "max" else water[code] >= value):
                found.add(code)
        return found

    def least(self, unmet: frozenset[str], slot: int) -> Costs | None:
        """Least costs to cover ``unmet`` with options in ``slot`` or later; ``None`` where nothing can."""
        if not unmet:
            return NOTHING
        key = (unmet, slot)
        if key not in self._cache:
            self._cache[key] = self._cover(unmet, slot)
        return self._cache[key]

    def _cover(self, unmet: frozenset[str], slot: int) -> Costs | None:
        """Cheapest cover, each of the three costs on its own: slot by slot over the sets covered so far."""
        best: dict[frozenset[str], Costs] = {frozenset(): NOTHING}
        for table in self._by_slot[slot:]:
            useful: dict[frozenset[str], Costs] = {}
            for covers, costs in table.items():
                part = covers & unmet
                if part:
                    useful[part] = _least(useful.get(part), costs)
            grown = dict(best)
            for have, spent in best.items():
                for part, costs in useful.items():
                    grown[have | part] = _least(grown.get(have | part), add(spent, costs))
            best = grown
        return best.get(unmet)


def _least(known: Costs | None, costs: Costs) -> Costs:
    if known is None:
        return costs
    return min(known[0], costs[0]), min(known[1], costs[1]), min(known[2], costs[2]), min(known[3], costs[3])


def add(one: Costs, other: Costs) -> Costs:
    """Two costs together.

    Units: as ``Costs``.
    Range: any.
    Raises: nothing.
    Source: sum.

    >>> add((1, 2, 0.5, 3.0), (1, 1, 0.5, 1.0))
    (2, 3, 1.0, 4.0)
    """
    return one[0] + other[0], one[1] + other[1], round(one[2] + other[2], 6), one[3] + other[3]
