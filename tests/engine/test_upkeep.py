"""Due dates: calendar facts, the rules of the trade by hand, and properties over any dates."""

from datetime import date, timedelta
from itertools import islice

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine.design import LifeKind, LifeRule, WearPart
from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.upkeep import (
    OpenSpell,
    Use,
    add_months,
    hours_per_year,
    next_due,
    next_opening,
    occurrences,
    open_days,
    operating_months,
    renewals_per_year,
)

SUMMER = (5, 6, 7, 8, 9, 10)
YEAR = Use()
LAMP = LifeRule(LifeKind.OPERATING, 12, cap_months=24)
CARTRIDGE = LifeRule(LifeKind.OPENING, 12)
MEMBRANE = LifeRule(LifeKind.CALENDAR, 48)
dates = st.dates(min_value=date(2000, 1, 1), max_value=date(2080, 12, 31))
patterns = st.sets(st.integers(1, 12), min_size=1).map(lambda months: tuple(sorted(months)))
rules = st.builds(
    LifeRule,
    st.sampled_from([LifeKind.CALENDAR, LifeKind.OPERATING, LifeKind.OPENING, LifeKind.CONDITION]),
    st.integers(1, 60).map(float),
    st.none() | st.integers(1, 90).map(float),
)


def due(life, anchor, use=YEAR, today=None):
    return next_due(life, anchor, use, today or anchor)


@pytest.mark.parametrize(
    ("anchor", "months", "result"),
    [
        # facts of the calendar
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2025, 1, 31), 1, date(2025, 2, 28)),
        (date(2025, 1, 31), 2, date(2025, 3, 31)),
        (date(2023, 11, 30), 3, date(2024, 2, 29)),
        (date(2025, 12, 31), 6, date(2026, 6, 30)),
        (date(2026, 11, 25), 0, date(2026, 11, 25)),
    ],
)
def test_months_of_the_calendar(anchor, months, result):
    assert add_months(anchor, months) == result


def test_monthly_dates_do_not_drift_from_the_thirty_first():
    days = [d.day for d in islice(occurrences(date(2025, 1, 31), 1), 12)]
    assert days == [28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31, 31]


def test_a_leap_day_comes_back_in_leap_years():
    years = list(islice(occurrences(date(2024, 2, 29), 12), 4))
    assert years == [date(2025, 2, 28), date(2026, 2, 28), date(2027, 2, 28), date(2028, 2, 29)]


def test_a_lamp_lived_with_all_year_lasts_a_year():
    # 12 months of operation (common practice)
    assert due(LAMP, date(2026, 3, 15)).on == date(2027, 3, 15)


def test_a_lamp_at_a_six_month_place_gets_two_seasons():
    # rule of the trade: a place open six months, the lamp unplugged between, gets two seasons
    answer = due(LAMP, date(2026, 5, 1), Use(months_open=SUMMER), today=date(2026, 11, 1))
    assert answer.on == date(2028, 5, 1)
    assert answer.used == pytest.approx(0.5)
    assert not answer.overdue(date(2028, 4, 30))
    assert answer.overdue(date(2028, 5, 1))


def test_two_seasons_at_most_however_short():
    # "every 2 seasons at most": three summer months a year would make four seasons out of twelve months
    assert due(LAMP, date(2026, 6, 1), Use(months_open=(6, 7, 8))).on == date(2028, 6, 1)


def test_a_lamp_without_a_cap_counts_on():
    bare = LifeRule(LifeKind.OPERATING, 12)
    assert due(bare, date(2026, 6, 1), Use(months_open=(6, 7, 8))).on == date(2030, 6, 1)


def test_closed_months_do_not_age_a_lamp():
    use = Use(months_open=SUMMER)
    autumn = due(LAMP, date(2026, 5, 1), use, today=date(2026, 11, 1)).used
    spring = due(LifeRule(LifeKind.OPERATING, 12), date(2026, 5, 1), use, today=date(2027, 4, 30)).used
    assert spring == pytest.approx(autumn)


def test_what_really_happened_counts_before_the_pattern():
    # opened two months late: four months used by November, eight left; six in 2027, two in 2028, due 1 July 2028
    spells = (OpenSpell(date(2026, 7, 1), date(2026, 11, 1)),)
    use = Use(months_open=SUMMER, spells=spells, known_until=date(2026, 11, 1))
    bare = LifeRule(LifeKind.OPERATING, 12)
    assert due(bare, date(2026, 5, 1), use).on == date(2028, 7, 1)
    assert operating_months(date(2026, 5, 1), date(2026, 11, 1), use) == 4.0


def test_cartridges_are_new_at_each_opening():
    assert due(CARTRIDGE, date(2026, 5, 12), Use(months_open=SUMMER)).on == date(2027, 5, 1)


def test_a_cartridge_fitted_just_before_the_opening_is_that_openings():
    assert due(CARTRIDGE, date(2026, 4, 25), Use(months_open=SUMMER)).on == date(2027, 4, 25)


def test_cartridges_last_a_year_at_most():
    assert due(CARTRIDGE, date(2026, 2, 10)).on == date(2027, 2, 10)
    assert due(LifeRule(LifeKind.OPENING, 6), date(2026, 5, 2), Use(months_open=SUMMER)).on == date(2026, 11, 2)


def test_a_membrane_runs_on_the_calendar():
    assert due(MEMBRANE, date(2024, 2, 29)).on == date(2028, 2, 29)


def test_litres_follow_the_draw_on_open_days():
    # 60,000 L at 1,000 L a day: sixty open days from 1 May are over on 30 June; thirty left from 15 May on 14 June
    rule = LifeRule(LifeKind.LITRES, 60_000, cap_months=12)
    use = Use(months_open=SUMMER, litres_per_day=1000)
    assert due(rule, date(2026, 5, 1), use).on == date(2026, 6, 30)
    metered = Use(months_open=SUMMER, litres_per_day=1000, litres_so_far=30_000, metered_on=date(2026, 5, 15))
    assert due(rule, date(2026, 5, 1), metered).on == date(2026, 6, 14)


def test_litres_without_a_draw_are_asked_for():
    with pytest.raises(MissingEvidence, match="daily draw or a meter"):
        due(LifeRule(LifeKind.LITRES, 5000), date(2026, 5, 1))
    assert due(LifeRule(LifeKind.LITRES, 5000, cap_months=12), date(2026, 5, 1)).on == date(2027, 5, 1)


def test_condition_is_looked_at():
    answer = due(LifeRule(LifeKind.CONDITION, 6), date(2026, 1, 31))
    assert answer.on == date(2026, 7, 31)
    assert "looked at" in answer.words


def test_next_opening_of_two_seasons_a_year():
    use = Use(months_open=(1, 2, 7, 8))
    assert next_opening(date(2026, 3, 1), use) == date(2026, 7, 1)
    assert next_opening(date(2026, 7, 1), use) == date(2027, 1, 1)
    assert next_opening(date(2026, 7, 1), YEAR) is None


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Use(months_open=()), "months open is none"),
        (lambda: Use(months_open=(0, 5)), "month open is 0"),
        (lambda: Use(litres_per_day=-1), "litres per day is -1"),
        (lambda: due(LifeRule(LifeKind.CALENDAR, 0), date(2026, 1, 1)), "life is 0"),
        (lambda: next(occurrences(date(2026, 1, 1), 0)), "interval is 0"),
    ],
)
def test_impossible_input_is_named(make, words):
    with pytest.raises(OutsideValidRange, match=words):
        make()


def test_renewals_and_hours():
    # half a lamp a year at a six-month place; two openings a year take two cartridges
    assert renewals_per_year(LAMP, SUMMER, 600) == 0.5
    assert renewals_per_year(CARTRIDGE, (1, 2, 7, 8), 600) == 2.0
    assert renewals_per_year(LifeRule(LifeKind.LITRES, 100_000), tuple(range(1, 13)), 1000) == pytest.approx(3.65)
    part = WearPart("cartridge", "Cartridge", CARTRIDGE, minutes=15)
    assert hours_per_year([part, part], SUMMER, 600) == 0.5


@settings(deadline=None, max_examples=60)
@given(dates, st.integers(0, 600))
def test_adding_months_keeps_the_day_or_takes_the_last(anchor, months):
    result = add_months(anchor, months)
    assert (result.year * 12 + result.month) - (anchor.year * 12 + anchor.month) == months
    assert result.day == anchor.day or (result + timedelta(days=1)).day == 1


@settings(deadline=None, max_examples=60)
@given(dates, st.integers(1, 40), st.integers(1, 40))
def test_the_nth_date_is_reckoned_from_the_anchor(anchor, every, n):
    assert next(islice(occurrences(anchor, every), n - 1, None)) == add_months(anchor, every * n)


@settings(deadline=None, max_examples=60)
@given(dates, patterns, st.integers(0, 900), st.integers(0, 900))
def test_open_days_add_up_and_stay_within_the_calendar(start, months, first, second):
    use = Use(months_open=months)
    middle, end = start + timedelta(days=first), start + timedelta(days=first + second)
    assert open_days(start, middle, use) + open_days(middle, end, use) == open_days(start, end, use)
    assert 0 <= open_days(start, end, use) <= first + second
    assert open_days(start, end, YEAR) == first + second


@settings(deadline=None, max_examples=80)
@given(rules, dates, patterns)
def test_due_dates_lie_after_the_anchor_and_before_the_cap(life, anchor, months):
    answer = due(life, anchor, Use(months_open=months))
    assert answer.on is not None
    assert answer.on > anchor
    assert answer.used == 0.0
    if life.cap_months:
        assert answer.on <= add_months(anchor, life.cap_months)


@settings(deadline=None, max_examples=60)
@given(st.integers(1, 24), dates, patterns)
def test_a_lamp_has_burnt_its_life_when_it_falls_due(amount, anchor, months):
    use = Use(months_open=months)
    answer = due(LifeRule(LifeKind.OPERATING, amount), anchor, use)
    if use.year_round:
        assert answer.on == add_months(anchor, amount)
    else:
        assert operating_months(anchor, answer.on, use) == pytest.approx(amount, abs=0.04)  # a day is 0.036


@settings(deadline=None, max_examples=60)
@given(dates, patterns, st.integers(1, 12), st.integers(0, 900))
def test_an_open_month_more_never_spares_a_lamp(anchor, months, more, days):
    wider = Use(months_open=tuple(sorted({*months, more})))
    today = anchor + timedelta(days=days)
    assert due(LAMP, anchor, wider, today).used >= due(LAMP, anchor, Use(months_open=months), today).used - 1e-9


@settings(deadline=None, max_examples=60)
@given(rules, dates, patterns, st.integers(0, 2000), st.integers(0, 400))
def test_use_never_runs_backwards(life, anchor, months, days, more):
    use = Use(months_open=months)
    before = due(life, anchor, use, today=anchor + timedelta(days=days)).used
    after = due(life, anchor, use, today=anchor + timedelta(days=days + more)).used
    assert 0.0 <= before <= after + 1e-9


@settings(deadline=None, max_examples=60)
@given(rules, dates, patterns, st.integers(0, 2000))
def test_the_date_does_not_depend_on_the_day_it_is_asked(life, anchor, months, days):
    use = Use(months_open=months)
    assert due(life, anchor, use).on == due(life, anchor, use, today=anchor + timedelta(days=days)).on
