"""Two designs of one household compared: what was asked otherwise, what costs otherwise, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import SequenceMatcher

from sizing.engine.design import PlacedStage, Product, Train
from sizing.proposals.models import ProposedTrain


@dataclass(frozen=True)
class PriceChange:
    """A product whose price moved."""

    name: str
    before: Decimal
    after: Decimal


@dataclass(frozen=True)
class CatalogueChange:
    """How the catalogue moved: prices of the products in question, and how much else."""

    prices: tuple[PriceChange, ...]
    other_prices: int
    reworked: tuple[str, ...]  # products in question whose ratings, wear or claims are not what they were
    gained: int
    lost: int

    @property
    def any(self) -> bool:
        """Whether anything moved at all."""
        return bool(self.prices or self.other_prices or self.reworked or self.gained or self.lost)


@dataclass(frozen=True)
class StageChange:
    """One place of two lines laid side by side. ``what``: same, swapped, number, repriced, new or gone."""

    what: str
    before: PlacedStage | None
    after: PlacedStage | None


@dataclass(frozen=True)
class SumChange:
    """One figure before and after, and by how much it moved (canonical units, or money)."""

    code: str
    before: float
    after: float

    @property
    def by(self) -> float:
        """After less before."""
        return self.after - self.before


@dataclass(frozen=True)
class Pair:
    """A line of the old design and the one of the new that answers to it, and what they have in common."""

    role: str  # life, first, hours, or pinned
    before: ProposedTrain
    after: ProposedTrain


def catalogue_change(old: Sequence[Product], new: Sequence[Product], codes: Iterable[str]) -> CatalogueChange:
    """How two catalogues differ, products of ``codes`` by name and the rest counted."""
    before, after = ({product.code: product for product in products} for products in (old, new))
    asked = set(codes)
    both = [code for code in before if code in after]
    moved = [code for code in both if before[code].price != after[code].price]
    prices = [PriceChange(after[code].name, before[code].price, after[code].price) for code in moved if code in asked]
    return CatalogueChange(
        prices=tuple(prices),
        other_prices=len(moved) - len(prices),
        reworked=tuple(after[code].name for code in both if code in asked and _reworked(before[code], after[code])),
        gained=len(after.keys() - before.keys()),
        lost=len(before.keys() - after.keys()),
    )


def _reworked(one: Product, other: Product) -> bool:
    return _without_prices(one) != _without_prices(other)


def _without_prices(product: Product) -> tuple[object, ...]:
    return dict(product.ratings), [replace(part, price=Decimal(0)) for part in product.wear], product.certified_for


def stage_changes(old: Train, new: Train) -> tuple[StageChange, ...]:
    """Two lines laid side by side by the kinds of their stages."""
    a, b = old.stages, new.stages
    matcher = SequenceMatcher(None, [(s.kind, s.at) for s in a], [(s.kind, s.at) for s in b], autojunk=False)
    found: list[StageChange] = []
    for what, i1, i2, j1, j2 in matcher.get_opcodes():
        if what == "equal":
            found += [_matched(x, y) for x, y in zip(a[i1:i2], b[j1:j2], strict=True)]
        else:
            found += [StageChange("gone", stage, None) for stage in a[i1:i2]]
            found += [StageChange("new", None, stage) for stage in b[j1:j2]]
    return tuple(found)


def _matched(before: PlacedStage, after: PlacedStage) -> StageChange:
    if before.product.code != after.product.code:
        return StageChange("swapped", before, after)
    if before.count != after.count:
        return StageChange("number", before, after)
    if before.product.price != after.product.price:
        return StageChange("repriced", before, after)
    return StageChange("same", before, after)


def same_line(old: Train, new: Train) -> bool:
    """Whether two lines are the same products in the same order, whatever they cost."""
    return _codes(old) == _codes(new)


def _codes(train: Train) -> list[tuple[str, int, str]]:
    return [(stage.product.code, stage.count, stage.at) for stage in train.stages]


def cost_changes(old: Train, new: Train) -> tuple[SumChange, ...]:
    """Cost by cost, in the order they are drawn, then what keeps the line up."""
    names = ("bought", "salt", "parts", "power", "visits", "total")
    rows = [SumChange(name, float(getattr(old.cost, name)), float(getattr(new.cost, name))) for name in names]
    rows.append(SumChange("hours", old.upkeep_hours_year, new.upkeep_hours_year))
    if old.confidence is not None and new.confidence is not None:
        rows.append(SumChange("confidence", old.confidence, new.confidence))
    return tuple(rows)


def pairs_of(old: Sequence[ProposedTrain], new: Sequence[ProposedTrain]) -> tuple[Pair, ...]:
    """The lines to compare: best over the years, least to buy and least upkeep of each search, and pinned lines with
    themselves. Two roles that name the same two lines are told once."""
    found: dict[tuple[int, int], Pair] = {}
    searched = [[row for row in rows if not row.by_hand] for rows in (old, new)]
    if all(searched):
        for role, key in (("life", "whole_life_cost"), ("first", "first_cost"), ("hours", "upkeep_hours_year")):
            before, after = (min(rows, key=lambda row, key=key: getattr(row, key)) for rows in searched)  # type: ignore[misc]
            found.setdefault((before.pk, after.pk), Pair(role, before, after))
    by_origin: Mapping[object, ProposedTrain] = {row.origin: row for row in old if row.origin is not None}
    for row in new:
        if row.pinned and row.origin in by_origin:
            before = by_origin[row.origin]
            found.setdefault((before.pk, row.pk), Pair("pinned", before, row))
    return tuple(found.values())
