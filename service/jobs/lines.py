"""The values a checklist is made of: a line, and the place it is made for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from customers.households.models import Site
from service.installs.models import FittedPart, InstalledStage
from service.jobs.models import TaskKind
from sizing.engine.design import Branch, PlacedStage, StageKind
from sizing.engine.storage import from_data


@dataclass(frozen=True)
class Line:
    """One line before it is saved. ``quantity`` is a display quantity of the engine, "" for a bare number."""

    group: str
    text: str
    kind: TaskKind = TaskKind.TICK
    stage: InstalledStage | None = None
    part: FittedPart | None = None
    quantity: str = ""
    code: str = ""
    required: bool = True


@dataclass(frozen=True)
class Place:
    """What a checklist is made from: the site, its stages in order, parts to renew, whether germs were found."""

    site: Site
    stages: Sequence[InstalledStage] = ()
    parts: Sequence[FittedPart] = ()
    under_notice: bool = False
    germs_found: bool = False
    branches: Sequence[Branch] = ()  # lines that leave the main line

    def number(self, stage: InstalledStage) -> int:
        """The stage's number in the water path, counted from 1 (a new train has not taken its places yet)."""
        return next((n for n, own in enumerate(self.stages, start=1) if own.pk == stage.pk), stage.position)

    def step(self, stage: InstalledStage, words: str) -> str:
        """Words about one stage, led by its number and name."""
        return f"{self.number(stage)}. {stage.name}: {words}"

    @property
    def has_uv(self) -> bool:
        """Whether a UV stage is among them."""
        return any(stage.kind == StageKind.UV for stage in self.stages)


def planned(stage: InstalledStage) -> PlacedStage | None:
    """The engine's value a stage was sized as; ``None`` for one that was found there."""
    return from_data(PlacedStage, stage.planned) if stage.planned else None
