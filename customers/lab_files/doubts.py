"""What is possible in a sample but may be wrong: each doubt wants one look, said once, before it is taken in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from customers.lab_files.lines import Line
from customers.lab_files.reading import SampleRead
from customers.water_tests.queries import remarks_on
from sizing.engine.figures import figure
from sizing.engine.plausibility import REJECT
from sizing.engine.unusual import is_unusual, usual_range
from sizing.engine.water import ANALYTES

DAYS_1904 = 1462  # from 1 January 1900 to 1904 as spreadsheets count them, the day that never was among them
TRACES = ("metals", "organics", "ions")


@dataclass(frozen=True)
class Doubt:
    """Something to look at. ``key`` names it in the answers."""

    key: str
    text: str


def doubts_of(sample: SampleRead, day: date | None, today: date) -> list[Doubt]:
    """Everything in one sample that wants a look, in the order of the file."""
    found = [*_values(sample.taken), *_zeros(sample.taken), *_flags(sample.taken)]
    found += [
        Doubt(finding.code, f"{_(finding.message)} {_(finding.what_to_do)}".strip())
        for finding in remarks_on(line.reported for line in sample.taken if line.reported)
        if finding.code.startswith(REJECT) or finding.code == "plausibility.coliform"
    ]
    if day is not None and (old := _old(day, today)):
        found.append(old)
    return [Doubt(f"{sample.name}|{doubt.key}", doubt.text) for doubt in found]


def _values(lines: Iterable[Line]) -> Iterable[Doubt]:
    """Values far outside what is usually met; and whether another column would explain them."""
    lines = list(lines)
    for line in lines:
        value = line.reported.canonical if line.reported else None
        if value is None or not is_unusual(line.analyte, value):
            continue
        words = {"name": line.name, "value": line.meaning}
        text = _("%(name)s %(value)s is far outside what is usually met: unit or column?") % words
        twin = next((other for other in lines if other is not line and _exchanged(line, other)), None)
        if twin is not None:
            text += " " + _("Exchanged with %(other)s, both would be usual.") % {"other": twin.name}
        yield Doubt(f"value-{line.analyte}", text)


def _exchanged(one: Line, other: Line) -> bool:
    """Whether the two values, exchanged, would both be usual: the columns may have been."""
    a, b = (line.reported.canonical if line.reported else None for line in (one, other))
    if a is None or b is None or usual_range(other.analyte) is None:
        return False
    return not is_unusual(one.analyte, b) and not is_unusual(other.analyte, a)


def _zeros(lines: Iterable[Line]) -> Iterable[Doubt]:
    for line in lines:
        read = line.reported
        if read and read.qualifier == "equal" and read.canonical == 0 and ANALYTES[line.analyte].group in TRACES:
            text = _("%(name)s is printed as 0: no laboratory measures nothing. Ask for the reporting limit.")
            yield Doubt(f"zero-{line.analyte}", text % {"name": line.name})


def _flags(lines: Iterable[Line]) -> Iterable[Doubt]:
    flags: dict[str, list[str]] = {}
    for line in lines:
        if line.odd_flag:
            flags.setdefault(line.odd_flag, []).append(line.name)
    for flag, names in flags.items():
        text = _("flag “%(flag)s” at %(names)s is the laboratory's own: look at its legend")
        yield Doubt(f"flag-{flag}", text % {"flag": flag, "names": ", ".join(names)})


def _old(day: date, today: date) -> Doubt | None:
    """A day long past, and whether a workbook counting from 1904 would explain it."""
    if (today - day).days <= figure("unusual-results", "old_days").value:
        return None
    text = _("sampled %(day)s, long ago: is this the day of sampling?") % {"day": date_format(day, "j M Y")}
    shifted = day + timedelta(days=DAYS_1904)
    if shifted <= today:
        told = _("A workbook that counts days from 1904 would mean %(day)s.")
        text += " " + told % {"day": date_format(shifted, "j M Y")}
    return Doubt("old-day", text)
