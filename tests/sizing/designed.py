"""Households that can be designed for real: hard, positive wells and a handful of the starter's products."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import cache
from typing import Any

from customers.households.models import Site
from sizing.catalogue.adapters import item_from
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import Product, StageKind
from sizing.engine.stages.starter import load_starter
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import read_raw
from sizing.proposals.goals import usual_wishes
from sizing.proposals.models import Proposal
from tests import factories

KINDS = (StageKind.SOFTENER, StageKind.SEDIMENT, StageKind.UV, StageKind.RESTRICTOR, StageKind.RO, StageKind.BACKWASH)
EACH = 6
WATER = {
    "hardness": 325.0, "iron": 0.05, "manganese": 0.01, "turbidity": 0.4, "uvt": 92.0, "ph": 7.3, "alkalinity": 230.0,
    "total_coliform": "present", "tds": 400.0, "sulphide": 0.0, "tannin": 0.0,
}  # fmt: skip


@cache
def few() -> tuple[Product, ...]:
    """A few products of each kind, cheapest and dearest alike, in the starter's order."""
    found: list[Product] = []
    for kind in KINDS:
        alike = sorted((p for p in load_starter() if p.kind is kind), key=lambda p: p.price)
        found += alike[:: max(1, len(alike) // EACH)]
    return tuple(found)


def stocked(dealer: Any) -> None:
    """The dealer's catalogue holds the few products."""
    have = set(CatalogueItem.objects.values_list("code", flat=True))
    CatalogueItem.objects.bulk_create([item_from(dealer, p) for p in few() if p.code not in have])


def measured(
    dealer: Any, *, water: dict[str, Any] | None = None, when: datetime = factories.NOW, **site: Any
) -> Site:
    """A household with a flow test and raw water, ready to be designed."""
    row = factories.SiteFactory(
        dealer=dealer, worst_fixture_min_kpa=80.0, pipe_run_m=8.0, pipe_size="1", septic=False, **site
    )
    factories.FlowTestFactory(site=row, flow_l_min=38.0, sd_l_min=1.0, entered_at=when)
    factories.WaterTestFactory(site=row, place="raw", results={**WATER, **(water or {})}, entered_at=when)
    return row


def design(site: Site, now: datetime = factories.NOW + timedelta(hours=1)) -> Proposal:
    """What the engine finds for it with the usual wishes."""
    raw = read_raw(site)
    return make_design(site=site, actor_name="Maren Vik", now=now, wishes=usual_wishes(site, raw.water), raw=raw)
