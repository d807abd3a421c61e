"""Finding one row by its public id on behalf of an actor: 404 to strangers."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404


def get_public(rows: QuerySet[Any], public_id: UUID | str) -> Any:
    """The row with ``public_id`` among ``rows`` (already narrowed to what the actor may see).

    Raises ``Http404`` for a missing id, a malformed one and one of somebody else, all alike.
    """
    try:
        wanted = public_id if isinstance(public_id, UUID) else UUID(str(public_id))
    except ValueError:
        raise Http404("Not found") from None
    row = rows.filter(public_id=wanted).first()
    if row is None:
        raise Http404("Not found")
    return row
