"""What is asked about the people and the place beside the water itself, and how the engine hears of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from django.utils.translation import gettext_lazy

from sizing.engine.diagnosis_tables import Answer

L = gettext_lazy


@dataclass(frozen=True)
class Fact:
    """One fact: ``words`` is what a yes affirms, ``ask`` the question in plain words, ``picture`` its drawing."""

    code: str
    words: Any
    ask: Any
    picture: str
    hint: Any = ""


FACTS: Mapping[str, Fact] = MappingProxyType(
    {
        fact.code: fact
        for fact in (
            Fact("infants", L("Infants drink it"), L("Does a baby drink it, or is formula made with it?"), "infant"),
            Fact("pregnancy", L("Someone pregnant drinks it"), L("Does someone pregnant drink it?"), "people"),
            Fact(
                "weak_immunity",
                L("Someone with weak defences drinks it"),
                L("Does someone drink it whose body fights germs badly?"),
                "people",
                L("after an organ transplant, in cancer treatment, very old"),
            ),
            Fact(
                "barrier",
                L("A barrier against germs is in service"),
                L("Does a UV lamp, a chlorine feed or the like treat all of it, and is it running?"),
                "uv",
            ),
            Fact(
                "ro_guards",
                L("A reverse-osmosis unit is there for a health reason"),
                L("Is there a reverse-osmosis tap that was fitted for nitrate, arsenic, lead or fluoride?"),
                "ro",
            ),
            Fact(
                "seasonal", L("Used for a season only"), L("Is the place used for part of the year only?"), "season"
            ),
        )
    }
)
#: Facts the engine knows by the same name when they are answered yes.
HEARD = ("infants", "pregnancy", "weak_immunity", "ro_guards")
#: The engine's own question that the barrier's fact answers too.
BARRIER_SEEN = "barrier_fitted"


def facts_heard(facts: Mapping[str, Answer], observations: Mapping[str, Answer]) -> frozenset[str]:
    """The engine's facts. No barrier is one only where somebody said so: silence is not a no."""
    found = {code for code in HEARD if facts.get(code) == "yes"}
    barrier = facts.get("barrier")
    if barrier == "yes":
        found.add("barrier")
    elif barrier == "no" or (barrier is None and observations.get(BARRIER_SEEN) == "no"):
        found.add("no_barrier")
    return frozenset(found)


def observations_heard(facts: Mapping[str, Answer], observations: Mapping[str, Answer]) -> dict[str, Answer]:
    """The engine's answers: what was answered, and the barrier where only the fact speaks of it."""
    heard = dict(observations)
    if facts.get("barrier") in ("yes", "no"):
        heard.setdefault(BARRIER_SEEN, facts["barrier"])
    return heard
