"""What differs between two states of an item, value by value, old and new."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isclose
from typing import Any

from sizing.engine.design import Product, WearPart
from sizing.engine.storage import to_data

SAME = 1e-9  # numbers closer than this, relatively, are one number written twice


@dataclass(frozen=True)
class Change:
    """One value before and after, named as the file of items names it."""

    field: str
    old: str
    new: str

    def __str__(self) -> str:
        return f"{self.field} {self.old or 'empty'} → {self.new or 'empty'}"


def changes(
    before: Product, after: Product, *, was_active: bool = True, is_active: bool = True
) -> tuple[Change, ...]:
    """Every difference, in the order of the file's columns."""
    return tuple(_changes(before, after, was_active, is_active))


def told(before: Product, after: Product, *, was_active: bool, is_active: bool) -> list[str]:
    """The differences as words for a log."""
    return [str(change) for change in changes(before, after, was_active=was_active, is_active=is_active)]


def _changes(before: Product, after: Product, was_active: bool, is_active: bool) -> Iterator[Change]:
    for name in ("name", "size_label", "price", "install_hours"):
        yield from _differs(name, getattr(before, name), getattr(after, name))
    yield from _differs("offered", was_active, is_active)
    yield from _differs("certified_for", " ".join(before.certified_for), " ".join(after.certified_for))
    for name in dict.fromkeys((*before.ratings, *after.ratings)):
        yield from _differs(name, before.ratings.get(name), after.ratings.get(name))
    for number in range(max(len(before.wear), len(after.wear))):
        old = _part(before.wear[number]) if number < len(before.wear) else {}
        new = _part(after.wear[number]) if number < len(after.wear) else {}
        for name in old or new:
            yield from _differs(f"part{number + 1}_{name}", old.get(name), new.get(name))


def _part(part: WearPart) -> dict[str, Any]:
    flat = {
        name: getattr(part, name) for name in ("code", "name", "specification", "price", "minutes", "by_customer")
    }
    return flat | {"life": part.life.kind.value, "amount": part.life.amount, "cap_months": part.life.cap_months}


def _differs(field: str, old: Any, new: Any) -> Iterator[Change]:
    if not same(old, new):
        yield Change(field, written(old), written(new))


def same(old: Any, new: Any) -> bool:
    """Whether two values are one: numbers up to what writing them down rounds away."""
    numbers = (int, float)
    if isinstance(old, numbers) and isinstance(new, numbers) and not isinstance(old, bool):
        return isclose(old, new, rel_tol=SAME, abs_tol=1e-12)
    return bool(old == new)


def written(value: Any) -> str:
    """A value as the file of items writes it: numbers with all their digits, yes and no."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return str(to_data(value))
