"""Which bottles a set of tests needs, how long they keep, and how they are drawn."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import FOLDER, figure
from sizing.engine.water import ANALYTES

MODES = ("flushed", "first_draw")
AT_TAP = "at_tap"
FIRST_DRAW = "first_draw"


@dataclass(frozen=True)
class BottleKind:
    """A kind of bottle as it is usually asked for. ``hold_h`` by analyte; ``hazard`` "acid", "alkali" or none."""

    code: str
    name: str
    container: str
    volume_ml: int
    count: int
    preservation: str
    fill: str
    hazard: str
    mode: str
    hold_h: Mapping[str, float]
    sources: Mapping[str, str]


@dataclass(frozen=True)
class OwnBottle:
    """What one laboratory asks for instead; an empty field keeps the usual one."""

    container: str = ""
    volume_ml: int | None = None
    preservation: str = ""
    hold_h: float | None = None


@dataclass(frozen=True)
class Bottle:
    """A bottle to take along: what for, and the hours from drawing to the start of the analysis.

    ``hold_source`` names the table behind the hours, or the laboratory's own word; ``shortest`` the analyte
    that sets them.
    """

    kind: BottleKind
    container: str
    volume_ml: int
    count: int
    preservation: str
    analytes: tuple[str, ...]
    hold_h: float
    shortest: str
    hold_source: str

    @property
    def name(self) -> str:
        """What it is called."""
        return self.kind.name


@dataclass(frozen=True)
class Package:
    """A set of tests usually asked for together."""

    code: str
    name: str
    why: str
    analytes: tuple[str, ...]


@cache
def _file() -> dict[str, Any]:
    with (FOLDER / "practice" / "sampling.toml").open("rb") as handle:
        return tomllib.load(handle)


@cache
def bottle_kinds() -> tuple[BottleKind, ...]:
    """Every kind of bottle, in the order in which they are filled.

    Why: the laboratory's page lists them, so that its own wishes can be set beside the usual ones.
    Units: mL, hours.
    Range: none.
    Raises: nothing.
    Source: 40 CFR 136.3 Table II, 40 CFR 141.852 and method sheets, each hour with its own citation;
    containers and volumes common practice.

    >>> bottle_kinds()[-1].name
    'Microbes'
    """
    kinds = []
    for code, row in sorted(_file()["bottles"].items(), key=lambda item: item[1]["order"]):
        held = {analyte: figure(*where) for analyte, where in row["analytes"].items()}
        kinds.append(
            BottleKind(
                code=code,
                name=row["name"],
                container=row["container"],
                volume_ml=row["volume_ml"],
                count=row["count"],
                preservation=row["preservation"],
                fill=row["fill"],
                hazard=row.get("hazard", ""),
                mode=row.get("mode", "flushed"),
                hold_h={analyte: float(found.value) for analyte, found in held.items()},
                sources={analyte: f"{found.citation} ({found.status})" for analyte, found in held.items()},
            )
        )
    return tuple(kinds)


@cache
def packages() -> tuple[Package, ...]:
    """Sets of tests usually asked for together.

    Why: nobody ticks twenty parameters with the phone on the shoulder.
    Units: words.
    Range: none.
    Raises: nothing.
    Source: common practice.

    >>> packages()[0].analytes
    ('total_coliform', 'e_coli')
    """
    return tuple(
        Package(code, row["name"], row["why"], tuple(row["analytes"])) for code, row in _file()["packages"].items()
    )


def known_analytes(codes: Iterable[str]) -> tuple[str, ...]:
    """The codes in the order of the engine's table, each once.

    Why: a plan lists its tests the same way everywhere.
    Units: none.
    Range: analytes of the engine.
    Raises: ``OutsideValidRange`` naming a code that is not one.
    Source: none.

    >>> known_analytes(["iron", "ph", "iron"])
    ('ph', 'iron')
    """
    wanted = set(codes)
    for code in sorted(wanted - set(ANALYTES)):
        raise OutsideValidRange("analyte", code, source="the engine's table of analytes")
    return tuple(code for code in ANALYTES if code in wanted)


def drawn_in(codes: Iterable[str], mode: str) -> tuple[str, ...]:
    """Which of the tests a draw in this mode can carry: everything when flushed, pipe metals as first draw.

    Why: first-draw water tells of the pipes; nothing else is asked of it.
    Units: none.
    Range: analytes of the engine; "flushed" or "first_draw".
    Raises: ``OutsideValidRange`` for another mode or an unknown analyte.
    Source: first draw for lead and copper, 40 CFR 141.86(b) (from memory); zinc and cadmium common practice.

    >>> drawn_in(["lead", "nitrate"], "first_draw")
    ('lead',)
    """
    if mode not in MODES:
        raise OutsideValidRange("mode", mode, source="flushed or first_draw")
    known = known_analytes(codes)
    if mode == "flushed":
        return known
    first = next(kind for kind in bottle_kinds() if kind.code == FIRST_DRAW)
    return tuple(code for code in known if code in first.hold_h)


def bottles_for(
    codes: Iterable[str], mode: str = "flushed", own: Mapping[str, OwnBottle] | None = None
) -> tuple[Bottle, ...]:
    """Bottles for a set of tests, in the order in which they are filled; the last row of each is its hours.

    Why: a missing bottle is a second trip, an old one a lost sample.
    Units: analyte codes in; mL and hours out. ``own`` by code of the bottle: what the laboratory asks instead.
    Range: analytes of the engine; own hours above 0.
    Raises: ``OutsideValidRange`` for an unknown analyte or mode, or own hours of 0 or less.
    Source: see ``bottle_kinds``; the shortest holding time in a bottle is the bottle's.

    >>> [bottle.name for bottle in bottles_for(["nitrate", "iron", "e_coli"])]
    ['Plain', 'Metals', 'Microbes']
    >>> bottles_for(["nitrate", "alkalinity"])[0].hold_h
    48.0
    >>> bottles_for(["e_coli"], own={"microbes": OwnBottle(hold_h=24.0)})[0].hold_source
    "the laboratory's own"
    """
    wanted = drawn_in(codes, mode)
    left = set(wanted)
    found = []
    for kind in bottle_kinds():
        if kind.mode != mode:
            continue
        held = tuple(code for code in wanted if code in kind.hold_h and code in left)
        if not held:
            continue
        left -= set(held)
        shortest = min(held, key=lambda code, kind=kind: kind.hold_h[code])  # type: ignore[misc]
        bottle = Bottle(
            kind=kind,
            container=kind.container,
            volume_ml=kind.volume_ml,
            count=kind.count,
            preservation=kind.preservation,
            analytes=held,
            hold_h=kind.hold_h[shortest],
            shortest=shortest,
            hold_source=kind.sources[shortest],
        )
        found.append(_as_asked(bottle, (own or {}).get(kind.code)))
    return tuple(found)


def _as_asked(bottle: Bottle, own: OwnBottle | None) -> Bottle:
    """The bottle with the laboratory's wishes."""
    if own is None:
        return bottle
    if own.hold_h is not None and own.hold_h <= 0:
        raise OutsideValidRange("holding time", own.hold_h, low=0.0, unit="h", low_open=True)
    return replace(
        bottle,
        container=own.container or bottle.container,
        volume_ml=bottle.volume_ml if own.volume_ml is None else own.volume_ml,
        preservation=own.preservation or bottle.preservation,
        hold_h=bottle.hold_h if own.hold_h is None else own.hold_h,
        hold_source=bottle.hold_source if own.hold_h is None else "the laboratory's own",
    )


def sent(bottles: Iterable[Bottle]) -> tuple[Bottle, ...]:
    """The bottles that go to the laboratory: all but what is measured at the tap.

    Why: only these have to be there in time.
    Units: none.
    Range: any bottles.
    Raises: nothing.
    Source: none.

    >>> sent(bottles_for(["ph"]))
    ()
    """
    return tuple(bottle for bottle in bottles if bottle.kind.code != AT_TAP)


def steps_of(bottles: Iterable[Bottle]) -> tuple[str, ...]:
    """How to draw these bottles, step by step, only what they need.

    Why: the sheet is read with wet hands; a step for a bottle that is not there is one too many.
    Units: words; minutes and hours in them.
    Range: any bottles.
    Raises: nothing.
    Source: US EPA, Private water systems, and laboratories' collection sheets for minutes and hours; order and
    wording common practice.

    >>> len(steps_of(bottles_for(["iron"]))) < len(steps_of(bottles_for(["iron", "e_coli"])))
    True
    >>> steps_of(bottles_for(["lead"], "first_draw"))[0].startswith("First draw")
    True
    """
    needed = {""}
    for bottle in bottles:
        needed |= _needs(bottle.kind)
    numbers = {
        key: f"{figure('sampling-methods', key).value:g}"
        for key in ("standing_hours", "flush_minutes", "idle_flush_minutes")
    }
    return tuple(row["text"].format(**numbers) for row in _file()["steps"] if row["when"] in needed)


def _needs(kind: BottleKind) -> set[str]:
    """Which steps a bottle calls for."""
    gases = {"voc", "radon", "sulphide"}
    return {
        kind.mode,
        *({"acid"} if kind.hazard else ()),
        *({"gas"} if kind.code in gases else ()),
        *({kind.code} & {"pfas", "filtered", AT_TAP}),
        *({"microbes"} if kind.code in ("microbes", "iron_bacteria") else ()),
    }


def hold_words(hours: float) -> str:
    """A holding time as papers print it.

    Why: "336 h" is read wrong, "14 days" is not.
    Units: hours in, words out.
    Range: above 0.
    Raises: nothing.
    Source: none.

    >>> hold_words(0.25), hold_words(30), hold_words(48), hold_words(336), hold_words(4320)
    ('15 min', '30 h', '48 h', '14 days', '6 months')
    """
    if hours < 1:
        return f"{hours * 60:g} min"
    if hours <= 72 or hours % 24:
        return f"{hours:g} h"
    days = hours / 24
    return f"{days / 30:g} months" if days >= 60 and days % 30 == 0 else f"{days:g} days"
