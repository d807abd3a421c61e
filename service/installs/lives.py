"""Fitted parts as the engine sees them: life rule, use of the place, due date. Pure, given its values."""

from __future__ import annotations

from datetime import date

from customers.households.models import Site
from customers.households.queries import open_on
from service.installs.models import FittedPart
from service.installs.seasons import next_opening_on
from sizing.engine.design import LifeKind, LifeRule, WearPart
from sizing.engine.upkeep import Due, Use, next_due


def life_of(part: FittedPart) -> LifeRule:
    """The life rule of a part."""
    return LifeRule(LifeKind(part.life_kind), part.life_amount, part.cap_months, part.life_source)


def due_of(part: FittedPart, use: Use, today: date) -> Due | None:
    """When the part falls due by its own life rule; ``None`` before it is in service (no anchor yet)."""
    if part.renewed_on is None:
        return None
    return next_due(life_of(part), part.renewed_on, use, today)


def due_day(part: FittedPart, site: Site, use: Use, today: date) -> date | None:
    """The day that every screen and paper shows: the rule's day, or the opening after it while the place is shut.

    Nothing wears in a place laid up, and nobody is there to let anyone in. ``None`` where no use ever wears it.
    """
    due = due_of(part, use, today)
    if due is None or due.on is None or open_on(site, due.on):
        return due.on if due else None
    return next_opening_on(site, due.on) or due.on


def part_fields(wear: WearPart) -> dict[str, object]:
    """Column values of a fitted part made from the engine's wearing part."""
    return {
        "code": wear.code,
        "name": wear.name,
        "specification": wear.specification,
        "life_kind": wear.life.kind.value,
        "life_amount": wear.life.amount,
        "cap_months": wear.life.cap_months,
        "life_source": wear.life.source,
        "minutes": wear.minutes,
        "price": wear.price,
        "by_customer": wear.by_customer,
    }
