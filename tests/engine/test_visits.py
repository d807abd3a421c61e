"""Grouping work into trips: by hand, and properties over any work."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine.errors import OutsideValidRange
from sizing.engine.visits import Task, group_visits

SPRING, AUTUMN = date(2027, 5, 1), date(2026, 10, 10)
days = st.integers(0, 900).map(lambda n: date(2026, 1, 1) + timedelta(days=n))
work = st.lists(days, max_size=25).map(lambda ds: [Task(f"part {i}", d) for i, d in enumerate(ds)])


def trips(tasks, **terms):
    return [(v.on, v.reason, v.keys) for v in group_visits(tasks, **{"window_days": 30, **terms})]


def test_what_falls_due_while_laid_up_waits_for_the_opening():
    tasks = [Task("lamp", date(2027, 1, 15)), Task("membrane", date(2027, 5, 20)), Task("media", date(2027, 9, 1))]
    assert trips(tasks, opening=SPRING, closing=AUTUMN) == [
        (SPRING, "opening", ("lamp", "membrane")),
        (date(2027, 9, 1), "service", ("media",)),
    ]


def test_in_use_it_is_done_in_time():
    tasks = [Task("lamp", date(2026, 7, 1)), Task("sleeve", date(2026, 7, 20)), Task("salt", date(2026, 9, 1))]
    assert trips(tasks, opening=SPRING, closing=AUTUMN) == [
        (date(2026, 7, 1), "service", ("lamp", "sleeve")),
        (date(2026, 9, 1), "service", ("salt",)),
    ]


def test_a_place_laid_up_now_has_only_its_opening():
    assert trips([Task("lamp", date(2026, 12, 1))], opening=SPRING, closing=None) == [(SPRING, "opening", ("lamp",))]


def test_with_the_closing_where_no_opening_is_planned():
    tasks = [Task("lamp", AUTUMN + timedelta(days=12))]
    assert trips(tasks, opening=None, closing=AUTUMN) == [(AUTUMN, "closing", ("lamp",))]


def test_no_work_no_trip():
    assert trips([], opening=SPRING, closing=AUTUMN) == []


def test_a_window_below_nothing_is_refused():
    with pytest.raises(OutsideValidRange, match="window is -1"):
        group_visits([], opening=None, closing=None, window_days=-1)


@settings(deadline=None, max_examples=60)
@given(work, st.none() | days, st.none() | days, st.integers(0, 120))
def test_every_task_is_done_once(tasks, opening, closing, window):
    visits = group_visits(tasks, opening=opening, closing=closing, window_days=window)
    done = [key for visit in visits for key in visit.keys]
    assert sorted(done) == sorted(task.key for task in tasks)
    assert list(visits) == sorted(visits, key=lambda v: (v.on, v.reason))


@settings(deadline=None, max_examples=60)
@given(work, st.none() | days, st.none() | days, st.integers(0, 120))
def test_never_too_early_and_late_only_while_laid_up(tasks, opening, closing, window):
    due = {task.key: task.due for task in tasks}
    for visit in group_visits(tasks, opening=opening, closing=closing, window_days=window):
        for key in visit.keys:
            assert (due[key] - visit.on).days <= window
            if visit.reason != "opening":
                assert visit.on <= due[key]


@settings(deadline=None, max_examples=60)
@given(work, st.integers(0, 60), st.integers(0, 60))
def test_a_wider_window_never_takes_more_trips(tasks, window, more):
    few = group_visits(tasks, opening=None, closing=None, window_days=window + more)
    many = group_visits(tasks, opening=None, closing=None, window_days=window)
    assert len(few) <= len(many)
