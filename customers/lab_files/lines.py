"""One result of a file: as printed, as it will be stored, what it means, and each step between."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import StrEnum

from django.utils.translation import gettext as _

from customers.lab_files.columns import Layout
from customers.lab_files.names import LEFT_OUT, Named, fold
from customers.lab_files.numbers import written_out
from customers.water_tests.actions import RowIn, read_row
from sizing.engine import unit_forms
from sizing.engine.units import Reported
from sizing.engine.water import ANALYTES

#: Flags whose meaning is the same wherever they stand; any other is a doubt to look at.
NOT_DETECTED_FLAGS = frozenset({"u", "nd", "bdl", "<", "not detected", "ud"})
ABOVE_FLAGS = frozenset({">"})
ESTIMATED_FLAGS = frozenset({"j", "e", "est", "estimated"})
PLAIN_FLAGS = frozenset({"", "=", "-"})
_NUMBER = re.compile(r"^[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?$")
_BARE = re.compile(r"^[<>≤≥=~\s]*[+-]?[\d.,]+(?:[eE][+-]?\d+)?$")
_WORDS = {"nd", "n.d.", "not detected", "none detected", "bdl", "u", "<"}


class State(StrEnum):
    """What becomes of a line."""

    TAKEN = "taken"
    REFUSED = "refused"
    LEFT = "left"
    EMPTY = "empty"
    SAME = "same"


@dataclass(frozen=True)
class Printed:
    """The cells of one result, as they stand in the file."""

    key: str
    row: int
    column: str
    sample: str
    test: str
    named: Named
    result: str
    flag: str = ""
    unit: str = ""
    limit: str = ""
    problem: str = ""


@dataclass(frozen=True)
class Line:
    """One result read. ``text`` and ``unit`` are what is stored; ``steps`` how they came from what is printed."""

    printed: Printed
    state: State
    message: str = ""
    analyte: str = ""
    text: str = ""
    unit: str = ""
    reported: Reported | None = None
    steps: tuple[str, ...] = ()
    odd_flag: str = ""

    @property
    def key(self) -> str:
        """Names the line in answers: row, and column in a wide file."""
        return self.printed.key

    @property
    def shown(self) -> str:
        """The cells as printed, in one line."""
        told = self.printed
        cells = (told.flag, told.result, told.unit or told.named.unit)
        printed = " ".join(cell for cell in cells if cell) or "–"
        return (
            _("%(printed)s, limit %(limit)s") % {"printed": printed, "limit": told.limit} if told.limit else printed
        )

    @property
    def meaning(self) -> str:
        """What it means, in the unit everything is counted in."""
        return meaning_of(self.reported) if self.reported else ""

    @property
    def name(self) -> str:
        """The test's own name here."""
        return _(ANALYTES[self.analyte].name) if self.analyte in ANALYTES else ""

    def with_state(self, state: State, message: str) -> Line:
        """The same line, come to something else."""
        return replace(self, state=state, message=message)

    def as_row(self) -> RowIn:
        """The line as it is stored."""
        return RowIn(self.analyte, self.text, self.unit)


def meaning_of(read: Reported) -> str:
    """A reading in canonical words: "below 0.005 mg/L", "6.777 mg/L as N", "absent"."""
    analyte = ANALYTES[read.analyte]
    unit = " ".join(part for part in (analyte.unit, analyte.basis) if part)
    words = {
        "absent": _("absent"),
        "present": _("present"),
        "below": _("below its reporting limit, which is not stated"),
        "above": _("too many to count"),
    }
    if read.canonical is None:
        return words.get(read.qualifier, read.text)
    number = f"{read.canonical:.4g} {unit}".strip()
    if read.qualifier == "below":
        return _("below %(number)s") % {"number": number}
    return _("above %(number)s") % {"number": number} if read.qualifier == "above" else number


def read_line(printed: Printed, layout: Layout) -> Line:
    """What one result says. Nothing is guessed: a line that does not say it is refused with a sentence."""
    named = printed.named
    if named.analyte == LEFT_OUT:
        return Line(printed, State.LEFT, _("left out, as answered for this test"))
    if printed.problem:
        return Line(printed, State.REFUSED, _(printed.problem))
    if not printed.result and not printed.flag:
        return Line(printed, State.EMPTY, _("no result in the file: nothing is taken in"))
    if not named.known:
        told = _("“%(name)s” is not known here; say below which test it is, or leave it out")
        return Line(printed, State.REFUSED, told % {"name": printed.test or "–"})
    try:
        text, steps, odd = _result_text(printed, layout)
        unit, more = _unit_text(printed, layout)
        read = read_row(RowIn(named.analyte, text, unit))
    except ValueError as refused:
        return Line(printed, State.REFUSED, str(refused), named.analyte)
    steps = [*steps, *more, *_conversion(read)]
    return Line(printed, State.TAKEN, "", named.analyte, text, unit, read, tuple(steps), odd)


def _result_text(printed: Printed, layout: Layout) -> tuple[str, list[str], str]:
    """Result and flag in one text, the steps said, and a flag whose meaning is not known."""
    steps: list[str] = []
    raw = " ".join(printed.result.split())
    text = written_out(raw, layout.comma)
    if text != raw:
        steps.append(_("“%(raw)s” read as %(text)s") % {"raw": raw, "text": text})
    limit = written_out(" ".join(printed.limit.split()), layout.comma).lstrip("<").strip()
    flag = printed.flag.strip()
    kind = flag.casefold().rstrip(".")
    if kind in NOT_DETECTED_FLAGS or (not text and kind):
        text = _not_detected(printed, text, limit, flag, steps)
    elif text.casefold() in _WORDS and limit and ANALYTES[printed.named.analyte].group != "microbes":
        steps.append(_("“%(raw)s”, its reporting limit is %(limit)s") % {"raw": raw, "limit": limit})
        text = f"<{limit}"
    elif kind in ABOVE_FLAGS and not text.startswith(">"):
        text = f">{text}"
    elif kind in ESTIMATED_FLAGS:
        steps.append(_("flag %(flag)s: the laboratory's estimate, taken as printed") % {"flag": flag})
    if kind not in ESTIMATED_FLAGS and ANALYTES[printed.named.analyte].group != "microbes":
        _under_its_limit(printed, text, limit)
    known = kind in NOT_DETECTED_FLAGS | ABOVE_FLAGS | ESTIMATED_FLAGS | PLAIN_FLAGS
    return text, steps, "" if known else flag


def _not_detected(printed: Printed, text: str, limit: str, flag: str, steps: list[str]) -> str:
    """The text of a result flagged as not detected: "<" its number, or its reporting limit."""
    if flag.casefold() not in NOT_DETECTED_FLAGS:
        raise ValueError(
            _("no result, only the flag “%(flag)s”; accepted is a result, or leave the line out") % {"flag": flag}
        )
    if text.startswith("<") or (text and text.casefold() in _WORDS and not limit):
        return text
    number = text.lstrip("<").strip()
    if not number or number.casefold() in _WORDS:
        if not limit:
            return "ND"
        number = limit
    elif limit and _NUMBER.match(number) and _NUMBER.match(limit) and _float(number) != _float(limit):
        told = _("flag %(flag)s says not detected, but result %(text)s and reporting limit %(limit)s differ")
        raise ValueError(told % {"flag": flag, "text": number, "limit": limit})
    elif _NUMBER.match(number) and _float(number) <= 0:
        told = _("flag %(flag)s says not detected, but no limit is stated: result %(text)s")
        raise ValueError(told % {"flag": flag, "text": number})
    if flag != "<":
        steps.append(_("flag %(flag)s: not detected, %(limit)s is its limit") % {"flag": flag, "limit": number})
    return f"<{number}"


def _under_its_limit(printed: Printed, text: str, limit: str) -> None:
    """A plain number under its own reporting limit is a column exchanged or a sign lost: refused."""
    if not (limit and _NUMBER.match(text) and _NUMBER.match(limit)):
        return
    if 0 <= _float(text) < _float(limit):
        told = _(
            "result %(text)s is under its own reporting limit %(limit)s: columns exchanged, or not detected? "
            "Change the columns below, or leave the line out"
        )
        raise ValueError(told % {"text": text, "limit": limit})


def _float(text: str) -> float:
    return float(text.replace(",", "."))


def _unit_text(printed: Printed, layout: Layout) -> tuple[str, list[str]]:
    """The one unit of a line, from its column, its heading and what was answered; they must not contradict."""
    named = printed.named
    analyte = ANALYTES[named.analyte]
    unit = _stated(printed)
    steps: list[str] = []
    answered = layout.units.get(fold(printed.test), "")
    if answered and analyte.code == "uvt" and unit.casefold().rstrip("t ") in ("%", "percen"):
        unit = ""  # a share of light, its path length answered
    if answered:
        joined = unit_forms.joined(analyte, unit, answered) if unit else answered
        if joined is None:
            told = _("unit “%(unit)s” in the file, “%(answered)s” answered for this test: they contradict each other")
            raise ValueError(told % {"unit": unit, "answered": answered})
        if joined != unit:
            steps.append(_("unit %(unit)s, as answered for this test") % {"unit": joined})
        return joined, steps
    if named.basis:
        return _with_basis(printed, unit, steps), steps
    could_differ = len(unit_forms.factors(analyte)) > 1 and not unit_forms.must_state(analyte)
    if not unit and could_differ and _has_digits_only(printed.result):
        raise ValueError(_("%(name)s: no unit; say it below") % {"name": printed.test})
    return unit, steps


_NO_UNIT = ("p/a", "presence/absence", "pa", "-", "n/a", "none", "unitless")


def _stated(printed: Printed) -> str:
    """The unit of the column and the one in the test's name or heading, where they do not contradict each other."""
    beside, within = (" ".join(text.split()) for text in (printed.unit, printed.named.unit))
    beside = "" if beside.casefold() in _NO_UNIT else beside
    if not beside or not within:
        return beside or within
    analyte = ANALYTES[printed.named.analyte]
    same = unit_forms.recognise(analyte, beside)
    if same is not None and same == unit_forms.recognise(analyte, within):
        return beside
    joined = unit_forms.joined(analyte, within, beside)
    if joined is None:
        told = _("“%(name)s” and unit “%(unit)s” contradict each other")
        raise ValueError(told % {"name": printed.test, "unit": beside})
    return joined


def _has_digits_only(result: str) -> bool:
    """Whether a result is a bare number, with or without a sign before it."""
    return _BARE.match(result.strip()) is not None


def _with_basis(printed: Printed, unit: str, steps: list[str]) -> str:
    """The unit with the basis that stands in the test's name."""
    named = printed.named
    analyte = ANALYTES[named.analyte]
    mass = unit or "mg/L"
    found = unit_forms.recognise(analyte, unit) if unit else None
    plain = unit_forms.recognise(ANALYTES["iron"], mass)  # "ppm", "µg/l" as a mass without basis
    if found and " as " not in found and plain is None:
        return unit  # a unit that is no mass: "gpg", "mmol/L"
    if plain is None:
        if found and found.rpartition(" as ")[2] == named.basis:
            return unit
        told = _("“%(name)s” and unit “%(unit)s” contradict each other")
        raise ValueError(told % {"name": printed.test, "unit": unit})
    if not unit:
        raise ValueError(_("%(name)s: no unit; say it below") % {"name": printed.test})
    combined = f"{plain} as {named.basis}"
    if unit_forms.recognise(analyte, combined) is None:
        told = _("“%(name)s” in %(unit)s: accepted is one of %(known)s")
        known = ", ".join(unit_forms.forms(analyte))
        raise ValueError(told % {"name": printed.test, "unit": unit, "known": known})
    steps.append(_("counted as %(basis)s, as the name says") % {"basis": named.basis})
    return combined


def _conversion(read: Reported) -> list[str]:
    """The change of unit or basis in numbers, where there is one."""
    if read.value is None or read.canonical is None or read.value == read.canonical:
        return []
    analyte = ANALYTES[read.analyte]
    unit = " ".join(part for part in (analyte.unit, analyte.basis) if part)
    return [f"{read.value:g} {read.unit} → {read.canonical:.4g} {unit}"]
