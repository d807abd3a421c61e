"""When nothing passes: the smallest set of limits that cannot be kept together, and what would open a way.

Every line found with some limits let pass tells which limits it breaks. A set of limits conflicts only if each such
line breaks one of them; so the smallest set that meets all lines known is tried, and either no line keeps it (then it
is the smallest conflict) or a new line is found that narrows the next choice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from sizing.engine.design import StageKind
from sizing.engine.train_path import Line, Path
from sizing.engine.train_search import By, Search
from sizing.engine.train_spot import Fault, Option

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
LESS_IS_BETTER = ("backwash", "pressure", "wall", "watts", "depth", "height", "well")
ONE_IS_ENOUGH = (*LESS_IS_BETTER, "drain", "winter")
ROUNDS = 8
MOST_LOOKED = 10_000  # steps of one search for a way; one that takes more counts as none, and is owned up to
CUT_SHORT = "Not every line could be tried to the end: what stands in the way is told as far as it was found."


@dataclass(frozen=True)
class Way:
    """What would open a line: families of faults let pass together, in words, and a line behind it."""

    families: tuple[str, ...]
    words: str
    path: Path
    faults: tuple[Fault, ...] = ()


class Impasse:
    """A line without an admissible path. Untested analytes count as one family, "missing"."""

    def __init__(self, line: Line) -> None:
        self.line = line
        self.seen: dict[str, Fault] = dict(line.seen)
        for option in line.options:
            line.feed(line.start(), option)
        for feed in line.feeds:
            for fault in feed.faults:
                self.seen.setdefault(fault.family, fault)
        self._broken: list[frozenset[str]] = []  # families broken by each line found
        self._closed: list[frozenset[str]] = [frozenset()]  # sets that, let pass, open nothing (as far as was tried)
        self._cut = False  # whether a search without a find gave up
        self.families: tuple[str, ...] = ()

    @staticmethod
    def _grouped(families: Iterable[str]) -> frozenset[str]:
        return frozenset(MISSING if family.startswith("missing:") else family for family in families)

    def untested(self) -> tuple[str, ...]:
        """Analytes whose tests alone stand in the way, as few as will do; empty where something else does too."""
        let = sorted(family for family in self.seen if family.startswith("missing:"))
        if not let or not self._look(frozenset(let)):
            return ()
        for family in list(let):
            fewer = frozenset(let) - {family}
            if self._look(fewer):
                let.remove(family)
        return tuple(sorted(family.partition(":")[2] for family in let))

    def gather(self) -> None:
        """Families that can stand in the way: goals, and all met so far."""
        for fault in self.line.final_faults(self.line.start()):
            self.seen.setdefault(fault.family, fault)
        self.families = tuple(sorted(self._grouped(self.seen)))

    def _expand(self, families: Iterable[str]) -> frozenset[str]:
        found = set(families)
        if MISSING in found:
            found |= {family for family in self.seen if family.startswith("missing:")}
        return frozenset(found - {MISSING})

    def _paths(self, line: Line) -> list[Path]:
        """A line that passes, or none that was found within the steps."""
        found = Search(line, by=By.NONE, most_steps=MOST_LOOKED).run()
        self._cut |= found.cut and not found.paths
        return found.paths

    def _look(self, let: frozenset[str]) -> list[Path]:
        """Search with these (expanded) families let pass, and remember what was learnt."""
        paths = self._paths(self.line.letting(let))
        if paths:
            _, faults = self.line.walk(paths[0].options)
            for fault in faults:
                self.seen.setdefault(fault.family, fault)
            self._broken.append(self._grouped(fault.family for fault in faults))
        else:
            self._closed.append(self._grouped(let))
        return paths

    def opens(self, families: Iterable[str]) -> bool:
        """Whether a line is admissible with these families let pass."""
        group = frozenset(families)
        if any(broken <= group for broken in self._broken):
            return True
        if any(group <= closed for closed in self._closed):
            return False
        return bool(self._look(self._expand(group)))

    def ways(self) -> tuple[Way, ...]:
        """The smallest changes that open a line, cheapest line first; empty where nothing does.

        Tests not made and limits of the place are tried first, then goals, then the catalogue itself.
        """
        place = [f for f in self.families if f in OF_THE_PLACE or f == MISSING]
        wanted = [f for f in self.families if f.startswith("goal:")]
        found = self._restrictors(place)
        for families, most in ((place, 2), (place + wanted, MOST_TOGETHER), (list(self.families), MOST_TOGETHER)):
            found += [self._way(group) for group in self._smallest(families, most)]
            if found:
                found.sort(key=lambda way: (way.path.first, way.families))
                return tuple(found[:MOST_RELAXATIONS])
        return ()

    def _smallest(self, families: Sequence[str], most: int) -> list[tuple[str, ...]]:
        """All the smallest groups of some families that open a line, of at most so many together.

        Whatever opens nothing is made as large as it can be: then every group that opens has one of the rest. Only
        groups that have one of each such rest are tried.
        """
        if not self.opens(families):
            return []
        rests: list[frozenset[str]] = []
        for size in range(1, most + 1):
            found = []
            for group in combinations(families, size):
                if not all(rest.intersection(group) for rest in rests):
                    continue
                if self.opens(group):
                    found.append(group)
                else:
                    more = [family for family in families if family not in group]
                    rests.append(frozenset(families) - self._grown(frozenset(group), more))
            if found:
                return found
        return []

    def _grown(self, closed: frozenset[str], more: Sequence[str]) -> frozenset[str]:
        """A set that opens nothing, with as many more families as still open nothing."""
        if not more or not self.opens(closed.union(more)):
            return closed.union(more)
        if len(more) == 1:
            return closed
        half = len(more) // 2
        return self._grown(self._grown(closed, more[:half]), more[half:])

    def _restrictors(self, families: Sequence[str]) -> list[Way]:
        """The largest restrictor below the peak that opens a line, alone or with one limit of the place changed."""
        line = self.line
        held: dict[float, Option] = {}
        for option in line.options:
            if option.stage.kind is StageKind.RESTRICTOR:
                flow = float(option.stage.product.ratings["flow_l_min"])
                if flow < line.brief.peak_l_min:
                    held.setdefault(flow, option)
        found: list[Way] = []
        for flow, option in sorted(held.items(), reverse=True):
            lower = Line(line.brief.held(option.stage.product.code, flow), line.options)
            words = f"a restrictor of {flow:.3g} L/min, the house content with that at peak ({option.name})"
            if not self._paths(lower.letting(families)):
                continue
            if paths := self._paths(lower):
                return [*found, Way(("peak",), words, paths[0])]
            for family in families if not found else ():
                if self._paths(lower.letting([family])):
                    path, faults = least_let(lower, frozenset([family]))
                    found.append(Way(("peak", family), f"{words} and {remedies(faults)}", path, faults))
        return found

    def _way(self, group: tuple[str, ...]) -> Way:
        path, faults = least_let(self.line, self._expand(group))
        return Way(group, remedies(faults), path, faults)

    def smallest_conflict(self) -> tuple[str, ...]:
        """The smallest set of families that cannot be kept together even with all the others let pass."""
        while True:
            group = self._meeting_all()
            if not self.opens(set(self.families) - set(group)):
                return group

    def _meeting_all(self) -> tuple[str, ...]:
        """The first smallest set of families of which every line found breaks at least one."""
        for size in range(1, len(self.families)):
            for group in combinations(self.families, size):
                if all(broken.intersection(group) for broken in self._broken):
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
        return (*found, CUT_SHORT) if self._cut else tuple(found)


def least_let(line: Line, let: frozenset[str]) -> tuple[Path, tuple[Fault, ...]]:
    """The cheapest line with some families let pass, as little as will do; and the limits it breaks.

    Units: as in the faults.
    Range: families that open a line.
    Raises: ``IndexError`` where they open none.
    Source: the search, repeated below the last value.

    >>> least_let.__name__
    'least_let'
    """
    worst: dict[str, float] = {}
    for _ in range(ROUNDS):
        found = Search(line.letting(let, worst), by=By.NONE, most_steps=MOST_LOOKED).run().paths
        if not found:
            break
        _, faults = line.walk(feed.option for feed in found[0].feeds)
        worst = {f.family: f.value for f in sorted(faults, key=lambda f: f.value) if f.family in LESS_IS_BETTER}
        if not worst:
            break
    above = {family: value * (1 + 1e-9) + 1e-6 for family, value in worst.items()}
    path = Search(line.letting(let, above), by=By.FIRST).run().paths[0]
    return path, line.walk(feed.option for feed in path.feeds)[1]


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
