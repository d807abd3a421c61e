"""Practice figures of the stages, in canonical units, and the small arithmetic all kinds share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from sizing.engine.figures import figure
from sizing.engine.hydraulics import stage_loss_kpa
from sizing.engine.quantities import KPA_PER_PSI, L_PER_FT3, L_PER_GALLON, M2_PER_FT2, MG_L_PER_GPG
from sizing.engine.stages.base import FeedLimit
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

DOCUMENT = "stage-practice"

TO_CANONICAL: Mapping[str, float] = {
    "gpg": MG_L_PER_GPG,
    "psi": KPA_PER_PSI,
    "gpm/ft2": L_PER_GALLON / M2_PER_FT2,  # L/min per m2
    "gpm/ft3": L_PER_GALLON / L_PER_FT3,  # L/min per L
}

# Health analytes count only where the product's certified claim covers them, and then at the low fraction.
HEALTH = (
    "nitrate",
    "nitrite",
    "arsenic",
    "lead",
    "uranium",
    "fluoride",
    "pfas",
    "voc",
    "barium",
    "cadmium",
    "chromium",
    "mercury",
    "antimony",
    "selenium",
    "radium",
    "radon",
    "copper",
    "boron",
    "strontium",
)

# What a stage that holds back particles alters, and what the new values hang on (``Stage.alters``).
PARTICLES: Mapping[str, tuple[str, ...]] = {
    "turbidity": ("turbidity",),
    "suspended_solids": ("suspended_solids",),
    "iron": ("iron", "iron_dissolved"),
}


@dataclass(frozen=True)
class Effect:
    """Fraction removed (0-1): low, typical, high, with the status of the number and where it stands."""

    low: float
    typical: float
    high: float
    status: str
    source: str


@cache
def effect(key: str) -> Effect:
    """The range of an effect of a kind of stage on an analyte.

    Units: fractions removed, or pH units where the figure is a pH.
    Range: the keys of the practice figures.
    Raises: ``KeyError`` for a key that is not there.
    Source: each figure names its own; most are common practice.

    >>> effect("sediment_turbidity").typical
    0.8
    """
    row = figure(DOCUMENT, key)
    value: Any = row.value
    return Effect(float(value["low"]), float(value["typical"]), float(value["high"]), row.status, row.citation)


@cache
def practice(key: str) -> float:
    """A single practice figure in canonical units.

    Units: gpg, psi, gpm/ft2 and gpm/ft3 are converted to mg/L, kPa, L/min per m2 and L/min per L; others as
    they stand. Range: the keys of the practice figures. Raises: ``KeyError`` for a key that is not there.
    Source: each figure names its own; most are common practice.

    >>> round(practice("organics_hardness_limit"), 1)
    171.2
    """
    row = figure(DOCUMENT, key)
    return float(row.value) * TO_CANONICAL.get(row.unit, 1.0)


@cache
def cited(key: str) -> tuple[str, str]:
    """Source and status of a practice figure, for a worksheet step.

    Units: words.
    Range: the keys of the practice figures.
    Raises: ``KeyError`` for a key that is not there.
    Source: the figure's own.

    >>> cited("sediment_turbidity")
    ('trade practice', 'common practice')
    """
    row = figure(DOCUMENT, key)
    return row.citation, row.status


@cache
def limit(key: str, analyte: str, sense: str, reason: str, *, hard: bool = True, required: bool = False) -> FeedLimit:
    """A feed limit read from the practice figures.

    Units: canonical units of the analyte.
    Range: the keys of the practice figures.
    Raises: ``KeyError`` for a key that is not there.
    Source: the figure's own, printed with its status.

    >>> limit("softener_iron_limit", "iron", "max", "fouls resin").value
    3.0
    """
    return FeedLimit(analyte, sense, practice(key), reason, ": ".join(reversed(cited(key))), hard, required)


@cache
def known(analyte: str, reason: str) -> FeedLimit:
    """A limit that any value keeps: it only asks that the analyte was measured.

    Units: canonical units of the analyte.
    Range: any analyte.
    Raises: nothing.
    Source: common practice.

    >>> known("hardness", "the size hangs on it").required
    True
    """
    return FeedLimit(analyte, "min", 0.0, reason, "common practice", required=True)


def remove(water: Water, fractions: Mapping[str, Number]) -> Water:
    """The water with each measured analyte reduced by its fraction; what was not measured stays absent.

    Units: fractions 0 to 1, floats or arrays of draws.
    Range: fractions that leave no value impossible.
    Raises: ``OutsideValidRange`` where a value would become impossible.
    Source: mass balance (computed).

    >>> remove(Water({"iron": 2.0}), {"iron": 0.75, "manganese": 0.5})["iron"]
    0.5
    """
    return water.with_values(
        **{code: water[code] * (1.0 - fraction) for code, fraction in fractions.items() if code in water}
    )


def certified_fraction(analyte: str, claims: tuple[str, ...], key: str) -> float:
    """The fraction to count: health contaminants only where certified, and then the low one; others the
    typical one.

    Units: fraction 0 to 1.
    Range: the keys of the practice figures.
    Raises: ``KeyError`` for a key that is not there.
    Source: rule of the trade on certified claims (common practice); the figure's own for the number.

    >>> certified_fraction("voc", (), "carbon_voc"), certified_fraction("voc", ("voc",), "carbon_voc")
    (0.0, 0.7)
    """
    spread = effect(key)
    if analyte in HEALTH:
        return spread.low if analyte in claims else 0.0
    return spread.typical


def loss_at(flow_l_min: Number, rated_flow_l_min: float, rated_kpa: float, linear_share: float) -> Number:
    """Pressure lost at a flow from one rated point.

    Units: L/min and kPa; flow float or array. ``linear_share`` 0 (valve, chamber) to 1 (a cake of dirt).
    Range: flow 0 or more.
    Raises: ``OutsideValidRange`` for a negative flow.
    Source: ``hydraulics.stage_loss_kpa`` (computed).

    >>> loss_at(10.0, 20.0, 40.0, 0.0)
    10.0
    """
    loss: Number = stage_loss_kpa(flow_l_min, ((rated_flow_l_min, rated_kpa),), linear_share=linear_share)
    return loss


def loss_step(flow_l_min: Number, rated_flow_l_min: float, rated_kpa: float, linear_share: float) -> Step:
    """The worksheet line of ``loss_at`` at the peak flow.

    Units: L/min and kPa.
    Range: flow 0 or more.
    Raises: ``OutsideValidRange`` for a negative flow.
    Source: ``hydraulics.stage_loss_kpa`` (computed).

    >>> loss_step(10.0, 20.0, 40.0, 0.0).formula
    '40 x (0 x 10.0/20 + 1 x (10.0/20)^2)'
    """
    ratio = f"{shown(flow_l_min)}/{rated_flow_l_min:g}"
    return Step(
        "dp",
        "Loss at peak flow, clean",
        scalar(loss_at(flow_l_min, rated_flow_l_min, rated_kpa, linear_share)),
        "kPa",
        f"{rated_kpa:g} x ({linear_share:g} x {ratio} + {1.0 - linear_share:g} x ({ratio})^2)",
        "one rated point, linear and square part",
        "computed",
        "pressure",
    )


def shown(value: Number, digits: int = 1) -> str:
    """A number for a worksheet formula; draws are shown by their median.

    Units: those of the number.
    Range: any.
    Raises: nothing.
    Source: none needed.

    >>> shown(12.34), shown(np.array([1.0, 2.0, 3.0]))
    ('12.3', '2.0 (median of 3 draws)')
    """
    if np.ndim(value) == 0:
        return f"{float(value):.{digits}f}"
    return f"{float(np.median(value)):.{digits}f} (median of {np.size(value)} draws)"


def scalar(value: Number) -> float:
    """The number itself, or the median of draws, for a setting or a worksheet.

    Units: those of the number.
    Range: any.
    Raises: nothing.
    Source: none needed.

    >>> scalar(np.array([1.0, 2.0, 9.0]))
    2.0
    """
    if isinstance(value, float) or np.ndim(value) == 0:
        return float(value)
    return float(np.median(value))
