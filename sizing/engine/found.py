"""Stages found at a place: which parts of them wear where nobody knows the make, and what is not known in words."""

from __future__ import annotations

from collections.abc import Iterable

from sizing.engine.design import LifeKind, LifeRule, StageKind, WearPart
from sizing.engine.figures import figure

SHEET = "found-stages"
CARTRIDGE = "cartridge"
UNREAD = "not read off yet"


def found_parts(kind: StageKind, form: str = "") -> tuple[WearPart, ...]:
    """The wearing parts of a stage of unknown make, with the lives the trade reckons by.

    Why: service can start from what is known, without waiting for a maker's name that nobody can read.
    Units: months; minutes.
    Range: any kind; ``form`` "cartridge" tells a carbon cartridge from a carbon tank. Specification and price are
    not known and say so.
    Raises: ``OutsideValidRange`` for a kind that has no row.
    Source: ``found-stages.toml`` (common practice; the maker's own interval counts once it is known).

    >>> [(part.code, part.life.amount) for part in found_parts(StageKind.UV)]
    [('lamp', 12.0), ('sleeve', 6.0), ('sleeve_rings', 12.0)]
    >>> found_parts(StageKind.CARBON, "cartridge")[0].name
    'Carbon cartridge'
    """
    row = "carbon_cartridge" if kind is StageKind.CARBON and form == CARTRIDGE else kind.value
    held = figure(SHEET, row)
    return tuple(
        WearPart(
            code=code,
            name=name,
            life=LifeRule(LifeKind(life), float(months), float(cap) or None, f"{held.status}, make not known"),
            specification=UNREAD,
            minutes=float(minutes),
            by_customer=own,
        )
        for code, name, life, months, cap, minutes, own in held.value
    )


def unknown_words(codes: Iterable[str]) -> tuple[str, ...]:
    """What is not known of a device, in words.

    Why: an unknown that is named gets read off at the next visit.
    Units: none.
    Range: codes of the device tables; one without words (a dealer's own) stands as it is, without underscores.
    Raises: nothing.
    Source: none needed (wording ours).

    >>> unknown_words(["lamp_hours", "colour_of_cap"])
    ('hours on the lamp', 'colour of cap')
    """
    known = figure(SHEET, "unknowns").value
    return tuple(str(known.get(code, code.replace("_", " "))) for code in codes)
