"""Other indexes that are in use beside the saturation index, and the reading of an index in words."""

from __future__ import annotations

from typing import Any

import numpy as np

from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import equivalent_weight
from sizing.engine.water import Number


def langelier_factors(tds: Number, calcium_hardness: Number, alkalinity: Number, temperature_c: Number) -> Any:
    """The A, B, C and D factors of the older saturation pH.

    Why: the worksheet shows them one by one, as the printed tables do.
    Units: mg/L, mg/L as CaCO3 twice, degC in; four dimensionless numbers out; floats or arrays.
    Range: TDS 10 to 10,000 mg/L, calcium hardness and alkalinity more than 0, 0 to 90 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: A = (log10 TDS - 1)/10, B = -13.12 log10(C + 273) + 34.55, C = log10 Ca - 0.4, D = log10 alkalinity
    (published); the printed table of B lies 0.02-0.11 lower.

    >>> [round(float(x), 2) for x in langelier_factors(320.0, 150.0, 34.0, 25.0)]
    [0.15, 2.09, 1.78, 1.53]
    """
    tds = within("dissolved solids", tds, low=10.0, high=10_000.0, unit="mg/L")
    calcium = within("calcium hardness", calcium_hardness, low=0.0, unit="mg/L as CaCO3", low_open=True)
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3", low_open=True)
    temperature = within("temperature", temperature_c, low=0.0, high=90.0, unit="degC")
    _, tds_less, tds_by, slope, offset, kelvin, calcium_less = figure("langelier-factors", "form").value
    return (
        (np.log10(tds) - tds_less) / tds_by,
        slope * np.log10(temperature + kelvin) + offset,
        np.log10(calcium) - calcium_less,
        np.log10(alkalinity),
    )


def langelier_ph(tds: Number, calcium_hardness: Number, alkalinity: Number, temperature_c: Number) -> Any:
    """Saturation pH by the A-B-C-D factors.

    Why: the older form still on many sheets; shown beside the rigorous one, never instead of it.
    Units: mg/L, mg/L as CaCO3 twice, degC in; pHs out; floats or arrays.
    Range: as ``langelier_factors``. Against PHREEQC the index from it runs 0.1 to 0.3 low in cold water and 0.05
    to 0.2 high at 50-80 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: pHs = 9.3 + A + B - C - D (published).

    >>> round(langelier_ph(320.0, 150.0, 34.0, 25.0), 2)
    8.23
    """
    a, b, c, d = langelier_factors(tds, calcium_hardness, alkalinity, temperature_c)
    result = figure("langelier-factors", "form").value[0] + a + b - c - d
    return result if np.ndim(result) else float(result)


def practical_equilibrium_ph(alkalinity: Number) -> Any:
    """The pH that a water of some alkalinity usually stands at, for the practical (Puckorius) index.

    Why: a sample's measured pH drifts; this one comes from the alkalinity alone.
    Units: mg/L as CaCO3 in, pH out; float or array.
    Range: alkalinity more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: 1.485 log10(alkalinity) + 4.54, UFC 3-240-13FN (published; its table prints 0.04 less).

    >>> round(float(practical_equilibrium_ph(100.0)), 2)
    7.51
    """
    slope, constant = figure("ufc-3-240-13fn", "practical_equilibrium_ph").value
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3", low_open=True)
    return slope * np.log10(alkalinity) + constant


def practical_index(equilibrium_ph: Number, saturated_ph: Number) -> Any:
    """Practical (Puckorius) index: 2 pHs less the equilibrium pH.

    Why: closer to what heaters show than the Ryznar index, which uses the drifting measured pH.
    Units: pH twice in, index out; floats or arrays.
    Range: pH 0 to 14.
    Raises: ``OutsideValidRange`` outside that.
    Source: UFC 3-240-13FN appendix B (published).

    >>> round(practical_index(7.47, 6.77), 2)
    6.07
    """
    return 2.0 * within("saturation pH", saturated_ph, low=0.0, high=14.0) - within(
        "equilibrium pH", equilibrium_ph, low=0.0, high=14.0
    )


def larson_skold(chloride: Number, sulphate: Number, alkalinity: Number) -> Any:
    """Larson-Skold index: chloride and sulphate against alkalinity.

    Why: corrosion of iron rises with it; anion beds raise it by swapping alkalinity for chloride.
    Units: mg/L, mg/L, mg/L as CaCO3 in; ratio of meq out; floats or arrays.
    Range: alkalinity more than 0, others 0 and more.
    Raises: ``OutsideValidRange`` outside that.
    Source: (Cl + SO4) / alkalinity in meq (published).

    >>> round(larson_skold(100.0, 1.0, 200.0), 1)
    0.7
    """
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3", low_open=True)
    salts = within("chloride", chloride, low=0.0, unit="mg/L") / equivalent_weight("chloride") + within(
        "sulphate", sulphate, low=0.0, unit="mg/L"
    ) / equivalent_weight("sulphate")
    return salts / (alkalinity / equivalent_weight("alkalinity"))


def chloride_sulphate_ratio(chloride: Number, sulphate: Number) -> Any:
    """Chloride to sulphate mass ratio.

    Why: a galvanic indicator for lead: brass and solder give more of it where the ratio is high.
    Units: mg/L in, mass ratio out; floats or arrays.
    Range: chloride 0 and more, sulphate more than 0.
    Raises: ``OutsideValidRange`` outside that.
    Source: definition (computed).

    >>> chloride_sulphate_ratio(100.0, 1.0)
    100.0
    """
    chloride = within("chloride", chloride, low=0.0, unit="mg/L")
    return chloride / within("sulphate", sulphate, low=0.0, unit="mg/L", low_open=True)


def index_remark(index: float, ryznar: float) -> Finding:
    """The reading of an index in words.

    Why: the household reads words, not numbers; the band about zero says "near balance".
    Units: Langelier and Ryznar indexes.
    Range: any.
    Raises: nothing.
    Source: +-0.5 about balance, Ryznar 6 neutral, UFC 3-240-13FN (published).

    >>> index_remark(1.2, 5.1).code
    'saturation.scale'
    """
    band = figure("ufc-3-240-13fn", "langelier_band")
    shown = f"saturation index {index:+.1f}, Ryznar {ryznar:.1f}"
    if index > band.value:
        code, words = "scale", "The water lays down scale when it is heated"
    elif index < -band.value:
        code, words = "aggressive", "The water dissolves calcium carbonate and lays down no protecting film"
    else:
        code, words = "balanced", "The water is near balance with calcium carbonate"
    return Finding(
        f"saturation.{code}",
        Severity.NOTE,
        f"{words} ({shown}).",
        "A low index of softened water does not mean acid water: look at its pH." if code == "aggressive" else "",
        "calcium",
        band.citation,
    )
