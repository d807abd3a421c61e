"""Checks across the ratings of a product: what cannot be, whoever printed it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from sizing.engine.design import StageKind
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.exchange import salt_dose_range
from sizing.engine.figures import figure
from sizing.engine.quantities import M_PER_INCH
from sizing.engine.stages.ratings import Check, Schema

DOCUMENT = "catalogue-ceilings"
Ratings = Mapping[str, Any]
_L_PER_M3 = 1000.0
_J_M2_PER_MJ_CM2 = 10.0


def lamp_ceiling_mj_cm2(lamp_w: float, flow_l_min: float, uvt: float) -> float:
    """The dose no chamber can pass at a flow: every photon of the lamp, spent along its mean path in the water.

    Units: W, L/min, %/cm; returns mJ/cm2.
    Range: all above 0; ``uvt`` below 100 (clearer water has no ceiling here: the walls decide).
    Raises: ``ZeroDivisionError`` for no flow, ``ValueError`` for a transmittance of 0.
    Source: photon balance D = P / (alpha Q), alpha from Beer-Lambert (computed); the lamp's share of light at
    254 nm from memory.

    >>> round(lamp_ceiling_mj_cm2(48.0, 42.0, 75.0))
    95
    """
    if uvt >= 100.0:
        return math.inf
    absorbed_per_m = -math.log(uvt / 100.0) * 100.0
    light_w = lamp_w * float(figure(DOCUMENT, "lamp_uvc_share").value)
    return light_w / (absorbed_per_m * flow_l_min / 60_000.0) / _J_M2_PER_MJ_CM2


def _at_most(name: str, value: float, high: float, unit: str, why: str, low: float = 0.0) -> None:
    if value > high * (1.0 + 1e-9):
        raise OutsideValidRange(name, value, low=low, high=float(f"{high:.4g}"), unit=unit, source=why)


def _at_least(name: str, value: float, low: float, unit: str, why: str) -> None:
    if value < low * (1.0 - 1e-9):
        raise OutsideValidRange(name, value, low=float(f"{low:.4g}"), unit=unit, source=why)


def _cysts_stay_behind(ratings: Ratings) -> None:
    """Refuses a claim on cysts for a filter coarser than the smallest of them."""
    finest = float(figure(DOCUMENT, "smallest_oocyst").value)
    if ratings["cyst_claim"]:
        _at_most("micron", ratings["micron"], finest, "um", "certified for cysts, and the smallest is that size")


def _cartridge_fits(ratings: Ratings) -> None:
    """Refuses a housing smaller than its cartridge, and more dirt or carbon than the cartridge has room for."""
    if ratings.get("length_in") is None:
        return
    length, diameter = ratings["length_in"] * M_PER_INCH, ratings["diameter_in"] * M_PER_INCH
    _at_least("height_m", max(ratings["height_m"], ratings["width_m"]), length, "m", "the cartridge is that long")
    _at_least("depth_m", ratings["depth_m"], diameter, "m", "the cartridge is that wide")
    room = math.pi / 4.0 * diameter**2 * length * _L_PER_M3
    if "dirt_g" in ratings:
        dirt = room * 1000.0 * float(figure(DOCUMENT, "heaviest_dirt").value)
        _at_most("dirt_g", ratings["dirt_g"], dirt, "g", "the whole cartridge full of wet silt")
    if ratings.get("media_l") is not None:
        _at_most("media_l", ratings["media_l"], room, "L", "the outer volume of the cartridge")


def _water_fits_outside(ratings: Ratings) -> None:
    """Refuses a body that holds more water than its own outer sizes."""
    sizes = [ratings.get(name) for name in ("width_m", "depth_m", "height_m")]
    if any(size is None for size in sizes):
        return
    box = math.prod(float(size) for size in sizes if size is not None) * _L_PER_M3
    for name in ("holds_l", "volume_l", "solution_l"):
        if ratings.get(name) is not None:
            _at_most(name, ratings[name], box, "L", "width times depth times height")


def _bed_passes(ratings: Ratings) -> None:
    """Refuses a flow that no bed of that cross-section passes, in service or to the drain."""
    if ratings.get("tank_diameter_in") is None:
        return
    area = math.pi / 4.0 * (ratings["tank_diameter_in"] * M_PER_INCH) ** 2
    fastest = float(figure(DOCUMENT, "fastest_bed").value) * area * _L_PER_M3 / 60.0
    for name in ("rated_flow_l_min", "drain_flow_l_min"):
        _at_most(name, ratings[name], fastest, "L/min", "no bed in a tank of that diameter passes more")


def _fed_with_power(ratings: Ratings) -> None:
    """Refuses watts without a supply to draw them from."""
    if ratings.get("power_w") and ratings.get("supply") == "none":
        raise UnreadableValue("supply", "none", f"where its {ratings['power_w']:g} W come from: mains or 12v")


def _salt_fits_tank(ratings: Ratings) -> None:
    """Refuses more salt at one regeneration than the salt tank holds, or than any resin is given."""
    _at_most("rated_salt_kg", ratings["rated_salt_kg"], ratings["salt_tank_kg"], "kg", "what its salt tank holds")
    most = salt_dose_range(ratings["media_l"])[1]
    _at_most("rated_salt_kg", ratings["rated_salt_kg"], most, "kg", "the largest dose for that much resin")


def _light_is_enough(ratings: Ratings) -> None:
    """Refuses a dose beyond what the lamp's light can give, a lamp above the unit's watts or longer than the unit."""
    ceiling = lamp_ceiling_mj_cm2(ratings["lamp_w"], ratings["rated_flow_l_min"], ratings["rated_uvt"])
    why = "all of the lamp's light at this flow and transmittance"
    _at_most("rated_dose", ratings["rated_dose"], ceiling, "mJ/cm2", why)
    _at_least("power_w", ratings["power_w"], ratings["lamp_w"], "W", "the lamp alone draws that")
    longest = max(ratings["width_m"], ratings["depth_m"], ratings["height_m"])
    _at_most("lamp_length_m", ratings["lamp_length_m"], longest, "m", "the longest side of the unit")


def _pump_does_its_work(ratings: Ratings) -> None:
    """Refuses a pump that would lift more than its watts can, or more in flow than at a standstill."""
    if "shutoff_kpa" in ratings:
        _at_least("shutoff_kpa", ratings["shutoff_kpa"], ratings["boost_kpa"], "kPa", "what it adds while flowing")
    if "rated_l_d" in ratings:
        flow_m3_s = ratings["rated_l_d"] / ratings["recovery"] / 86_400_000.0
    else:
        flow_m3_s = ratings["rated_flow_l_min"] / 60_000.0
    work_w = flow_m3_s * ratings["boost_kpa"] * 1000.0
    _at_least("power_w", ratings["power_w"], work_w, "W", "flow times the pressure added, without any loss")


def _tank_fits(ratings: Ratings) -> None:
    """Refuses a storage larger than all the water the unit holds."""
    _at_most("storage_l", ratings["storage_l"], ratings["holds_l"], "L", "all the water it holds")


_BED: tuple[Check, ...] = (_bed_passes, _fed_with_power)
CHECKS: Mapping[StageKind, tuple[Check, ...]] = MappingProxyType(
    {
        StageKind.SEDIMENT: (_cysts_stay_behind, _cartridge_fits, _water_fits_outside),
        StageKind.SCREEN: (_water_fits_outside,),
        StageKind.BACKWASH: _BED,
        StageKind.AIROX: _BED,
        StageKind.CATALYTIC: _BED,
        StageKind.PERMANGANATE: _BED,
        StageKind.NEUTRALISER: _BED,
        StageKind.ORGANICS: _BED,
        StageKind.NITRATE: _BED,
        StageKind.SOFTENER: (*_BED, _salt_fits_tank),
        StageKind.CARBON: (*_BED, _cartridge_fits, _water_fits_outside),
        StageKind.TAP_CARBON: (_cysts_stay_behind, _cartridge_fits, _water_fits_outside),
        StageKind.ULTRAFILTER: (_water_fits_outside,),
        StageKind.UV: (_light_is_enough, _water_fits_outside),
        StageKind.RO: (_fed_with_power, _pump_does_its_work, _tank_fits, _water_fits_outside),
        StageKind.BOOSTER: (_fed_with_power, _pump_does_its_work, _water_fits_outside),
        StageKind.CHLORINE: (_fed_with_power, _water_fits_outside),
        StageKind.SODA_ASH: (_fed_with_power, _water_fits_outside),
        StageKind.RETENTION: (_water_fits_outside,),
    }
)


def checked(kind: StageKind, schema: Schema) -> Schema:
    """The schema of a kind with the checks of this module behind its own.

    Units: none.
    Range: any kind; the plain ones gain nothing.
    Raises: nothing.
    Source: the checks of the kind.

    >>> checked(StageKind.JACKET, Schema(())).checks
    ()
    """
    return Schema(schema.fields, (*schema.checks, *CHECKS.get(kind, ())))
