"""Reads of laboratories."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from customers.laboratories.models import Laboratory
from customers.tenancy.getters import get_public
from sizing.engine.sampling import OwnBottle


def laboratories() -> QuerySet[Laboratory]:
    """Those in use, by name."""
    return Laboratory.objects.filter(active=True).order_by("name", "pk")


def laboratory_for(public_id: UUID | str) -> Laboratory:
    """One of the dealer's laboratories, also one out of use; else 404."""
    found: Laboratory = get_public(Laboratory.objects.prefetch_related("bottles"), public_id)
    return found


def own_bottles(laboratory: Laboratory) -> dict[str, OwnBottle]:
    """What the laboratory asks for in place of the usual, by code of the bottle."""
    return {
        row.code: OwnBottle(row.container, row.volume_ml, row.preservation, row.hold_h)
        for row in laboratory.bottles.all()
    }


def layout_of(laboratory: Laboratory) -> dict[str, Any]:
    """How its files were last read: columns, comma, order of dates, names of its own."""
    return dict(laboratory.layout or {})
