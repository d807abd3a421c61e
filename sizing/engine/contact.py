"""Disinfection by chlorine contact: the CT that is required, the CT that is delivered, and the credit earned.

Chlorine never earns credit against Cryptosporidium.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.ranges import within
from sizing.engine.water import Number

MANUAL = "epa-815-r-20-003-ct"


@dataclass(frozen=True)
class ContactCredit:
    """Logs of removal credited to a contact; ``cryptosporidium`` is always 0."""

    giardia: Any
    virus: Any
    cryptosporidium: float = 0.0


def _table(name: str) -> Any:
    return np.asarray(figure(MANUAL, name).value, dtype=float)


def _checked(temperature_c: Number, ph: Number, chlorine: Number) -> tuple[Any, Any, Any]:
    source = figure(MANUAL, "giardia_ct").citation
    return (
        within("temperature", temperature_c, low=0.0, high=40.0, unit="degC", source=source),
        within("pH", ph, low=4.0, high=9.0, source=source),
        within("free chlorine", chlorine, low=0.0, high=10.0, unit="mg/L", source=source, low_open=True),
    )


def _given(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


def giardia_ct(temperature_c: Number, ph: Number, chlorine: Number, logs: Number = 3.0) -> Any:
    """CT required against Giardia by the printed table, looked up on the careful side.

    Why: the number a reviewer checks first; no interpolation between cells.
    Units: degC, pH, mg/L free chlorine at the end of the contact, logs in; mg min/L out; floats or arrays.
    Range: 0 to 40 degC (25 and warmer use 25), pH 4 to 9 (6 and below use 6; above 9 there is no value), chlorine
    more than 0 (0.4 and below use 0.4; above 3 use 3 and let ``ct_delivered`` count only 3), logs 0.5 to 3.
    Raises: ``OutsideValidRange`` outside that.
    Source: EPA 815-R-20-003 Table B-1 x logs / 3 (published); temperature down, pH up, chlorine up.

    >>> giardia_ct(19.0, 7.2, 1.1)
    92.0
    """
    temperature, ph, chlorine = _checked(temperature_c, ph, chlorine)
    logs = within("logs", logs, low=0.5, high=3.0, source="Table B-1")
    temperatures, phs, residuals = _table("giardia_temperatures"), _table("giardia_ph"), _table("giardia_chlorine")
    at_t = np.maximum(np.searchsorted(temperatures, temperature, side="right") - 1, 0)
    at_ph = np.searchsorted(phs, ph, side="left")
    at_c = np.minimum(np.searchsorted(residuals, chlorine, side="left"), residuals.size - 1)
    return _given(_table("giardia_ct")[at_t, at_c, at_ph] * logs / 3.0)


def giardia_ct_interpolated(temperature_c: Number, ph: Number, chlorine: Number) -> Any:
    """CT for 3-log Giardia by straight lines between the printed cells.

    Why: the second published way to read the table; shown beside the careful look-up.
    Units: degC, pH, mg/L in; mg min/L out; floats or arrays.
    Range: as ``giardia_ct``; ends of the table are kept beyond them.
    Raises: ``OutsideValidRange`` outside that.
    Source: EPA 815-R-20-003 Table B-1, interpolated as in its worked example (published).

    >>> round(giardia_ct_interpolated(6.0, 6.7, 0.8), 1)
    125.1
    """
    temperature, ph, chlorine = _checked(temperature_c, ph, chlorine)
    axes = (_table("giardia_temperatures"), _table("giardia_chlorine"), _table("giardia_ph"))
    table = _table("giardia_ct")
    result: Any = 0.0
    places = []
    for axis, value in zip(axes, (temperature, chlorine, ph), strict=True):
        value = np.clip(value, axis[0], axis[-1])
        at = np.clip(np.searchsorted(axis, value, side="right") - 1, 0, axis.size - 2)
        places.append((at, (value - axis[at]) / (axis[at + 1] - axis[at])))
    for corner in range(8):
        weight: Any = 1.0
        index = []
        for bit, (at, share) in enumerate(places):
            upper = corner >> bit & 1
            weight = weight * (share if upper else 1.0 - share)
            index.append(at + upper)
        result = result + weight * table[tuple(index)]
    return _given(result)


def giardia_ct_regression(temperature_c: Number, ph: Number, chlorine: Number, logs: Number = 3.0) -> Any:
    """CT required against Giardia by the regression of Smith, Clark and others.

    Why: smooth, and in no cell below the table (at most 17 % above); the check beside the look-up.
    Units: degC, pH, mg/L, logs in; mg min/L out; floats or arrays.
    Range: 0.5 to 25 degC, pH 6 to 9, chlorine 0.4 to 3 mg/L, logs 0 to 3; branch at 12.5 degC (warm from there).
    Raises: ``OutsideValidRange`` outside that.
    Source: EPA 815-R-20-003 Appendix H (published).

    >>> round(giardia_ct_regression(10.0, 7.5, 1.0), 1)
    137.9
    """
    source = figure(MANUAL, "regression").citation
    temperature = within("temperature", temperature_c, low=0.5, high=25.0, unit="degC", source=source)
    ph = within("pH", ph, low=6.0, high=9.0, source=source)
    chlorine = within("free chlorine", chlorine, low=0.4, high=3.0, unit="mg/L", source=source)
    logs = within("logs", logs, low=0.0, high=3.0, source=source)
    terms = figure(MANUAL, "regression").value

    def branch(a: float, b: float, c: float, d: float, e: float, f: float) -> Any:
        return a * logs * (b + np.exp(c + d * temperature + e * chlorine + f * ph))

    return _given(np.where(np.asarray(temperature) < terms["branch"], branch(*terms["cold"]), branch(*terms["warm"])))


def giardia_ct_short(temperature_c: Number, ph: Number, chlorine: Number, logs: Number = 3.0) -> Any:
    """CT against Giardia by the short equation: an estimate, never a proof.

    Why: it circulates; shown so that nobody takes it for the table (it is below the table in 311 of 588 cells).
    Units: degC, pH, mg/L, logs in; mg min/L out; floats or arrays.
    Range: as ``giardia_ct_regression``.
    Raises: ``OutsideValidRange`` outside that.
    Source: 0.2828 pH^2.69 C^0.15 0.933^(T-5) L (published).

    >>> round(giardia_ct_short(5.0, 7.0, 1.0), 1)
    159.2
    """
    temperature = within("temperature", temperature_c, low=0.5, high=25.0, unit="degC")
    ph = within("pH", ph, low=6.0, high=9.0)
    chlorine = within("free chlorine", chlorine, low=0.4, high=3.0, unit="mg/L")
    logs = within("logs", logs, low=0.0, high=3.0)
    a, b, c, d = figure(MANUAL, "short_equation").value
    return a * ph**b * chlorine**c * d ** (temperature - 5.0) * logs


def virus_ct(temperature_c: Number, ph: Number, logs: Number = 4.0) -> Any:
    """CT required against viruses, free chlorine.

    Why: chlorine is the virus barrier where a UV unit is not (40 mJ/cm2 earns half a log).
    Units: degC, pH, logs in; mg min/L out; floats or arrays.
    Range: 0 to 40 degC (looked up downward; 25 and warmer use 25), pH 6 to 10 (above 9 the pH 10 column), logs more
    than 0 and at most 4.
    Raises: ``OutsideValidRange`` outside that.
    Source: EPA 815-R-20-003 Table B-2 x logs / 4 (published): nowhere less than the 1991 Table E-7 prints for 2 and
    3 logs.

    >>> virus_ct(10.0, 7.5), virus_ct(10.0, 7.5, 3.0)
    (6.0, 4.5)
    """
    source = figure(MANUAL, "virus_ct").citation
    temperature = within("temperature", temperature_c, low=0.0, high=40.0, unit="degC", source=source)
    ph = within("pH", ph, low=6.0, high=10.0, source=source)
    logs = within("logs", logs, low=0.0, high=4.0, source=source, low_open=True)
    at = np.maximum(np.searchsorted(_table("virus_temperatures"), temperature, side="right") - 1, 0)
    rows = figure(MANUAL, "virus_ct").value
    four = np.where(np.asarray(ph) <= 9.0, np.asarray(rows["ph_6_9"])[at], np.asarray(rows["ph_10"])[at])
    return _given(four * logs / 4.0)


def chloramine_ct(temperature_c: Number, organism: str) -> Any:
    """CT required with combined chlorine: 3-log Giardia or 4-log virus.

    Why: ammonia in a well silently turns free chlorine into combined, which is ten to a hundred times weaker.
    Units: degC in, mg min/L out; float or array; ``organism`` "giardia" or "virus".
    Range: 0 to 40 degC, looked up downward; 1 degC below that, 25 above.
    Raises: ``OutsideValidRange`` outside that or for another organism.
    Source: EPA 815-R-20-003 Tables B-7 and B-8 (published).

    >>> chloramine_ct(10.0, "giardia"), chloramine_ct(20.0, "giardia")
    (1850.0, 1100.0)
    """
    if organism not in ("giardia", "virus"):
        raise OutsideValidRange("organism", organism, source="known are giardia, virus")
    temperature = within("temperature", temperature_c, low=0.0, high=40.0, unit="degC")
    at = np.maximum(np.searchsorted(_table("chloramine_temperatures"), temperature, side="right") - 1, 0)
    return _given(_table(f"chloramine_{organism}")[at])


def baffling_factor(condition: str) -> float:
    """Share of the plain detention time that a vessel really holds the water (T10/T).

    Why: water short-cuts through a tank; a household pressure or retention tank counts a tenth.
    Units: fraction; ``condition`` "unbaffled", "poor", "average", "superior" or "perfect" (a long pipe).
    Range: those words.
    Raises: ``OutsideValidRange`` for another.
    Source: EPA 815-R-20-003 Table 4-2 (published).

    >>> baffling_factor("unbaffled")
    0.1
    """
    known: dict[str, float] = figure(MANUAL, "baffling").value
    if condition not in known:
        raise OutsideValidRange("baffling", condition, source=f"known are {', '.join(known)}")
    return known[condition]


def contact_time(volume_l: Number, flow_l_min: Number, baffling: Number) -> Any:
    """Minutes that count as contact: volume / peak flow x baffling.

    Why: plain detention time overstates the contact ten times in a household tank.
    Units: L at low water, L/min at peak, fraction in; min out; floats or arrays.
    Range: volume and flow more than 0, baffling 0.1 to 1.
    Raises: ``OutsideValidRange`` outside that.
    Source: EPA 815-R-20-003 equations 4-2, 4-3 (published).

    >>> round(contact_time(120 * 3.785411784, 6 * 3.785411784, 0.1), 2)
    2.0
    """
    volume = within("volume", volume_l, low=0.0, unit="L", low_open=True)
    flow = within("flow", flow_l_min, low=0.0, unit="L/min", low_open=True)
    return volume / flow * within("baffling", baffling, low=0.1, high=1.0, source="Table 4-2")


def ct_delivered(chlorine: Number, minutes: Number) -> Any:
    """CT of a contact, counting no more than 3 mg/L of chlorine.

    Why: the need rises with the residual, so a high residual against the last row would be over-credited.
    Units: mg/L free chlorine at the end of the contact, min in; mg min/L out; floats or arrays.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: C x T (published); the cap is the engine's careful choice (computed).

    >>> ct_delivered(4.0, 10.0)
    30.0
    """
    cap = figure(MANUAL, "chlorine_cap").value
    counted = np.minimum(within("free chlorine", chlorine, low=0.0, unit="mg/L"), cap)
    return _given(counted * within("contact time", minutes, low=0.0, unit="min"))


def contact_credit(segments: Iterable[tuple[Number, Number]], temperature_c: Number, ph: Number) -> ContactCredit:
    """Logs credited to one or more contacts in a row.

    Why: the ratios of delivered to required CT add up over segments, then become logs.
    Units: segments of (free chlorine mg/L at the segment's end, contact min), degC, pH in; logs out.
    Range: as ``giardia_ct`` and ``virus_ct`` (pH 6 to 9 for both). A segment without chlorine earns nothing.
    Raises: ``OutsideValidRange`` outside that.
    Source: EPA 815-R-20-003 equations 5-1 and 5-2 (published); no Cryptosporidium credit, Shields 2008 (published).

    >>> credit = contact_credit([(1.0, 2.0)], 10.0, 7.5)
    >>> round(credit.giardia, 3), round(credit.virus, 2), credit.cryptosporidium
    (0.045, 1.33, 0.0)
    """
    giardia: Any = 0.0
    virus: Any = 0.0
    for chlorine, minutes in segments:
        delivered = ct_delivered(chlorine, minutes)
        residual = np.maximum(np.asarray(chlorine, dtype=float), 1e-9)
        giardia = giardia + delivered / giardia_ct(temperature_c, ph, residual)
        virus = virus + delivered / virus_ct(temperature_c, ph)
    return ContactCredit(giardia=_given(3.0 * giardia), virus=_given(4.0 * virus))
