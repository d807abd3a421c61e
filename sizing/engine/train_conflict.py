"""When nothing passes: the smallest set of limits that cannot be kept together, and what would open a way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from sizing.engine.train_bound import Bound
from sizing.engine.train_path import Line, Path
from sizing.engine.train_search import Search
from sizing.engine.train_step import Fault

MOST_TOGETHER = 3
MOST_RELAXATIONS = 6
MISSING = "missing"


@dataclass(frozen=True)
class Way:
    """A set of families of faults that, let pass together, open a line; and the faults of that line."""

    families: tuple[str, ...]
    faults: tuple[Fault, ...]
    path: Path

    @property
    def words(self) -> str:
        """What to change, in words."""
        best: dict[str, Fault] = {}
        for fault in self.faults:
            best.setdefault(fault.remedy, fault)
        return " and ".join(best)


class Impasse:
    """A line without an admissible path. All families of faults met are looked at, the untested ones as one."""

    def __init__(self, line: Line) -> None:
        self.line = line
        self._known: dict[frozenset[str], Path | None] = {}
        self.families: tuple[str, ...] = ()
        self._gather()

    def _gather(self) -> None:
        """Families that can stand in the way: those met, then those met behind them, until no more turn up."""
        families: set[str] = set()
        while True:
            opened = self._open(frozenset(families))
            new = {fault.family for fault in self._seen} - families
            if opened is not None or not new:
                break
            families |= new
        self.families = tuple(sorted({MISSING if f.startswith("missing:") else f for f in families}))
        self._all = frozenset(families)

    def _expand(self, families: Iterable[str]) -> frozenset[str]:
        found = set(families)
        if MISSING in found:
            found |= {family for family in self._all if family.startswith("missing:")}
        return frozenset(found - {MISSING})

    def _open(self, let: frozenset[str]) -> Path | None:
        """The cheapest line over the years with these families let pass, if there is one."""
        if let not in self._known:
            line = self.line.letting(let)
            found = Search(line, Bound(line.brief, line.options, let)).run(first_only=True).paths
            self._seen = list(line.seen.values())
            self._known[let] = found[0] if found else None
        return self._known[let]

    def ways(self) -> tuple[Way, ...]:
        """The smallest sets that open a line, then the cheapest lines first; empty where nothing does."""
        for size in range(1, min(MOST_TOGETHER, len(self.families)) + 1):
            found = []
            for group in combinations(self.families, size):
                let = self._expand(group)
                if self._open(let) is not None:
                    found.append(self._way(group, let))
            if found:
                found.sort(key=lambda way: (way.path.first, way.families))
                return tuple(found[:MOST_RELAXATIONS])
        return ()

    def _way(self, group: tuple[str, ...], let: frozenset[str]) -> Way:
        line = self.line.letting(let)
        path = Search(line, Bound(line.brief, line.options, let)).run().paths[0]
        _, faults = self.line.walk(feed.option for feed in path.feeds)
        return Way(group, faults, path)

    def smallest_conflict(self) -> tuple[str, ...]:
        """The smallest set of families that cannot be kept together even with all the others let pass."""
        for size in range(1, len(self.families) + 1):
            for group in combinations(self.families, size):
                if self._open(self._all - self._expand(group)) is None:
                    return group
        return self.families


def sentences(line: Line, families: Sequence[str]) -> tuple[str, ...]:
    """Each family of a conflict with one example from the search, in words.

    Units: none.
    Range: families met by the line.
    Raises: nothing.
    Source: the faults met.

    >>> from types import SimpleNamespace as N
    >>> sentences(N(seen={"drain": Fault("drain", "drain", "Softener needs a drain, there is none", "")}), ["drain"])
    ('Softener needs a drain, there is none',)
    """
    found = []
    for family in families:
        named = [fault for key, fault in sorted(line.seen.items()) if key == family or key.startswith(f"{family}:")]
        found.append(named[0].text if named else family)
    return tuple(found)
