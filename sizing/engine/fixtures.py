"""The fixtures that can be counted in a household, with their published probabilities, flows and fixture units."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sizing.engine.design import Fixture
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure

STUDY = "peak-water-demand-study-2017"
CODE = "icc-ipc-2018"
_MOST = 500  # fixtures of one kind; beyond a household by far


@dataclass(frozen=True)
class FixtureKind:
    """A fixture that can be counted. ``probability`` and ``flow_gpm`` are the study's (``None`` probability = runs
    continuously while in use), ``wsfu`` the code's total."""

    code: str
    name: str
    probability: float | None
    flow_gpm: float
    wsfu: float
    study_name: str = ""
    code_name: str = ""


def _kinds() -> tuple[FixtureKind, ...]:
    study = figure(STUDY, "fixtures").value
    units = figure(CODE, "wsfu").value
    rows = (
        ("shower", "Shower, per head", "shower, per head", "shower head, private"),
        ("bath_shower", "Bath with shower", "combination bath/shower", "bathtub, private"),
        ("bath", "Bath without shower", "bathtub (no shower)", "bathtub, private"),
        ("lavatory", "Washbasin", "lavatory faucet", "lavatory, private"),
        ("toilet", "Toilet with tank", "water closet 1.28 gpf tank", "water closet, private, flush tank"),
        ("bidet", "Bidet", "bidet", "bidet, private"),
        ("kitchen_faucet", "Kitchen sink", "kitchen faucet", "kitchen sink, private"),
        ("bar_sink", "Bar sink", "bar sink", "kitchen sink, private"),
        ("dishwasher", "Dishwasher", "dishwasher", "dishwasher, private"),
        ("clothes_washer", "Clothes washer", "clothes washer", "clothes washer 8 lb, private"),
        ("laundry_faucet", "Laundry sink", "laundry faucet", "laundry trays 1-3, private"),
    )
    found = [FixtureKind(c, n, study[s][0], study[s][1], units[k][2], s, k) for c, n, s, k in rows]
    hose_gpm = figure(CODE, "outlet").value["sillcock, hose bibb"][0]
    found.append(FixtureKind("outdoor_tap", "Outdoor tap left running", None, hose_gpm, 0.0))
    return tuple(found)


FIXTURES: tuple[FixtureKind, ...] = _kinds()
KIND_BY_CODE: Mapping[str, FixtureKind] = MappingProxyType({kind.code: kind for kind in FIXTURES})
COLD_ONLY = ("toilet", "outdoor_tap")
"""Fixtures that draw no hot water."""
OUTSIDE = ("outdoor_tap",)
"""Fixtures out of doors: they may be branched off ahead of the treatment, and nobody is counted as drinking there."""


def counted(fixtures: Iterable[Fixture]) -> tuple[tuple[str, int], ...]:
    """Number of each kind, sorted by code, zeros left out.

    Why: the same house typed in another order is the same house.
    Units: counts.
    Range: 0 to 500 of each kind, whole numbers.
    Raises: ``OutsideValidRange`` for an unknown code or an impossible count.
    Source: none needed (a check, not a figure).

    >>> counted([Fixture("toilet", 1), Fixture("shower", 2), Fixture("toilet", 1)])
    (('shower', 2), ('toilet', 2))
    """
    total: dict[str, int] = {}
    for fixture in fixtures:
        if fixture.code not in KIND_BY_CODE:
            raise OutsideValidRange("fixture", fixture.code, source=f"one of {', '.join(KIND_BY_CODE)}")
        if fixture.count < 0 or fixture.count > _MOST or fixture.count != int(fixture.count):
            raise OutsideValidRange(f"number of {fixture.code}", fixture.count, low=0, high=_MOST)
        total[fixture.code] = total.get(fixture.code, 0) + int(fixture.count)
    return tuple(sorted((code, count) for code, count in total.items() if count))
