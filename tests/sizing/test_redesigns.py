"""Rounds of designing again: who is taken, what is told, claimed once however often it is asked."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from customers.dealers.queries import today_at
from customers.tenancy.scope import dealer_scope
from service.celery import app
from service.tasks import tick
from service.tasks.redesigns import redesign_households
from sizing.catalogue.actions import load_starter
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.queries import active_products
from sizing.proposals.models import Proposal, ProposedTrain
from sizing.redesigns.actions import (
    LEASE,
    RedesignRefused,
    claim_rows,
    finish_runs,
    start_redesign,
    stop_redesign,
    tell_row,
)
from sizing.redesigns.models import Outcome, Redesign, RedesignRow, RowState
from sizing.redesigns.queries import chosen_by, counts_by_reason, now_of, progress_of
from sizing.redesigns.reckoning import Told, answered, question_for
from tests import factories
from tests.sizing.designed import design, measured, stocked


@pytest.fixture
def sites(dealer: Any) -> list[Any]:
    """Three households, each with a design."""
    stocked(dealer)
    rows = [measured(dealer, name=name) for name in ("Ash", "Birch", "Cedar")]
    for row in rows:
        design(row)
    return rows


@pytest.fixture
def later() -> datetime:
    return factories.NOW + timedelta(days=3)


def begin(dealer: Any, at: datetime, why: str = "all", **given: Any) -> Redesign:
    now = now_of(today_at(dealer, at))
    return start_redesign(dealer=dealer, why=why, actor_name="Edda Lorne", at=at, now=now, **given)


def names(rows: Any) -> list[str]:
    return [row.site.name for row in rows]


def test_who_a_round_would_take(dealer: Any, sites: list[Any], later: datetime) -> None:
    now = now_of(today_at(dealer, later))
    assert counts_by_reason(now) == {"all": 3, "evidence": 0, "catalogue": 0, "figures": 0}
    factories.WaterTestFactory(site=sites[0], results={"iron": 2.0}, entered_at=later)
    factories.FlowTestFactory(site=sites[1], entered_at=later)
    assert names(chosen_by("evidence", now)) == ["Ash", "Birch"]
    Proposal.objects.filter(site=sites[2]).update(figures_version="older")
    assert names(chosen_by("figures", now)) == ["Cedar"]
    item = CatalogueItem.objects.get(code=active_products(today_at(dealer, later))[0].code)
    item.name = "Another name"
    item.save()
    now = now_of(today_at(dealer, later))
    assert names(chosen_by("catalogue", now)) == ["Ash", "Birch", "Cedar"]
    assert names(chosen_by("chosen", now, [sites[1].public_id])) == ["Birch"]
    design(sites[0], later + timedelta(hours=1))
    assert names(chosen_by("catalogue", now)) == ["Birch", "Cedar"]  # only the newest design of each counts


def test_a_round_that_takes_nobody_and_a_second_one_at_once_are_refused(
    dealer: Any, sites: list[Any], later: datetime
) -> None:
    with pytest.raises(RedesignRefused, match="no household would be taken"):
        begin(dealer, later, "evidence")
    with pytest.raises(RedesignRefused, match="accepted is one of evidence"):
        begin(dealer, later, "whim")
    begin(dealer, later)
    with pytest.raises(RedesignRefused, match="under way"):
        begin(dealer, later)


def test_what_came_of_each_is_told_against_its_newest_design(
    dealer: Any, sites: list[Any], later: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Unchanged; soft water now, so that no softener is wanted; and one whose flow test is gone."""
    factories.WaterTestFactory(site=sites[1], results={"hardness": 40.0}, entered_at=later)
    sites[2].flow_tests.all().delete()
    run = begin(dealer, later)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    before = (Proposal.objects.count(), ProposedTrain.objects.count())
    assert redesign_households(dealer.pk) == 3
    rows = {row.site.name: row for row in RedesignRow.objects.select_related("site")}
    assert {name: row.outcome for name, row in rows.items()} == {
        "Ash": Outcome.SAME,
        "Birch": Outcome.TRAIN,
        "Cedar": Outcome.MISSING,
    }
    assert "flow test" in rows["Cedar"].words
    assert any("oftener" in name for name in rows["Birch"].before["names"])
    assert not any("oftener" in name for name in rows["Birch"].after["names"])
    assert rows["Ash"].before["life"] == pytest.approx(rows["Ash"].after["life"], abs=0.01)
    run.refresh_from_db()
    assert run.finished_at == later
    assert (Proposal.objects.count(), ProposedTrain.objects.count()) == before  # a round keeps and changes no design
    progress = progress_of(run)
    assert (progress.done, progress.percent, progress.by_outcome["train"]) == (3, 100, 1)


def test_the_task_twice_does_nothing_twice(
    dealer: Any, sites: list[Any], later: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    begin(dealer, later)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    assert redesign_households(dealer.pk) == 3
    told = list(RedesignRow.objects.order_by("pk").values("outcome", "done_at", "attempts"))
    assert redesign_households(dealer.pk) == 0
    assert list(RedesignRow.objects.order_by("pk").values("outcome", "done_at", "attempts")) == told


def test_a_household_is_claimed_by_one_worker_and_comes_back_when_it_dies(
    dealer: Any, sites: list[Any], later: datetime
) -> None:
    begin(dealer, later)
    first = claim_rows(now=later, limit=2)
    second = claim_rows(now=later, limit=9)
    assert len({row.pk for row in (*first, *second)}) == 3
    assert claim_rows(now=later + LEASE / 2, limit=9) == []
    again = claim_rows(now=later + LEASE + timedelta(seconds=1), limit=1)
    assert [row.pk for row in again] == [first[0].pk]
    told = Told(Outcome.SAME)
    assert tell_row(row=first[0], before={}, told=told, now=later) is False  # lost its lease, writes nothing
    assert tell_row(row=again[0], before={}, told=told, now=later) is True
    assert tell_row(row=again[0], before={}, told=told, now=later) is False


def test_what_kills_its_worker_every_time_is_given_up(dealer: Any, sites: list[Any], later: datetime) -> None:
    begin(dealer, later, "chosen", sites=[sites[0].public_id])
    at = later
    for _attempt in range(3):
        assert len(claim_rows(now=at, limit=9)) == 1
        at += LEASE + timedelta(seconds=1)
    assert claim_rows(now=at, limit=9) == []
    row = RedesignRow.objects.get()
    assert (row.state, row.outcome) == (RowState.DONE, Outcome.FAILED)
    assert "given up" in row.words
    assert finish_runs(now=at) == 1


def test_one_household_that_cannot_be_reckoned_stops_no_other(
    dealer: Any, sites: list[Any], later: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    begin(dealer, later)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    broken = sites[1].pk

    def trip(row: RedesignRow, *given: Any) -> Any:
        if row.site_id == broken:
            raise RuntimeError("a bug")
        return question_for(row, *given)

    monkeypatch.setattr("service.tasks.redesigns.question_for", trip)
    assert redesign_households(dealer.pk) == 3
    row = RedesignRow.objects.get(site=sites[1])
    assert row.outcome == Outcome.FAILED
    assert row.words.startswith("RuntimeError: the log of")


def test_stopping_leaves_out_what_waits_and_keeps_what_is_in_hand(
    dealer: Any, sites: list[Any], later: datetime
) -> None:
    run = begin(dealer, later)
    (held,) = claim_rows(now=later, limit=1)
    assert stop_redesign(run=run, now=later) == 2
    run.refresh_from_db()
    assert run.finished_at is None
    question = question_for(held, active_products(today_at(dealer, later)), today_at(dealer, later))
    assert tell_row(row=held, before=question.before, told=answered(question), now=later)
    assert finish_runs(now=later) == 1
    progress = progress_of(run)
    assert (progress.done, progress.left, progress.percent) == (1, 2, 100)


def test_a_lost_wake_up_is_made_good_by_the_clock(
    dealer: Any, sites: list[Any], later: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    woken: list[int] = []
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    monkeypatch.setattr(redesign_households, "delay", woken.append)
    tick()
    assert woken == []
    begin(dealer, later)
    tick()
    assert woken == [dealer.pk]
    assert redesign_households.name in app.tasks


def test_a_round_is_of_one_dealer_alone(
    dealer: Any, other_dealer: Any, sites: list[Any], later: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    with dealer_scope(other_dealer):
        load_starter(dealer=other_dealer, products=())
        stocked(other_dealer)
        design(measured(other_dealer, name="Secret Tarn"))
    run = begin(dealer, later)
    assert "Secret Tarn" not in names(run.rows.select_related("site"))
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    assert redesign_households(other_dealer.pk) == 0
    assert RedesignRow.objects.filter(state=RowState.WAITING).count() == 3
