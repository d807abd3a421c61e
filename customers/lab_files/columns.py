"""Which column of a file is what: guessed from headings, remembered by laboratory, always shown, changeable."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.translation import gettext_lazy

from customers.lab_files.names import Named, fold, named_as, read_name
from customers.sheets import Table
from sizing.engine.water import ANALYTES

L = gettext_lazy
LONG, WIDE = "long", "wide"
TEST = "test:"  # a column of a wide file: one test, "test:iron"

#: What a column can be besides a test of its own.
ROLES: tuple[tuple[str, Any], ...] = (
    ("sample", L("sample number")),
    ("date", L("day of sampling")),
    ("place", L("where it was drawn")),
    ("client", L("household or file number")),
    ("report", L("report number")),
    ("analyte", L("test")),
    ("result", L("result")),
    ("flag", L("sign or flag of the result")),
    ("unit", L("unit")),
    ("limit", L("reporting limit")),
)
_HEADINGS: Mapping[str, tuple[str, ...]] = {
    "sample": (
        "sample", "sample id", "sample no", "sample number", "client sample id", "field id", "sample name",
        "sample ref", "customer sample id", "bottle", "bottle number", "client sample", "sampleid",
    ),
    "date": (
        "date sampled", "sampled", "sample date", "sampling date", "collection date", "date collected", "collected",
        "date drawn", "sampled on", "sample collection date", "date of sampling", "collected on", "sampled date",
        "sample date time", "collection date time", "date time sampled",
    ),
    "place": (
        "location", "sample location", "sampling point", "sample point", "site", "place", "sample description",
        "description", "drawn at", "sampling location", "point",
    ),
    "client": ("client", "client name", "customer", "household", "project", "owner", "file number", "client ref"),
    "report": (
        "report", "report no", "report number", "certificate", "lab report", "lab number", "job number", "work order",
        "report id", "certificate number", "lab id", "lab sample id",
    ),
    "analyte": (
        "analyte", "parameter", "test", "analysis", "determinand", "component", "constituent", "test name",
        "analyte name", "parameter name", "substance", "compound",
    ),
    "result": ("result", "value", "results", "concentration", "test result", "reported result", "final result"),
    "flag": (
        "qualifier", "flag", "q", "qual", "sign", "result qualifier", "flags", "lt", "remark code", "qualifiers",
    ),
    "unit": ("unit", "units", "uom", "result unit", "result units", "unit of measure", "reporting units"),
    "limit": (
        "rl", "reporting limit", "mrl", "lor", "pql", "loq", "rdl", "report limit", "detection limit", "dl",
        "limit of reporting", "method reporting limit", "quantitation limit",
    ),
}  # fmt: skip
_ROLE_OF = {heading: role for role, headings in _HEADINGS.items() for heading in headings}


@dataclass(frozen=True)
class Layout:
    """How a laboratory's files are read. ``columns``: heading key -> role ("" = left out)."""

    shape: str = ""
    sheet: str = ""
    header_row: int | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)  # folded name of a test -> unit, where the file has none
    names: Mapping[str, str] = field(default_factory=dict)  # folded name of a test -> analyte, or "-" left out
    days: str = ""
    comma: str = ""

    def stored(self) -> dict[str, Any]:
        """As JSON."""
        return {
            "shape": self.shape,
            "sheet": self.sheet,
            "header_row": self.header_row,
            "columns": dict(self.columns),
            "units": dict(self.units),
            "names": dict(self.names),
            "days": self.days,
            "comma": self.comma,
        }


def layout_from(stored: Mapping[str, Any] | None) -> Layout:
    """A layout out of JSON; what is missing or of another kind stays empty."""
    told = stored or {}

    def texts(name: str) -> dict[str, str]:
        found = told.get(name)
        return {str(k): str(v) for k, v in found.items()} if isinstance(found, dict) else {}

    row = told.get("header_row")
    return Layout(
        shape=told["shape"] if told.get("shape") in (LONG, WIDE) else "",
        sheet=str(told.get("sheet") or ""),
        header_row=row if isinstance(row, int) and not isinstance(row, bool) and row > 0 else None,
        columns={key: role for key, role in texts("columns").items() if is_role(role)},
        units=texts("units"),
        names=texts("names"),
        days=str(told.get("days") or ""),
        comma=str(told.get("comma") or ""),
    )


def is_role(text: str) -> bool:
    """Whether a column can be that."""
    if text.startswith(TEST):
        return text.removeprefix(TEST) in ANALYTES
    return text == "" or text in dict(ROLES)


def keys_of(headers: Sequence[str]) -> list[str]:
    """A key for each column: its folded heading, numbered where it stands twice; by place where it has none."""
    seen: dict[str, int] = {}
    keys = []
    for at, header in enumerate(headers, start=1):
        name = fold(header) or f"column {at}"
        seen[name] = seen.get(name, 0) + 1
        keys.append(name if seen[name] == 1 else f"{name} #{seen[name]}")
    return keys


@dataclass(frozen=True)
class Column:
    """A column of the file: its heading as printed, its key, its role, and the test it is in a wide file."""

    at: int
    key: str
    heading: str
    role: str
    named: Named = field(default_factory=lambda: Named(""))

    @property
    def label(self) -> str:
        """The heading, or its place."""
        return self.heading or str(L("column %(n)s")) % {"n": self.at + 1}


def guess(table: Table, remembered: Layout) -> Layout:
    """The layout proposed for a file: what was remembered where the headings are the same, else by the headings.

    A file with a column of tests and one of results is long; one with tests for headings is wide.
    """
    keys = keys_of(table.headers)
    if remembered.columns and set(keys) <= set(remembered.columns):
        kept = {key: remembered.columns[key] for key in keys}
        return replace(remembered, columns=kept)
    guessed: dict[str, str] = {}
    taken: set[str] = set()
    for key, heading in zip(keys, table.headers, strict=True):
        role = _ROLE_OF.get(fold(heading), "")
        if role and role not in taken:
            taken.add(role)
            guessed[key] = role
        else:
            guessed[key] = ""
    if "analyte" in taken and "result" not in taken:
        across = [key for at, key in enumerate(keys) if not guessed[key] and _holds_results(table, at)]
        guessed |= dict.fromkeys(across, "result")
        taken |= {"result"} if across else set()
    long = {"analyte", "result"} <= taken
    if not long:
        for key, heading in zip(keys, table.headers, strict=True):
            named = read_name(heading, remembered.names)
            if len(fold(heading)) == 1 and not named.unit:  # "B" may be boron, or only the second column
                continue
            if named.known and guessed[key] in ("", "result", "analyte", "flag", "unit", "limit"):
                guessed[key] = TEST + named.analyte
            elif guessed[key] in ("result", "analyte", "flag", "unit", "limit"):
                guessed[key] = ""
    # What was said of single columns before stands, also in a file that has one column more.
    guessed |= {
        key: role for key, role in remembered.columns.items() if key in guessed and role in (guessed[key], "")
    }
    return replace(remembered, shape=LONG if long else WIDE, columns=guessed)


def overlooked(table: Table, columns: Sequence[Column], agreed: Mapping[str, str]) -> list[Column]:
    """Columns left out though they hold results, which nobody agreed to leave out before: a test not known here, or
    a heading that stands twice."""
    return [
        column
        for column in columns
        if not column.role
        and column.key not in agreed
        and _holds_results(table, column.at)
        and (not _ROLE_OF.get(fold(column.heading)) or "#" in column.key)
        and not _plain_count(table, column.at)
    ]


def _plain_count(table: Table, at: int) -> bool:
    """Whether a column only numbers its rows 1, 2, 3."""
    cells = [row.cells[at] for row in table.rows]
    return len(cells) > 1 and cells == [str(n) for n in range(1, len(cells) + 1)]


_RESULT = re.compile(r"[<>≤≥]?\s*[+-]?[\d.,]+\b.*|nd|n\.d\.|not detected|absent|present|tntc", re.IGNORECASE)


def _holds_results(table: Table, at: int) -> bool:
    """Whether most cells of a column look like results: its heading is then a sample's name."""
    cells = [row.cells[at] for row in table.rows if row.cells[at]]
    return bool(cells) and sum(_RESULT.fullmatch(cell) is not None for cell in cells) >= 0.6 * len(cells)


def columns_of(table: Table, layout: Layout) -> list[Column]:
    """The columns with the roles of a layout."""
    columns = []
    for at, (key, heading) in enumerate(zip(keys_of(table.headers), table.headers, strict=True)):
        role = layout.columns.get(key, "")
        named = read_name(heading, layout.names)
        if role.startswith(TEST):
            code = role.removeprefix(TEST)
            named = named if named.analyte == code else named_as(code, heading)
        columns.append(Column(at, key, heading, role, named))
    return columns


def missing_roles(layout: Layout) -> list[str]:
    """What a file of its shape cannot do without and no column is: roles, "test" for the tests of a wide file."""
    roles = list(layout.columns.values())
    if layout.shape == LONG:
        return [role for role in ("analyte", "result") if role not in roles]
    return [] if any(role.startswith(TEST) for role in roles) else ["test"]


def doubled_roles(layout: Layout) -> list[str]:
    """Roles that two columns have: a file says each thing once."""
    roles = [role for role in layout.columns.values() if role]
    twice = {role for role in roles if roles.count(role) > 1 and not role.startswith(TEST)}
    if "sample" not in roles:  # one column of results a sample, headed by its number
        twice.discard("result")
    return sorted(twice)
