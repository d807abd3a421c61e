"""A group of lines of the day's page: what needs a person, and the one next step of each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from customers.enquiries.models import Enquiry
from customers.households.models import Site

MOST = 12


@dataclass(frozen=True)
class Line:
    """One thing to do: where (nowhere, for what is of no household yet), what about it, and the one next step."""

    site: Site | None
    about: str
    step: str
    href: str
    enquiry: Enquiry | None = None

    @property
    def where(self) -> str:
        """The household, or the number of an enquiry that has none."""
        if self.site is not None:
            return self.site.name
        return self.enquiry.label if self.enquiry is not None else ""

    @property
    def who(self) -> str:
        """Whose it is."""
        if self.site is not None:
            return self.site.customer.name
        return self.enquiry.who if self.enquiry is not None else ""

    @property
    def home(self) -> str:
        """The page of the household or the enquiry."""
        if self.site is not None:
            return reverse("household", args=[self.site.public_id])
        return reverse("enquiry", args=[self.enquiry.public_id]) if self.enquiry is not None else ""


@dataclass(frozen=True)
class Reason:
    """A group of lines. ``alarm`` marks what may harm someone."""

    code: str
    heading: str
    lines: tuple[Line, ...]
    alarm: bool = False
    more: int = 0

    @property
    def count(self) -> int:
        """How many there are in all."""
        return len(self.lines) + self.more


def cut(code: str, heading: str, lines: Iterable[Line], *, alarm: bool = False) -> Reason:
    """The group of lines, cut to the most a group shows; ``more`` says how many are left."""
    rows = list(lines)
    return Reason(code, heading, tuple(rows[:MOST]), alarm, max(0, len(rows) - MOST))
