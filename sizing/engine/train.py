"""Choosing the train: the best admissible lines of stages for a household, or exactly why there is none."""

from __future__ import annotations

from collections.abc import Sequence

from sizing.engine import VERSION
from sizing.engine.design import DesignOutcome, DesignRequest, Product, Refusal, StageKind, Train
from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.figures import figures_version
from sizing.engine.ranges import within
from sizing.engine.stages.base import Stage
from sizing.engine.stages.registry import stage_for
from sizing.engine.train_bound import Bound
from sizing.engine.train_conflict import Impasse
from sizing.engine.train_duty import brief_of
from sizing.engine.train_floor import MILLION
from sizing.engine.train_path import Line, Path
from sizing.engine.train_report import refusals_of, train_of
from sizing.engine.train_search import SIDE_BY_SIDE, By, Search, next_best, options_of
from sizing.engine.train_spot import Fault, Option, breaches_in, laid, name_of
from sizing.engine.train_why import best_with, placed_by_hand

MOST_ALIKE = 3  # how many nearly equal lines are passed over
DEARER, HALF_AN_HOUR = 0.05, MILLION // 2


def choose_train(request: DesignRequest, *, keep: int = 3) -> DesignOutcome:
    """The best admissible trains of the catalogue, named in plain words, or the smallest conflict.

    Every line of stages that keeps all limits is considered; kept are the least to buy, the least over the years and
    the least upkeep, filled up with the next best where these are one and the same. A booster pump is tried only
    where no line passes without one.
    Units: canonical.
    Range: ``keep`` 1 or more trains.
    Raises: ``MissingEvidence`` where only tests not made stand in the way; ``OutsideValidRange`` naming a field.
    Source: exact search (see ``train_search``); limits and figures as the stages cite them.

    >>> from sizing.engine.design import *
    >>> from sizing.engine.water import Water
    >>> request = DesignRequest(Water({"total_coliform": 0.0}), SourceType.DRILLED_WELL,
    ...     SupplySide(Measured(30.0), 276.0, 414.0, 150.0), (Fixture("shower", 1),), Occupancy(2, 4), SiteLimits(),
    ...     Goals(), ())
    >>> choose_train(request).trains[0].stages
    ()
    """
    return _choose(request, [stage_for(product) for product in request.catalogue], keep)


def _choose(request: DesignRequest, stages: Sequence[Stage], keep: int) -> DesignOutcome:
    brief = brief_of(request)
    line = Line(brief, options_of(stages, brief))
    bound, paths, looked_at = _best(line)
    if not paths and any(stage.kind is StageKind.BOOSTER for stage in stages) and line.starved:
        line = Line(brief, options_of(stages, brief, boosted=True))
        bound, paths, more = _best(line)
        looked_at += more
    if not paths:
        return _nothing(line, looked_at)
    named = _named(line, bound, paths, keep)
    trains = tuple(train_of(line, path, name) for name, path in named)
    return _outcome(line, trains, refusals_of(line, [path for _, path in named]), (), (), looked_at)


def _best(line: Line) -> tuple[Bound, list[Path], int]:
    """The least over the years, to buy and in upkeep, and how many steps were looked at; no path: none passes."""
    bound = Bound(line)
    paths, looked_at = [], 0
    for by in (By.LIFE, By.FIRST, By.HOURS):
        found = Search(line, bound, by).run()
        looked_at += found.looked_at
        if not found.paths:
            return bound, [], looked_at
        paths.append(found.paths[0])
    return bound, paths, looked_at


def _named(line: Line, bound: Bound, paths: list[Path], keep: int) -> list[tuple[str, Path]]:
    """The paths to show and their names: best over the years first."""
    years = line.brief.request.cost.years
    named: list[tuple[list[str], Path]] = []
    for words, path in zip((f"over {years} years", "to buy", "upkeep"), paths, strict=True):
        known = next((names for names, other in named if other.options == path.options), None)
        if known is None:
            named.append(([words], path))
        else:
            known.append(words)
    found = [(_joined(words), path) for words, path in named][:keep]
    while len(found) < keep:
        other = next_best(line, bound, [[stage.kind.value for stage in path.stages] for _, path in found])
        if other is None and len(found) == 1:
            other = _other_size(line, bound, found[0][1])
        if other is None:
            break
        found.append((f"Next over {years} years" if len(found) < 2 else f"Another over {years} years", other))
    return found


def _other_size(line: Line, bound: Bound, best: Path) -> Path | None:
    """The next line of the same kinds that is not nearly the same again."""
    known = [[stage.product.code for stage in best.stages]]
    for _ in range(MOST_ALIKE):
        other = next_best(line, bound, known)
        if other is None or unlike(other, best):
            return other
        known.append([stage.product.code for stage in other.stages])
    return None


def unlike(one: Path, other: Path) -> bool:
    """Whether two lines differ in kinds, or by a twentieth in what they cost, or by half an hour of upkeep a year.

    Units: cents and millionths of an hour.
    Range: any paths.
    Raises: nothing.
    Source: below that nobody would choose by it (judgement).

    >>> from types import SimpleNamespace as N
    >>> line = lambda first: N(stages=(), first=first, life=9000, upkeep=0)
    >>> unlike(line(1000), line(1010)), unlike(line(1000), line(1100))
    (False, True)
    """
    if {stage.kind for stage in one.stages} != {stage.kind for stage in other.stages}:
        return True
    pairs = ((one.first, other.first), (one.life, other.life))
    return abs(one.upkeep - other.upkeep) >= HALF_AN_HOUR or any(abs(a - b) > DEARER * min(a, b) for a, b in pairs)


def _joined(words: list[str]) -> str:
    if len(words) == 1:
        return f"Least {words[0]}"
    return f"Least {', '.join(words[:-1])} and {words[-1]}"


def _nothing(line: Line, looked_at: int) -> DesignOutcome:
    impasse = Impasse(line)
    untested = impasse.untested()
    if untested:
        names = ", ".join(name_of(code) for code in untested)
        raise MissingEvidence(
            untested, f"No train can be judged before these are tested: {names}. Book the tests first."
        )
    impasse.gather()
    relaxations = tuple(dict.fromkeys(way.words for way in impasse.ways()))
    conflict = impasse.sentences(impasse.smallest_conflict())
    return _outcome(
        line,
        (),
        tuple(Refusal(f.label, f.family, f.text) for _, f in sorted(impasse.seen.items())),
        conflict,
        relaxations,
        looked_at,
    )


def _outcome(
    line: Line,
    trains: tuple[Train, ...],
    refusals: tuple[Refusal, ...],
    conflict: tuple[str, ...],
    relaxations: tuple[str, ...],
    looked_at: int,
) -> DesignOutcome:
    brief = line.brief
    return DesignOutcome(
        trains=trains,
        refusals=refusals,
        conflict=conflict,
        relaxations=relaxations,
        findings=brief.findings,
        searched=looked_at,
        peak_flow_l_min=brief.demand.flow_l_min,
        design_flow_l_min=brief.flow_l_min,
        daily_l=brief.daily.litres_d,
        engine_version=VERSION,
        figures_version=figures_version(),
    )


def recheck(
    request: DesignRequest, products: Sequence[Product], order: Sequence[int] = (), counts: Sequence[int] = ()
) -> Train | tuple[Refusal, ...]:
    """One line of products, in the order given, checked at once: the train, or every limit it breaks.

    ``order`` lists places in ``products`` (empty = as they are listed); ``counts`` says how many of each stand side
    by side (empty = one of each), in the order of ``products``. Products need not be in the catalogue.
    Units: canonical.
    Range: each place once; counts 1, or 2 for beds that may stand in pairs.
    Raises: ``OutsideValidRange`` as ``choose_train`` and for a count; ``IndexError`` for a place that is not there.
    Source: the same simulation as the search.

    >>> from sizing.engine.design import *
    >>> from sizing.engine.water import Water
    >>> request = DesignRequest(Water({}), SourceType.LAKE, SupplySide(Measured(30.0), 276.0, 414.0, 150.0),
    ...     (Fixture("shower", 1),), Occupancy(2, 4), SiteLimits(), Goals(), ())
    >>> [refusal.constraint for refusal in recheck(request, ())]
    ['barrier against germs']
    """
    places = list(order) if order else list(range(len(products)))
    if counts and len(counts) != len(products):
        raise OutsideValidRange("counts", len(counts), low=len(products), high=len(products))
    units = [counts[place] if counts else 1 for place in places]
    return _recheck(request, [stage_for(products[place]) for place in places], units)


def _recheck(
    request: DesignRequest, stages: Sequence[Stage], units: Sequence[int] = ()
) -> Train | tuple[Refusal, ...]:
    brief = brief_of(request)
    counts = list(units) or [1] * len(stages)
    for stage, count in zip(stages, counts, strict=True):
        most = 2 if stage.kind in SIDE_BY_SIDE else 1
        within(f"number of {stage.product.name}", count, low=1, high=most)
    for stage in stages:
        if stage.kind is StageKind.RESTRICTOR:
            brief = brief.held(stage.product.code, float(stage.product.ratings["flow_l_min"]))
    options = laid(stages, counts, hot=brief.hot is not None)
    line = Line(brief, options)
    path, faults = line.walk(options)
    found = [
        Refusal(
            options[breach.second].name,
            "order of the stages",
            f"{options[breach.second].name} belongs ahead of {options[breach.first].name}: {breach.rule.reason}",
        )
        for breach in breaches_in(options)
    ]
    found += [_refusal(fault, options) for fault in faults]
    return tuple(found) if found else train_of(line, path, "As set")


def _refusal(fault: Fault, options: Sequence[Option]) -> Refusal:
    named = [option.name for option in options if option.name in fault.text]
    return Refusal(named[0] if named else "The line", fault.label, fault.text)


def why_not(request: DesignRequest, product_code: str) -> Train | tuple[Refusal, ...]:
    """The best line over the years that holds a product of the catalogue, or the limits that refuse it.

    Where no line holds it, it is put in its place in the line that is best without it (alone, where there is none),
    and every limit broken there is named.
    Units: canonical.
    Range: a code of the request's catalogue.
    Raises: ``OutsideValidRange`` for another code, and as ``choose_train``.
    Source: exact search (see ``train_search``).

    >>> from decimal import Decimal
    >>> from sizing.engine.design import *
    >>> from sizing.engine.water import Water
    >>> rated = {"flow_l_min": 30, "loss_kpa": 35, "pipe": "1", "width_m": 0.1}
    >>> restrictor = Product("r", StageKind.RESTRICTOR, "Restrictor", rated, Decimal(40))
    >>> request = DesignRequest(Water({"total_coliform": 0.0}), SourceType.DRILLED_WELL,
    ...     SupplySide(Measured(30.0), 276.0, 414.0, 150.0), (Fixture("shower", 1),), Occupancy(2, 4), SiteLimits(),
    ...     Goals(), (restrictor,))
    >>> why_not(request, "r").name
    'Best with Restrictor'
    """
    if all(product.code != product_code for product in request.catalogue):
        raise OutsideValidRange("product code", product_code, source="a code of the catalogue")
    return _why_not(request, [stage_for(product) for product in request.catalogue], product_code)


def _why_not(request: DesignRequest, stages: Sequence[Stage], code: str) -> Train | tuple[Refusal, ...]:
    brief = brief_of(request)
    asked = next(stage for stage in stages if stage.product.code == code)
    line = Line(brief, options_of(stages, brief, boosted=asked.kind is StageKind.BOOSTER))
    path = best_with(line, asked)
    if path is None:
        path, options, faults = placed_by_hand(line, asked)
        if faults:
            return tuple(_refusal(fault, options) for fault in faults)
    return train_of(line, path, f"Best with {asked.product.name}")
