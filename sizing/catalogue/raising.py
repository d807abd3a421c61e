"""What a percentage makes of prices: every item old and new, rounded as the dealer prices."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from hashlib import sha256

from sizing.catalogue.adapters import Price, product_of
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.queries import prices_on

CENT = Decimal("0.01")
STEPS = (CENT, Decimal("0.05"), Decimal("0.50"), Decimal(1), Decimal(5), Decimal(10))


@dataclass(frozen=True)
class Raised:
    """One item before and after."""

    item: CatalogueItem
    old: Price
    new: Price

    @property
    def changes(self) -> bool:
        """Whether anything is another price."""
        return (self.old.price, dict(self.old.parts)) != (self.new.price, dict(self.new.parts))

    @property
    def dearer(self) -> Decimal:
        """How much more the item itself costs."""
        return self.new.price - self.old.price

    @property
    def parts_changed(self) -> int:
        """How many parts have another price."""
        return sum(self.old.parts[code] != amount for code, amount in self.new.parts.items())


def raised(
    rows: Iterable[CatalogueItem], *, percent: Decimal, step: Decimal, on: date, parts: bool = True
) -> tuple[Raised, ...]:
    """The prices of a day, raised (or lowered) by a percentage and rounded to a step; nothing that costs becomes
    free."""
    kept = list(rows)
    known = prices_on(on)
    return tuple(_raised(row, known.get(row.pk), 1 + percent / 100, step, parts) for row in kept)


def mark_of(rows: Sequence[Raised]) -> str:
    """The mark of what somebody looked at: the same rows with the same prices have the same."""
    told = "\n".join(f"{row.item.pk} {row.old.price} {row.new.price} {sorted(row.new.parts.items())}" for row in rows)
    return sha256(told.encode()).hexdigest()[:32]


def to_step(amount: Decimal, step: Decimal) -> Decimal:
    """The amount rounded to a whole number of steps, halves up, one step at least.

    >>> to_step(Decimal("103.10"), Decimal(5)), to_step(Decimal("0.004"), CENT)
    (Decimal('105.00'), Decimal('0.01'))
    """
    if amount <= 0:
        return Decimal(0).quantize(CENT)
    return (max(Decimal(1), (amount / step).quantize(Decimal(1), ROUND_HALF_UP)) * step).quantize(CENT)


def _raised(item: CatalogueItem, listed: Price | None, factor: Decimal, step: Decimal, parts: bool) -> Raised:
    product = product_of(item, listed)
    old = Price(product.price, {part.code: part.price for part in product.wear})
    fine = min(step, Decimal("0.50"))  # a cartridge of 9.00 is not rounded to tens
    new = {code: to_step(amount * factor, fine) if parts else amount for code, amount in old.parts.items()}
    return Raised(item, old, Price(to_step(old.price * factor, step), new))
