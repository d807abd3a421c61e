"""Reads about the dealer itself."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID, uuid5
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


def id_from(dealer: Dealer, form_token: UUID | str) -> UUID:
    """The public id of what one sent form makes: the same form twice makes the same row, and no token that a
    stranger chooses can meet the id of another dealer's row. Raises ``ValueError`` for what is no UUID."""
    return uuid5(dealer.public_id, str(UUID(str(form_token))))
