"""Reads about the dealer itself."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from customers.dealers.models import Dealer


def zone_of(dealer: Dealer) -> ZoneInfo:
    """The dealer's time zone."""
    return ZoneInfo(dealer.time_zone)


def today_at(dealer: Dealer, now: datetime) -> date:
    """The calendar day at the dealer's at the moment ``now`` (aware)."""
    return now.astimezone(zone_of(dealer)).date()


def file_number(dealer: Dealer, number: int) -> str:
    """A file number as printed: KS-0147."""
    return f"{dealer.file_prefix}-{number:04d}"
