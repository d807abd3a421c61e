"""Writes about laboratories' files: kept as they come, answered, dropped; taking in stands with the milestones."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import datetime
from pathlib import PurePath
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from customers.lab_files.models import LabFile, LabFileState
from customers.laboratories.models import Laboratory
from customers.sheets import SheetRefused, read_table

MOST_ANSWERS = 200_000  # bytes of answers: no file of results needs more


class LabFileRefused(ValueError):
    """A file was not kept, or cannot be moved as asked; the sentence says why and what would do."""


def own_name(filename: str) -> str:
    """A name fit to keep: the last part of a path, without control characters, at most 120 characters."""
    name = PurePath(filename.replace("\\", "/")).name
    kept = "".join(letter for letter in name if letter.isprintable() and letter not in '<>:"|?*')
    return (kept.strip(" .") or "file")[-120:]


@transaction.atomic
def keep_lab_file(*, laboratory: Laboratory, filename: str, data: bytes, actor_name: str, now: datetime) -> LabFile:
    """Keep an uploaded file as it came, once it is known to be a table. The same bytes twice are refused.

    Raises ``LabFileRefused`` naming what was found and what is accepted.
    """
    name = own_name(filename)
    try:
        read_table(data, name)
    except SheetRefused as refused:
        raise LabFileRefused(str(refused)) from None
    digest = hashlib.sha256(data).hexdigest()
    states = (LabFileState.WAITING, LabFileState.TAKEN_IN)
    twin = LabFile.objects.filter(sha256=digest, state__in=states).first()
    if twin is not None:
        told = _("these very bytes were uploaded on %(day)s as “%(name)s” (%(state)s); accepted is another file")
        words = {"day": date_format(twin.uploaded_at, "j M Y"), "name": twin.name, "state": twin.get_state_display()}
        raise LabFileRefused(told % words)
    row = LabFile(
        dealer_id=laboratory.dealer_id,
        laboratory=laboratory,
        name=name,
        sha256=digest,
        size=len(data),
        uploaded_by=actor_name,
        uploaded_at=now,
    )
    suffix = ".xlsx" if data.startswith(b"PK") else ".csv"
    row.file.save(f"{laboratory.dealer.public_id}/{row.public_id}{suffix}", ContentFile(data), save=False)
    row.save()
    return row


@transaction.atomic
def answer_lab_file(*, lab_file: LabFile, answers: Mapping[str, Any]) -> LabFile:
    """Keep what was answered about a waiting file. Raises ``LabFileRefused`` where it waits no more."""
    if len(repr(answers)) > MOST_ANSWERS:
        raise LabFileRefused(_("more was answered than a file of results can ask"))
    won = LabFile.objects.filter(pk=lab_file.pk, state=LabFileState.WAITING).update(answers=dict(answers))
    lab_file.refresh_from_db()
    if not won:
        raise _not_waiting(lab_file)
    return lab_file


@transaction.atomic
def drop_lab_file(*, lab_file: LabFile) -> LabFile:
    """Give a waiting file up; nothing was taken in. Raises ``LabFileRefused`` where it waits no more."""
    return move(lab_file=lab_file, out_of=LabFileState.WAITING, to=LabFileState.DROPPED)


@transaction.atomic
def move(*, lab_file: LabFile, out_of: str, to: str, **columns: Any) -> LabFile:
    """Move a file on, only from where it stands. Raises ``LabFileRefused`` where somebody else was first."""
    won = LabFile.objects.filter(pk=lab_file.pk, state=out_of).update(state=to, **columns)
    lab_file.refresh_from_db()
    if not won:
        raise _not_waiting(lab_file)
    return lab_file


def _not_waiting(lab_file: LabFile) -> LabFileRefused:
    told = _("“%(name)s” is %(state)s; this step is no longer open")
    return LabFileRefused(told % {"name": lab_file.name, "state": lab_file.get_state_display()})
