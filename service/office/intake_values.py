"""The values of the intake page: choices, steps, causes and devices in words."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from customers.enquiries.forms import box_name, field_name


@dataclass(frozen=True)
class Choice:
    """Something that can be ticked or answered. ``words`` is what a yes affirms, ``ask`` the question."""

    kind: str
    code: str
    words: str
    ask: str
    picture: str
    answer: str = ""
    hint: str = ""
    thing: int = 1

    @property
    def name(self) -> str:
        """The field of its answer."""
        return field_name(self.kind, self.code, self.thing)

    @property
    def box(self) -> str:
        """What stands for it in ``shown`` and ``off``."""
        return box_name(self.kind, self.code, self.thing)


@dataclass(frozen=True)
class Step:
    """One thing to do next. Where it is a question its answer is one key away."""

    choice: Choice | None
    words: str
    why: str
    outlook: tuple[str, ...] = ()
    wait: str = ""
    cost: Decimal = Decimal(0)
    analytes: tuple[str, ...] = ()
    lead: str = ""
    laboratory: bool = False


@dataclass(frozen=True)
class Evidence:
    """One piece of evidence in words: what, how it was answered, how strongly it speaks."""

    words: str
    answer: str
    weight: str


@dataclass(frozen=True)
class CauseLine:
    """One cause of a complaint with its evidence."""

    code: str
    words: str
    share: str
    percent: int
    health: str
    confirm: str
    supports: tuple[Evidence, ...]
    against: tuple[Evidence, ...]
    unexplained: tuple[str, ...]


@dataclass(frozen=True)
class ComplaintBlock:
    """One complaint with its causes, likeliest first; ``measured`` where a result opened it, nobody's words."""

    code: str
    words: str
    measured: bool
    causes: tuple[CauseLine, ...]


@dataclass(frozen=True)
class DeviceLine:
    """What the unknown device may be, what it is mistaken for, and how to tell."""

    code: str
    words: str
    share: str
    percent: int
    look_alikes: tuple[str, ...]
    tell_apart: str
    confirm: str
    photograph: str
    read_on_it: tuple[str, ...]
    caution: str
    stage_kind: str | None
