"""A dealer with many households for the measure of rounds: ``python -m tests.benchmarks.redesign_world fill 10000``.

Two dozen kinds of well and lake are designed for real; every other household is one of them with a new raw-water test
of its own, so that each has a question nobody asked before. The readings are invented.
"""

from __future__ import annotations

import json
import os
import random
import sys
from datetime import UTC, date, datetime, timedelta
from typing import Any

import django

KINDS = 24
ROWS_AT_ONCE = 500
NOW = datetime(2026, 6, 9, 17, 0, tzinfo=UTC)


def _waters(rng: random.Random, kind: int) -> dict[str, Any]:
    """Raw water of one kind of source."""
    lake = kind % 4 == 3
    found: dict[str, Any] = {
        "hardness": rng.uniform(15, 40) if lake else rng.uniform(80, 420),
        "iron": rng.uniform(0.02, 0.1) if lake or kind % 3 else rng.uniform(0.4, 3.0),
        "manganese": rng.uniform(0.005, 0.09),
        "turbidity": rng.uniform(0.2, 2.0),
        "uvt": rng.uniform(78, 95),
        "ph": rng.uniform(6.7, 7.8),
        "alkalinity": rng.uniform(30, 260),
        "tds": rng.uniform(60, 480),
        "sulphide": 0.0,
        "tannin": rng.uniform(0.1, 0.3),
        "colour": rng.uniform(2, 14),
        "nitrate": rng.uniform(0.2, 8.0),
        "temperature": rng.uniform(4, 11),
        "total_coliform": "present" if lake or kind % 2 else "absent",
    }
    return {code: round(v, 3) if isinstance(v, float) else v for code, v in found.items()}


def fill(households: int) -> None:
    """The dealer and its households, each with a design and a newer test."""
    from customers.tenancy.scope import dealer_scope
    from sizing.catalogue.actions import load_starter
    from sizing.engine.stages.starter import load_starter as starter
    from tests import factories

    rng = random.Random(3)
    dealer = factories.DealerFactory(slug="round", name="Round Water")
    with dealer_scope(dealer):
        load_starter(dealer=dealer, products=starter())
        patterns = [_designed(dealer, rng, kind) for kind in range(KINDS)]
    for start in range(0, households, ROWS_AT_ONCE):
        with dealer_scope(dealer):
            _clones(dealer, rng, patterns, start, min(start + ROWS_AT_ONCE, households))
    print(households)


def _designed(dealer: Any, rng: random.Random, kind: int) -> Any:
    """A household designed for real; tried again with other readings where nothing passes."""
    from sizing.engine.errors import EngineError
    from tests.sizing.designed import design, measured

    while True:
        lake = kind % 4 == 3
        source = {"source": "lake", "intake_depth_m": 4.0} if lake else {}
        site = measured(dealer, water=_waters(rng, kind), name=f"Kind {kind}", **source)
        try:
            proposal = design(site)
        except EngineError:
            continue
        if proposal.trains.exists():
            return proposal


def _clones(dealer: Any, rng: random.Random, patterns: list[Any], start: int, end: int) -> None:
    """Households of the kinds, each with its own newer test: written in bulk."""
    from customers.models import Customer, FlowTest, Result, Site, SiteFixture, WaterTest
    from sizing.models import Proposal, ProposedTrain

    def bulk(model: Any, rows: list[Any]) -> list[Any]:
        return list(model.objects.bulk_create(rows))

    def copies(row: Any, **changed: Any) -> dict[str, Any]:
        skipped = ("id", "public_id", *changed)
        return {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields if f.name not in skipped}

    like = [patterns[n % len(patterns)] for n in range(start, end)]
    owners = bulk(Customer, [Customer(dealer=dealer, name=f"Household {n}") for n in range(start, end)])
    sites = bulk(
        Site,
        [
            Site(**copies(p.site, customer=0, file_number=0, name=0, created_at=0), customer=owner,
                 file_number=f"RW-{n:06d}", name=f"Place {n}")
            for n, p, owner in zip(range(start, end), like, owners, strict=True)
        ],
    )  # fmt: skip
    pairs = list(zip(sites, like, strict=True))
    bulk(SiteFixture, [SiteFixture(dealer=dealer, site=s, code=f.code, count=f.count)
                       for s, p in pairs for f in p.site.fixtures.all()])  # fmt: skip
    bulk(FlowTest, [FlowTest(**copies(p.site.flow_tests.first(), site=0), site=s) for s, p in pairs])
    tests = bulk(WaterTest, [
        WaterTest(dealer=dealer, site=s, kind="lab", place="raw", sampled_on=date(2026, 6, 12),
                  entered_by="Round", entered_at=NOW + timedelta(days=4))
        for s, _p in pairs
    ])  # fmt: skip
    rows = []
    for test, number in zip(tests, range(start, end), strict=True):
        for code, value in _waters(rng, number % len(patterns)).items():
            word = isinstance(value, str)
            rows.append(Result(dealer=dealer, test=test, analyte=code, text=str(value), unit_text=_unit(code, word),
                               qualifier=value if word else "equal", value=None if word else value))  # fmt: skip
    bulk(Result, rows)
    designs = bulk(Proposal, [Proposal(**copies(p, site=0), site=s) for s, p in pairs])
    bulk(ProposedTrain, [
        ProposedTrain(**copies(line, proposal=0), proposal=made)
        for made, (_s, p) in zip(designs, pairs, strict=True)
        for line in p.trains.all()
    ])  # fmt: skip


def _unit(code: str, word: bool) -> str:
    from sizing.engine.units import accepted_units

    return "" if word else accepted_units(code)[0]


def begin() -> None:
    """A new round of everybody with newer evidence; the one before is forgotten. Wakes nobody."""
    from customers.models import Dealer
    from customers.tenancy.scope import dealer_scope
    from sizing.redesigns.actions import start_redesign
    from sizing.redesigns.models import Redesign
    from sizing.redesigns.queries import now_of

    dealer = Dealer.objects.get(slug="round")
    with dealer_scope(dealer):
        Redesign.objects.all().delete()
        day = NOW + timedelta(days=5)
        start_redesign(dealer=dealer, why="evidence", actor_name="Round", at=day, now=now_of(day.date()))
    print(dealer.pk)


def wake(workers: int) -> None:
    """One call to the queue for each worker."""
    from customers.models import Dealer
    from service.celery import app

    dealer = Dealer.objects.get(slug="round")
    for _worker in range(workers):
        app.send_task("service.tasks.redesign_households", args=[dealer.pk])


def told() -> None:
    """How many are told, what of, and when the first and the last were."""
    from django.db.models import Avg, Count, Max, Min

    from customers.models import Dealer
    from customers.tenancy.scope import dealer_scope
    from sizing.redesigns.models import RedesignRow

    with dealer_scope(Dealer.objects.get(slug="round")):
        done = RedesignRow.objects.filter(state="done")
        sums = done.aggregate(n=Count("pk"), first=Min("done_at"), last=Max("done_at"), search=Avg("seconds"))
        outcomes = dict(done.order_by().values_list("outcome").annotate(n=Count("pk")))
        span = (sums["last"] - sums["first"]).total_seconds() if sums["n"] else 0.0
        print(json.dumps({"done": sums["n"], "seconds": span, "search": sums["search"], "outcomes": outcomes}))


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "service.settings")
    django.setup()
    {"fill": fill, "begin": begin, "wake": wake, "told": told}[sys.argv[1]](*(int(n) for n in sys.argv[2:]))
