"""Kinds of items by name, in the order in which water meets them."""

from __future__ import annotations

from sizing.engine.design import StageKind
from sizing.engine.stages.practice_text import plain_name

SHELF = (
    StageKind.SCREEN,
    StageKind.SEDIMENT,
    StageKind.BACKWASH,
    StageKind.NEUTRALISER,
    StageKind.SODA_ASH,
    StageKind.AIROX,
    StageKind.CATALYTIC,
    StageKind.PERMANGANATE,
    StageKind.CHLORINE,
    StageKind.RETENTION,
    StageKind.SOFTENER,
    StageKind.ORGANICS,
    StageKind.NITRATE,
    StageKind.CARBON,
    StageKind.ULTRAFILTER,
    StageKind.UV,
    StageKind.RO,
    StageKind.TAP_CARBON,
    StageKind.RESTRICTOR,
    StageKind.BOOSTER,
    StageKind.REDUCER,
    StageKind.JACKET,
)
NAMES: dict[str, str] = {kind.value: plain_name(kind) for kind in SHELF}
PLACES: dict[str, int] = {kind.value: place for place, kind in enumerate(SHELF)}
