"""Reading the rows of worked examples and comparing an answer with what is printed.

A row: ``id``, ``check`` (which calculation), ``inputs`` (JSON), ``expected``, ``unit``, ``tolerance`` ("exact",
"abs 0.05", "rel 1%", "differs", or words), ``status`` (published, computed, common practice, from memory),
``source`` and ``remark``. Rows of tolerance "not asserted" stay, with the reason in the remark.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from sizing.engine.figures import figure

FOLDER = Path(__file__).resolve().parent.parent / "data"
STATUSES = {"published", "computed", "common practice", "from memory"}


@dataclass(frozen=True)
class Row:
    """One worked example."""

    id: str
    check: str
    inputs: Mapping[str, Any]
    expected: str
    unit: str
    tolerance: str
    status: str
    source: str
    remark: str


def read(name: str) -> list[Row]:
    """The rows of ``tests/engine/data/<name>.csv``."""
    with (FOLDER / f"{name}.csv").open(newline="") as handle:
        rows = [Row(**{**line, "inputs": json.loads(line["inputs"] or "{}")}) for line in csv.DictReader(handle)]
    assert len({row.id for row in rows}) == len(rows)
    assert {row.status for row in rows} <= STATUSES
    return rows


def cases(name: str) -> list[Any]:
    """The rows as parameters; those not to be asserted are skipped with their reason."""
    return [
        pytest.param(
            row,
            id=row.id,
            marks=[pytest.mark.skip(reason=row.remark)] if row.tolerance == "not asserted" else [],
        )
        for row in read(name)
    ]


def look_up(inputs: Mapping[str, Any]) -> Any:
    """A figure of ``sizing/figures``, or one item of it."""
    value = figure(inputs["document"], inputs["figure"]).value
    return value[inputs["item"]] if "item" in inputs else value


def agrees(row: Row, got: Any) -> None:
    """Assert that an answer agrees with the row within its printed tolerance."""
    if row.expected in ("True", "False"):
        assert got is (row.expected == "True"), f"{row.id}: {got}"
        return
    expected = float(row.expected)
    kind, _, size = row.tolerance.partition(" ")
    if kind == "exact":
        assert math.isclose(got, expected, rel_tol=1e-9, abs_tol=1e-12), f"{row.id}: {got}, printed {expected}"
    elif kind == "abs":
        assert abs(got - expected) <= float(size) * (1 + 1e-9), f"{row.id}: {got}, printed {expected} +- {size}"
    elif kind == "rel":
        share = float(size.rstrip("%")) / 100.0
        assert abs(got - expected) <= share * abs(expected), f"{row.id}: {got}, printed {expected} +- {size}"
    elif kind == "differs":
        assert abs(got - expected) > 0.05 * abs(expected), f"{row.id}: {got} must not be {expected}"
    elif row.tolerance == "more than":
        assert got >= expected
    elif row.tolerance == "within one even AWG size":
        assert abs(got - expected) <= 2
    else:
        raise AssertionError(f"{row.id}: tolerance {row.tolerance!r} is not understood")


def run(row: Row, checks: Mapping[str, Callable[..., Any]]) -> None:
    """Calculate a row by its check and compare. ``figure`` rows are looked up."""
    agrees(row, look_up(row.inputs) if row.check == "figure" else checks[row.check](row.inputs))
