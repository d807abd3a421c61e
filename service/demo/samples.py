"""Laboratories of the demo, and the samplings and result files of its households, by the product's own actions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from customers.dealers.models import Dealer
from customers.households.models import Site
from customers.lab_files.actions import keep_lab_file
from customers.laboratories.actions import keep_laboratory
from customers.laboratories.models import Laboratory
from customers.people.actors import Actor
from customers.samplings.actions import DrawIn, PlanIn, mark_drawn, mark_received, plan_sampling
from customers.samplings.models import Sampling
from customers.sheets import write_csv
from service.milestones.lab_files import take_in_lab_file
from sizing.engine.sampling import OwnBottle

HEADINGS = ("Sample ID", "Date Sampled", "Sampling Point", "Parameter", "Result", "Units", "RL")


def make_laboratories(dealer: Dealer, told: Sequence[Mapping[str, Any]]) -> list[Laboratory]:
    """The dealer's laboratories; ``hold_h`` by bottle are hours of their own."""
    made = []
    for row in told:
        values = {key: value for key, value in row.items() if key != "hold_h"}
        own = {code: OwnBottle(hold_h=float(hours)) for code, hours in row.get("hold_h", {}).items()}
        made.append(keep_laboratory(dealer=dealer, values=values, bottles=own))
    return made


def live_samples(
    site: Site, told: Mapping[str, Any], actor: Actor, drawer: str, laboratory: Laboratory, today: date
) -> None:
    """One sampling of a household, as far as its story goes: planned, received, answered by a file, or one waiting.

    ``days`` counts from today: ahead for a plan, back for what is past.
    """
    zone = ZoneInfo(site.dealer.time_zone)
    day = _weekday(today + timedelta(days=int(told["days"])))

    def at(on: date, hour: int) -> datetime:
        return datetime.combine(on, time(hour), tzinfo=zone)

    made = at(min(day, today) - timedelta(days=4), 10)
    draws = tuple(
        DrawIn(place, tuple(told["analytes"]), mode=mode, where=where) for place, mode, where in told["draws"]
    )
    plan = PlanIn(laboratory, day, time(9), draws, told.get("purpose", "evidence"), drawer, told.get("note", ""))
    sampling = plan_sampling(site=site, plan=plan, actor_name=actor.name, now=made)
    if told["reach"] == "planned":
        return
    times = {draw.position: at(day, 9) + timedelta(minutes=20 * n) for n, draw in enumerate(sampling.draws.all())}
    mark_drawn(sampling=sampling, times=times, drawer=drawer, actor_name=drawer, now=at(day, 12))
    mark_received(sampling=sampling, at=at(day, 14), actor_name=actor.name, now=at(day, 16))
    if "rows" in told:
        back = min(at(day + timedelta(days=6), 9), at(today, 6))
        _file(sampling, told["rows"], actor, back, take=told["reach"] == "answered")


def _weekday(day: date) -> date:
    """The day, or the Monday after it: laboratories are shut at the end of the week."""
    return day + timedelta(days=(7 - day.weekday()) % 7 if day.weekday() > 3 else 0)


def _file(sampling: Sampling, rows: Sequence[Sequence[str]], actor: Actor, now: datetime, *, take: bool) -> None:
    """The laboratory's file on a sampling: taken in as it came, or waiting for somebody's answers."""
    draws = {str(draw.position): draw for draw in sampling.draws.all()}
    lines = [
        (
            draws[position].sample_number,
            sampling.planned_on.isoformat(),
            draws[position].where,
            test,
            result,
            unit,
            limit,
        )
        for position, test, result, unit, limit in rows
    ]
    lab_file = keep_lab_file(
        laboratory=sampling.laboratory,
        filename=f"results-{sampling.label.lower()}.csv",
        data=write_csv(HEADINGS, lines),
        actor_name=actor.name,
        now=now,
    )
    if take:
        take_in_lab_file(lab_file=lab_file, actor=actor, now=now)
