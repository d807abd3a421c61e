"""Work on one line of a design by hand: each change is checked at once and kept, whatever it breaks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import uuid4

from django.db import transaction

from customers.households.log import add_log
from sizing.engine.design import DesignRequest, Product
from sizing.engine.train_hand import LaidOut, lay_out
from sizing.proposals.copies import products_by_code
from sizing.proposals.line import Edit, LineRefused, Unit, edited, units_of
from sizing.proposals.models import Proposal, ProposedTrain
from sizing.proposals.queries import question_of, train_value
from sizing.proposals.rows import columns_by_hand, free_letter, log_words, stamp, write_stages

__all__ = ["LineMoved", "LineRefused", "Worked", "begin_line", "change_line", "laid", "undo_change"]

MOST_STEPS = 200


class LineMoved(ValueError):
    """Somebody changed the line since it was shown; says who and what."""


@dataclass(frozen=True)
class Worked:
    """The line after a change: its row, where the hand is now (-1 = nowhere), and what was done, in words."""

    row: ProposedTrain
    place: int
    words: str


def laid(request: DesignRequest, units: Sequence[Unit], products: dict[str, Product]) -> LaidOut:
    """A line of products as the engine sees it."""
    return lay_out(request, [products[unit.code] for unit in units], [unit.count for unit in units])


@transaction.atomic
def change_line(*, train: ProposedTrain, edit: Edit, seen: int, actor_name: str, now: datetime) -> Worked:
    """Do one thing to a line and keep it. The engine's own lines, pinned and quoted ones stay as they are: the
    change begins a new line with a letter of its own.

    ``seen`` is the version that was on the screen. Raises ``LineMoved`` where another hand was quicker,
    ``LineRefused`` for what cannot be done; nothing is kept then.
    """
    row = _as_seen(train, seen)
    before = train_value(row)
    own = {stage.product.code: stage.product for stage in before.stages}
    products = products_by_code(row.proposal, {edit.code} if edit.code else ()) | own
    done = edited(units_of(before), edit, products)
    request = question_of(row.proposal)
    found = laid(request, done.units, products)
    step = stamp(now, actor_name, done.words, [[unit.code, unit.count] for unit in units_of(before)])
    columns = columns_by_hand(request, found)
    if row.fixed:
        name = f"{row.letter}, changed by hand"
        row = _new_row(row.proposal, name, row.letter, columns, actor_name=actor_name, now=now)
        add_log(
            site=row.proposal.site,
            who=actor_name,
            what=log_words(row.proposal, row, f"begun from {row.began_from}, {done.words}"),
            at=now,
        )
    row.steps = [*row.steps[-MOST_STEPS + 1 :], step]
    _keep(row, columns, actor_name, now)
    write_stages(row, found.train)
    return Worked(row, done.place, done.words)


@transaction.atomic
def begin_line(
    *, proposal: Proposal, units: Sequence[Unit], name: str, actor_name: str, now: datetime
) -> ProposedTrain:
    """A new line by hand from any products (none: an empty line to be filled). Raises ``LineRefused`` for a product
    that is neither in the design's catalogue nor in today's."""
    products = products_by_code(proposal, {unit.code for unit in units})
    gone = [unit.code for unit in units if unit.code not in products]
    if gone:
        raise LineRefused(f"product is {gone[0]!r}, accepted is the code of one in the catalogue")
    request = question_of(proposal)
    found = laid(request, units, products)
    columns = columns_by_hand(request, found)
    row = _new_row(proposal, name, "", columns, actor_name=actor_name, now=now)
    write_stages(row, found.train)
    add_log(site=proposal.site, who=actor_name, what=log_words(proposal, row, f"begun, {name}"), at=now)
    return row


@transaction.atomic
def undo_change(*, train: ProposedTrain, seen: int, actor_name: str, now: datetime) -> Worked:
    """Take the last change of a line back. Raises ``LineMoved``, or ``LineRefused`` if there is none."""
    row = _as_seen(train, seen)
    if row.fixed or not row.steps:
        raise LineRefused(f"line {row.letter} has no change to take back")
    step = row.steps[-1]
    units = [Unit(code, count) for code, count in step["before"]]
    own = {stage.product.code: stage.product for stage in train_value(row).stages}
    products = products_by_code(row.proposal, {unit.code for unit in units}) | own
    gone = [unit.code for unit in units if unit.code not in products]
    if gone:
        raise LineRefused(f"product is {gone[0]!r}, which the catalogue has no more; this cannot be taken back")
    request = question_of(row.proposal)
    found = laid(request, units, products)
    row.steps = row.steps[:-1]
    _keep(row, columns_by_hand(request, found), actor_name, now)
    write_stages(row, found.train)
    return Worked(row, -1, f"taken back: {step['what']}")


def _as_seen(train: ProposedTrain, seen: int) -> ProposedTrain:
    """The row, locked, still as it was shown."""
    rows = ProposedTrain.objects.select_related("proposal__site", "proposal__catalogue")
    row = rows.defer("proposal__catalogue__products").select_for_update(of=("self",)).get(pk=train.pk)
    if row.deleted_at is not None:
        raise LineRefused(f"line {row.letter} was deleted by {row.deleted_by}; bring it back first")
    if row.version != seen:
        last = row.steps[-1] if row.steps else {"who": row.made_by, "what": "a change taken back"}
        what = f"{last['who']} changed line {row.letter} meanwhile: {last['what']}"
        raise LineMoved(f"{what}. Look at it as it is now.")
    return row


def _new_row(
    proposal: Proposal, name: str, began_from: str, columns: dict[str, object], *, actor_name: str, now: datetime
) -> ProposedTrain:
    return ProposedTrain.objects.create(
        dealer_id=proposal.dealer_id,
        proposal=proposal,
        letter=free_letter(proposal),
        name=name,
        by_hand=True,
        began_from=began_from,
        origin=uuid4(),
        made_by=actor_name,
        made_at=now,
        **columns,
    )


def _keep(row: ProposedTrain, columns: dict[str, object], actor_name: str, now: datetime) -> None:
    for name, value in columns.items():
        setattr(row, name, value)
    row.version += 1
    row.made_by, row.made_at = actor_name, now
    row.save()
