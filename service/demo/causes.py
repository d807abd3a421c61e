"""What the dealers of the demo found out about causes: own ones with a reason, and jobs that confirmed one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from customers.causes.actions import About, confirm_cause, make_correction
from customers.dealers.models import Dealer
from customers.households.models import Site
from customers.observations.queries import open_observations
from sizing.engine.diagnosis import Correction


def lay_corrections(dealer: Dealer, told: Mapping[str, Any], when: datetime) -> None:
    """Corrections of the scenario, one a week up to ``when``."""
    rows = told.get("correction", ())
    for n, row in enumerate(rows):
        data = dict(row)
        who, why = data.pop("who"), data.pop("why")
        make_correction(
            dealer=dealer,
            correction=Correction(**data),
            why=why,
            actor_name=who,
            now=when - timedelta(weeks=len(rows) - n),
        )


def confirm_found(site: Site, told: Mapping[str, Any], who: str, when: datetime) -> None:
    """What a household's complaints turned out to come from."""
    said = [row.code for row in open_observations(site)]
    for complaint, cause, why in told.get("found", ()):
        confirm_cause(
            dealer=site.dealer,
            about=About.household(site),
            complaint=complaint,
            cause=cause,
            answers=dict.fromkeys(said, "yes"),
            why=why,
            actor_name=who,
            now=when,
        )
