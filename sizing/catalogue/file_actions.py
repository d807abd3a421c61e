"""Files of items: kept as read, taken over whole, undone whole."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.db import transaction

from customers.dealers.models import Dealer
from sizing.catalogue.actions import add_item, change_item, note
from sizing.catalogue.adapters import Price, product_of
from sizing.catalogue.changes import changes
from sizing.catalogue.models import CatalogueFile, CatalogueItem
from sizing.catalogue.queries import items_by_code, last_taken, prices_on, unused
from sizing.catalogue.reading import Verdict, kept, read_items
from sizing.engine.design import Product
from sizing.engine.storage import from_data

MOST_NAMED = 5


class FileRefused(ValueError):
    """The file cannot be taken over or undone as it stands; says why and what would do."""


@transaction.atomic
def read_file(
    *, dealer: Dealer, data: bytes, name: str, actor_name: str, now: datetime, today: date
) -> CatalogueFile:
    """Read a file of items and keep what each row would do. Nothing in the catalogue changes.

    A file read before and not taken over is forgotten. Raises ``SheetRefused``.
    """
    table, rows = read_items(data, name, today)
    CatalogueFile.objects.filter(taken_at__isnull=True).delete()
    told = {"encoding": table.encoding, "delimiter": table.delimiter, "decimal": table.decimal, "sheet": table.sheet}
    row = CatalogueFile(
        dealer=dealer, name=name[:120] or "file", told=told, rows=kept(rows), read_by=actor_name, read_at=now
    )
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def take_file(*, file: CatalogueFile, actor_name: str, now: datetime, today: date) -> CatalogueFile:
    """Take over every row of a file, or none. Raises ``FileRefused``."""
    file = CatalogueFile.objects.select_for_update().get(pk=file.pk)
    if file.taken_at is not None:
        raise FileRefused(f"{file.name} was taken over already")
    bad = [row for row in file.rows if row["verdict"] == Verdict.REFUSED]
    if bad:
        raise FileRefused(
            f"{len(bad)} rows are refused, first row {bad[0]['number']}; mend the file and read it again"
        )
    todo = [row for row in file.rows if row["verdict"] in (Verdict.NEW, Verdict.CHANGED)]
    if not todo:
        raise FileRefused(f"{file.name} changes nothing")
    held = items_by_code({row["code"] for row in todo})
    prices = prices_on(today)
    _must_stand(held, [(row["code"], row["before"]) for row in todo], prices, "changed since the file was read")
    for row in todo:
        product = from_data(Product, row["after"]["product"])
        active, how = row["after"]["active"], f"file {file.name}"
        if row["verdict"] == Verdict.NEW:
            dealer = file.dealer
            add_item(
                dealer=dealer, product=product, active=active, actor_name=actor_name, now=now, how=f"added, {how}"
            )
        else:
            _change(held[row["code"]], row["after"], prices, actor_name, now, today, how)
    file.taken_by, file.taken_at = actor_name, now
    file.save(update_fields=["taken_by", "taken_at"])
    return file


@transaction.atomic
def undo_file(*, file: CatalogueFile, actor_name: str, now: datetime, today: date) -> int:
    """Put every item back as it was before the newest file taken over; returns how many could only be retired.

    An item the file added goes again; where a design or a quote names it by now, it is retired instead. Raises
    ``FileRefused`` where an item was changed since, and undoes nothing.
    """
    file = CatalogueFile.objects.select_for_update().get(pk=file.pk)
    newest = last_taken()
    if newest is None or newest.pk != file.pk:
        raise FileRefused(f"{file.name} is not the newest file taken over; only that one can be undone")
    done = [row for row in file.rows if row["verdict"] in (Verdict.NEW, Verdict.CHANGED)]
    held = items_by_code({row["code"] for row in done})
    prices = prices_on(today)
    _must_stand(held, [(row["code"], row["after"]) for row in done], prices, "changed since the file was taken over")
    how, retired = f"file {file.name} undone", 0
    for row in done:
        item = held[row["code"]]
        if row["verdict"] == Verdict.CHANGED:
            _change(item, row["before"], prices, actor_name, now, today, how)
        else:
            retired += _take_out(item, how, actor_name, now)
    file.undone_by, file.undone_at = actor_name, now
    file.save(update_fields=["undone_by", "undone_at"])
    return retired


@transaction.atomic
def forget_file(*, file: CatalogueFile) -> None:
    """Forget a file that was read and not taken over. Raises ``FileRefused`` for one that was."""
    if file.taken_at is not None:
        raise FileRefused(f"{file.name} was taken over; undo it instead")
    file.delete()


def _change(
    item: CatalogueItem,
    state: dict[str, Any],
    prices: dict[int, Price],
    actor_name: str,
    now: datetime,
    today: date,
    how: str,
) -> CatalogueItem:
    product = from_data(Product, state["product"])
    return change_item(
        item=item,
        product=product,
        active=state["active"],
        actor_name=actor_name,
        now=now,
        today=today,
        how=how,
        prices=prices,
    )


def _take_out(item: CatalogueItem, how: str, actor_name: str, now: datetime) -> int:
    """Delete an item nothing names, retire any other; 1 where it was retired."""
    if unused(CatalogueItem.objects.filter(pk=item.pk)).exists():
        item.delete()
        return 0
    item.active = False
    item.save(update_fields=["active"])
    note(item=item, who=actor_name, what=f"retired, {how}; a design, a quote or a job names it", at=now)
    return 1


def _must_stand(
    held: dict[str, CatalogueItem],
    expected: list[tuple[str, dict[str, Any] | None]],
    prices: dict[int, Price],
    why: str,
) -> None:
    """Every item as it is expected to be, ``None`` meaning not there. Raises ``FileRefused`` naming the others."""
    other = [code for code, state in expected if not _stands(held.get(code), state, prices)]
    if other:
        named = ", ".join(other[:MOST_NAMED]) + (
            f" and {len(other) - MOST_NAMED} more" if len(other) > MOST_NAMED else ""
        )
        raise FileRefused(f"{why}: {named}; nothing was written")


def _stands(item: CatalogueItem | None, state: dict[str, Any] | None, prices: dict[int, Price]) -> bool:
    if item is None or state is None:
        return (item is None) is (state is None)
    expected = from_data(Product, state["product"])
    now = product_of(item, prices.get(item.pk))
    return not changes(now, expected, was_active=item.active, is_active=state["active"])
