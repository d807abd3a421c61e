"""Words about stages for papers, checklists, the tablet and the household page, read from
``figures/practice``.

Plain data: what a kind of stage is called and does, the cautions its papers carry, how it is joined, what is
checked when it is set to work, and what is done at opening and closing. All wording is our own, from common
practice.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from sizing.engine.design import StageKind
from sizing.engine.errors import UnreadableValue
from sizing.engine.figures import FOLDER

SEASONS = ("opening", "closing")
WITH_ALWAYS_LAST = "local_codes"


@dataclass(frozen=True)
class Caution:
    """A caution: ``code`` is stable (for its sign on paper), ``title`` short, ``text`` what to do."""

    code: str
    title: str
    text: str


@dataclass(frozen=True)
class InstallNotes:
    """How a kind of stage is joined to the house."""

    joins: str
    bypass: str
    sample_tap: str
    drain: str
    electrical: str
    space: str


@dataclass(frozen=True)
class CommissionRow:
    """One line of the set-up table: what to do, and what it should show."""

    step: str
    expect: str


@dataclass(frozen=True)
class SeasonStep:
    """One line of an opening or closing checklist. ``kind`` is "place" for the work around the stages."""

    kind: str
    text: str
    who: str = "dealer"


@dataclass(frozen=True)
class RoutineTask:
    """Work between visits: who does it, and what."""

    kind: str
    text: str
    who: str


@dataclass(frozen=True)
class Frost:
    """What frost does to a kind of stage, and what travels home for the winter ("" = nothing)."""

    risk: str
    goes_home: str


@cache
def _file(name: str) -> dict[str, Any]:
    path = FOLDER / "practice" / f"{name}.toml"
    if not path.exists():
        raise UnreadableValue("kind", name, "one of " + ", ".join(StageKind))
    with path.open("rb") as handle:
        return tomllib.load(handle)


def _code(kind: StageKind | str) -> str:
    return kind.value if isinstance(kind, StageKind) else str(kind)


def plain_name(kind: StageKind | str) -> str:
    """What a kind of stage is called in plain words.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> plain_name(StageKind.ORGANICS)
    'Organics filter'
    """
    return str(_file(_code(kind))["name"])


def purpose(kind: StageKind | str) -> str:
    """What a kind of stage does, in one short line.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> purpose("uv")
    'Puts germs out of action with light'
    """
    return str(_file(_code(kind))["purpose"])


def household_words(kind: StageKind | str) -> str:
    """What a household should know of a kind of stage: what it does and what it asks of them.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> "salt" in household_words("softener")
    True
    """
    return str(_file(_code(kind))["household"])


def cautions_for(kinds: Iterable[StageKind | str]) -> tuple[Caution, ...]:
    """Cautions that a paper about these kinds of stage carries, each once, the deference to local codes last.

    Units: words.
    Range: any kinds of stage, also none.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> [caution.code for caution in cautions_for(["jacket"])]
    ['pressure', 'crawl_space', 'local_codes']
    """
    table = _file("cautions")
    wanted = {code for kind in kinds for code in _file(_code(kind))["cautions"]}
    wanted |= {code for code, row in table.items() if row.get("always")}
    order = [code for code in table if code in wanted and code != WITH_ALWAYS_LAST]
    return tuple(Caution(code, table[code]["title"], table[code]["text"]) for code in (*order, WITH_ALWAYS_LAST))


def cautions_named(codes: Iterable[str]) -> tuple[Caution, ...]:
    """Cautions by code, in the order asked, the deference to local codes last: for papers not about stages.

    Units: words.
    Range: codes of the table of cautions.
    Raises: ``UnreadableValue`` naming a code that is not in it.
    Source: common practice, own wording.

    >>> [caution.code for caution in cautions_named(["flame"])]
    ['flame', 'local_codes']
    """
    table = _file("cautions")
    order = [*dict.fromkeys(code for code in codes if code != WITH_ALWAYS_LAST), WITH_ALWAYS_LAST]
    for code in order:
        if code not in table:
            raise UnreadableValue("caution", code, "one of " + ", ".join(table))
    return tuple(Caution(code, table[code]["title"], table[code]["text"]) for code in order)


def install_notes(kind: StageKind | str) -> InstallNotes:
    """Joints, bypass, sample tap, drain, electrical and clear space of a kind of stage.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> install_notes("restrictor").drain
    'None'
    """
    return InstallNotes(**_file(_code(kind))["install"])


def commissioning_rows(kind: StageKind | str) -> tuple[CommissionRow, ...]:
    """What is done and read when a kind of stage is set to work.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> len(commissioning_rows("uv"))
    5
    """
    return tuple(CommissionRow(**row) for row in _file(_code(kind))["commission"])


def opening_steps(kind: StageKind | str) -> tuple[SeasonStep, ...]:
    """What is done to a kind of stage when a place opens.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> opening_steps("softener")[0].kind
    'softener'
    """
    return _season(kind, "opening")


def closing_steps(kind: StageKind | str) -> tuple[SeasonStep, ...]:
    """What is done to a kind of stage when a place closes before the frost.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> "lamp" in closing_steps("uv")[0].text.lower()
    True
    """
    return _season(kind, "closing")


def frost(kind: StageKind | str) -> Frost:
    """What frost does to a kind of stage, and what travels home.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> frost("restrictor").goes_home
    ''
    """
    return Frost(**_file(_code(kind))["freeze"])


def routine_tasks(kind: StageKind | str) -> tuple[RoutineTask, ...]:
    """Work between visits at a kind of stage.

    Units: words.
    Range: every kind of stage.
    Raises: ``UnreadableValue`` for another word.
    Source: common practice, own wording.

    >>> routine_tasks("screen")[0].who
    'household'
    """
    code = _code(kind)
    return tuple(RoutineTask(code, **row) for row in _file(code)["routine"])


def season_checklist(kinds: Iterable[StageKind | str], season: str) -> tuple[SeasonStep, ...]:
    """The whole checklist of an opening or a closing: the place, the stages that are there, the place again.

    Opening goes with the flow; closing too, after pump and heater are off. ``kinds`` in flow order.
    Units: words.
    Range: any kinds of stage; season "opening" or "closing".
    Raises: ``UnreadableValue`` for another kind or season.
    Source: common practice, own wording.

    >>> season_checklist(["uv"], "closing")[0].text
    'Heater power or gas off first, and a tag on its switch.'
    """
    if season not in SEASONS:
        raise UnreadableValue("season", season, "one of " + ", ".join(SEASONS))
    place = _file("place")
    before = tuple(SeasonStep("place", **row) for row in place[f"{season}_before"])
    after = tuple(SeasonStep("place", **row) for row in place[f"{season}_after"])
    stages = tuple(step for kind in kinds for step in _season(kind, season))
    return (*before, *stages, *after)


def _season(kind: StageKind | str, season: str) -> tuple[SeasonStep, ...]:
    code = _code(kind)
    return tuple(SeasonStep(code, **row) for row in _file(code)[season])
