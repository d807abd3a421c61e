"""When nothing passes: the smallest set of limits that cannot be kept together, and what would open a way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from sizing.engine.design import StageKind
from sizing.engine.train_bound import Bound
from sizing.engine.train_path import Line, Path
from sizing.engine.train_search import LIFE, NONE, Search
from sizing.engine.train_step import Fault

MOST_TOGETHER = 3
MOST_RELAXATIONS = 6
MISSING = "missing"
OF_THE_PLACE = (
    "backwash",
    "well",
    "drain",
    "power",
    "watts",
    "winter",
    "depth",
    "height",
    "wall",
    "pressure",
    "inlet",
)
ONE_IS_ENOUGH = ("pressure", "wall", "watts", "backwash", "depth", "height", "well", "drain", "winter")


@dataclass(frozen=True)
class Way:
    """What would open a line: families of faults let pass together, in words, and the cheapest line behind it."""

    families: tuple[str, ...]
    words: str
    path: Path
    faults: tuple[Fault, ...] = ()


class Impasse:
    """A line without an admissible path. Untested analytes count as one family, "missing"."""

    def __init__(self, line: Line) -> None:
        self.line = line
        self.seen: dict[str, Fault] = dict(line.seen)
        self._known: dict[frozenset[str], bool] = {}
        self._all = self._gather()
        self.families = tuple(sorted({MISSING if f.startswith("missing:") else f for f in self._all}))

    def _gather(self) -> frozenset[str]:
        """Families that can stand in the way: goals, and those met, then those met behind them, until no more."""
        start = self.line.start()
        for fault in self.line.final_faults(start):
            self.seen.setdefault(fault.family, fault)
        families: set[str] = set()
        while not families.issuperset(self.seen):
            families |= set(self.seen)
            self._opens(frozenset(families))
        return frozenset(families)

    def _expand(self, families: Iterable[str]) -> frozenset[str]:
        found = set(families)
        if MISSING in found:
            found |= {family for family in self._all if family.startswith("missing:")}
        return frozenset(found - {MISSING})

    def _opens(self, let: frozenset[str]) -> bool:
        """Whether a line is admissible with these families let pass."""
        if let not in self._known:
            line = self.line.letting(let)
            self._known[let] = bool(Search(line, Bound(line.brief, line.options, let), by=NONE).run().paths)
            for family, fault in line.seen.items():
                self.seen.setdefault(family, fault)
        return self._known[let]

    def ways(self) -> tuple[Way, ...]:
        """The smallest changes that open a line, cheapest line first; empty where nothing does.

        Tests not made and limits of the place are tried first, then goals, then the catalogue itself.
        """
        place = [f for f in self.families if f in OF_THE_PLACE or f == MISSING]
        wanted = [f for f in self.families if f.startswith("goal:")]
        found = self._restrictors()
        for families, most in ((place, 2), (place + wanted, MOST_TOGETHER), (list(self.families), MOST_TOGETHER)):
            for size in range(1, most + 1):
                groups = [group for group in combinations(families, size) if self._opens(self._expand(group))]
                found += [self._way(group) for group in groups]
                if found:
                    found.sort(key=lambda way: (MISSING not in way.families, way.path.first, way.families))
                    return tuple(found[:MOST_RELAXATIONS])
        return ()

    def _restrictors(self) -> list[Way]:
        """The largest restrictor below the peak that opens a line, where the household is content with it."""
        line = self.line
        held = {
            option.stage.product.code: (float(option.stage.product.ratings["flow_l_min"]), option)
            for option in line.options
            if option.stage.kind is StageKind.RESTRICTOR
        }
        for flow, option in sorted(held.values(), key=lambda row: (-row[0], row[1].index)):
            if flow >= line.brief.peak_l_min:
                continue
            lower = Line(line.brief.held(option.stage.product.code, flow), line.options)
            paths = Search(lower, Bound(lower.brief, lower.options), by=LIFE).run().paths
            if paths:
                words = f"a restrictor of {flow:.3g} L/min, the house content with that at peak ({option.name})"
                return [Way(("peak",), words, paths[0])]
        return []

    def _way(self, group: tuple[str, ...]) -> Way:
        let = self._expand(group)
        line = self.line.letting(let)
        path = Search(line, Bound(line.brief, line.options, let), by=LIFE).run().paths[0]
        _, faults = self.line.walk(feed.option for feed in path.feeds)
        return Way(group, remedies(faults), path, faults)

    def smallest_conflict(self) -> tuple[str, ...]:
        """The smallest set of families that cannot be kept together even with all the others let pass."""
        for size in range(1, len(self.families) + 1):
            for group in combinations(self.families, size):
                if not self._opens(self._all - self._expand(group)):
                    return group
        return self.families

    def sentences(self, families: Sequence[str]) -> tuple[str, ...]:
        """Each family of a conflict with one example from the search, in words."""
        found = []
        for family in families:
            named = [
                fault for key, fault in sorted(self.seen.items()) if key == family or key.startswith(f"{family}:")
            ]
            found.append(named[0].text if named else family)
        return tuple(found)


def remedies(faults: Iterable[Fault]) -> str:
    """What would mend the faults, in words: one remedy for each limit, the most demanding where one is enough.

    Units: as in the faults.
    Range: one fault or more.
    Raises: nothing.
    Source: the faults.

    >>> pump = [Fault("backwash", "", "", f"a pump of {flow} L/min", flow) for flow in (20, 30)]
    >>> remedies([*pump, Fault("drain", "", "", "a drain")])
    'a pump of 30 L/min and a drain'
    """
    most: dict[str, Fault] = {}
    for fault in faults:
        key = fault.family if fault.family in ONE_IS_ENOUGH else fault.remedy
        known = most.get(key)
        if known is None or abs(fault.value - fault.limit) > abs(known.value - known.limit):
            most[key] = fault
    return " and ".join(fault.remedy for fault in most.values())
