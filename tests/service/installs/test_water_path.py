from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from service.installs.actions import install_from_quote, lay_up, prove
from service.installs.models import FittedPart
from service.installs.water_path import path_of_site, path_of_train
from sizing.drawing.values import StageState, Standing
from tests import factories
from tests.service.factories_service import a_train, accepted_quote, commissioned


def test_a_site_without_stages_shows_its_raw_water(site: Any, today: date) -> None:
    factories.WaterTestFactory(site=site, results={"iron": 0.9, "e_coli": "absent"})
    path = path_of_site(site, today)
    assert path.stages == ()
    assert len(path.points) == 1
    iron = path.points[0].reading("iron")
    assert iron is not None
    assert (iron.text, iron.measured, iron.standing) == ("0.9", True, Standing.AESTHETIC)
    assert path.points[0].reading("e_coli").text == "absent"  # type: ignore[union-attr]
    assert path.points[0].date == "9 Jun"


def test_before_commissioning_stages_are_proposed(site: Any, today: date, now: Any) -> None:
    install_from_quote(quote=accepted_quote(site), now=now)
    path = path_of_site(site, today)
    assert {stage.state for stage in path.stages} == {StageState.PROPOSED}
    assert path.stages[0].size == ("20 × 4.5\u00a0in",)  # as the drawing sets it, the number held to its unit


def test_after_commissioning_not_yet_proven_until_the_laboratory_says(site: Any, today: date) -> None:
    install = commissioned(site, on=today)
    assert {s.state for s in path_of_site(site, today).stages} == {StageState.UNPROVEN}
    prove(install=install, on=today)
    path = path_of_site(site, today)
    assert {s.state for s in path.stages} == {StageState.SERVICE}
    assert [(s.number, s.date, s.part) for s in path.stages] == [
        (1, "9 Jun 2027", "cartridge"),
        (2, "9 Dec 2026", "quartz sleeve"),
        (3, "9 Jun 2029", "membrane"),
    ]


@pytest.mark.parametrize(
    ("days", "state"),
    [(22, StageState.SERVICE), (21, StageState.SOON), (1, StageState.SOON), (0, StageState.OVERDUE)],
)
def test_due_soon_looks_as_far_as_the_reminders(site: Any, today: date, days: int, state: StageState) -> None:
    install = commissioned(site, on=date(2026, 1, 1))
    prove(install=install, on=date(2026, 1, 4))
    FittedPart.objects.filter(code="lamp").update(next_due_on=today + timedelta(days=days))
    uv = next(s for s in path_of_site(site, today).stages if s.kind == "uv")
    assert uv.state is state


def test_a_laid_up_stage_names_the_opening(dealer: Any, today: date, now: Any) -> None:
    site = factories.SeasonalSiteFactory(dealer=dealer)
    commissioned(site, on=date(2025, 6, 1))
    lay_up(site=site, actor_name="B", now=now)
    stage = path_of_site(site, date(2026, 1, 10)).stages[0]
    assert (stage.state, stage.date, stage.part) == (StageState.LAID, "19 May 2026", "refit at opening")


def test_measured_beats_expected_and_old_treated_water_does_not_count(site: Any, today: date) -> None:
    factories.WaterTestFactory(site=site, place="entry", sampled_on=date(2026, 1, 1), results={"turbidity": 9.0})
    commissioned(site, on=today - timedelta(days=5))
    before = path_of_site(site, today)
    expected = before.points[2].reading("turbidity")
    assert expected is not None
    assert (expected.text, expected.measured) == ("0.3", False)
    factories.WaterTestFactory(site=site, place="entry", results={"turbidity": 0.4, "total_coliform": "present"})
    after = path_of_site(site, today).points[2]
    assert after.reading("turbidity").text == "0.4"  # type: ignore[union-attr]
    coliform = after.reading("total_coliform")
    assert coliform is not None
    assert coliform.standing is Standing.HEALTH
    assert after.day == "9 Jun 2026"


def test_the_tap_sample_stands_after_the_polishing_unit(site: Any, today: date) -> None:
    commissioned(site, on=today)
    factories.WaterTestFactory(site=site, place="tap", results={"nitrate": 1.4})
    path = path_of_site(site, today)
    assert path.tap_point is not None
    assert path.tap_point.letter == "D"
    assert path.tap_point.reading("nitrate").text == "1.4"  # type: ignore[union-attr]


def test_pressures_stand_in_the_households_units(site: Any, today: date) -> None:
    commissioned(site, on=today)
    assert path_of_site(site, today).points[0].reading("pressure").text == "275"  # type: ignore[union-attr]
    site.units = "us"
    path = path_of_site(site, today)
    # 275 kPa / 6.894757 kPa per psi = 39.9 psi (exact definition of the psi)
    assert path.points[0].reading("pressure").text == "40"  # type: ignore[union-attr]
    assert path.rows[-1].unit == "psi at peak flow"


def test_a_proposed_train_is_drawn_the_same_way(site: Any, today: date) -> None:
    path = path_of_train(site, a_train(), today)
    assert {s.state for s in path.stages} == {StageState.PROPOSED}
    assert len(path.points) == 3
    assert path.tap_point is not None
    assert all(not reading.measured for reading in path.points[1].readings)


def test_a_notice_leads_the_path(site: Any, today: date) -> None:
    factories.DrinkNoticeFactory(site=site)
    assert path_of_site(site, today).notice == "Do not drink the water"
    site.notices.update(lifted_on=today, clear_samples=2)
    assert path_of_site(site, today).notice == ""


def test_a_path_costs_few_queries_however_many_stages(
    site: Any, today: date, django_assert_max_num_queries: Any
) -> None:
    commissioned(site, on=today)
    factories.WaterTestFactory(site=site, results={"iron": 0.2, "manganese": 0.01})
    with django_assert_max_num_queries(12):
        path_of_site(site, today)
