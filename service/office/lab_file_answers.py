"""What the page of a laboratory's file asks, and the answers out of its form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from customers.lab_files.columns import LONG, ROLES, TEST, WIDE, Column, Layout, is_role
from customers.lab_files.days import DAY_FIRST, MONTH_FIRST
from customers.lab_files.lines import State
from customers.lab_files.names import LEFT_OUT, fold
from customers.lab_files.numbers import DECIMAL, THOUSANDS
from customers.lab_files.preview import Preview
from customers.water_tests.models import Place
from sizing.engine.units import accepted_units
from sizing.engine.water import ANALYTES

MOST = 400  # fields of one kind that are read from a form


@dataclass(frozen=True)
class Choice:
    """A select of the page: its name, its words, its options (value, words, chosen), and a cell to go by."""

    name: str
    label: str
    options: tuple[tuple[str, str, bool], ...]
    example: str = ""


def _options(rows: Sequence[tuple[str, Any]], chosen: str) -> tuple[tuple[str, str, bool], ...]:
    return tuple((value, str(words), value == chosen) for value, words in rows)


def tests() -> list[tuple[str, str]]:
    """Every test by its name."""
    return sorted(((code, _(row.name)) for code, row in ANALYTES.items()), key=lambda row: row[1].casefold())


def column_choices(preview: Preview) -> list[Choice]:
    """One select a column: what it is."""
    if preview.read is None or preview.table is None:
        return []
    roles = [("", _("left out")), *ROLES, *((TEST + code, words) for code, words in tests())]
    choices = []
    for column in preview.read.columns:
        cells = [row.cells[column.at] for row in preview.table.rows[:40] if row.cells[column.at]]
        example = ", ".join(dict.fromkeys(cells))[:60]
        choices.append(Choice(f"col-{column.at}", column.label, _options(roles, column.role), example))
    return choices


def name_choices(preview: Preview) -> list[Choice]:
    """One select for each test that is not known, and for each answered before in this file."""
    if preview.read is None:
        return []
    in_file = {fold(line.printed.test): line.printed.test for line in preview.read.lines if line.printed.test}
    asked = {fold(text): text for text in preview.read.unknown}
    asked |= {name: in_file[name] for name in preview.layout.names if name in in_file}
    rows = [("", _("not said yet")), (LEFT_OUT, _("leave it out, always")), *tests()]
    return [
        Choice(f"name-{at}", text, _options(rows, preview.layout.names.get(name, "")))
        for at, (name, text) in enumerate(sorted(asked.items()))
    ]


def unit_choices(preview: Preview) -> list[Choice]:
    """One select for each test whose unit was not understood, and for each answered before in this file."""
    if preview.read is None:
        return []
    asked: dict[str, tuple[str, str]] = {}
    for line in preview.read.lines:
        name, code = fold(line.printed.test), line.printed.named.analyte
        if code in ANALYTES and (line.state is State.REFUSED or name in preview.layout.units):
            asked.setdefault(name, (line.printed.test, code))
    return [
        Choice(
            f"unit-{at}",
            text,
            _options(
                [("", _("as the file says")), *((unit, unit) for unit in accepted_units(code))],
                preview.layout.units.get(name, ""),
            ),
        )
        for at, (name, (text, code)) in enumerate(sorted(asked.items()))
    ]


def days_choices(layout: Layout) -> tuple[tuple[str, str, bool], ...]:
    """What may come first in a day."""
    rows = [(DAY_FIRST, _("day first: 3/4 is 3 April")), (MONTH_FIRST, _("month first: 3/4 is 4 March"))]
    return _options(rows, layout.days)


def comma_choices(layout: Layout) -> tuple[tuple[str, str, bool], ...]:
    """What a comma may mean."""
    rows = [(DECIMAL, _("decimal: 1,234 is 1.234")), (THOUSANDS, _("thousands: 1,234 is 1234"))]
    return _options(rows, layout.comma)


def place_choices(chosen: str) -> tuple[tuple[str, str, bool], ...]:
    """Where a sample may have been drawn."""
    return _options([("", "–"), *Place.choices], chosen)


def answers_from(data: QueryDict, preview: Preview) -> dict[str, Any]:
    """Everything answered on the page, in the shape the file keeps it. What is no known answer is dropped."""
    return {
        "layout": _layout(data, preview).stored(),
        "left": [key[:40] for key in data.getlist("left")][: MOST * 20],
        "samples": _samples(data),
        "sure": [key[:240] for key in data.getlist("sure")][:MOST],
    }


def _layout(data: QueryDict, preview: Preview) -> Layout:
    was = preview.layout
    columns: Sequence[Column] = preview.read.columns if preview.read else ()
    roles = {column.key: data.get(f"col-{column.at}", column.role) for column in columns}
    roles = {key: role if is_role(role) else "" for key, role in roles.items()}
    names, units = dict(was.names), dict(was.units)
    for at, choice in enumerate(name_choices(preview)):
        _keep(names, fold(choice.label), data.get(f"name-{at}"), {LEFT_OUT, *ANALYTES})
    for at, choice in enumerate(unit_choices(preview)):
        _keep(units, fold(choice.label), data.get(f"unit-{at}"), {value for value, _w, _c in choice.options})
    head = data.get("header_row", "")
    return Layout(
        shape=LONG if "analyte" in roles.values() else WIDE,
        sheet=data.get("sheet", was.sheet),
        header_row=int(head) if head.isascii() and head.isdigit() and 0 < int(head) < 10_000 else None,
        columns=roles,
        units=units,
        names=names,
        days=_one_of(data.get("days"), (DAY_FIRST, MONTH_FIRST), was.days),
        comma=_one_of(data.get("comma"), (DECIMAL, THOUSANDS), was.comma),
    )


def _keep(into: dict[str, str], name: str, answer: str | None, known: set[str]) -> None:
    if answer is None:
        return
    into.pop(name, None)
    if answer and answer in known:
        into[name] = answer


def _one_of(answer: str | None, known: Sequence[str], was: str) -> str:
    return answer if answer is not None and answer in known else was


def _samples(data: QueryDict) -> dict[str, dict[str, Any]]:
    """By the sample's name: draw, household, place, point, day, left out, looked at."""
    told: dict[str, dict[str, Any]] = {}
    for at in range(1, MOST + 1):
        name = data.get(f"sample-{at}")
        if name is None:
            break
        told[name[:200]] = {
            "draw": data.get(f"draw-{at}", "")[:40],
            "site": data.get(f"site-{at}", "").strip()[:20],
            "place": data.get(f"place-{at}", ""),
            "point": data.get(f"point-{at}", "").strip().upper()[:1],
            # A day that only stands as the file says it is no answer: read another way, it may be another.
            "day": "" if data.get(f"day-{at}") == data.get(f"file-day-{at}") else data.get(f"day-{at}", ""),
            "leave": data.get(f"leave-{at}") == "on",
            "sure": [key[:240] for key in data.getlist(f"sure-{at}")][:MOST],
        }
    return told
