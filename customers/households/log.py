"""The household's log."""

from __future__ import annotations

from datetime import datetime

from customers.households.models import LogEntry, Site


def add_log(*, site: Site, who: str, what: str, at: datetime) -> LogEntry:
    """One line in the household's log."""
    return LogEntry.objects.create(dealer_id=site.dealer_id, site=site, who=who, what=what[:400], at=at)
