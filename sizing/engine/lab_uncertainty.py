"""How well a reported result is known, so that a design can be asked how sure it is."""

from __future__ import annotations

import math

from sizing.engine.design import Measured
from sizing.engine.errors import MissingEvidence
from sizing.engine.figures import figure
from sizing.engine.ranges import within
from sizing.engine.reported import Reported
from sizing.engine.water import ANALYTES


def result_uncertainty(analyte_code: str, value: float, *, field_kit: bool = False) -> float:
    """Standard uncertainty of a measured value.

    Why: a limit missed by a hair is not missed, and a design's confidence starts with the laboratory's.
    Units: canonical in and out.
    Range: 0 and more (any temperature); a known analyte. Counts of microbes: the root of the count, at least 1.
    Raises: ``OutsideValidRange`` below 0 or not finite; ``KeyError`` for an unknown analyte.
    Source: shares by group of analytes and least values (common practice); Poisson for counts (computed).

    >>> result_uncertainty("iron", 2.0), result_uncertainty("ph", 7.0), result_uncertainty("e_coli", 16.0)
    (0.16, 0.1, 4.0)
    """
    analyte = ANALYTES[analyte_code]
    value = float(within(analyte.name, value, low=min(analyte.low, 0.0), unit=analyte.unit))
    if analyte.group == "microbes":
        return max(math.sqrt(value), 1.0)
    least = figure("laboratory-uncertainty", "absolute").value.get(analyte_code, 0.0)
    share = 0.0 if analyte_code in ("ph", "temperature", "uvt") else 1.0
    relative = share * figure("laboratory-uncertainty", "relative").value[analyte.group] * abs(value)
    times = figure("laboratory-uncertainty", "field_kit").value if field_kit else 1.0
    return float(max(least, relative) * times)


def as_measured(result: Reported, *, field_kit: bool = False) -> Measured:
    """A reported result as a number with its standard uncertainty.

    Why: "<0.02" lies somewhere between 0 and 0.02; taking it for 0, or for 0.02, would each be a pretence.
    Units: canonical.
    Range: "equal", "below" with a stated limit, "absent". What is only "above", "present" or an unstated
    non-detect has no number.
    Raises: ``MissingEvidence`` where the result has no number to go by.
    Source: rectangular distribution between 0 and the reporting limit, sd = limit / sqrt 12, JCGM 100 (published);
    for measured values ``result_uncertainty``.

    >>> from sizing.engine.reported import parse_result
    >>> found = as_measured(parse_result("<0.02", "iron", "mg/L"))
    >>> found.value, round(found.sd, 4)
    (0.01, 0.0058)
    """
    if result.qualifier == "absent":
        return Measured(0.0, 0.0)
    if result.qualifier == "below" and result.canonical is not None:
        return Measured(result.canonical / 2.0, result.canonical / math.sqrt(12.0))
    if result.qualifier == "equal" and result.canonical is not None:
        return Measured(result.canonical, result_uncertainty(result.analyte, result.canonical, field_kit=field_kit))
    name = ANALYTES[result.analyte].name
    raise MissingEvidence([result.analyte], f"{name}: {result.text!r} gives no number; ask the laboratory for one")
