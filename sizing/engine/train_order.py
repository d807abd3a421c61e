"""Where each kind of stage may stand: slots along the main line and at the tap, and the rules between kinds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from sizing.engine.design import StageKind
from sizing.engine.stages.base import Stage
from sizing.engine.stages.order import Breach, breaches, order_code

MAIN, HOT, TAP = "main", "hot", "tap"


@dataclass(frozen=True)
class Slot:
    """A place in the line. At most one stage stands in it; ``fine`` limits sediment cartridges by rating.

    What is not ``searched`` is tried only where nothing passes without it.
    """

    code: str
    kinds: tuple[StageKind, ...]
    at: str = MAIN
    fine: bool | None = None
    searched: bool = True

    def takes(self, kind: StageKind, *, fine: bool) -> bool:
        """Whether a stage of a kind may stand here; ``fine`` = a fine cartridge."""
        return kind in self.kinds and (self.fine is None or fine == self.fine)


SLOTS: tuple[Slot, ...] = (
    Slot("booster", (StageKind.BOOSTER,), searched=False),
    Slot("reducer", (StageKind.REDUCER,)),
    Slot("jacket", (StageKind.JACKET,)),
    Slot("screen", (StageKind.SCREEN,)),
    Slot("chlorine", (StageKind.CHLORINE,)),
    Slot("soda_ash", (StageKind.SODA_ASH,)),
    Slot("retention", (StageKind.RETENTION,)),
    Slot("bed", (StageKind.BACKWASH,)),
    Slot("coarse", (StageKind.SEDIMENT,), fine=False),
    Slot("neutraliser", (StageKind.NEUTRALISER,)),
    Slot("iron", (StageKind.AIROX, StageKind.CATALYTIC, StageKind.PERMANGANATE)),
    Slot("carbon_first", (StageKind.CARBON,)),
    Slot("softener", (StageKind.SOFTENER,)),
    Slot("organics", (StageKind.ORGANICS,)),
    Slot("nitrate", (StageKind.NITRATE,)),
    Slot("carbon", (StageKind.CARBON,)),
    Slot("fine", (StageKind.SEDIMENT,), fine=True),
    Slot("ultrafilter", (StageKind.ULTRAFILTER,)),
    Slot("restrictor", (StageKind.RESTRICTOR,)),
    Slot("uv", (StageKind.UV,)),
    Slot("hot_softener", (StageKind.SOFTENER,), at=HOT),
    Slot("tap", (StageKind.RO, StageKind.TAP_CARBON), at=TAP),
)

RESTRICTOR_SLOT = next(index for index, slot in enumerate(SLOTS) if slot.code == "restrictor")

# Kinds that shed grains or germs: none of them may stand between the fine filter and the UV.
SHEDDING = (
    StageKind.BACKWASH,
    StageKind.NEUTRALISER,
    StageKind.AIROX,
    StageKind.CATALYTIC,
    StageKind.PERMANGANATE,
    StageKind.SOFTENER,
    StageKind.ORGANICS,
    StageKind.NITRATE,
    StageKind.CARBON,
    StageKind.RETENTION,
)
ONCE = (StageKind.CARBON,)  # kinds with two slots that are used in one of them only


def is_fine(stage: Stage) -> bool:
    """Whether a stage is a sediment cartridge fine enough to stand ahead of a UV.

    Units: none.
    Range: any stage.
    Raises: nothing.
    Source: 5 um or finer, common practice; the stage itself says so.

    >>> from sizing.engine.train_order import is_fine
    >>> class Plain: pass
    >>> is_fine(Plain())
    False
    """
    return bool(getattr(stage, "fine", False))


def slots_for(stage: Stage, *, hot: bool = False) -> tuple[int, ...]:
    """Indices of the slots a stage may stand in, those placed by hand included; ``hot`` = only hot water is softened.

    Units: none.
    Range: any stage.
    Raises: nothing.
    Source: order of the trade: coarse sediment, pH, iron, softening, organics, carbon, fine sediment, UV last.

    >>> class Softener: kind = StageKind.SOFTENER
    >>> [SLOTS[index].code for index in slots_for(Softener())]
    ['softener']
    """
    return _slots_of(stage.kind, is_fine(stage), hot)


@cache
def _slots_of(kind: StageKind, fine: bool, hot: bool) -> tuple[int, ...]:
    found = tuple(index for index, slot in enumerate(SLOTS) if slot.takes(kind, fine=fine))
    behind = tuple(index for index in found if SLOTS[index].at == HOT)
    return behind if hot and behind else tuple(index for index in found if index not in behind)


def order_faults(stages: Sequence[Stage]) -> tuple[Breach, ...]:
    """Hard rules of order that a line breaks: the rules between kinds, and the tap unit behind the main line.

    Units: none.
    Range: any list.
    Raises: nothing.
    Source: ``stages.order.order_rules``.

    >>> class Uv: kind = StageKind.UV
    >>> class Softener: kind = StageKind.SOFTENER
    >>> [breach.rule.reason for breach in order_faults([Uv(), Softener()])]
    ['hardness above 7 gpg scales the sleeve']
    """
    return breaches([order_code(stage) for stage in stages])
