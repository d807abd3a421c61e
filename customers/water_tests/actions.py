"""Taking in a water test: all of it or nothing, the texts kept as typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from customers.dealers.queries import today_at
from customers.households.actions import add_log
from customers.households.models import Site
from customers.water_tests.models import Result, WaterTest
from customers.water_tests.notices import NoOpenNotice, RemedyRefused, record_remedy, weigh
from sizing.engine.errors import EngineError, OutsideValidRange, UnreadableValue
from sizing.engine.units import Reported, parse_result
from sizing.engine.water import ANALYTES

__all__ = [
    "NoOpenNotice",
    "RefusedRows",
    "RemedyRefused",
    "RowIn",
    "read_row",
    "record_remedy",
    "record_water_test",
]

EARLIEST = date(1970, 1, 1)


@dataclass(frozen=True)
class RowIn:
    """One line as it stands on the paper."""

    analyte: str
    text: str
    unit_text: str = ""


class RefusedRows(ValueError):
    """A test was not saved, none of it. ``rows``: position (from 0) -> sentence; ``heading``: field -> sentence."""

    def __init__(self, rows: Mapping[int, str], heading: Mapping[str, str]) -> None:
        self.rows, self.heading = dict(rows), dict(heading)
        told = [*self.heading.values(), *self.rows.values()]
        super().__init__(" ".join(told))


def read_row(row: RowIn) -> Reported:
    """What a typed line means. Raises ``ValueError`` with a sentence for the person who typed it."""
    analyte = ANALYTES.get(row.analyte)
    if analyte is None:
        typed = row.analyte or _("empty")
        raise ValueError(_("parameter is %(typed)s, accepted is one of the list") % {"typed": typed})
    if len(row.text) > 40 or len(row.unit_text) > 40:
        raise ValueError(
            _("%(name)s: longer than 40 characters; accepted is the result alone") % {"name": analyte.name}
        )
    try:
        return parse_result(row.text, row.analyte, row.unit_text)
    except UnreadableValue as refused:
        message = _("%(name)s: cannot read “%(text)s”; accepted is %(accepted)s")
        raise ValueError(
            message % {"name": refused.field, "text": refused.text, "accepted": refused.accepted}
        ) from None
    except OutsideValidRange as refused:
        message = _("%(name)s: “%(text)s” is impossible; accepted is %(accepted)s")
        typed = f"{row.text} {row.unit_text}".strip()
        raise ValueError(message % {"name": analyte.name, "text": typed, "accepted": refused.accepted}) from None
    except EngineError as refused:
        raise ValueError(f"{analyte.name}: {refused}") from None


def read_rows(rows: Sequence[RowIn]) -> tuple[dict[int, Reported], dict[int, str]]:
    """Readings and errors by position; a line without a result is no line. Duplicates are errors."""
    read: dict[int, Reported] = {}
    errors: dict[int, str] = {}
    first: dict[str, int] = {}
    for at, row in enumerate(rows):
        if not row.text.strip():
            continue
        try:
            read[at] = read_row(row)
        except ValueError as refused:
            errors[at] = str(refused)
            continue
        if row.analyte in first:
            message = _("%(name)s stands twice: “%(a)s” and “%(b)s”; accepted is one result of each")
            name, before = ANALYTES[row.analyte].name, rows[first[row.analyte]].text
            errors[at] = message % {"name": name, "a": before, "b": row.text}
        first.setdefault(row.analyte, at)
    return read, errors


def _test_row(site: Site, actor_name: str, now: datetime, heading: Mapping[str, Any], token: Any) -> WaterTest:
    return WaterTest(
        dealer_id=site.dealer_id, site=site, entered_by=actor_name, entered_at=now, form_token=token, **heading
    )


def _heading_errors(test: WaterTest, site: Site, now: datetime) -> dict[str, str]:
    errors: dict[str, str] = {}
    try:
        test.full_clean(exclude=["form_token", "site"], validate_constraints=False)
    except ValidationError as refused:
        errors = {name: " ".join(told) for name, told in refused.message_dict.items()}
    today = today_at(site.dealer, now)
    if isinstance(test.sampled_on, date) and not EARLIEST <= test.sampled_on <= today:
        message = _("day of sampling is %(day)s, accepted is a day from %(first)s to %(today)s")
        days = {"day": test.sampled_on.isoformat(), "first": EARLIEST.isoformat(), "today": today.isoformat()}
        errors["sampled_on"] = message % days
    return errors


def record_water_test(
    *,
    site: Site,
    actor_name: str,
    now: datetime,
    heading: Mapping[str, Any],
    rows: Sequence[RowIn],
    form_token: UUID | str | None = None,
) -> WaterTest:
    """Store one sample with its results, and weigh it for the do-not-drink notice.

    ``heading``: columns of ``WaterTest`` by name (kind, place, sampled_on; point, sampled_by, laboratory,
    report_number, note, proves_install). The same ``form_token`` twice gives the one test made first.
    Raises ``RefusedRows`` naming every bad row and field; nothing is saved then.
    """
    token = UUID(str(form_token)) if form_token else None
    if token and (earlier := WaterTest.objects.filter(form_token=token, site=site).first()):
        return earlier
    test = _test_row(site, actor_name, now, heading, token)
    read, errors = read_rows(rows)
    wrong = _heading_errors(test, site, now)
    if not read and not errors:
        wrong["rows"] = _("no result typed; accepted is at least one")
    if errors or wrong:
        raise RefusedRows(errors, wrong)
    try:
        with transaction.atomic():
            _store(test, rows, read)
            told = _("water test entered: %(n)s results, %(place)s") % {
                "n": len(read),
                "place": test.get_place_display(),
            }
            add_log(site=site, who=actor_name, what=told, at=now)
            weigh(test=test, actor_name=actor_name, now=now)
    except IntegrityError:
        twin = WaterTest.objects.filter(form_token=token, site=site).first() if token else None
        if twin is None:
            raise
        return twin
    return test


def _store(test: WaterTest, rows: Sequence[RowIn], read: Mapping[int, Reported]) -> None:
    test.save()
    Result.objects.bulk_create(
        Result(
            dealer_id=test.dealer_id,
            test=test,
            analyte=rows[at].analyte,
            text=rows[at].text.strip(),
            unit_text=rows[at].unit_text.strip(),
            qualifier=reported.qualifier,
            value=reported.canonical,
        )
        for at, reported in read.items()
    )
