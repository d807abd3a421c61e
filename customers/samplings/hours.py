"""When bottles must be at the laboratory: holding times against its hours of receipt. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sizing.engine.sampling import Bottle, sent


@dataclass(frozen=True)
class Reception:
    """When a laboratory takes samples in: weekdays (Monday is 0), from and until, on its clock."""

    days: str
    opens: time
    shuts: time
    zone: ZoneInfo


def latest_arrival(drawn_at: datetime, hold_h: float, reception: Reception) -> datetime | None:
    """The last moment within the holding time at which the laboratory takes samples in; ``None`` if there is none.

    The hours are counted in elapsed time, so a night on which the clocks change does not stretch them.
    """
    limit = drawn_at.astimezone(UTC) + timedelta(hours=hold_h)
    day = limit.astimezone(reception.zone).date()
    first = drawn_at.astimezone(reception.zone).date()
    while day >= first:
        if str(day.weekday()) in reception.days:
            opens, shuts = (_moment(day, hour, reception.zone) for hour in (reception.opens, reception.shuts))
            moment = min(limit, shuts)
            if moment >= opens and moment > drawn_at:
                return moment.astimezone(reception.zone)
        day -= timedelta(days=1)
    return None


def _moment(day: date, hour: time, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, hour, tzinfo=zone).astimezone(UTC)


@dataclass(frozen=True)
class Deadline:
    """By when a bottle must be there; ``arrive`` is ``None`` where the laboratory is shut all that time."""

    bottle: Bottle
    keeps_until: datetime
    arrive: datetime | None


def deadlines(drawn_at: datetime, bottles: Iterable[Bottle], reception: Reception) -> tuple[Deadline, ...]:
    """The deadline of each bottle that is sent, the earliest first."""
    rows = []
    for bottle in sent(bottles):
        until = (drawn_at.astimezone(UTC) + timedelta(hours=bottle.hold_h)).astimezone(reception.zone)
        rows.append(Deadline(bottle, until, latest_arrival(drawn_at, bottle.hold_h, reception)))
    return tuple(sorted(rows, key=lambda row: row.keeps_until))


def earliest(rows: Iterable[Deadline]) -> datetime | None:
    """By when the whole box must be there: the earliest arrival of any bottle; where the laboratory is shut all
    the while, the end of that bottle's hours."""
    return min((row.arrive or row.keeps_until for row in rows), default=None)


def better_day(drawn_at: datetime, hold_h: float, reception: Reception, most: int = 7) -> date | None:
    """The next day on which a draw at the same hour could reach the laboratory in time."""
    local = drawn_at.astimezone(reception.zone)
    for later in range(1, most + 1):
        moment = datetime.combine(local.date() + timedelta(days=later), local.time(), tzinfo=reception.zone)
        if latest_arrival(moment, hold_h, reception) is not None:
            return moment.date()
    return None
