"""Keeping due dates true."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from customers.households.models import Site
from customers.households.queries import season_of
from service.installs.lives import due_day
from service.installs.models import FittedPart
from service.upkeep.queries import parts_at_work


@transaction.atomic
def refresh_due(*, site: Site | None = None, today: date) -> int:
    """Reckon again when each part falls due, from its own anchor; of one household, or of the whole dealer.

    Needed after a change of season, people or life rule. Returns how many dates moved; a second run moves none.
    """
    rows = parts_at_work()
    moved: list[FittedPart] = []
    for part in rows if site is None else rows.filter(stage__site=site):
        place = part.stage.site
        day = due_day(part, place, season_of(place), today)
        if day != part.next_due_on:
            part.next_due_on = day
            moved.append(part)
    FittedPart.objects.bulk_update(moved, ["next_due_on"], batch_size=500)
    return len(moved)
