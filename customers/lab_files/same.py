"""The same test twice in one sample: one result where they agree within their rounding, refused where not."""

from __future__ import annotations

import re
from collections.abc import Iterable

from django.utils.translation import gettext as _

from customers.lab_files.lines import Line, State

_DIGITS = re.compile(r"[\d.,]+(?:[eE][+-]?\d+)?")


def half_step(text: str) -> float:
    """Half a unit of the last digit printed: 0.05 for "8.9", 0.5 for "9".

    >>> half_step("<8.9"), half_step("120")
    (0.05, 0.5)
    """
    found = _DIGITS.search(text)
    if found is None:
        return 0.0
    digits, _mark, power = found[0].lower().partition("e")
    tail = re.split(r"[.,]", digits)
    places = len(tail[1]) if len(tail) > 1 else 0
    return float(f"5e{int(power or 0) - places - 1}")


def agree(one: Line, other: Line) -> bool:
    """Whether two lines say the same, within the rounding of what is printed."""
    a, b = one.reported, other.reported
    if a is None or b is None or a.qualifier != b.qualifier or (a.canonical is None) != (b.canonical is None):
        return False
    if a.canonical is None or b.canonical is None:
        return True
    slack = sum(
        half_step(line.text) * abs(read.canonical / read.value) if read.value and read.canonical else 0.0
        for line, read in ((one, a), (other, b))
    )
    return abs(a.canonical - b.canonical) <= slack + 1e-12


def settle_twins(lines: Iterable[Line]) -> list[Line]:
    """Of lines of one sample and test the first is taken; those that agree are said to, those that differ refused."""
    first: dict[tuple[str, str], Line] = {}
    settled: list[Line] = []
    clash: set[tuple[str, str]] = set()
    lines = list(lines)
    for line in lines:
        key = (line.printed.sample, line.analyte)
        if line.state is State.TAKEN and key in first and not agree(first[key], line):
            clash.add(key)
        elif line.state is State.TAKEN:
            first.setdefault(key, line)
    for line in lines:
        key = (line.printed.sample, line.analyte)
        if line.state is not State.TAKEN or first.get(key) is None:
            settled.append(line)
        elif key in clash:
            told = _("%(name)s stands twice in this sample with different results; leave out the one that is wrong")
            settled.append(line.with_state(State.REFUSED, told % {"name": line.name}))
        elif line is not first[key]:
            told = _("the same as row %(row)s, within rounding: taken once")
            settled.append(line.with_state(State.SAME, told % {"row": first[key].printed.row}))
        else:
            settled.append(line)
    return settled
