"""What stages with certified claims and rated volumes share."""

from __future__ import annotations

from dataclasses import replace

from sizing.engine.design import LifeKind, WearPart
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import Duty, Stage
from sizing.engine.stages.practice_figures import HEALTH


def litres_first(part: WearPart, rated_litres: float, litres_day: float, duty: Duty) -> WearPart:
    """The part with its life in litres, where the rated volume runs out before the calendar does.

    Units: litres, L/d on an open day.
    Range: 0 or more.
    Raises: nothing.
    Source: product rating.

    >>> from sizing.engine.design import LifeRule
    >>> part = WearPart("cartridge", "Block", LifeRule(LifeKind.OPENING, 12))
    >>> litres_first(part, 2000.0, 15.0, Duty(1, 1, 600, 1, tuple(range(1, 13)), 8, 276, 414)).life.amount
    2000.0
    """
    if part.code != "cartridge" or not rated_litres:
        return part
    year = litres_day * duty.operating_days * part.life.amount / 12.0
    if rated_litres >= year:
        return part
    return replace(
        part, life=replace(part.life, kind=LifeKind.LITRES, amount=rated_litres, cap_months=part.life.amount)
    )


def claim_findings(stage: Stage) -> tuple[Finding, ...]:
    """A laboratory test after, wherever a certified claim counts.

    Units: none.
    Range: any stage.
    Raises: nothing.
    Source: common practice.

    >>> from decimal import Decimal
    >>> from sizing.engine.design import Product, StageKind
    >>> from types import SimpleNamespace
    >>> product = Product("t", StageKind.TAP_CARBON, "Tap", {}, Decimal(1), certified_for=("lead",))
    >>> claim_findings(SimpleNamespace(product=product, kind=product.kind))[0].code
    'claim_needs_test'
    """
    claims = [code for code in stage.product.certified_for if code in HEALTH]
    if not claims:
        return ()
    return (
        Finding(
            "claim_needs_test",
            Severity.HEALTH,
            f"Counts on its certified claim for {', '.join(claims)}.",
            "Have the treated water tested by a laboratory after installation and at each change.",
            stage.kind.value,
            "common practice",
        ),
    )
