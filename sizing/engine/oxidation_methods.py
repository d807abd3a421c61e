"""Which way of oxidising suits a water: the limits of each method, and what must be said."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import Figure, figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.oxidation import iron_half_life, oxygen_demand
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import molar_mass
from sizing.engine.water import ANALYTES, Water


class Method(StrEnum):
    """Ways of oxidising iron, manganese and sulphide at a house."""

    AIR_ALONE = "air_alone"  # aeration and time, then a filter
    AIR_MEDIA = "air_media"  # air head over a catalytic medium
    GREENSAND = "greensand"  # manganese-coated medium with permanganate
    CHLORINE_MEDIA = "chlorine_media"  # chlorine feed, retention, manganese dioxide medium


@dataclass(frozen=True)
class MethodLimit:
    """One condition of a method: ``analyte`` must stay ("max") below or ("min") above ``value``.

    ``needs_also`` names an analyte whose presence makes the condition matter ("" = always).
    """

    analyte: str
    sense: str
    value: float
    reason: str
    source: str
    needs_also: str = ""


def _said(row: Figure) -> str:
    return ", ".join(part for part in (row.citation, row.status) if part)


def _limit(
    analyte: str, sense: str, key: str, reason: str, *, needs_also: str = "", factor: float = 1.0, at: int = -1
) -> MethodLimit:
    row = figure("oxidation-practice", key)
    value = row.value if at < 0 else row.value[at]
    return MethodLimit(analyte, sense, value * factor, reason, _said(row), needs_also)


def method_limits(method: Method | str) -> tuple[MethodLimit, ...]:
    """The conditions under which a method works.

    Why: pH, organics and sulphide decide between air, permanganate and chlorine before any sizing.
    Units: canonical (sulphide as S).
    Range: a ``Method``.
    Raises: ``OutsideValidRange`` for another method.
    Source: handbook table and trade practice (common practice); pH windows of air oxidation from memory.

    >>> [limit.value for limit in method_limits("air_media") if limit.analyte == "tannin"]
    [0.5]
    """
    if method not in list(Method):
        raise OutsideValidRange("method", method, source=f"known are {', '.join(Method)}")
    as_s = molar_mass("S") / molar_mass("H2S")
    tannin = _limit("tannin", "max", "tannin_most", "organics hold the iron and coat the medium")
    iron = _limit("iron", "max", "iron_most", "beyond it a second step is needed")
    air_sulphide = _limit("sulphide", "max", "sulphide_air_most", "air copes with little", factor=as_s)
    rows: dict[Method, tuple[MethodLimit, ...]] = {
        Method.AIR_ALONE: (
            _limit("ph", "min", "air_iron_ph", "iron is too slow below", needs_also="iron", at=0),
            _limit("ph", "min", "air_manganese_ph", "air alone leaves manganese", needs_also="manganese"),
            tannin,
            iron,
            air_sulphide,
        ),
        Method.AIR_MEDIA: (
            _limit("ph", "min", "coated_media_ph", "the medium needs it", needs_also="iron"),
            _limit("ph", "min", "media_manganese_ph", "manganese passes below", needs_also="manganese"),
            tannin,
            iron,
            air_sulphide,
        ),
        Method.GREENSAND: (
            _limit("ph", "min", "greensand_ph", "the medium needs it"),
            iron,
            tannin,
            _limit("sulphide", "max", "sulphide_chlorine_from", "chlorine is the better way", factor=as_s),
        ),
        Method.CHLORINE_MEDIA: (
            _limit("ph", "min", "media_manganese_ph", "manganese passes below", needs_also="manganese"),
            tannin,
        ),
    }
    return rows[Method(method)]


def method_remarks(method: Method | str, water: Water) -> tuple[Finding, ...]:
    """Which conditions of a method a water breaks, and which cannot be judged for want of a test.

    Why: the wrong method fails in months; the missing test is cheaper than the wrong tank.
    Units: canonical, single values.
    Range: a ``Method``; a water of single values.
    Raises: ``OutsideValidRange`` for another method or for arrays of draws.
    Source: see ``method_limits``.

    >>> bad = Water({"iron": 3.0, "ph": 6.2, "tannin": 0.0, "sulphide": 0.0})
    >>> [finding.subject for finding in method_remarks("air_media", bad)]
    ['ph']
    """
    found: list[Finding] = []
    for limit in method_limits(method):
        if limit.needs_also and not float(water.get(limit.needs_also, 0.0)) > 0.0:
            continue
        name = ANALYTES[limit.analyte].name
        if limit.analyte not in water:
            found.append(
                Finding(
                    "oxidation.not_tested",
                    Severity.NOTE,
                    f"{name} was not measured; this method needs it known ({limit.reason}).",
                    f"Measure {name.lower() if limit.analyte != 'ph' else name}.",
                    limit.analyte,
                    limit.source,
                )
            )
            continue
        value = float(water[limit.analyte])
        broken = value > limit.value if limit.sense == "max" else value < limit.value
        if broken:
            side = "above" if limit.sense == "max" else "below"
            found.append(
                Finding(
                    f"oxidation.{limit.analyte}",
                    Severity.EQUIPMENT,
                    f"{name} {value:g} is {side} {limit.value:.3g}: {limit.reason}.",
                    "Correct it ahead of the filter, or choose another way.",
                    limit.analyte,
                    limit.source,
                )
            )
    return tuple(found)


def oxygen_is_enough(
    iron: float, manganese: float, sulphide: float, dissolved_oxygen: float
) -> tuple[bool, float, float]:
    """Whether dissolved oxygen covers what iron, manganese and sulphide will use, and the two numbers.

    Why: coated media ask for oxygen of at least 15 % of the iron, which is the bare reaction and no margin.
    Units: mg/L (sulphide as S) in; (enough, need mg/L, have mg/L) out.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: the larger of the reactions (computed) and 15 % of the iron (common practice).

    >>> enough, need, have = oxygen_is_enough(3.0, 0.2, 0.0, 8.0)
    >>> enough, round(need, 2), have
    (True, 0.49, 8.0)
    """
    have = within("dissolved oxygen", dissolved_oxygen, low=0.0, unit="mg/L")
    rule = figure("oxidation-practice", "coated_media_oxygen").value * within("iron", iron, low=0.0, unit="mg/L")
    need = max(float(oxygen_demand(iron, manganese, sulphide)), rule)
    return bool(have >= need), need, have


def slow_iron_remark(ph: float, temperature_c: float) -> Finding | None:
    """A remark where iron oxidises too slowly in air for a household tank, or ``None``.

    Why: below about pH 6.8, and in the cold, plain air needs hours that a house does not have.
    Units: pH, degC.
    Range: as ``iron_half_life``.
    Raises: ``OutsideValidRange`` outside that.
    Source: iron rate law (from memory); slower than a half-life of 30 min is remarked (30 min detention is the
    published least after aeration).

    >>> slow_iron_remark(6.5, 8.0).code
    'oxidation.slow'
    """
    minutes = float(iron_half_life(ph, temperature_c))
    least = figure("aeration-rules", "detention_min")
    if minutes <= least.value:
        return None
    return Finding(
        "oxidation.slow",
        Severity.EQUIPMENT,
        f"At pH {ph:g} and {temperature_c:g} degC half of the iron takes about {minutes:.0f} min in air.",
        "Raise the pH first, or use a medium or an oxidant.",
        "iron",
        f"{figure('iron-rate-law', 'rate').citation}, from memory; {least.citation}",
    )
