"""Which lines of a design are kept: pinned and named, deleted and brought back, carried into the next design."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from django.db import transaction

from customers.households.log import add_log
from sizing.proposals.copies import products_by_code
from sizing.proposals.handwork import LineRefused, laid
from sizing.proposals.line import units_of
from sizing.proposals.models import Proposal, ProposedTrain
from sizing.proposals.queries import question_of, standing, train_value
from sizing.proposals.rows import columns_by_hand, free_letter, log_words, stamp, write_stages


@transaction.atomic
def name_line(*, train: ProposedTrain, own_name: str, pinned: bool, actor_name: str, now: datetime) -> ProposedTrain:
    """Name a line and pin it (or let it go). A pinned line stays as it is and is carried into the next design."""
    row = _locked(train)
    own_name = " ".join(own_name.split())
    if (row.own_name, row.pinned) == (own_name, pinned):
        return row
    said = []
    if own_name != row.own_name:
        said.append(f"called {own_name!r}" if own_name else "has no name of its own any more")
    if pinned != row.pinned:
        said.append("pinned" if pinned else "not pinned any more")
    row.own_name, row.pinned = own_name, pinned
    row.origin = row.origin or uuid4()
    row.version += 1
    row.save(update_fields=["own_name", "pinned", "origin", "version"])
    add_log(site=row.proposal.site, who=actor_name, what=log_words(row.proposal, row, ", ".join(said)), at=now)
    return row


@transaction.atomic
def delete_line(*, train: ProposedTrain, actor_name: str, now: datetime) -> ProposedTrain:
    """Delete a line from the bench; it can be brought back. Raises ``LineRefused`` for a pinned or quoted one."""
    row = _locked(train)
    if row.deleted_at is not None:
        return row
    if row.pinned or row.quoted:
        why = "a quote stands on it" if row.quoted else "it is pinned; let it go first"
        raise LineRefused(f"line {row.letter} stays: {why}")
    _delete(row, actor_name, now)
    add_log(site=row.proposal.site, who=actor_name, what=log_words(row.proposal, row, "deleted"), at=now)
    return row


@transaction.atomic
def delete_unpinned(*, proposal: Proposal, actor_name: str, now: datetime) -> list[str]:
    """Delete every line of a design that is neither pinned nor quoted; returns their letters."""
    rows = list(standing(proposal).select_for_update().filter(pinned=False, quoted=False))
    for row in rows:
        _delete(row, actor_name, now)
    letters = [row.letter for row in rows]
    if letters:
        what = f"design {proposal.number}: deleted {', '.join(letters)}"
        add_log(site=proposal.site, who=actor_name, what=what, at=now)
    return letters


@transaction.atomic
def bring_back(*, train: ProposedTrain, actor_name: str, now: datetime) -> ProposedTrain:
    """Put a deleted line back on the bench."""
    row = _locked(train)
    if row.deleted_at is None:
        return row
    row.deleted_at, row.deleted_by = None, ""
    row.version += 1
    row.save(update_fields=["deleted_at", "deleted_by", "version"])
    add_log(site=row.proposal.site, who=actor_name, what=log_words(row.proposal, row, "brought back"), at=now)
    return row


@transaction.atomic
def mark_quoted(*, train: ProposedTrain) -> None:
    """Note that a quote stands on a line, so that it changes no more."""
    ProposedTrain.objects.filter(pk=train.pk).update(quoted=True)


@transaction.atomic
def carry_pinned(*, old: Proposal, new: Proposal, now: datetime) -> list[ProposedTrain]:
    """The pinned lines of one design, checked anew for what the next one was asked, as lines of that one."""
    request = question_of(new)
    carried = []
    for row in standing(old).filter(pinned=True):
        value = train_value(row)
        units = units_of(value)
        own = {stage.product.code: stage.product for stage in value.stages}
        products = own | products_by_code(new, {unit.code for unit in units})
        found = laid(request, units, products)
        before = [[unit.code, unit.count] for unit in units]
        copy = ProposedTrain.objects.create(
            dealer_id=new.dealer_id,
            proposal=new,
            letter=free_letter(new),
            name=row.name if row.by_hand else f"{row.letter} of design {old.number}",
            own_name=row.own_name,
            pinned=True,
            by_hand=True,
            began_from=row.began_from if row.by_hand else row.letter,
            origin=row.origin or uuid4(),
            steps=[*row.steps, stamp(now, row.made_by or new.made_by, f"carried from design {old.number}", before)],
            made_by=row.made_by or new.made_by,
            made_at=row.made_at or now,
            **columns_by_hand(request, found),
        )
        write_stages(copy, found.train)
        carried.append(copy)
    return carried


def _locked(train: ProposedTrain) -> ProposedTrain:
    rows = ProposedTrain.objects.select_for_update(of=("self",)).select_related("proposal__site")
    return rows.get(pk=train.pk)


def _delete(row: ProposedTrain, actor_name: str, now: datetime) -> None:
    row.deleted_by, row.deleted_at = actor_name, now
    row.version += 1
    row.save(update_fields=["deleted_by", "deleted_at", "version"])
