"""Every limit of the engine: just inside is answered, just outside is refused by name, value and limits.

``data/stated_limits.csv`` holds one row per guard, its limits as people are told them: where it stands, the argument
that moves it, the name it is refused under, the accepted range and its unit. Where the limit is on something computed
from the argument, ``inside`` and ``outside`` say which arguments lie on which side. The rows are the statement: a
guard without a row fails, and so does a row without a guard.
"""

import ast
import csv
import os
from pathlib import Path

import pytest

import sizing.engine
from sizing.engine.errors import OutsideValidRange
from tests.engine.ordinary_calls import call

TABLE = Path(__file__).parent / "data" / "stated_limits.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
IDS = [f"{row['guard']}-{row['name']}" for row in ROWS]
ROOT = Path(sizing.engine.__file__).parent

# A design request has its own tests of what it refuses: tests/engine/train.
ELSEWHERE = ("train", "confidence")


def _guards():
    """(function it stands in, name it refuses under; "" when the name is put together) of each ``within(...)``."""
    for file in sorted(ROOT.rglob("*.py")):
        module = ".".join(file.relative_to(ROOT).with_suffix("").parts)
        if not module.startswith(ELSEWHERE):
            yield from _guards_in(ast.parse(file.read_text(encoding="utf-8")), module)


def _guards_in(node, where):
    for child in ast.iter_child_nodes(node):
        inner = f"{where}.{child.name}" if isinstance(child, ast.FunctionDef | ast.ClassDef) else where
        if isinstance(child, ast.Call) and isinstance(child.func, ast.Name) and child.func.id == "within":
            name = child.args[0]
            yield where, name.value if isinstance(name, ast.Constant) else ""
        yield from _guards_in(child, inner)


@pytest.mark.skipif("MUTANT_UNDER_TEST" in os.environ, reason="a mutated source lists every guard many times")
def test_every_guard_has_its_row_and_every_row_its_guard():
    stated = {(row["guard"], row["name"]) for row in ROWS}
    standing = set(_guards())
    named = {guard for guard in standing if guard[1]}
    composed = {where for where, name in standing if not name}
    assert named - stated == set(), "state these limits in stated_limits.csv"
    assert {row for row in stated - named if row[0] not in composed} == set(), "no such guard any more"
    assert composed <= {where for where, _ in stated}


def _number(text):
    return float(text) if text else None


def _step(limit):
    return max(abs(limit), 1e-3) * 1e-6


def _sides(row):
    """Arguments just inside and just outside."""
    if row["inside"] or row["outside"]:
        return tuple([float(part) for part in row[side].split(";")] for side in ("inside", "outside"))
    low, high = _number(row["low"]), _number(row["high"])
    inside, outside = [], []
    if low is not None:
        inside.append(low + _step(low))
        outside.append(low if row["open"] else low - _step(low))
    if high is not None:
        inside.append(high - _step(high))
        outside.append(high + _step(high))
    return inside, outside


def _refusal(row, value):
    function, ordinary = call(row["guard"])
    try:
        function(**ordinary | {row["argument"]: value})
    except OutsideValidRange as refusal:
        return refusal
    return None


@pytest.mark.parametrize("guard", sorted({row["guard"] for row in ROWS}))
def test_an_ordinary_call_is_answered(guard):
    function, ordinary = call(guard)
    assert function(**ordinary) is not None or guard.endswith("__post_init__")


@pytest.mark.parametrize("row", ROWS, ids=IDS)
def test_just_inside_is_not_refused_under_this_name(row):
    for value in _sides(row)[0]:
        refusal = _refusal(row, value)
        assert refusal is None or refusal.parameter != row["name"], str(refusal)


@pytest.mark.parametrize("row", ROWS, ids=IDS)
def test_just_outside_is_refused_by_name_with_the_limits(row):
    for value in [*_sides(row)[1], float("nan")]:
        refusal = _refusal(row, value)
        assert refusal is not None, f"{value} was taken"
        if value != value:
            continue  # refused, but by whatever is computed first from a missing number
        assert refusal.parameter == row["name"]
        assert refusal.unit == row["unit"]
        assert refusal.low_open is bool(row["open"])
        for side in ("low", "high"):
            stated = _number(row[side])
            assert getattr(refusal, side) == (None if stated is None else pytest.approx(stated, rel=1e-6, abs=1e-8))
