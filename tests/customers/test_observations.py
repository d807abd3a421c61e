"""Symptoms: the list, several at once, all or none."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from customers.observations.actions import (
    ObservationRefused,
    Said,
    clear_observation,
    note_observation,
    note_observations,
)
from customers.observations.models import Observation
from customers.observations.queries import CHOICES, GROUPS, SYMPTOMS, open_observations


def test_every_symptom_has_a_group_and_words_of_its_own() -> None:
    assert len(SYMPTOMS) == len(CHOICES) == 34
    assert {symptom.group for symptom in CHOICES} == set(GROUPS)
    assert len(set(SYMPTOMS.values())) == len(SYMPTOMS)


def test_several_at_once(site: Any, now: datetime) -> None:
    said = [Said("tea_clear", "both", "brown bath"), Said("egg_hot", "hot", since="since May")]
    rows = note_observations(site=site, actor_name="Maren", now=now, said=said)
    assert [(r.code, r.where, r.words, r.since) for r in rows] == [
        ("tea_clear", "both", "brown bath", ""),
        ("egg_hot", "hot", "", "since May"),
    ]
    assert site.log.get().who == "Maren"


@pytest.mark.parametrize("said", [[], [Said("sparkles")], [Said("salty"), Said("salty", "roof")]])
def test_all_or_none(site: Any, now: datetime, said: list[Said]) -> None:
    with pytest.raises(ObservationRefused):
        note_observations(site=site, actor_name="Maren", now=now, said=said)
    assert not Observation.objects.exists()


def test_clearing_keeps_the_first_time(site: Any, now: datetime) -> None:
    row = note_observation(site=site, actor_name="Maren", now=now, code="salty")
    clear_observation(observation=row, actor_name="Birgit", now=now)
    clear_observation(observation=row, actor_name="Birgit", now=now.replace(year=2027))
    assert row.cleared_at == now
    assert not open_observations(site).exists()
