"""Taking in water tests: all or nothing, texts kept, the notice opened, counted and lifted."""

from __future__ import annotations

import uuid
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from customers.water_tests.actions import (
    NoOpenNotice,
    RefusedRows,
    RemedyRefused,
    RowIn,
    record_remedy,
    record_water_test,
)
from customers.water_tests.models import DrinkNotice, Result, WaterTest
from customers.water_tests.queries import current_results, history, open_notice, standings
from tests import factories

CLEAR = [RowIn("total_coliform", "absent"), RowIn("e_coli", "absent")]
FOUND = [RowIn("total_coliform", "4", "CFU/100 mL"), RowIn("e_coli", "absent")]


@pytest.fixture
def take(site: Any, now: datetime) -> Any:
    """Record a test of the household."""

    def record(rows: list[RowIn], *, on: date = date(2026, 6, 2), at: str = "tap", **heading: Any) -> WaterTest:
        token = heading.pop("form_token", None)
        return record_water_test(
            site=site,
            actor_name="Maren",
            now=now,
            heading={"kind": "lab", "place": at, "sampled_on": on, **heading},
            rows=rows,
            form_token=token,
        )

    return record


def test_texts_are_kept_as_typed(take: Any) -> None:
    typed = [
        ("iron", "<0,02", "mg/L", "below", 0.02),
        ("e_coli", "TNTC", "", "above", None),
        ("nitrate", "30", "mg/L as NO3", "equal", pytest.approx(6.777, abs=0.002)),
        ("lead", "ND", "ug/L", "below", None),
        ("hardness", "7", "gpg", "equal", pytest.approx(119.83, abs=0.01)),
    ]
    test = take([RowIn(code, text, unit) for code, text, unit, *_rest in typed])
    kept = {r.analyte: (r.text, r.unit_text, r.qualifier, r.value) for r in test.results.all()}
    assert kept == {code: (text, unit, qualifier, value) for code, text, unit, qualifier, value in typed}


def test_one_bad_row_saves_nothing_and_names_it(take: Any, site: Any) -> None:
    with pytest.raises(RefusedRows) as refused:
        take([RowIn("iron", "0.4", "mg/L"), RowIn("ph", "17"), RowIn("turbidity", "a lot")])
    assert set(refused.value.rows) == {1, 2}
    assert "17" in refused.value.rows[1]
    assert "14" in refused.value.rows[1]
    assert "a lot" in refused.value.rows[2]
    assert not WaterTest.objects.exists()
    assert not Result.objects.exists()
    assert not site.log.exists()


@pytest.mark.parametrize(
    "row",
    [
        RowIn("ph", "17"),
        RowIn("hardness", "-3", "gpg"),
        RowIn("uvt", "120", "%/cm"),
        RowIn("uvt", "0", "%/cm"),
        RowIn("iron", "0.3", "furlongs"),
        RowIn("nitrate", "5", "mg/L"),
        RowIn("iron", "1,234", "mg/L"),
        RowIn("gold", "1", "mg/L"),
        RowIn("iron", "0.3 mg/L", "ug/L"),
    ],
)
def test_what_cannot_be_is_refused(take: Any, row: RowIn) -> None:
    with pytest.raises(RefusedRows) as refused:
        take([row])
    assert list(refused.value.rows) == [0]
    assert not WaterTest.objects.exists()


def test_the_database_itself_refuses_what_cannot_be(take: Any, dealer: Any) -> None:
    test = take([RowIn("iron", "0.4", "mg/L")])
    for analyte, value in (("ph", 17.0), ("hardness", -3.0), ("uvt", 120.0)):
        row = Result(dealer=dealer, test=test, analyte=analyte, text="x", qualifier="equal", value=value)
        with pytest.raises(IntegrityError, match="result_possible"), transaction.atomic():
            row.save()


def test_duplicates_empty_tests_and_days_to_come_are_refused(take: Any, today: date) -> None:
    with pytest.raises(RefusedRows) as refused:
        take([RowIn("iron", "0.4", "mg/L"), RowIn("iron", "0.5", "mg/L")])
    assert "0.4" in refused.value.rows[1]
    with pytest.raises(RefusedRows) as refused:
        take([RowIn("iron", "  ", "mg/L")])
    assert "rows" in refused.value.heading
    with pytest.raises(RefusedRows) as refused:
        take(CLEAR, on=today + timedelta(days=1))
    assert "2026-06-10" in refused.value.heading["sampled_on"]
    assert not WaterTest.objects.exists()


def test_one_form_makes_one_test(take: Any) -> None:
    token = uuid.uuid4()
    assert take(CLEAR, form_token=token) == take(FOUND, form_token=str(token))
    assert WaterTest.objects.count() == 1


def test_a_find_at_the_tap_opens_the_notice(take: Any, site: Any, today: date) -> None:
    take(FOUND, laboratory="Northreach Laboratory")
    notice = open_notice(site)
    assert notice is not None
    assert notice.opened_on == today
    assert "Total coliform 4 CFU/100 mL" in notice.cause
    assert "Northreach Laboratory" in notice.cause
    assert any("do-not-drink" in line.what for line in site.log.all())


@pytest.mark.parametrize(
    ("kind", "state", "opens"), [("uv", "in_service", False), ("uv", "laid_up", True), ("carbon", "in_service", True)]
)
def test_raw_water_opens_it_only_without_a_barrier(take: Any, site: Any, kind: str, state: str, opens: bool) -> None:
    factories.StageFactory(site=site, kind=kind, state=state)
    take(FOUND, at="raw")
    assert (open_notice(site) is not None) is opens


def test_raw_water_of_an_untreated_house_opens_it(take: Any, site: Any) -> None:
    take(FOUND, at="raw")
    assert open_notice(site) is not None


def test_two_clear_samples_after_the_remedy_lift_it(take: Any, site: Any, now: datetime, today: date) -> None:
    factories.StageFactory(site=site)
    take(FOUND, on=date(2026, 5, 20))
    take(CLEAR, on=date(2026, 5, 25))
    assert open_notice(site).clear_samples == 0
    record_remedy(site=site, on=date(2026, 5, 28), actor_name="Birgit", now=now)
    take(CLEAR, on=date(2026, 5, 28))
    assert open_notice(site).clear_samples == 0
    take(CLEAR, on=date(2026, 5, 30), at="entry")
    assert open_notice(site).clear_samples == 1
    take(CLEAR, on=date(2026, 6, 6), at="raw")
    assert open_notice(site).clear_samples == 1
    take(CLEAR, on=date(2026, 6, 6))
    assert open_notice(site) is None
    lifted = DrinkNotice.objects.get()
    assert (lifted.lifted_on, lifted.clear_samples) == (today, 2)


def test_a_find_between_starts_the_count_again_and_leads_the_notice(take: Any, site: Any, now: datetime) -> None:
    take(FOUND, on=date(2026, 5, 20))
    record_remedy(site=site, on=date(2026, 5, 21), actor_name="Birgit", now=now)
    take(CLEAR, on=date(2026, 5, 24))
    worse = take([RowIn("e_coli", "present")], on=date(2026, 5, 26))
    notice = open_notice(site)
    assert (notice.clear_samples, notice.because) == (0, worse)
    assert notice.cause.startswith("E. coli present")
    take(CLEAR, on=date(2026, 5, 28))
    assert open_notice(site).clear_samples == 1
    take(CLEAR, on=date(2026, 6, 1))
    assert open_notice(site) is None


def test_a_remedy_recorded_late_counts_what_came_after_it(take: Any, site: Any, now: datetime) -> None:
    take(FOUND, on=date(2026, 5, 20))
    take(CLEAR, on=date(2026, 5, 24))
    take(CLEAR, on=date(2026, 5, 31))
    assert open_notice(site) is not None
    record_remedy(site=site, on=date(2026, 5, 21), actor_name="Birgit", now=now)
    assert open_notice(site) is None


def test_an_old_paper_typed_in_late_opens_nothing_once_two_clear_samples_answered_it(take: Any, site: Any) -> None:
    take(CLEAR, on=date(2025, 6, 1))
    take(CLEAR, on=date(2026, 6, 1))
    take(FOUND, on=date(2024, 6, 1))
    assert open_notice(site) is None
    take(FOUND, on=date(2025, 9, 1))
    assert open_notice(site) is not None


def test_a_remedy_needs_an_open_notice_and_a_possible_day(take: Any, site: Any, now: datetime, today: date) -> None:
    with pytest.raises(NoOpenNotice):
        record_remedy(site=site, on=today, actor_name="Birgit", now=now)
    take(FOUND, on=date(2026, 6, 2))
    for day in (date(2026, 6, 1), today + timedelta(days=1)):
        with pytest.raises(RemedyRefused, match=day.isoformat()):
            record_remedy(site=site, on=day, actor_name="Birgit", now=now)


def test_only_one_notice_is_open_at_a_time(take: Any, site: Any) -> None:
    take(FOUND, on=date(2026, 6, 1))
    take(FOUND, on=date(2026, 6, 2))
    assert DrinkNotice.objects.count() == 1


def test_current_results_and_history(take: Any, site: Any) -> None:
    take([RowIn("iron", "0.9", "mg/L")], on=date(2026, 5, 1), at="raw")
    take([RowIn("iron", "0.4", "mg/L")], on=date(2025, 5, 1), at="raw")
    take([RowIn("iron", "<0.02", "mg/L")], on=date(2026, 5, 2), at="tap")
    assert current_results(site, "raw")["iron"].value == 0.9
    assert [r.value for r in history(site, "iron")] == [0.4, 0.9, 0.02]


def test_standings_judge_the_water_that_is_drunk(take: Any, site: Any, today: date) -> None:
    """Manganese health limit 0.12 mg/L and nitrate 10 mg/L as N: Health Canada guideline tables."""
    take([RowIn("manganese", "0.2", "mg/L"), RowIn("nitrate", "3", "mg/L as N")], at="raw")
    take([RowIn("manganese", "0.011", "mg/L"), RowIn("arsenic", "<0.5", "mg/L")], at="tap")
    take([RowIn("lead", "1", "ug/L")], on=date(2019, 1, 5))
    found = {(row.analyte, row.limit.kind): row.verdict for row in standings(site, today) if row.limit}
    assert found["manganese", "health"] == "met"
    assert found["nitrate", "health"] == "met"
    assert found["arsenic", "health"] == "cannot tell"
    assert found["lead", "health"] == "out of date"
    assert found["uranium", "health"] == "not tested"


def test_judging_takes_one_query(take: Any, site: Any, today: date, django_assert_num_queries: Any) -> None:
    for day in range(1, 6):
        take([RowIn("iron", "0.4", "mg/L"), RowIn("ph", "7")], on=date(2026, 6, day))
    assert site.dealer.jurisdiction == "canada"  # loads the dealer before counting
    with django_assert_num_queries(1):
        standings(site, today)
