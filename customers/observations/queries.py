"""What people say about their water: the choices, and what was noted at a household."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from django.db.models import QuerySet

from customers.households.models import Site
from customers.observations.models import Observation
from sizing.engine.figures import figure


@dataclass(frozen=True)
class Symptom:
    """One thing people say. ``urgent`` ones are asked about first whatever turns out to be the cause."""

    code: str
    group: str
    words: str
    urgent: bool


def _choices() -> tuple[Symptom, ...]:
    return tuple(Symptom(*row) for row in figure("symptoms", "symptoms").value)


CHOICES: tuple[Symptom, ...] = _choices()
SYMPTOMS: Mapping[str, str] = MappingProxyType({symptom.code: symptom.words for symptom in CHOICES})
GROUPS: Mapping[str, str] = MappingProxyType(dict(figure("symptoms", "groups").value))


def open_observations(site: Site) -> QuerySet[Observation]:
    """What was noted and not cleared since, newest first."""
    return site.observations.filter(cleared_at__isnull=True)


def words_of(code: str) -> str:
    """The words of a code; the code itself for one that is no longer in the list."""
    return SYMPTOMS.get(code, code)
