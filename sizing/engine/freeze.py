"""Laying a system up for winter: which stages hold water, litres to drain, what travels home."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sizing.engine.design import PlacedStage, StageKind
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.ranges import within
from sizing.engine.worksheet import Step

PRACTICE = "winter-practice"


@dataclass(frozen=True)
class LayUp:
    """What one stage needs: ``action`` "drain", "empty", "warm" (goes home whole) or "none"; ``litres`` it holds."""

    kind: StageKind
    name: str
    action: str
    litres: float
    travels_home: str
    note: str


@dataclass(frozen=True)
class FreezePlan:
    """The closing of a system; ``litres`` in stages and pipe together."""

    stages: tuple[LayUp, ...]
    litres: float
    pipe_l: float
    travels_home: tuple[str, ...]
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def winter_action(kind: StageKind) -> tuple[str, str, str]:
    """What a kind of stage needs before frost: (action, what travels home, note).

    Why: the closing checklist is made from the stages that are really there.
    Units: none.
    Range: every kind the engine can place.
    Raises: ``KeyError`` never for a ``StageKind``.
    Source: cottage closing practice (common practice).

    >>> winter_action(StageKind.RO)[0]
    'warm'
    """
    row = figure(PRACTICE, "stages").value[kind.value]
    return row["action"], row["home"], row["note"]


def pipe_volume_l(bore_m: float, length_m: float) -> float:
    """Water in a run of pipe.

    Why: it must be drained or blown out too.
    Units: m, m; returns L.
    Range: bore 1 mm to 1 m; length 0 to 5,000 m.
    Raises: ``OutsideValidRange`` outside.
    Source: pi/4 d^2 L (computed).

    >>> round(pipe_volume_l(0.02, 10.0), 2)
    3.14
    """
    bore = within("bore", bore_m, low=0.001, high=1.0, unit="m")
    return float(np.pi / 4.0 * bore**2 * within("pipe length", length_m, low=0.0, high=5000.0, unit="m") * 1000.0)


def freeze_plan(
    stages: Sequence[PlacedStage], *, heated: bool, pipe_bore_m: float = 0.02, pipe_length_m: float = 0.0
) -> FreezePlan:
    """What to drain and what to carry home before frost.

    Why: one forgotten chamber is a burst canister in spring.
    Units: holdings L, pipe m; returns L.
    Range: nothing to do where the place is heated all winter.
    Raises: ``OutsideValidRange`` for impossible pipe.
    Source: cottage closing practice (common practice); volumes of the stages (given).

    >>> freeze_plan([], heated=True).litres
    0.0
    """
    if heated:
        return FreezePlan((), 0.0, 0.0, (), (), ())
    pipe = pipe_volume_l(pipe_bore_m, pipe_length_m)
    rows = tuple(_lay_up(stage) for stage in stages)
    held = sum(row.litres for row in rows)
    home = tuple(f"{row.name}: {row.travels_home}" for row in rows if row.travels_home)
    steps = (
        *(
            Step("V", f"water in {row.name}", row.litres, "L", row.note, status="given", quantity="volume")
            for row in rows
            if row.litres
        ),
        Step(
            "Vp",
            "water in the pipe",
            pipe,
            "L",
            f"pi/4 x {pipe_bore_m:g}^2 x {pipe_length_m:g} x 1000",
            "",
            "computed",
            "volume",
        ),
        Step(
            "V0",
            "litres to drain",
            held + pipe,
            "L",
            "",
            figure(PRACTICE, "stages").citation or "common practice",
            "computed",
            "volume",
        ),
    )
    return FreezePlan(rows, held + pipe, pipe, home, steps, _frost_findings(stages, rows))


def _frost_findings(stages: Sequence[PlacedStage], rows: Sequence[LayUp]) -> tuple[Finding, ...]:
    findings = tuple(
        Finding(
            "does_not_drain",
            Severity.EQUIPMENT,
            f"{row.name} does not drain reliably and is ruined by frost.",
            f"Disconnect it and keep it warm: {row.travels_home}.",
            row.kind.value,
            "common practice",
        )
        for row in rows
        if row.action == "warm"
    )
    stuck = tuple(
        Finding(
            "holds_water",
            Severity.EQUIPMENT,
            f"{stage.product.name} holds {stage.needs.holds_litres:g} L and cannot be drained in place.",
            "Carry it home, or heat the place.",
            stage.kind.value,
            "the product's papers",
        )
        for stage in stages
        if not stage.needs.drainable and not stage.needs.portable and winter_action(stage.kind)[0] != "warm"
    )
    return (*findings, *stuck)


def _lay_up(stage: PlacedStage) -> LayUp:
    action, home, note = winter_action(stage.kind)
    if not stage.needs.drainable and action == "drain":
        action = "warm" if stage.needs.portable else action
        home = home or ("the whole stage" if stage.needs.portable else "")
    return LayUp(stage.kind, stage.product.name, action, stage.needs.holds_litres * stage.count, home, note)
