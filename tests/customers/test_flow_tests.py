"""Flow tests as stored. The worked drawdown (15 gal in 75 s = 12 gpm) is common practice of the trade."""

from __future__ import annotations

import uuid
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from customers.flow_tests.actions import FlowRefused, record_flow_test
from customers.flow_tests.models import FlowTest
from customers.flow_tests.queries import allowances, findings_of, latest_flow, worksheet_of
from tests import factories

GALLON = 3.785411784


@pytest.fixture
def record(site: Any, now: datetime) -> Any:
    def take(**changes: Any) -> FlowTest:
        values: dict[str, Any] = {
            "tested_on": date(2026, 6, 8),
            "tested_by": "Birgit",
            "method": "drawdown",
            "runs": [(15 * GALLON, 75.0)],
        }
        return record_flow_test(site=site, actor_name="Maren", now=now, **{**values, **changes})

    return take


def test_fifteen_gallons_in_75_seconds_are_twelve_a_minute(record: Any, site: Any) -> None:
    test = record(cut_in_kpa=275, cut_out_kpa=415)
    assert test.flow_l_min / GALLON == pytest.approx(12.0)
    assert 0 < test.sd_l_min < test.flow_l_min
    assert latest_flow(site) == test
    steps = worksheet_of(test).sections[0].steps
    assert any(step.value == pytest.approx(test.flow_l_min) for step in steps)


def test_a_bucket_remarks_that_the_tank_helps(record: Any) -> None:
    assert [f.code for f in findings_of(record(method="bucket"))] == ["bucket_includes_tank"]


@pytest.mark.parametrize(
    ("changes", "field", "named"),
    [
        ({"runs": [(40.0, 0.0)]}, "runs", "0.0"),
        ({"runs": [(-4.0, 60.0)]}, "runs", "-4.0"),
        ({"runs": []}, "runs", "0"),
        ({"runs": [(2000.0, 1.0)]}, "runs", "1000"),
        ({"runs": [(40.0, 60.0), (0.2, 60.0)]}, "runs.1.litres", "0.2"),
        ({"cut_in_kpa": 400.0, "cut_out_kpa": 300.0}, "cut_out_kpa", "300"),
        ({"cut_in_kpa": 5000.0}, "cut_in_kpa", "700"),
        ({"tested_on": date(2026, 6, 10)}, "tested_on", "2026-06-10"),
        ({"tested_by": ""}, "tested_by", "blank"),
        ({"method": "guess"}, "method", "guess"),
    ],
)
def test_what_cannot_be_is_refused_by_name(record: Any, changes: dict[str, Any], field: str, named: str) -> None:
    with pytest.raises(FlowRefused) as refused:
        record(**changes)
    assert named in refused.value.errors[field]
    assert not FlowTest.objects.exists()


def test_the_database_refuses_a_refill_time_of_zero(record: Any, dealer: Any) -> None:
    test = record()
    with pytest.raises(IntegrityError, match="flow_run_seconds_positive"), transaction.atomic():
        test.runs.create(dealer=dealer, position=9, litres=10, seconds=0)


def test_one_form_makes_one_test(record: Any) -> None:
    token = uuid.uuid4()
    assert record(form_token=token) == record(form_token=str(token), runs=[(10.0, 60.0)])
    assert FlowTest.objects.count() == 1


def test_the_newest_day_counts_not_the_newest_entry(record: Any, site: Any) -> None:
    newest = record(tested_on=date(2026, 6, 8))
    record(tested_on=date(2026, 6, 8) - timedelta(days=300))
    assert latest_flow(site) == newest


def test_what_the_flow_is_enough_for(record: Any, dealer: Any) -> None:
    """One bathroom stays under the trade's 6 gpm (common practice); 12 gpm carries it, 1 gpm does not."""
    site = factories.SiteFactory(dealer=dealer)
    plenty = factories.FlowTestFactory(site=site, flow_l_min=12 * GALLON, sd_l_min=0.5)
    little = factories.FlowTestFactory(site=site, flow_l_min=1 * GALLON, sd_l_min=0.1)
    [good], [bad] = allowances(site, plenty), allowances(site, little)
    assert (good.held, good.surely) == (True, True)
    assert (bad.held, bad.surely) == (False, False)
    assert allowances(factories.SiteFactory(dealer=dealer, fixtures={}), plenty) == []
