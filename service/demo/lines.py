"""Lines of a design that people in the demo worked on by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from sizing.proposals.handwork import change_line
from sizing.proposals.keeping import name_line
from sizing.proposals.line import Edit
from sizing.proposals.models import Proposal
from sizing.proposals.queries import train_value


def work_lines(proposal: Proposal, told: Sequence[Mapping[str, Any]], who: str, at: datetime) -> None:
    """Do to the lines of a design what the scenario tells: each begins from a letter, and may be named and pinned."""
    for work in told:
        row = proposal.trains.get(letter=work["from"])
        for step, (do, kind) in enumerate(work["do"]):
            kinds = [stage.kind.value for stage in train_value(row).stages]
            edit = Edit(do, kinds.index(kind))
            now = at + timedelta(minutes=3 * step)
            row = change_line(train=row, edit=edit, seen=row.version, actor_name=who, now=now).row
        if "name" in work:
            name_line(train=row, own_name=work["name"], pinned=True, actor_name=who, now=at + timedelta(minutes=20))
