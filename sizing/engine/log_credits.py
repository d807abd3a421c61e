"""How many logs of which germs a line must take out or put out of action, by the rule it is held to."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sizing.engine.design import SourceType
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import Figure, figure
from sizing.engine.ranges import within

ORGANISMS = ("cryptosporidium", "giardia", "virus")
Logs = tuple[float, float, float]
"""Log credits in the order of ``ORGANISMS``."""

NO_LOGS: Logs = (0.0, 0.0, 0.0)
GERM_WORDS = MappingProxyType({"cryptosporidium": "Cryptosporidium", "giardia": "Giardia", "virus": "viruses"})
SURFACE, INFLUENCED, GROUND = "surface water", "groundwater under the influence of surface water", "groundwater"
CLASS_OF = MappingProxyType(
    {
        SourceType.LAKE: SURFACE,
        SourceType.RIVER: SURFACE,
        SourceType.CISTERN: SURFACE,
        SourceType.SPRING: INFLUENCED,
        SourceType.DUG_WELL: INFLUENCED,
        SourceType.DRILLED_WELL: GROUND,
    }
)
HOUSEHOLD = "household"
RULES = (HOUSEHOLD, "health_canada", "us_public", "quebec")


@dataclass(frozen=True)
class Required:
    """Logs wanted by organism (none = none wanted), the class of the source, and where the rule stands."""

    logs: Mapping[str, float]
    source_class: str
    citation: str = ""


def source_class(source: SourceType) -> str:
    """The class of a source that rules on germs go by.

    Units: none.
    Range: any source type.
    Raises: nothing.
    Source: surface water, groundwater under its influence, groundwater (40 CFR 141.2, from memory); which household
    source falls where is common practice.

    >>> source_class(SourceType.DUG_WELL)
    'groundwater under the influence of surface water'
    """
    return CLASS_OF[source]


def required_logs(rule: str, source: SourceType, e_coli: float | None, *, found: bool) -> Required:
    """The log credits a rule asks for, for one source.

    Why: a lodge or a rented cabin may be held to more than the household's class A unit.
    Units: E. coli per 100 mL (``None`` = not tested), logs out; ``found`` = coliforms or E. coli were found.
    Range: the rules of ``RULES``; "household" counts the dose of a class A unit instead and asks for no logs. Quebec
    goes by bands of E. coli; untested water is put in the lowest band. Clear groundwater is asked for nothing.
    Raises: ``OutsideValidRange`` for another rule, or a negative count.
    Source: 40 CFR 141.70; Health Canada, enteric protozoa and viruses, 2019; Quebec Q-2 r. 40 s. 5.1 (published; the
    lines on groundwater, and the United States line on Cryptosporidium, from memory).

    >>> required_logs("us_public", SourceType.LAKE, 3.0, found=True).logs["virus"]
    4.0
    >>> dict(required_logs("us_public", SourceType.DRILLED_WELL, 0.0, found=False).logs)
    {}
    """
    if rule not in RULES:
        raise OutsideValidRange("rule on germs", rule, source=f"one of {', '.join(RULES)}")
    if e_coli is not None:
        within("E. coli", e_coli, low=0.0, unit="per 100 mL")
    group = CLASS_OF[source]
    if rule == HOUSEHOLD or (group == GROUND and not found):
        return Required({}, group)
    asked = _asked(rule, group, e_coli or 0.0)
    return Required(
        {organism: float(row) for organism, (row, _) in asked.items()},
        group,
        "; ".join(dict.fromkeys(f"{cited.citation} ({cited.status})" for _, cited in asked.values())),
    )


def _asked(rule: str, group: str, e_coli: float) -> dict[str, tuple[float, Figure]]:
    """Logs and their figure, by organism."""
    if rule == "health_canada":
        protozoa, virus = figure("health-canada-enteric", "protozoa"), figure("health-canada-enteric", "virus")
        names = ("virus",) if group == GROUND else ORGANISMS
        rows = {"cryptosporidium": protozoa, "giardia": protozoa, "virus": virus}
        return {name: (rows[name].value, rows[name]) for name in names}
    document = "ecfr-40-141-70" if rule == "us_public" else "quebec-q2-r40"
    if group == GROUND:
        row = figure(document, "groundwater_virus")
        return {"virus": (row.value, row)}
    if rule == "us_public":
        return {name: (figure(document, name).value, figure(document, name)) for name in ORGANISMS}
    band = bisect_left(figure(document, "bands").value, e_coli)
    return {name: (figure(document, name).value[band], figure(document, name)) for name in ORGANISMS}
