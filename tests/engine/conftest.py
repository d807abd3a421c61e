"""What holds for every remark, worksheet line, setting and margin, whichever test asks; and what mutants need.

A mutant (`make mutants`) is judged in a fork of a process that has already run the tests, so whatever the engine
keeps (tables read once, answers it was asked before) would be the right ones: under mutation it is forgotten.
"""

import csv
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sizing.engine.design import Margin, Setting
from sizing.engine.findings import Finding, Severity
from sizing.engine.water import ANALYTES
from sizing.engine.worksheet import STATUSES, Step

MUTANT = "MUTANT_UNDER_TEST"

# How much each remark weighs, decided by what happens when nobody reads it: somebody falls ill (health), something
# breaks, clogs or corrodes (equipment), a shower is weak (comfort), or nothing yet (note).
STATED = (Path(__file__).parent / "data" / "findings.csv").read_text(encoding="utf-8").splitlines()
WEIGHS = {row["code"]: row["severity"].split(";") for row in csv.DictReader(STATED)}

# A unit that the reader's system of units replaces, and the quantity that says so.
QUANTITY = {
    "L": "volume",
    "L/d": "volume",
    "L/min": "flow",
    "kPa": "pressure",
    "degC": "temperature",
    "m": "length",
    "kg": "mass",
    "mg/L as CaCO3": "hardness",
}
LEFT_AS_THEY_ARE = {
    "", "%", "%/cm", "1/cm", "1/h", "Ah", "L/min per m2", "NTU", "W", "Wh", "d", "days", "fraction", "g as CaCO3",
    "g/L", "g/d", "h", "log10", "m/h", "m2", "mJ/cm2", "mL/min", "meq/L", "mg min/L", "mg/L", "mg/L as S",
    "mg/L as tannic acid", "min", "mm", "months", "per 100 mL", "um",
}  # fmt: skip
COUNTS = {"Run the first tankfuls to the drain", "nitrate_sulphate_ratio"}  # numbers without a unit


def _weights(code: str) -> list[str]:
    """What a code may weigh; a row ending in * stands for all codes that begin so, the longest first."""
    parts = code.split(".")
    rows = [code, *(".".join([*parts[:most], "*"]) for most in range(len(parts) - 1, 0, -1))]
    return next((WEIGHS[row] for row in rows if row in WEIGHS), [])


def _check_finding(found: Finding) -> None:
    assert isinstance(found.severity, Severity), found.code
    assert found.severity.value in _weights(found.code), f"{found.code}: state what it weighs in data/findings.csv"
    assert found.subject, found.code
    for text in (found.subject, found.message, found.what_to_do, found.source):
        assert isinstance(text, str), found.code
        assert "None" not in text, text
        assert "XX" not in text, text
    assert found.message[-1:] == ".", found.message


def _check_measure(name: str, unit: str, quantity: str) -> None:
    if name in ANALYTES:
        assert unit == f"{ANALYTES[name].unit} {ANALYTES[name].basis}".strip(), (name, unit)
        return
    assert unit in QUANTITY or unit in LEFT_AS_THEY_ARE, (name, unit)
    assert quantity == QUANTITY.get(unit, ""), (name, unit, quantity)


def _check_step(step: Step) -> None:
    assert step.symbol, step
    assert step.meaning, step
    assert step.value is not None, step
    assert step.source not in STATUSES[:2], step  # where it is from, not how well it is known
    _check_measure(step.symbol, step.unit, step.quantity)
    for text in (step.symbol, step.meaning, step.formula, step.source):
        assert isinstance(text, str), step
        assert "None" not in text, step
        assert "XX" not in text, step
    if step.status in ("published", "common practice", "from memory"):
        assert step.source, step


def _check_setting(setting: Setting) -> None:
    assert setting.name[:1].isupper(), setting
    _check_measure(setting.name, setting.unit, setting.quantity)
    if not isinstance(setting.value, str):
        assert setting.value is not None, setting
        assert setting.unit or setting.name in COUNTS, setting


def _check_margin(margin: Margin) -> None:
    assert margin.code == margin.code.lower() != "", margin
    assert margin.limit is not None, margin
    assert margin.label[:1].isupper(), margin
    assert margin.sense in ("max", "min"), margin
    if margin.code.startswith(("goal_", "feed_", "ph_")):  # measured as the analyte is
        return
    assert margin.unit or margin.code in COUNTS, margin
    _check_measure(margin.code, margin.unit, margin.quantity)


CHECKS = ((Finding, _check_finding), (Step, _check_step), (Setting, _check_setting), (Margin, _check_margin))


@pytest.fixture(autouse=True, scope="session")
def _remarks_and_lines_are_whole() -> Iterator[None]:
    """Look at everything of the kind that the engine makes during the tests."""
    with pytest.MonkeyPatch.context() as patch:
        for made, check in CHECKS:
            patch.setattr(made, "__init__", _checked(made.__init__, check))
        yield


def _checked(make: Any, check: Any) -> Any:
    def make_and_check(self: Any, *args: Any, **kwargs: Any) -> None:
        make(self, *args, **kwargs)
        if sys._getframe(1).f_globals.get("__name__", "").startswith("sizing.engine"):
            check(self)

    return make_and_check


def _forget() -> None:
    for name, module in list(sys.modules.items()):
        if name.startswith("sizing."):
            for value in list(vars(module).values()):
                if callable(clear := getattr(value, "cache_clear", None)):
                    clear()


def pytest_sessionstart() -> None:
    """Forget before the first test of a mutant."""
    if MUTANT in os.environ:
        _forget()


@pytest.fixture(autouse=True, scope="module")
def _as_if_first() -> None:
    """While it is noted which test reaches which function, no file of tests may profit from the one before."""
    if os.environ.get(MUTANT) == "stats":
        _forget()
