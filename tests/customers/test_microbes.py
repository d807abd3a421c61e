"""Sequences of samples against the rule of two clear samples in a row after the remedy (common practice)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from customers.water_tests.microbes import Said, Sample, clears_in_a_row, said_by

REMEDY = date(2026, 6, 10)
WORDS = {"C": Said.CLEAR, "P": Said.FOUND, "-": Said.NOTHING}


def taken(sequence: str, *, place: str = "tap", laboratory: bool = True) -> list[Sample]:
    """One sample a day from the day after the remedy: C clear, P positive, - neither."""
    return [
        Sample(REMEDY + timedelta(days=n + 1), place, laboratory, WORDS[letter], n)
        for n, letter in enumerate(sequence)
    ]


@pytest.mark.parametrize(
    ("sequence", "clears"),
    [
        ("", 0),
        ("C", 1),
        ("CC", 2),
        ("CPC", 1),
        ("CP", 0),
        ("PCC", 2),
        ("CCP", 0),
        ("C-C", 2),
        ("--", 0),
        ("CPCPCC", 2),
        ("CCC", 3),
    ],
)
def test_clear_samples_in_a_row(sequence: str, clears: int) -> None:
    assert clears_in_a_row(taken(sequence), REMEDY, barrier=True, treated=True) == clears


def test_samples_up_to_the_day_of_the_remedy_do_not_count() -> None:
    samples = [Sample(REMEDY - timedelta(days=n), "tap", True, Said.CLEAR) for n in range(5)]
    assert clears_in_a_row(samples, REMEDY, barrier=True, treated=True) == 0


def test_two_bottles_of_one_day_are_one_sample() -> None:
    twice = [Sample(REMEDY + timedelta(days=1), "tap", True, Said.CLEAR, n) for n in range(2)]
    assert clears_in_a_row(twice, REMEDY, barrier=True, treated=True) == 1


def test_order_of_entry_does_not_matter() -> None:
    assert clears_in_a_row(reversed(taken("CPC")), REMEDY, barrier=True, treated=True) == 1


def test_a_field_kit_never_counts_as_clear_but_its_find_starts_again() -> None:
    assert clears_in_a_row(taken("CC", laboratory=False), REMEDY, barrier=True, treated=True) == 0
    mixed = taken("CCC")
    mixed[1] = Sample(mixed[1].on, "tap", False, Said.FOUND, 1)
    assert clears_in_a_row(mixed, REMEDY, barrier=True, treated=True) == 1


def test_raw_water_counts_only_where_nothing_stands_in_its_way() -> None:
    raw = taken("CC", place="raw")
    assert clears_in_a_row(raw, REMEDY, barrier=False, treated=True) == 0
    assert clears_in_a_row(raw, REMEDY, barrier=False, treated=False) == 2
    found = Sample(REMEDY + timedelta(days=9), "raw", True, Said.FOUND)
    assert clears_in_a_row([*taken("C"), found], REMEDY, barrier=True, treated=True) == 1
    assert clears_in_a_row([*taken("C"), found], REMEDY, barrier=False, treated=True) == 0


NONE = ("absent", None)


@pytest.mark.parametrize(
    ("results", "said"),
    [
        ({"total_coliform": NONE, "e_coli": NONE}, Said.CLEAR),
        ({"total_coliform": ("below", 1.0), "e_coli": ("equal", 0.0)}, Said.CLEAR),
        ({"total_coliform": ("present", None), "e_coli": NONE}, Said.FOUND),
        ({"total_coliform": ("above", None), "e_coli": NONE}, Said.FOUND),
        ({"total_coliform": ("equal", 4.0)}, Said.FOUND),
        ({"e_coli": ("above", 200.0)}, Said.FOUND),
        ({"total_coliform": NONE}, Said.NOTHING),
        ({"total_coliform": ("below", 10.0), "e_coli": NONE}, Said.NOTHING),
        ({"total_coliform": ("below", None), "e_coli": NONE}, Said.NOTHING),
        ({}, Said.NOTHING),
    ],
)
def test_what_a_sample_says(results: dict[str, tuple[str, float | None]], said: Said) -> None:
    assert said_by(results) is said
