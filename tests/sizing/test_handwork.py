"""Work on a line: kept at once, never lost, never over another hand's, and never quoted while it breaks a limit."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from customers.households.models import LogEntry
from sizing.engine.design import StageKind
from sizing.proposals.handwork import LineMoved, LineRefused, begin_line, change_line, undo_change
from sizing.proposals.keeping import bring_back, delete_line, delete_unpinned, name_line
from sizing.proposals.line import Edit, Unit, units_of
from sizing.proposals.models import CatalogueCopy, Proposal, ProposedTrain
from sizing.proposals.queries import latest_proposal, question_of, request_value, standing, train_value
from sizing.quotes.actions import LineNotQuotable, draft_quote
from tests.sizing.designed import design, few, measured, stocked


@pytest.fixture
def proposal(dealer: Any) -> Proposal:
    stocked(dealer)
    return design(measured(dealer))


@pytest.fixture
def first(proposal: Proposal) -> ProposedTrain:
    row = standing(proposal).first()
    assert row is not None
    return row


def place_of(row: ProposedTrain, kind: StageKind) -> int:
    return [stage.kind for stage in train_value(row).stages].index(kind)


def work(row: ProposedTrain, edit: Edit, now: datetime, **given: Any) -> ProposedTrain:
    told = {"seen": row.version, "actor_name": "Edda Lorne", "now": now, **given}
    return change_line(train=row, edit=edit, **told).row


def test_a_change_of_the_engines_line_begins_a_new_one(first: ProposedTrain, now: datetime) -> None:
    before = dict(first.data)
    made = work(first, Edit("remove", place_of(first, StageKind.SOFTENER)), now)
    first.refresh_from_db()
    assert first.data == before
    assert (made.by_hand, made.began_from, made.made_by, made.made_at) == (True, first.letter, "Edda Lorne", now)
    assert made.letter not in {row.letter for row in first.proposal.trains.exclude(pk=made.pk)}
    assert made.passes is False
    assert any("hardness" in breach["limit"].lower() for breach in made.breaks)
    assert made.confidence == {}
    assert [stage.kind for stage in made.stages.all()] == [s.kind.value for s in train_value(made).stages]
    log = LogEntry.objects.filter(site=first.proposal.site, what__contains=f"line {made.letter}").get()
    assert "begun from" in log.what


def test_further_changes_stay_in_the_same_line_and_each_can_be_taken_back(
    first: ProposedTrain, now: datetime
) -> None:
    made = work(first, Edit("remove", place_of(first, StageKind.SOFTENER)), now)
    codes = [stage.product.code for stage in train_value(made).stages]
    again = work(made, Edit("remove", 0), now + timedelta(minutes=1))
    assert again.pk == made.pk
    assert (again.version, len(again.steps)) == (2, 2)
    for left in (1, 0):
        again = undo_change(train=again, seen=again.version, actor_name="Edda Lorne", now=now).row
        assert len(again.steps) == left
        if left:
            assert [stage.product.code for stage in train_value(again).stages] == codes
    assert again.passes
    assert [s.product.code for s in train_value(again).stages] == [s.product.code for s in train_value(first).stages]
    with pytest.raises(LineRefused, match="no change to take back"):
        undo_change(train=again, seen=again.version, actor_name="Edda Lorne", now=now)


def test_a_passing_line_by_hand_is_told_like_the_engines_own(first: ProposedTrain, now: datetime) -> None:
    made = work(first, Edit("remove", place_of(first, StageKind.SOFTENER)), now)
    back = undo_change(train=made, seen=made.version, actor_name="E", now=now).row
    assert (back.first_cost, back.whole_life_cost) == (first.first_cost, first.whole_life_cost)
    assert back.confidence["share"] == first.confidence["share"]
    assert back.breaks == []


def test_two_hands_do_not_mix(first: ProposedTrain, now: datetime) -> None:
    made = work(first, Edit("remove", place_of(first, StageKind.SOFTENER)), now)
    seen = made.version
    work(made, Edit("remove", 0), now, actor_name="Maren Vik")
    made.refresh_from_db()
    held = dict(made.data)
    with pytest.raises(LineMoved, match="Maren Vik changed line"):
        work(made, Edit("remove", 0), now, seen=seen)
    made.refresh_from_db()
    assert made.data == held


def test_a_refused_change_keeps_nothing(first: ProposedTrain, now: datetime) -> None:
    lines = ProposedTrain.objects.count()
    for edit in (Edit("add", 0, "nothing-such"), Edit("earlier", 0), Edit("remove", 99)):
        with pytest.raises(LineRefused):
            work(first, edit, now)
    assert ProposedTrain.objects.count() == lines


def test_a_line_that_breaks_a_limit_is_never_quoted(first: ProposedTrain, now: datetime) -> None:
    broken = work(first, Edit("remove", place_of(first, StageKind.UV)), now)
    with pytest.raises(LineNotQuotable, match="breaks a limit"):
        draft_quote(train=broken, actor_name="Edda Lorne", now=now)
    mended = undo_change(train=broken, seen=broken.version, actor_name="E", now=now).row
    quote = draft_quote(train=mended, actor_name="Edda Lorne", now=now)
    assert quote.train_id == mended.pk
    mended.refresh_from_db()
    assert mended.quoted
    later = work(mended, Edit("remove", 0), now)
    assert later.pk != mended.pk  # what was quoted stays as it was quoted


def test_an_empty_line_and_one_of_any_products(proposal: Proposal, now: datetime) -> None:
    empty = begin_line(proposal=proposal, units=(), name="Set by hand", actor_name="E", now=now)
    assert train_value(empty).stages == ()
    assert not empty.passes
    lamp = next(p for p in few() if p.kind is StageKind.UV)
    one = work(empty, Edit("add", 0, lamp.code), now)
    assert [s.product.code for s in train_value(one).stages] == [lamp.code]
    with pytest.raises(LineRefused, match="accepted is the code"):
        begin_line(proposal=proposal, units=(Unit("x"),), name="n", actor_name="E", now=now)


def test_a_pinned_line_goes_on_into_the_next_design_checked_anew(first: ProposedTrain, now: datetime) -> None:
    made = work(first, Edit("remove", place_of(first, StageKind.SOFTENER)), now)
    name_line(train=made, own_name="  Without   salt ", pinned=True, actor_name="E", now=now)
    later = design(first.proposal.site, now + timedelta(days=1))
    (carried,) = [row for row in standing(later) if row.by_hand]
    made.refresh_from_db()
    assert (carried.own_name, carried.pinned, carried.origin) == ("Without salt", True, made.origin)
    assert (carried.made_by, carried.made_at) == (made.made_by, made.made_at)
    assert [b["text"] for b in carried.breaks] == [b["text"] for b in made.breaks]
    assert "carried from design" in carried.steps[-1]["what"]
    assert work(carried, Edit("remove", 0), now).pk != carried.pk


def test_deleting_keeps_what_is_pinned_or_quoted_and_can_be_taken_back(first: ProposedTrain, now: datetime) -> None:
    proposal = first.proposal
    begin_line(proposal=proposal, units=units_of(train_value(first)), name="Again", actor_name="E", now=now)
    rows = list(standing(proposal))
    draft_quote(train=rows[1], actor_name="E", now=now)
    name_line(train=first, own_name="", pinned=True, actor_name="E", now=now)
    for kept in (first, rows[1]):
        with pytest.raises(LineRefused, match="stays"):
            delete_line(train=kept, actor_name="E", now=now)
    letters = delete_unpinned(proposal=proposal, actor_name="E", now=now)
    assert letters == [row.letter for row in rows[2:]]
    assert [row.letter for row in standing(proposal)] == [rows[0].letter, rows[1].letter]
    gone = rows[2]
    with pytest.raises(LineNotQuotable, match="bring it back"):
        draft_quote(train=gone, actor_name="E", now=now)
    gone.refresh_from_db()
    with pytest.raises(LineRefused, match="bring it back"):
        work(gone, Edit("remove", 0), now)
    bring_back(train=gone, actor_name="E", now=now)
    bring_back(train=gone, actor_name="E", now=now)
    assert standing(proposal).filter(pk=gone.pk).exists()


def test_designs_asked_with_the_same_catalogue_share_one_copy(proposal: Proposal) -> None:
    other = design(measured(proposal.dealer, name="Sedge End"))
    assert proposal.catalogue_id == other.catalogue_id
    assert CatalogueCopy.objects.count() == 1
    assert proposal.request["catalogue"] == []
    found = latest_proposal(proposal.site)
    assert found is not None
    assert {p.code for p in request_value(found).catalogue} == {p.code for p in few()}
    assert question_of(found).catalogue == ()


def test_a_design_from_before_there_were_copies_is_read_as_it_stands(proposal: Proposal) -> None:
    from sizing.engine.storage import to_data

    proposal.request = to_data(request_value(proposal))
    proposal.catalogue = None
    proposal.save()
    found = latest_proposal(proposal.site)
    assert found is not None
    assert {p.code for p in request_value(found).catalogue} == {p.code for p in few()}
