"""A file read through: its lines, its samples, and what has to be answered before it is taken in. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date

from django.utils.translation import gettext as _

from customers.lab_files.columns import LONG, Column, Layout, columns_of, doubled_roles, missing_roles
from customers.lab_files.days import DayOrder, NotADay, order_of, read_day
from customers.lab_files.lines import Line, Printed, State, read_line
from customers.lab_files.names import fold, read_name
from customers.lab_files.numbers import Commas, commas_of, could_be_two
from customers.lab_files.same import settle_twins
from customers.sheets import Row, Table
from sizing.engine import unit_forms
from sizing.engine.water import ANALYTES

ONLY = "–"  # the sample of a file that numbers none


@dataclass(frozen=True)
class SampleRead:
    """One sample of the file: its lines, its day, and what the file says of where it came from."""

    name: str
    lines: tuple[Line, ...]
    day: date | None
    day_text: str
    place: str
    client: str
    report: str
    errors: tuple[str, ...] = ()

    @property
    def taken(self) -> tuple[Line, ...]:
        """Lines that become results."""
        return tuple(line for line in self.lines if line.state is State.TAKEN)

    @property
    def refused(self) -> tuple[Line, ...]:
        """Lines that stand in the way."""
        return tuple(line for line in self.lines if line.state is State.REFUSED)


@dataclass(frozen=True)
class FileRead:
    """The whole file. ``wrong`` stands in the way of reading it at all."""

    columns: tuple[Column, ...]
    samples: tuple[SampleRead, ...]
    order: DayOrder
    commas: Commas
    units_row: int | None = None
    wrong: tuple[str, ...] = ()
    unknown: tuple[str, ...] = field(default_factory=tuple)

    @property
    def lines(self) -> tuple[Line, ...]:
        """Every line, sample by sample."""
        return tuple(line for sample in self.samples for line in sample.lines)

    @property
    def ask_days(self) -> bool:
        """Whether the order of day and month has to be answered."""
        return self.order.open and not self.order.order

    @property
    def ask_comma(self) -> bool:
        """Whether the comma has to be answered."""
        return self.commas.open


def read_file(table: Table, layout: Layout, left: Collection[str] = ()) -> FileRead:
    """Read a file by a layout. ``left``: keys of lines that were left out by hand."""
    columns = columns_of(table, layout)
    wrong = [*_wrong(layout, columns)]
    if wrong:
        return FileRead(tuple(columns), (), DayOrder(""), Commas("", False), wrong=tuple(wrong))
    role = {column.role: column for column in columns if column.role}
    order = order_of(_cells(table.rows, role.get("date")), layout.days)
    units = _units_row(table, columns) if layout.shape != LONG else None
    rows = [row for row in table.rows if units is None or row.number != units.number]
    printed = list(_long(rows, columns, layout) if layout.shape == LONG else _wide(rows, columns, units))
    commas = commas_of([text for one in printed for text in (one.result, one.limit)], layout.comma)
    lines = [read_line(one, layout) for one in printed]
    lines = [
        line.with_state(State.LEFT, _("left out by hand"))
        if line.key in left and line.state is not State.EMPTY
        else line
        for line in lines
    ]
    if commas.open:
        lines = [_until_comma(line, commas) for line in lines]
    samples = _samples(settle_twins(lines), rows, role, order)
    unknown = {
        fold(one.test): one.test for one in printed if not one.named.analyte and (one.result or one.flag) and one.test
    }
    return FileRead(
        columns=tuple(columns),
        samples=tuple(samples),
        order=order,
        commas=commas,
        units_row=units.number if units else None,
        unknown=tuple(unknown.values()),
    )


def _wrong(layout: Layout, columns: Iterable[Column]) -> Iterable[str]:
    """What the columns lack, in sentences."""
    words = {"analyte": _("the test"), "result": _("the result"), "test": _("at least one test")}
    for role in missing_roles(layout):
        yield _("no column is %(role)s; say below which one") % {"role": words[role]}
    for role in doubled_roles(layout):
        names = ", ".join(f"“{column.label}”" for column in columns if column.role == role)
        yield _("%(names)s cannot all be the same thing; choose one") % {"names": names}


def _cells(rows: Iterable[Row], column: Column | None) -> list[str]:
    return [row.cells[column.at] for row in rows if row.cells[column.at]] if column else []


def _cell(row: Row, column: Column | None) -> str:
    return row.cells[column.at] if column else ""


def _long(rows: Iterable[Row], columns: list[Column], layout: Layout) -> Iterable[Printed]:
    """One result a row; or one row a test and one column a sample, headed by its number."""
    role = {column.role: column for column in columns if column.role}
    across = [column for column in columns if column.role == "result"]
    for row in rows:
        test = _cell(row, role["analyte"])
        if not test and not any(row.cells[column.at] for column in across) and not row.problem:
            continue
        for column in across:
            sample = column.label if len(across) > 1 else _cell(row, role.get("sample"))
            yield Printed(
                key=f"r{row.number}" if len(across) == 1 else f"r{row.number}c{column.at}",
                row=row.number,
                column=column.label,
                sample=sample or ("" if "sample" in role else ONLY),
                test=test,
                named=read_name(test, layout.names),
                result=row.cells[column.at],
                flag=_cell(row, role.get("flag")),
                unit=_cell(row, role.get("unit")),
                limit=_cell(row, role.get("limit")),
                problem=row.problem,
            )


def _wide(rows: Iterable[Row], columns: list[Column], units: Row | None) -> Iterable[Printed]:
    """One sample a row, one test a column."""
    role = {column.role: column for column in columns if column.role}
    tests = [column for column in columns if column.named.analyte and column.role.startswith("test:")]
    for row in rows:
        sample = _cell(row, role.get("sample"))
        if not any(row.cells[column.at] for column in tests) and not row.problem:
            continue
        for column in tests:
            yield Printed(
                key=f"r{row.number}c{column.at}",
                row=row.number,
                column=column.label,
                sample=sample or (f"{_('row')} {row.number}" if "sample" not in role else ""),
                test=column.heading,
                named=column.named,
                result=row.cells[column.at],
                unit=units.cells[column.at] if units else "",
                problem=row.problem,
            )


def _units_row(table: Table, columns: list[Column]) -> Row | None:
    """The first row, where it holds the units of the tests and no result."""
    tests = [column for column in columns if column.role.startswith("test:")]
    if not table.rows:
        return None
    first = table.rows[0]
    filled = [(column, first.cells[column.at]) for column in tests if first.cells[column.at]]
    read = [unit_forms.recognise(ANALYTES[column.named.analyte], text) or _bare(text) for column, text in filled]
    return first if filled and all(read) else None


def _bare(text: str) -> bool:
    """A unit whose basis is still open."""
    return text.casefold().replace(" ", "") in ("mg/l", "ug/l", "µg/l", "μg/l", "ppm", "ppb")


def _until_comma(line: Line, commas: Commas) -> Line:
    """A line whose number could be two waits for the answer."""
    cells = (line.printed.result, line.printed.limit)
    if line.state is not State.TAKEN or not any(could_be_two(cell, commas) for cell in cells):
        return line
    told = _("“%(text)s” could be two numbers; say below what the comma means")
    return line.with_state(State.REFUSED, told % {"text": line.printed.result})


def _samples(lines: list[Line], rows: list[Row], role: dict[str, Column], order: DayOrder) -> Iterable[SampleRead]:
    by_row = {row.number: row for row in rows}
    grouped: dict[str, list[Line]] = {}
    for line in lines:
        grouped.setdefault(line.printed.sample, []).append(line)
    for name, own in grouped.items():
        held = [by_row[line.printed.row] for line in own]
        texts = list(dict.fromkeys(_cells(held, role.get("date"))))
        day, errors = _day(texts, order)
        if not name:
            numbers = ", ".join(str(line.printed.row) for line in own[:6])
            errors.append(_("rows %(rows)s: no sample number") % {"rows": numbers})
        yield SampleRead(
            name=name or _("without a number"),
            lines=tuple(own),
            day=day,
            day_text="; ".join(texts),
            place="; ".join(dict.fromkeys(_cells(held, role.get("place")))),
            client="; ".join(dict.fromkeys(_cells(held, role.get("client")))),
            report="; ".join(dict.fromkeys(_cells(held, role.get("report")))),
            errors=tuple(errors),
        )


def _day(texts: list[str], order: DayOrder) -> tuple[date | None, list[str]]:
    """The one day of a sample. Several texts of one day are one day; two days are refused."""
    days, errors = set(), []
    for text in texts:
        try:
            days.add(read_day(text, order.order))
        except NotADay as refused:
            errors.append(str(refused))
    if len(days) > 1:
        told = _("two days for one sample: %(days)s; is this the day of sampling?")
        errors.append(told % {"days": ", ".join(day.isoformat() for day in sorted(days))})
    return (next(iter(days)) if len(days) == 1 and not errors else None), errors
