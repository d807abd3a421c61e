"""The engine's sentences in the reader's units.

Conversions by hand: 1 gal = 3.785 L, 1 psi = 6.895 kPa, 1 gpg = 17.118 mg/L as CaCO3.
"""

from __future__ import annotations

import pytest

from service.office.bench_margins import margin_rows, profile_of, telling
from service.office.bench_words import KIND_WORDS, reader_of, short_label
from sizing.engine.design import Margin, StageKind
from tests.service.factories_service import a_train

UV = "UV class A, 33 L/min"
READER = reader_of("us", [UV, "Softener, 57 L resin"])


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        (f"{UV} needs 37.85 L/min to backwash", f"{UV} needs 10 gpm to backwash"),
        ("at peak the stages take 68.95 kPa", "at peak the stages take 10 psi"),
        ("hardness 325 mg/L as CaCO3, at most 120 mg/L as CaCO3", "hardness 19 gpg, at most 7.01 gpg"),
        (f"hardness from 325 to 120 mg/L as CaCO3, {UV}", f"hardness from 19 to 7.01 gpg, {UV}"),
        ("alkalinity 230 mg/L as CaCO3", "alkalinity 230 mg/L as CaCO₃"),
        ("Softener, 57 L resin needs 0.91 m of depth", "Softener, 57 L resin needs 2.99 ft of depth"),
        ("iron 2.8 mg/L, at most 0.3 mg/L", "iron 2.8 mg/L, at most 0.3 mg/L"),
        ("a filter of 5 um and 40 mJ/cm2", "a filter of 5 µm and 40 mJ/cm²"),
    ],
)  # fmt: skip
def test_us_readers_hear_us_units_and_products_keep_their_names(said: str, heard: str) -> None:
    assert READER.say(said).replace("\xa0", " ") == heard


def test_metric_readers_hear_what_was_said() -> None:
    assert reader_of("metric", []).say("needs 30 L/min, 200 kPa").replace("\xa0", " ") == "needs 30 L/min, 200 kPa"


def margin(code: str, value: float, limit: float, sense: str = "max") -> Margin:
    return Margin(code, f"Label of {code}", value, limit, "mg/L", sense)


def test_margins_have_short_names() -> None:
    assert short_label(margin("feed_uv_iron", 0.1, 0.3), "shower") == "Iron into UV"
    assert short_label(margin("feed_tap_carbon_ph", 7, 8), "shower") == "pH into carbon at a tap"
    assert short_label(margin("worst_fixture", 1, 2), "upstairs shower") == "Upstairs shower at peak"
    assert short_label(margin("unheard_of", 1, 2), "x") == "Label of unheard_of"
    assert set(KIND_WORDS) == set(StageKind)


def test_every_line_draws_the_same_margins_on_the_same_scale_and_what_is_broken_first_of_its_sort() -> None:
    one = a_train()
    margins = (margin("goal_iron_entry", 0.1, 0.3), margin("goal_a_entry", 1, 100), margin("goal_b_entry", 1, 90))
    broken = (margin("goal_iron_entry", 0.2, 0.3), margin("goal_a_entry", 120, 100), margin("goal_b_entry", 1, 90))
    lines = [_with(one, margins), _with(one, broken)]
    assert telling(lines)[0] == "goal_a_entry"
    first, second = margin_rows(lines, "metric", "shower")
    assert [line.label for line in first] == [line.label for line in second]
    assert [(line.low, line.high, line.apart) for line in first] == [(x.low, x.high, x.apart) for x in second]
    assert "past" in next(line.said for line in second if not line.held)


def _with(train: object, margins: tuple[Margin, ...]) -> object:
    from dataclasses import replace

    return replace(train, margins=margins)  # type: ignore[type-var]


def test_the_profile_ends_at_the_fixture_in_the_readers_units() -> None:
    train = _with(a_train(), (Margin("worst_fixture", "w", 137.9, 103.4, "kPa", "min", "pressure"),))
    profile = profile_of(train, "us", "upstairs shower")  # type: ignore[arg-type]
    assert profile is not None
    assert (profile.steps[-1].name, profile.steps[-1].text, profile.unit) == ("shower", "20", "psi")
    assert profile.least is not None
    assert profile.least.value == pytest.approx(15.0, abs=0.01)
    assert [step.name for step in profile.steps[:-1]] == ["A", "B", "C", "D"][: len(profile.steps) - 1]
    assert profile_of(_with(a_train(), ()), "us", "shower") is None  # type: ignore[arg-type]
