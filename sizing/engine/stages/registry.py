"""Which class and which rating schema belong to which kind of stage."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from sizing.engine.design import Product, StageKind
from sizing.engine.errors import UnreadableValue
from sizing.engine.stages import (
    accessories,
    anion_beds,
    backwash,
    carbon,
    chlorine,
    iron_filters,
    ph_correction,
    restrictor,
    ro,
    sediment,
    softener,
    tap_carbon,
    ultrafilter,
    uv,
)
from sizing.engine.stages.base import Stage
from sizing.engine.stages.possible import checked
from sizing.engine.stages.ratings import RatingField, Schema

_LISTED: Mapping[StageKind, tuple[type[Stage], Schema]] = MappingProxyType(
    {
        StageKind.SEDIMENT: (sediment.Sediment, sediment.SCHEMA),
        StageKind.BACKWASH: (backwash.Backwash, backwash.SCHEMA),
        StageKind.SCREEN: (sediment.Screen, sediment.SCREEN_SCHEMA),
        StageKind.AIROX: (iron_filters.Airox, iron_filters.AIROX_SCHEMA),
        StageKind.CATALYTIC: (iron_filters.Catalytic, iron_filters.CATALYTIC_SCHEMA),
        StageKind.PERMANGANATE: (iron_filters.Permanganate, iron_filters.PERMANGANATE_SCHEMA),
        StageKind.CARBON: (carbon.CarbonTank, carbon.SCHEMA),
        StageKind.TAP_CARBON: (tap_carbon.TapCarbon, tap_carbon.SCHEMA),
        StageKind.BOOSTER: (accessories.Booster, accessories.BOOSTER_SCHEMA),
        StageKind.REDUCER: (accessories.Reducer, accessories.REDUCER_SCHEMA),
        StageKind.JACKET: (accessories.Jacket, accessories.JACKET_SCHEMA),
        StageKind.RO: (ro.Ro, ro.SCHEMA),
        StageKind.NEUTRALISER: (ph_correction.Neutraliser, ph_correction.NEUTRALISER_SCHEMA),
        StageKind.SODA_ASH: (ph_correction.SodaAsh, ph_correction.SODA_ASH_SCHEMA),
        StageKind.ULTRAFILTER: (ultrafilter.Ultrafilter, ultrafilter.SCHEMA),
        StageKind.CHLORINE: (chlorine.Chlorine, chlorine.CHLORINE_SCHEMA),
        StageKind.RETENTION: (chlorine.Retention, chlorine.RETENTION_SCHEMA),
        StageKind.SOFTENER: (softener.Softener, softener.SCHEMA),
        StageKind.ORGANICS: (anion_beds.Organics, anion_beds.SCHEMA),
        StageKind.NITRATE: (anion_beds.Nitrate, anion_beds.SCHEMA),
        StageKind.RESTRICTOR: (restrictor.Restrictor, restrictor.SCHEMA),
        StageKind.UV: (uv.Uv, uv.SCHEMA),
    }
)
_KINDS: Mapping[StageKind, tuple[type[Stage], Schema]] = MappingProxyType(
    {kind: (stage, checked(kind, schema)) for kind, (stage, schema) in _LISTED.items()}
)

SCHEMAS: Mapping[StageKind, tuple[RatingField, ...]] = MappingProxyType(
    {kind: schema.fields for kind, (_, schema) in _KINDS.items()}
)


def validate_ratings(kind: StageKind, ratings: Mapping[str, Any]) -> dict[str, Any]:
    """The ratings normalised: numbers as float, defaults filled in, checks across fields passed.

    Units: canonical; tank and cartridge sizes in trade inches. Range: that of the kind's schema. Raises:
    ``UnreadableValue`` (unknown, missing or unreadable) or ``OutsideValidRange`` (cannot be), each naming the
    field, the value and what would be accepted. Source: the schema of the kind.

    >>> rated = {"flow_l_min": "30", "loss_kpa": 35, "pipe": "1", "width_m": 0.1}
    >>> validate_ratings(StageKind.RESTRICTOR, rated)["tolerance"]
    10.0
    """
    return schema_of(kind).normalise(ratings)


def schema_of(kind: StageKind) -> Schema:
    """Fields and checks of a kind.

    Units: none.
    Range: the kinds that have a class.
    Raises: ``UnreadableValue`` for another.
    Source: the module of the kind.

    >>> schema_of(StageKind.UV).fields[0].name
    'uv_class'
    """
    return _entry(kind)[1]


def stage_class(kind: StageKind) -> type[Stage]:
    """The class of a kind, for its ``purpose`` without a product.

    Units: none.
    Range: the kinds that have a class.
    Raises: ``UnreadableValue`` for another.
    Source: the module of the kind.

    >>> stage_class(StageKind.ORGANICS).purpose
    'Takes out the tea colour'
    """
    return _entry(kind)[0]


def stage_for(product: Product) -> Stage:
    """The stage a catalogue product is, its ratings validated.

    Units: canonical.
    Range: the kinds that have a class.
    Raises: as ``validate_ratings``.
    Source: the module of the kind.

    >>> from decimal import Decimal
    >>> rated = {"flow_l_min": 30, "loss_kpa": 35, "pipe": "1", "width_m": 0.1}
    >>> stage_for(Product("r", StageKind.RESTRICTOR, "Restrictor", rated, Decimal("40"))).passes_l_min
    33.0
    """
    ratings = validate_ratings(product.kind, product.ratings)
    known = replace(product, ratings=MappingProxyType(ratings))
    if known.kind is StageKind.CARBON:
        return carbon.build(known)
    return stage_class(known.kind)(known)


def _entry(kind: StageKind) -> tuple[type[Stage], Schema]:
    try:
        return _KINDS[kind]
    except KeyError:
        raise UnreadableValue("kind", str(kind), "one of " + ", ".join(sorted(_KINDS))) from None
