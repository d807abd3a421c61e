from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from customers.households.models import Site
from service.installs.models import FittedPart
from service.installs.seasons import next_closing_on, next_opening_on
from service.upkeep.actions import refresh_due
from service.upkeep.queries import due_visits, next_visit, overdue_parts, visits_at
from tests import factories
from tests.service.factories_service import commissioned


def test_a_house_used_all_year_is_visited_for_the_first_part_due(site: Any, today: date) -> None:
    commissioned(site, on=today)
    visit = next_visit(site, today)
    assert visit is not None
    assert (visit.on, visit.reason, visit.words) == (date(2026, 12, 9), "service", "quartz sleeve")
    assert visit.when == "due 9 Dec 2026"


def test_work_due_within_the_month_is_one_visit(site: Any, today: date) -> None:
    commissioned(site, on=today)
    days = {"cartridge": date(2026, 8, 1), "lamp": date(2026, 8, 20), "membrane": date(2026, 10, 1)}
    for code, day in days.items():
        FittedPart.objects.filter(code=code).update(next_due_on=day)
    visits = visits_at(site, today)
    assert [(v.on, [p.code for p in v.parts]) for v in visits[:2]] == [
        (date(2026, 8, 1), ["cartridge", "lamp"]),
        (date(2026, 10, 1), ["membrane"]),
    ]


def test_a_seasonal_place_has_its_opening_and_closing(dealer: Any) -> None:
    site = factories.SeasonalSiteFactory(dealer=dealer)
    commissioned(site, on=date(2026, 5, 19))
    visits = visits_at(site, date(2026, 6, 9))
    assert [(v.on, v.reason) for v in visits][:2] == [
        (date(2026, 10, 12), "closing"),
        (date(2027, 5, 19), "opening"),
    ]
    assert [p.code for p in visits[1].parts] == ["cartridge", "sleeve"]


def test_a_booked_job_is_the_next_date_everywhere(site: Any, today: date) -> None:
    commissioned(site, on=date(2025, 6, 1))
    factories.JobFactory(site=site, state="booked", day=today + timedelta(days=1))
    visit = next_visit(site, today)
    assert visit is not None
    assert visit.day == date(2026, 6, 10)
    assert visit.when == "booked 10 Jun 2026"
    assert not visit.overdue(today)


def test_a_booked_remedy_comes_before_the_part_that_is_due_later(site: Any, today: date) -> None:
    commissioned(site, on=today)
    what = "Find where the germs come in"
    factories.JobFactory(site=site, state="booked", day=today + timedelta(days=1), what=what)
    factories.JobFactory(site=site, state="called_off", day=today, what="Not any more")
    visit = next_visit(site, today)
    assert visit is not None
    assert (visit.day, visit.booked_on, visit.words) == (date(2026, 6, 10), date(2026, 6, 10), what)
    assert not visit.overdue(today)
    assert next_visit(site, today + timedelta(days=2)).on == date(2026, 12, 9)  # type: ignore[union-attr]


def test_what_the_household_renews_itself_asks_for_no_visit(site: Any, today: date) -> None:
    commissioned(site, on=today)
    FittedPart.objects.filter(code="sleeve").update(by_customer=True)
    visit = next_visit(site, today)
    assert visit is not None
    assert visit.on == date(2027, 6, 9)


def test_due_visits_one_a_household_and_overdue_ones_too(
    dealer: Any, today: date, django_assert_num_queries: Any
) -> None:
    sites = [factories.SiteFactory(dealer=dealer) for _ in range(3)]
    for site in sites:
        commissioned(site, on=date(2025, 5, 20))
    with django_assert_num_queries(2):
        visits = due_visits(dealer, today, today + timedelta(days=21))
    assert [v.site.pk for v in visits] == [s.pk for s in sites]
    assert {v.on for v in visits} == {date(2025, 11, 20)}
    assert all(v.overdue(today) for v in visits)
    assert overdue_parts(today).count() == 9


def test_another_dealers_household_is_never_due(dealer: Any, other_site: Any, today: date) -> None:
    commissioned(other_site, on=date(2025, 1, 1))
    assert due_visits(dealer, today, today + timedelta(days=365)) == []


def test_refreshing_follows_a_change_of_season_and_then_rests(site: Any, today: date) -> None:
    commissioned(site, on=date(2026, 5, 1))
    assert refresh_due(site=site, today=today) == 0
    site.opens_month, site.opens_day, site.closes_month, site.closes_day = 5, 1, 10, 31
    site.save()
    assert refresh_due(site=site, today=today) > 0
    assert refresh_due(today=today) == 0
    assert FittedPart.objects.get(code="lamp").next_due_on == date(2028, 5, 1)


@given(
    today=st.dates(date(2024, 1, 1), date(2032, 12, 31)),
    opens=st.dates(date(2024, 1, 1), date(2024, 12, 31)),
    closes=st.dates(date(2024, 1, 1), date(2024, 12, 31)),
)
def test_the_next_opening_and_closing_come_within_a_year(today: date, opens: date, closes: date) -> None:
    site = Site(opens_month=opens.month, opens_day=opens.day, closes_month=closes.month, closes_day=closes.day)
    for found, asked in ((next_opening_on(site, today), opens), (next_closing_on(site, today), closes)):
        assert found is not None
        assert today <= found <= today + timedelta(days=366)
        assert (found.month, found.day) == (asked.month, asked.day) or (asked.month, asked.day) == (2, 29)
