"""A small designed train, invented, and what hangs on it: an accepted quote, an install, a job."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from customers.people.models import User
from customers.tenancy.scope import dealer_scope
from sizing.engine.design import (
    CostBars,
    LifeKind,
    LifeRule,
    Needs,
    PlacedStage,
    Product,
    Setting,
    StageKind,
    Train,
    WearPart,
)
from sizing.engine.storage import to_data
from sizing.engine.water import Water
from sizing.engine.worksheet import Worksheet
from sizing.quotes.models import Quote
from tests import factories

CARTRIDGE = WearPart(
    "cartridge",
    "Cartridge",
    LifeRule(LifeKind.OPENING, 12),
    specification="20 x 4.5 in, 5 µm pleated",
    price=Decimal("38"),
)
LAMP = WearPart(
    "lamp",
    "Lamp",
    LifeRule(LifeKind.OPERATING, 12, cap_months=24),
    specification="lamp 36 W, 4-pin, 843 mm",
    price=Decimal("95"),
    minutes=30,
)
SLEEVE = WearPart("sleeve", "Quartz sleeve", LifeRule(LifeKind.CONDITION, 6), by_customer=False)
MEMBRANE = WearPart("membrane", "Membrane", LifeRule(LifeKind.CALENDAR, 36), specification="1812, 75 gpd")

UV_RATINGS: dict[str, Any] = {
    "uv_class": "A",
    "rated_dose": 40.0,
    "rated_uvt": 75.0,
    "rated_flow_l_min": 30.0,
    "loss_kpa": 20.0,
    "lamp_w": 36.0,
    "lamp_length_m": 0.85,
    "supply": "mains",
    "power_w": 48.0,
    "width_m": 1.05,
    "depth_m": 0.12,
    "height_m": 0.12,
    "holds_l": 3.0,
}


def placed(
    kind: StageKind,
    name: str,
    *,
    code: str,
    wear: tuple[WearPart, ...] = (),
    at: str = "main",
    needs: Needs | None = None,
    settings: tuple[Setting, ...] = (),
    ratings: dict[str, Any] | None = None,
) -> PlacedStage:
    """A stage as a design holds it."""
    product = Product(code, kind, name, ratings or {}, Decimal("500"), size_label="20 x 4.5 in", wear=wear)
    return PlacedStage(
        kind=kind,
        product=product,
        at=at,
        reasons=("turbidity 3.4 NTU",),
        protects=(),
        loss_kpa=10.0,
        loss_dirty_kpa=30.0,
        needs=needs or Needs(),
        settings=settings,
        numbers=(),
        wear=wear,
    )


def a_train(*, polished: bool = True) -> Train:
    """Sediment, UV and (unless told) reverse osmosis at one tap; expected waters and pressures with it."""
    stages = [
        placed(StageKind.SEDIMENT, "Sediment 5 µm", code="sed-20", wear=(CARTRIDGE,)),
        placed(
            StageKind.UV,
            "UV",
            code="uv-30",
            wear=(LAMP, SLEEVE),
            needs=Needs(power_w=48.0),
            settings=(Setting("Largest flow allowed", 30.0, "L/min", "flow"),),
            ratings=UV_RATINGS,
        ),
    ]
    if polished:
        stages.append(
            placed(
                StageKind.RO,
                "Reverse osmosis",
                code="ro-75",
                wear=(MEMBRANE,),
                at="tap",
                needs=Needs(drain=True),
            )
        )
    raw = Water({"turbidity": 3.4, "iron": 0.25, "uvt": 88.0, "total_coliform": 12.0, "nitrate": 12.0})
    filtered = raw.with_values(turbidity=0.3)
    lit = filtered.with_values(total_coliform=0.0)
    return Train(
        name="Fewest parts",
        stages=tuple(stages),
        waters=(raw, filtered, lit),
        tap_water=lit.with_values(nitrate=1.2) if polished else None,
        pressures_kpa=(275.0, 262.0, 255.0),
        margins=(),
        findings=(),
        first_cost=Decimal("1500"),
        cost=CostBars(*(Decimal("100"),) * 5),
        upkeep_hours_year=2.0,
        worksheet=Worksheet(()),
    )


def accepted_quote(site: Any, *, train: Train | None = None, state: str = "accepted") -> Quote:
    """A quote of the train in the state asked, with a line for each stage and one that is none."""
    value = train or a_train()
    proposal = factories.ProposalFactory(site=site)
    row = factories.TrainFactory(proposal=proposal, data=to_data(value))
    quote = factories.IssuedQuoteFactory(site=site, train=row, state=state)
    for number, stage in enumerate(value.stages, start=1):
        factories.QuoteLineFactory(quote=quote, position=number, stage_number=number, description=stage.product.name)
    factories.QuoteLineFactory(quote=quote, position=90, description="Fitting")
    return quote


def commissioned(site: Any, *, on: Any, now: datetime = factories.NOW, train: Train | None = None) -> Any:
    """An install of the train, in service since ``on``."""
    from service.installs.actions import commission, install_from_quote

    with dealer_scope(site.dealer):
        install = install_from_quote(quote=accepted_quote(site, train=train), now=now)
        return commission(install=install, on=on, actor_name="Birgit Holm", now=now)


def a_user(email: str) -> User:
    """Somebody who can sign in."""
    user: User = factories.UserFactory(email=email)
    return user
