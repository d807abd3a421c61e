"""How health units read a private-well sample, what treatment targets follow, and the words for hardness."""

from __future__ import annotations

from enum import StrEnum

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.ranges import within


class SampleReading(StrEnum):
    """Reading of one bacteria sample of a private well."""

    NO_EVIDENCE = "no evidence of contamination in this sample"
    CAUTION = "caution: further assessment"
    DO_NOT_DRINK = "do not drink unless boiled or treated"


def ontario_reading(
    total_coliform: float, e_coli: float, *, overgrown: bool = False, surface_water: bool = False
) -> SampleReading:
    """An Ontario health unit's reading of a bacteria sample.

    Why: bands differ by province; the words on the page follow the health unit, without the word safe.
    Units: counts per 100 mL.
    Range: 0 and more. Untreated lake or river water is presumed contaminated whatever one sample shows.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: bands 0, 1-5, 6 and more; any E. coli or an overgrown plate, Durham Region (published).

    >>> ontario_reading(3, 0).value
    'caution: further assessment'
    """
    coliform = within("total coliform", total_coliform, low=0.0, unit="per 100 mL")
    found = within("E. coli", e_coli, low=0.0, unit="per 100 mL")
    none, caution = figure("private-well-readings", "ontario_coliform").value
    if surface_water or overgrown or found > 0 or coliform > caution:
        return SampleReading.DO_NOT_DRINK
    return SampleReading.CAUTION if coliform > none else SampleReading.NO_EVIDENCE


def treatment_target(jurisdiction: str, mean_e_coli: float | None = None) -> dict[str, float]:
    """Logs of removal to design for on a surface source.

    Why: a lake intake needs a target before a barrier is chosen.
    Units: mean E. coli per 100 mL in (Quebec only); logs by organism out.
    Range: "us", "canada" or "quebec"; counts 0 to 1e9 per 100 mL.
    Raises: ``OutsideValidRange`` outside that, or for Quebec without a count.
    Source: 40 CFR 141.70; Health Canada 2019; Q-2, r. 40 (published; the highest Quebec band as read in a summary).

    >>> treatment_target("quebec", 100.0)
    {'virus': 5.0, 'giardia': 4.0, 'cryptosporidium': 3.0}
    """
    if jurisdiction == "quebec":
        if mean_e_coli is None:
            raise OutsideValidRange("mean E. coli", "none", low=0.0, unit="per 100 mL", source="Q-2, r. 40")
        count = within("mean E. coli", mean_e_coli, low=0.0, high=1e9, unit="per 100 mL")
        row = next(r for r in figure("private-well-readings", "quebec_logs").value if count <= r[0])[1:]
    elif jurisdiction in ("us", "canada"):
        key = "us_logs" if jurisdiction == "us" else "health_canada_logs"
        row = figure("private-well-readings", key).value
    else:
        raise OutsideValidRange("jurisdiction", jurisdiction, source="known are us, canada, quebec")
    return dict(zip(("virus", "giardia", "cryptosporidium"), (float(x) for x in row), strict=True))


def hardness_word(hardness: float, scale: str = "usgs") -> str:
    """The word for a hardness, and never without its number and scale beside it.

    Why: 150 mg/L is "hard" on one scale and "moderately hard" on another.
    Units: mg/L as CaCO3 in; words out.
    Range: 0 and more; scale "usgs" or "vermont".
    Raises: ``OutsideValidRange`` below 0 or for another scale.
    Source: USGS; Vermont Department of Health (published).

    >>> hardness_word(150.0), hardness_word(150.0, "vermont")
    ('hard', 'moderately hard')
    """
    if scale not in ("usgs", "vermont"):
        raise OutsideValidRange("scale", scale, source="known are usgs, vermont")
    value = within("hardness", hardness, low=0.0, unit="mg/L as CaCO3")
    bounds = figure("private-well-readings", f"hardness_{scale}").value
    words = ("soft", "moderately hard", "hard", "very hard")
    return words[sum(value > bound for bound in bounds)]


def nitrate_should_be_retested(nitrate: float) -> bool:
    """Whether a nitrate result below the limit still calls for another test.

    Why: nitrate moves with the seasons; 4 to 10 mg/L in one month may be 12 in another.
    Units: mg/L as N.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 4 to 10 mg/L as N, KFL&A Public Health (published).

    >>> nitrate_should_be_retested(6.0), nitrate_should_be_retested(2.0)
    (True, False)
    """
    low, high = figure("private-well-readings", "nitrate_retest").value
    value = within("nitrate", nitrate, low=0.0, unit="mg/L as N")
    return bool(low <= value <= high)
