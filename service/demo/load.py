"""Loading the scenario: dealers, people, catalogue, households."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any

from django.db import transaction

from customers.dealers.actions import create_dealer
from customers.dealers.models import Dealer
from customers.dealers.queries import zone_of
from customers.people.actions import add_staff
from customers.people.actors import actor_of_user
from customers.tenancy.scope import dealer_scope
from service.demo.causes import lay_corrections
from service.demo.enquiries import take_enquiries
from service.demo.life import Crew, Story
from service.demo.samples import live_samples, make_laboratories
from service.demo.shelf import fill_shelf
from service.upkeep.actions import refresh_due
from sizing.catalogue.actions import load_starter
from sizing.engine.stages.starter import load_starter as starter_products

FOLDER = Path(__file__).parent / "scenario"
PASSWORD = "kestrel-harrow-peat-41"  # of every invented person; the demo only


@dataclass(frozen=True)
class Login:
    """A log-in of the demo."""

    dealer: str
    role: str
    name: str
    email: str
    password: str


def scenarios() -> list[dict[str, Any]]:
    """The files, in order."""
    return [tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.glob("*.toml"))]


def loaded() -> bool:
    """Whether the demo's dealers are there already."""
    slugs = [told["dealer"]["slug"] for told in scenarios()]
    return Dealer.objects.filter(slug__in=slugs).exists()


def load(today: date, say: Callable[[str], None] = lambda text: None) -> int:
    """Load every dealer of the scenario, each in one transaction; returns how many households."""
    count = 0
    for told in scenarios():
        count += _load_dealer(told, today, say)
    return count


@transaction.atomic
def _load_dealer(told: dict[str, Any], today: date, say: Callable[[str], None]) -> int:
    dealer = create_dealer(**told["dealer"])
    with dealer_scope(dealer):
        staff = [add_staff(dealer=dealer, password=PASSWORD, **person) for person in told["staff"]]
        office = actor_of_user(next(row.user for row in staff if row.role == "office"))
        assert office is not None
        technicians = tuple(row for row in staff if row.role == "technician")
        laboratories = make_laboratories(dealer, told.get("laboratory", ()))
        load_starter(dealer=dealer, products=starter_products())
        lay_corrections(dealer, told, datetime.combine(today, time(9), tzinfo=zone_of(dealer)))
        for household in told["household"]:
            story = Story(household, Crew(office, technicians), today)
            reached = story.live()
            if "sampling" in household:
                live_samples(story.site, household["sampling"], office, technicians[0].name, laboratories[0], today)
            say(f"{dealer.name}: {story.site.name}, {reached}")
        fill_shelf(dealer, told, today, datetime.combine(today, time(8), tzinfo=zone_of(dealer)))
        take_enquiries(office, told, datetime.combine(today, time(0), tzinfo=UTC))
        refresh_due(today=today)
    return len(told["household"])


def logins() -> list[Login]:
    """Every log-in the demo prints: staff with the password, two households that get a code by mail."""
    found = []
    for told in scenarios():
        name = told["dealer"]["name"]
        found += [Login(name, p["role"], p["name"], p["email"], PASSWORD) for p in told["staff"]]
        shown = [h for h in told["household"] if h.get("show_login")]
        found += [
            Login(name, "household", h["customer"]["name"], h["customer"]["email"], "a code by mail (var/mail)")
            for h in shown
        ]
    return found
