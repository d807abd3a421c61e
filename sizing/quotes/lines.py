"""From a designed train to the lines of its quote."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from sizing.engine.design import Train


@dataclass(frozen=True)
class DraftLine:
    """One line before it is saved."""

    description: str
    unit_price: Decimal
    why: str = ""
    quantity: Decimal = Decimal(1)
    stage_number: int | None = None
    product_code: str = ""
    optional: bool = False


def lines_of(train: Train, *, labour_per_hour: Decimal, visit_price: Decimal) -> tuple[DraftLine, ...]:
    """Lines of a train: each stage by its catalogue price and reason, then pipework, fitting and proof.

    Stages are numbered as in the drawing: main line first, polishing units last. Pipework is priced as a
    share of an hour a stage (common practice), fitting by the items' own hours, proof as one visit and
    two laboratory samples taken in it.
    """
    lines: list[DraftLine] = []
    hours = 0.0
    for number, stage in enumerate(train.stages, start=1):
        why = stage.reasons[0] if stage.reasons else ""
        hours += stage.product.install_hours * stage.count
        lines.append(
            DraftLine(
                description=stage.product.name,
                unit_price=stage.product.price,
                why=why[:300],
                quantity=Decimal(stage.count),
                stage_number=number,
                product_code=stage.product.code,
            )
        )
    stages = len(train.stages)
    lines.append(
        DraftLine(
            description="Bypasses, unions, sample taps, drain line",
            unit_price=(labour_per_hour * stages / 2).quantize(Decimal("0.01")),
            why="So each stage can be lifted out and each water tested",
        )
    )
    lines.append(
        DraftLine(
            description="Fitting",
            unit_price=labour_per_hour,
            quantity=Decimal(str(round(hours + 1, 2))),
            why="Hours on site, two people where lifting needs it",
        )
    )
    lines.append(
        DraftLine(
            description="Commissioning and two laboratory samples",
            unit_price=(visit_price * 2).quantize(Decimal("0.01")),
            why="Disinfection first; the laboratory's result decides, not the equipment",
        )
    )
    return tuple(lines)
