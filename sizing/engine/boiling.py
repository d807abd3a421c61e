"""When boiling helps, for how long, and when it must be refused."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.ranges import within
from sizing.engine.water import ANALYTES, Number

OTHER_PROBLEMS = ("fuel", "algal_toxins")
MICROBES = ("e_coli", "total_coliform")


def boil_minutes(elevation_m: float | None = None, agency: str | None = None) -> float:
    """Minutes of rolling boil to print.

    Why: agencies differ in time and altitude; one sheet needs one answer, on the careful side.
    Units: m above sea in (``None`` = unknown), min out; ``agency`` "cdc", "epa", "health_canada", "who" or ``None``
    for the one careful rule.
    Range: elevation -500 to 9,000 m.
    Raises: ``OutsideValidRange`` outside that or for another agency.
    Source: Dorris and others 2025 (published); 3 min above 1,500 m or unknown (computed, the strictest).

    >>> boil_minutes(100.0), boil_minutes(), boil_minutes(1800.0, "health_canada")
    (1.0, 3.0, 1.0)
    """
    if elevation_m is not None:
        elevation_m = float(within("elevation", elevation_m, low=-500.0, high=9000.0, unit="m"))
    known = figure("boil-water", "minutes").value
    if agency is None:
        most, above = figure("boil-water", "one_rule").value
        return float(most if elevation_m is None or elevation_m > above else known["epa"][0])
    if agency not in known:
        raise OutsideValidRange("agency", agency, source=f"known are {', '.join(known)}")
    low, high, above = known[agency]
    return float(high if elevation_m is None or elevation_m > above else low)


def concentration_after_boiling(value: Number, evaporated: Number) -> Any:
    """What a dissolved substance rises to when water boils away.

    Why: 9 mg/L of nitrate becomes more than 11 when a fifth has boiled off: a passing water becomes a failing one.
    Units: any concentration and a fraction in, the same concentration out; floats or arrays.
    Range: value 0 and more, fraction 0 to 0.95.
    Raises: ``OutsideValidRange`` outside that.
    Source: C / (1 - f), mass balance (computed).

    >>> concentration_after_boiling(9.0, 0.2)
    11.25
    """
    value = within("concentration", value, low=0.0)
    return value / (1.0 - within("share evaporated", evaporated, low=0.0, high=0.95))


def boiling_helps(problems: Iterable[str]) -> bool:
    """Whether boiling may be named as a stopgap for a set of problems.

    Why: boiling kills microbes and concentrates everything else; with nitrate or a metal in play the advice is
    another supply.
    Units: analyte codes, "fuel" or "algal_toxins" (the problems that were found).
    Range: known codes; at least one.
    Raises: ``OutsideValidRange`` for an unknown code or none at all.
    Source: KFL&A Public Health and an EPA leaflet (published); algal toxins from memory.

    >>> boiling_helps(["e_coli"]), boiling_helps(["e_coli", "nitrate"])
    (True, False)
    """
    found = list(problems)
    if not found:
        raise OutsideValidRange("problems", "none", source="boiling is advised for a problem, not in general")
    for code in found:
        if code not in ANALYTES and code not in OTHER_PROBLEMS:
            raise OutsideValidRange("problem", code, source="analyte codes, fuel, algal_toxins")
    return all(code in MICROBES for code in found)


def boiling_advice(problems: Iterable[str], elevation_m: float | None = None) -> Finding:
    """The advice to print on boiling for a set of problems.

    Why: one wording on every screen and paper.
    Units: analyte codes, "fuel" or "algal_toxins"; m.
    Range: as ``boiling_helps`` and ``boil_minutes``.
    Raises: ``OutsideValidRange`` as there.
    Source: see ``boiling_helps`` and ``boil_minutes``.

    >>> boiling_advice(["nitrate"]).code
    'boiling.refused'
    """
    found = list(problems)
    if boiling_helps(found):
        minutes = boil_minutes(elevation_m)
        return Finding(
            "boiling.stopgap",
            Severity.HEALTH,
            f"Until this is put right, bring water for drinking, cooking and teeth to a rolling boil for "
            f"{minutes:g} min.",
            "A stopgap only; use another supply if you can.",
            found[0],
            figure("boil-water", "minutes").citation,
        )
    others = [ANALYTES[c].name.lower() if c in ANALYTES else c.replace("_", " ") for c in found if c not in MICROBES]
    return Finding(
        "boiling.refused",
        Severity.HEALTH,
        f"Do not boil the water against {', '.join(others)}: boiling does not remove it and can concentrate it.",
        "Use another supply for drinking and cooking, above all for infants.",
        next(code for code in found if code not in MICROBES),
        figure("boil-water", "not_by_boiling").citation,
    )
