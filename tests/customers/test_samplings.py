"""Samplings: planned, drawn, received, answered; late ones say so; deadlines against the calendar."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import IntegrityError, transaction

from customers.laboratories.actions import LaboratoryRefused, keep_laboratory, remember_layout
from customers.laboratories.models import Laboratory
from customers.laboratories.queries import layout_of, own_bottles
from customers.samplings.actions import (
    DrawIn,
    PlanIn,
    SamplingRefused,
    answer_draw,
    call_off,
    change_plan,
    chase,
    close_short,
    mark_drawn,
    mark_received,
    plan_sampling,
    take_back_answer,
)
from customers.samplings.hours import Reception, better_day, deadlines, latest_arrival
from customers.samplings.models import Sampling
from customers.samplings.queries import (
    asked_of_lab,
    deadlines_of,
    late_samplings,
    linkable_tests,
    measured_at_tap,
    missing_of,
    planned_moment,
    stand_of,
)
from customers.water_tests.models import WaterTest
from sizing.engine.sampling import OwnBottle, bottles_for
from tests import factories

ZONE = ZoneInfo("America/Vancouver")
WEEK = Reception("01234", time(8), time(15), ZONE)


def local(day: int, hour: int, minute: int = 0, month: int = 6) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=ZONE)


# -- hours of receipt (worked on the calendar of June 2026: the 9th is a Tuesday) ------------------------------


@pytest.mark.parametrize(
    ("drawn", "hold", "arrive"),
    [
        (local(9, 10), 30, local(10, 15)),  # Wednesday 16:00 is past the door: Wednesday 15:00
        (local(9, 10), 24, local(10, 10)),  # the hours end inside the opening
        (local(9, 16), 24, local(10, 15)),
        (local(12, 10), 30, local(12, 15)),  # Friday: only the same day is left
        (local(12, 16), 30, None),  # Friday after the door: no way
        (local(13, 9), 30, None),  # Saturday
        (local(14, 11), 30, local(15, 15)),  # Sunday 11:00 + 30 h = Monday 17:00
        (local(14, 1), 30, None),  # Monday 07:00 is before the door opens
        (local(12, 10), 48, local(12, 15)),
        (local(9, 10), 14 * 24, local(23, 10)),
    ],
)
def test_latest_arrival(drawn: datetime, hold: float, arrive: datetime | None) -> None:
    assert latest_arrival(drawn, hold, WEEK) == arrive


def test_hours_are_elapsed_time_when_the_clocks_change() -> None:
    every_day = Reception("0123456", time(0), time(23, 59), ZONE)
    drawn = datetime(2026, 3, 7, 12, 0, tzinfo=ZONE)  # the night of 8 March 2026 has 23 hours
    arrive = latest_arrival(drawn, 24, every_day)
    assert arrive is not None
    assert arrive.astimezone(UTC) - drawn.astimezone(UTC) == timedelta(hours=24)
    assert arrive.hour == 13


def test_a_friday_draw_is_sent_to_monday() -> None:
    assert better_day(local(12, 16), 30, WEEK) == date(2026, 6, 14)  # Sunday 16:00 reaches Monday 15:00
    assert better_day(local(12, 10), 20, WEEK) == date(2026, 6, 15)  # Sunday 10:00 + 20 h is before the door opens
    assert better_day(local(12, 16), 1, WEEK) is None  # an hour never reaches a door that shuts at 15:00


def test_deadlines_come_earliest_first() -> None:
    rows = deadlines(local(9, 10), bottles_for(["iron", "e_coli", "nitrate", "ph"]), WEEK)
    assert [row.bottle.kind.code for row in rows] == ["microbes", "plain", "metals"]
    assert rows[1].keeps_until == local(11, 10)


# -- laboratories ---------------------------------------------------------------------------------------------


@pytest.fixture
def laboratory(dealer: Any) -> Laboratory:
    return keep_laboratory(
        dealer=dealer,
        values={"name": "Northreach Laboratory", "result_days": 10},
        bottles={"microbes": OwnBottle(hold_h=24.0)},
    )


def test_a_laboratory_keeps_its_own_bottles_and_its_layout(laboratory: Laboratory) -> None:
    assert own_bottles(laboratory) == {"microbes": OwnBottle(hold_h=24.0)}
    keep_laboratory(dealer=laboratory.dealer, values={}, bottles={"microbes": OwnBottle()}, laboratory=laboratory)
    assert own_bottles(laboratory) == {}
    remember_layout(laboratory=laboratory, layout={"shape": "long"})
    laboratory.refresh_from_db()
    assert layout_of(laboratory) == {"shape": "long"}


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "Northreach Laboratory"}, "name"),
        ({"name": "B", "receives_on": ""}, "receives_on"),
        ({"name": "B", "receives_on": "09"}, "receives_on"),
        ({"name": "B", "receives_from": time(16), "receives_until": time(9)}, "receives_until"),
        ({"name": "B", "result_days": 0}, "result_days"),
        ({"name": "B", "email": "nobody"}, "email"),
    ],
)
def test_a_laboratory_that_cannot_be_is_refused_by_field(
    laboratory: Laboratory, values: dict[str, Any], field: str
) -> None:
    with pytest.raises(LaboratoryRefused) as refused:
        keep_laboratory(dealer=laboratory.dealer, values=values)
    assert list(refused.value.errors) == [field]
    assert Laboratory.objects.count() == 1


def test_bottles_that_cannot_be_are_refused(laboratory: Laboratory) -> None:
    wrong = {"metals": OwnBottle(hold_h=-1.0), "plain": OwnBottle(volume_ml=0), "barrel": OwnBottle(volume_ml=5)}
    with pytest.raises(LaboratoryRefused) as refused:
        keep_laboratory(dealer=laboratory.dealer, values={"name": "B"}, bottles=wrong)
    assert set(refused.value.errors) == {"bottle-metals", "bottle-plain", "bottle-barrel"}


def test_one_form_makes_one_laboratory(dealer: Any) -> None:
    token = uuid.uuid4()
    first = keep_laboratory(dealer=dealer, values={"name": "A"}, form_token=token)
    again = keep_laboratory(dealer=dealer, values={"name": "A"}, form_token=token)
    assert first.pk == again.pk


# -- samplings ------------------------------------------------------------------------------------------------

RAW = DrawIn("raw", ("iron", "nitrate", "e_coli", "total_coliform", "ph"), where="drain of the tank")
FIRST = DrawIn("tap", ("lead", "copper", "nitrate"), mode="first_draw", where="kitchen")


@pytest.fixture
def plan(laboratory: Laboratory) -> PlanIn:
    return PlanIn(laboratory, date(2026, 6, 9), time(9, 0), (RAW, FIRST), drawer="Ansel")


@pytest.fixture
def planned(site: Any, plan: PlanIn, now: datetime) -> Sampling:
    return plan_sampling(site=site, plan=plan, actor_name="Maren", now=now)


def draw_all(sampling: Sampling, at: datetime, now: datetime) -> Sampling:
    times = {draw.position: at for draw in sampling.draws.all()}
    return mark_drawn(sampling=sampling, times=times, drawer="Ansel", actor_name="Ansel", now=now)


def test_a_plan_is_numbered_and_puts_the_first_draw_first(planned: Sampling) -> None:
    first, raw = planned.draws.all()
    assert (planned.label, first.sample_number) == ("S-0001", "S-0001-1")
    assert (first.mode, first.analytes) == ("first_draw", ["lead", "copper"])
    assert asked_of_lab(raw) == ("nitrate", "iron", "total_coliform", "e_coli")
    assert measured_at_tap(raw) == ("ph",)
    assert planned.results_due_on == date(2026, 6, 19)  # 10 days on
    rows = deadlines_of(raw, planned.laboratory, planned_moment(planned))
    assert rows[0].bottle.hold_h == 24.0


def test_the_same_form_twice_is_one_plan(site: Any, plan: PlanIn, now: datetime) -> None:
    token = uuid.uuid4()
    one = plan_sampling(site=site, plan=plan, actor_name="Maren", now=now, form_token=token)
    two = plan_sampling(site=site, plan=plan, actor_name="Maren", now=now, form_token=token)
    assert one.pk == two.pk
    assert Sampling.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"draws": ()}, "draws"),
        ({"draws": (DrawIn("raw", ()),)}, "draws"),
        ({"draws": (DrawIn("moon", ("iron",)),)}, "draws"),
        ({"draws": (DrawIn("raw", ("iron",), point="O"),)}, "draws"),
        ({"draws": (DrawIn("raw", ("phlogiston",)),)}, "draws"),
        ({"draws": (DrawIn("tap", ("nitrate",), mode="first_draw"),)}, "draws"),
        ({"draws": (DrawIn("raw", ("iron",), where="x" * 121),)}, "draws"),
        ({"planned_on": date(2031, 1, 1)}, "planned_on"),
        ({"results_due_on": date(2026, 6, 1)}, "results_due_on"),
        ({"purpose": "fun"}, "purpose"),
    ],
)
def test_a_plan_that_cannot_be_is_refused_by_field(
    site: Any, laboratory: Laboratory, now: datetime, change: dict[str, Any], field: str
) -> None:
    values = {"planned_on": date(2026, 6, 9), "planned_at": time(9), "draws": (RAW,), **change}
    with pytest.raises(SamplingRefused) as refused:
        plan_sampling(site=site, plan=PlanIn(laboratory, **values), actor_name="Maren", now=now)
    assert list(refused.value.errors) == [field]
    assert not Sampling.objects.exists()


def test_a_plan_may_change_until_it_is_drawn(planned: Sampling, plan: PlanIn, now: datetime) -> None:
    change_plan(
        sampling=planned, plan=replace(plan, draws=(RAW,), planned_on=date(2026, 6, 10)), actor_name="M", now=now
    )
    assert (planned.draws.count(), planned.planned_on, planned.number) == (1, date(2026, 6, 10), 1)
    draw_all(planned, now - timedelta(minutes=10), now)
    with pytest.raises(SamplingRefused, match="no longer open"):
        change_plan(sampling=planned, plan=plan, actor_name="M", now=now)
    assert planned.draws.count() == 1


def test_drawing_sets_the_hour_at_the_laboratory(planned: Sampling, now: datetime) -> None:
    drawn = now - timedelta(hours=1)  # 9 June 2026 17:00 UTC is a Tuesday morning at the dealer's
    draw_all(planned, drawn, now)
    assert planned.state == "drawn"
    assert planned.deliver_by == drawn + timedelta(hours=24)  # the laboratory's own 24 h for microbes
    with pytest.raises(SamplingRefused):
        draw_all(planned, drawn, now)


def test_draws_need_an_hour_that_has_been(planned: Sampling, now: datetime) -> None:
    with pytest.raises(SamplingRefused) as refused:
        mark_drawn(sampling=planned, times={1: now + timedelta(hours=2)}, drawer="", actor_name="A", now=now)
    assert set(refused.value.errors) == {"drawn-1", "drawn-2"}
    planned.refresh_from_db()
    assert planned.state == "planned"


def test_receipt_moves_the_due_day(planned: Sampling, now: datetime) -> None:
    draw_all(planned, now - timedelta(days=3), now)
    with pytest.raises(SamplingRefused):
        mark_received(sampling=planned, at=now - timedelta(days=4), actor_name="M", now=now)
    mark_received(sampling=planned, at=now - timedelta(days=1), actor_name="M", now=now)
    assert (planned.state, planned.results_due_on) == ("at_lab", date(2026, 6, 18))
    assert "after its hour" in planned.site.log.first().what


def test_tests_answer_a_draw_in_parts_and_close_the_sampling(site: Any, planned: Sampling, now: datetime) -> None:
    draw_all(planned, now - timedelta(hours=1), now)
    first, raw = planned.draws.all()
    microbes = factories.WaterTestFactory(site=site, results={"total_coliform": "absent", "e_coli": "absent"})
    answer_draw(draw=raw, test=microbes, actor_name="M", now=now)
    answer_draw(draw=raw, test=microbes, actor_name="M", now=now)
    assert raw.answers.count() == 1
    assert missing_of(raw) == ("nitrate", "iron")
    planned.refresh_from_db()
    assert planned.state == "drawn"
    chemistry = factories.WaterTestFactory(site=site, results={"nitrate": 2.0, "iron": 0.1})
    answer_draw(draw=raw, test=chemistry, actor_name="M", now=now)
    metals = factories.WaterTestFactory(site=site, place="tap", results={"lead": 0.001, "copper": 0.2})
    answer_draw(draw=first, test=metals, actor_name="M", now=now)
    planned.refresh_from_db()
    assert (planned.state, planned.answered_at) == ("answered", now)
    take_back_answer(test=metals, actor_name="M", now=now)
    planned.refresh_from_db()
    assert (planned.state, planned.answered_at) == ("drawn", None)


def test_a_test_of_elsewhere_or_another_day_is_no_answer(site: Any, planned: Sampling, now: datetime) -> None:
    draw_all(planned, now - timedelta(hours=1), now)
    raw = planned.draws.get(place="raw")
    for wrong in (
        factories.WaterTestFactory(site=factories.SiteFactory(dealer=site.dealer), results={"iron": 1.0}),
        factories.WaterTestFactory(site=site, place="tap", results={"iron": 1.0}),
        factories.WaterTestFactory(site=site, sampled_on=date(2026, 6, 1), results={"iron": 1.0}),
    ):
        with pytest.raises(SamplingRefused):
            answer_draw(draw=raw, test=wrong, actor_name="M", now=now)
    assert raw.answers.count() == 0


def test_tests_entered_without_naming_the_draw_can_be_linked(site: Any, planned: Sampling, now: datetime) -> None:
    draw_all(planned, now - timedelta(hours=1), now)
    raw = planned.draws.get(place="raw")
    near = factories.WaterTestFactory(site=site, results={"iron": 1.0})
    factories.WaterTestFactory(site=site, place="tap", results={"iron": 1.0})
    factories.WaterTestFactory(site=site, sampled_on=date(2026, 6, 1), results={"iron": 1.0})
    assert linkable_tests(raw, WaterTest.objects.filter(site=site)) == [near]


def test_what_is_late_says_so(planned: Sampling, now: datetime, today: date) -> None:
    assert stand_of(planned, today, now).word == "planned"
    assert stand_of(planned, today + timedelta(days=1), now).about == "was to be drawn"
    draw_all(planned, now - timedelta(hours=1), now)
    assert stand_of(planned, today, now).late is False
    assert stand_of(planned, today, now + timedelta(hours=24)).about.startswith("past the laboratory")
    mark_received(sampling=planned, at=now, actor_name="M", now=now)
    assert not stand_of(planned, planned.results_due_on, now).late
    late = planned.results_due_on + timedelta(days=1)
    assert stand_of(planned, late, now).about == "results were due"
    assert list(late_samplings(late, now)) == [planned]
    assert list(late_samplings(today, now)) == []


def test_chasing_moves_the_day_and_closing_short_wants_a_result(
    site: Any, planned: Sampling, now: datetime, today: date
) -> None:
    with pytest.raises(SamplingRefused):
        chase(sampling=planned, due_on=today, actor_name="M", now=now)
    draw_all(planned, now - timedelta(hours=1), now)
    with pytest.raises(SamplingRefused):
        chase(sampling=planned, due_on=today - timedelta(days=1), actor_name="M", now=now)
    chase(sampling=planned, due_on=today + timedelta(days=20), actor_name="M", now=now)
    assert (planned.results_due_on, planned.chased_on, planned.due_by_hand) == (date(2026, 6, 29), today, True)
    with pytest.raises(SamplingRefused):
        close_short(sampling=planned, reason="bottle broke", actor_name="M", now=now)
    test = factories.WaterTestFactory(site=site, results={"iron": 0.1})
    answer_draw(draw=planned.draws.get(place="raw"), test=test, actor_name="M", now=now)
    close_short(sampling=planned, reason="bottle broke", actor_name="M", now=now)
    assert planned.state == "answered"


def test_calling_off_wants_a_reason_and_is_the_end(planned: Sampling, now: datetime) -> None:
    with pytest.raises(SamplingRefused):
        call_off(sampling=planned, reason=" ", actor_name="M", now=now)
    call_off(sampling=planned, reason="frozen in", actor_name="M", now=now)
    assert planned.state == "called_off"
    with pytest.raises(SamplingRefused):
        draw_all(planned, now - timedelta(hours=1), now)


def test_the_database_holds_the_states_to_their_dates(planned: Sampling) -> None:
    for wrong in ({"state": "answered"}, {"state": "at_lab"}, {"state": "called_off"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Sampling.objects.filter(pk=planned.pk).update(**wrong)
