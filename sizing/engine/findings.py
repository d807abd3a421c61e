"""Findings: remarks a calculation carries along with its numbers."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs; ordered by ``rank``, health first."""

    HEALTH = "health"
    EQUIPMENT = "equipment"
    COMFORT = "comfort"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for health up to 3 for a note; sort by it."""
        return list(Severity).index(self)


@dataclass(frozen=True)
class Finding:
    """One remark: what was found, how much it weighs, what to do, and on whose word.

    ``code`` is stable (for tests and translation), ``subject`` the analyte, stage or field meant.
    """

    code: str
    severity: Severity
    message: str
    what_to_do: str = ""
    subject: str = ""
    source: str = ""
