"""Peak flow and daily volume of a household: exact probability, its approximations, and the code's fixture units."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from sizing.engine import convolution
from sizing.engine.design import Fixture
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.fixture_units import FixtureUnitDemand, code_curve_l_min, fixture_unit_flow, fixture_units
from sizing.engine.fixtures import CODE, FIXTURES, KIND_BY_CODE, STUDY, FixtureKind, counted
from sizing.engine.measures import L_PER_GAL
from sizing.engine.ranges import within
from sizing.engine.worksheet import Step

__all__ = [
    "FIXTURES",
    "KIND_BY_CODE",
    "DailyVolume",
    "FixtureKind",
    "FixtureUnitDemand",
    "PeakDemand",
    "chance_above",
    "code_curve_l_min",
    "daily_volume",
    "fixture_unit_flow",
    "fixture_units",
    "peak_flow",
]


@dataclass(frozen=True)
class PeakDemand:
    """Peak flow of a list of fixtures, in L/min.

    ``p0`` is the chance that no water runs, ``h`` the Hunter number, ``whole_l_min`` the study's value for the
    whole list before the running maximum over sub-sets; ``wistort_l_min`` and ``modified_wistort_l_min`` are the
    stated alternatives, shown and never used for a single house.
    """

    flow_l_min: float
    method: str
    p0: float
    h: float
    findings: tuple[Finding, ...]
    whole_l_min: float
    unconditional_l_min: float
    wistort_l_min: float
    modified_wistort_l_min: float
    steady_l_min: float
    counts: tuple[tuple[str, int], ...]
    percentile: float

    @property
    def steps(self) -> tuple[Step, ...]:
        """The worksheet lines."""
        return _peak_steps(self)


@dataclass(frozen=True)
class DailyVolume:
    """Litres a day, with the worksheet steps."""

    litres_d: float
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


@lru_cache(maxsize=4096)
def _peak(counts: tuple[tuple[str, int], ...], percentile: float) -> PeakDemand:
    groups = tuple(
        convolution.Group(count, kind.probability, round(kind.flow_gpm * 10))
        for kind, count in ((KIND_BY_CODE[code], count) for code, count in counts)
        if kind.probability is not None
    )
    steady = sum(KIND_BY_CODE[c].flow_gpm * n for c, n in counts if KIND_BY_CODE[c].probability is None)
    if not groups and not steady:
        raise OutsideValidRange("fixtures", "none", source="a peak flow needs at least one fixture")
    s1 = sum(g.count * g.probability * g.tenths / 10 for g in groups)
    s2 = sum(g.count * g.probability * (1 - g.probability) * (g.tenths / 10) ** 2 for g in groups)
    h = sum(g.count * g.probability for g in groups)
    pmf = convolution.distribution(groups)
    p0 = float(pmf[0])
    whole = convolution.quantile(pmf, percentile)
    best = convolution.largest_over_subsets(groups, pmf, percentile)
    z = NormalDist().inv_cdf(percentile)
    wistort = s1 + z * s2**0.5
    modified = (s1 + z * max((1 - p0) * s2 - p0 * s1**2, 0.0) ** 0.5) / (1 - p0) if p0 < 1 else 0.0
    flow = (best.tenths / 10 + steady) * L_PER_GAL
    return PeakDemand(
        flow_l_min=flow,
        method="exact convolution",
        p0=p0,
        h=h,
        findings=_peak_findings(h, best.complete),
        whole_l_min=(whole / 10 + steady) * L_PER_GAL,
        unconditional_l_min=(convolution.quantile(pmf, percentile, conditional=False) / 10 + steady) * L_PER_GAL,
        wistort_l_min=(wistort + steady) * L_PER_GAL,
        modified_wistort_l_min=(modified + steady) * L_PER_GAL,
        steady_l_min=steady * L_PER_GAL,
        counts=counts,
        percentile=percentile,
    )


def _peak_steps(peak: PeakDemand) -> tuple[Step, ...]:
    counts, steady = peak.counts, peak.steady_l_min
    listed = ", ".join(f"{n} x {KIND_BY_CODE[c].name.lower()}" for c, n in counts)
    source = figure(STUDY, "fixtures")
    parts = " + ".join(f"{n} x {KIND_BY_CODE[c].probability:g}" for c, n in counts if KIND_BY_CODE[c].probability)
    best, whole = ((flow - steady) / L_PER_GAL for flow in (peak.flow_l_min, peak.whole_l_min))
    used = f"largest over all sub-sets of the list; the whole list gives {whole:.1f} gpm"
    steps = [
        Step("n", "fixtures", listed, status="given"),
        Step("H", "Hunter number, sum of n p", peak.h, "", parts or "0", source.citation, source.status),
        Step("P0", "chance that no water is running", peak.p0, "", "product of (1 - p)^n", source.citation),
        Step(
            "Q",
            f"peak flow, {peak.percentile:.0%} of the time some water runs",
            best * L_PER_GAL,
            "L/min",
            f"exact convolution on a 0.1 gpm grid: {best:.1f} gpm x {L_PER_GAL:.4f}; {used}",
            source.citation,
            "computed",
            "flow",
        ),
        Step(
            "Qw",
            "the same by Wistort's normal estimate (too low for one house, not used)",
            peak.wistort_l_min - steady,
            "L/min",
            "sum(n p q) + z sqrt(sum(n p (1-p) q^2))",
            source.citation,
            "computed",
            "flow",
        ),
        Step(
            "Qm",
            "the same by the zero-truncated normal estimate (not used)",
            peak.modified_wistort_l_min - steady,
            "L/min",
            "[S1 + z sqrt((1-P0) S2 - P0 S1^2)] / (1-P0)",
            "form derived from the study's method",
            "computed",
            "flow",
        ),
    ]
    if steady:
        steps.append(
            Step(
                "Qc",
                "outdoor taps running, added after the peak",
                steady,
                "L/min",
                "continuous loads are added in flow",
                figure(CODE, "outlet").citation,
                "published",
                "flow",
            )
        )
    return tuple(steps)


def _peak_findings(h: float, complete: bool) -> tuple[Finding, ...]:
    found = []
    if h >= figure(STUDY, "hunter_number_exact_below").value:
        found.append(
            Finding(
                "demand_beyond_one_house",
                Severity.NOTE,
                f"The fixture list is larger than one house (Hunter number {h:.2f}).",
                "The study changes to a normal estimate from 1.25; the exact value is used here.",
                "fixtures",
                "Peak Water Demand Study 2017",
            )
        )
    if not complete:
        found.append(
            Finding(
                "demand_subsets_not_all_seen",
                Severity.NOTE,
                "Too many combinations of fixtures to look at every sub-set.",
                "The peak is that of the whole list and of its largest single fixtures.",
                "fixtures",
            )
        )
    return tuple(found)


def peak_flow(fixtures: Iterable[Fixture], percentile: float = 0.99, *, people: float | None = None) -> PeakDemand:
    """Peak flow of a household by exact probability.

    Why: main stages, pipe and pressure are sized on it, and it is far below the sum of all taps.
    Units: returns L/min; ``percentile`` a fraction; ``people`` at the busiest, to say when the data do not cover
    them.
    Equation: all fixtures are independent, on with probability p at flow q; the answer is the smallest flow not
    exceeded for ``percentile`` of the time that some water runs (zero-truncated), the largest over all sub- sets of
    the list, so that adding a fixture never lowers it. Outdoor taps are added as continuous flow.
    Range: percentile 0.5 to 0.9999; counts 0 to 500; p and q are for homes of about 2.7 people.
    Raises: ``OutsideValidRange`` for an unknown fixture, an impossible count, an empty list or a percentile
    outside.
    Source: Peak Water Demand Study 2017 / UPC Appendix M (published p and q, secondary copy); arithmetic computed.

    >>> house = [Fixture("bath_shower", 2), Fixture("lavatory", 3), Fixture("toilet", 3),
    ...          Fixture("kitchen_faucet", 1), Fixture("clothes_washer", 1)]
    >>> round(peak_flow(house).flow_l_min / 3.785411784, 1)
    11.0
    """
    share = float(within("percentile", percentile, low=0.5, high=0.9999, source="Peak Water Demand Study 2017"))
    demand = _peak(counted(fixtures), share)
    usual = figure(STUDY, "people_per_home").value
    if people is not None and people > 2 * usual:
        found = Finding(
            "demand_more_people_than_data",
            Severity.COMFORT,
            f"{people:g} people are more than the data behind the peak flow cover (homes of about {usual:g}).",
            "Measure the flow on a busy day, or choose the next size up.",
            "people",
            "Peak Water Demand Study 2017",
        )
        demand = replace(demand, findings=(*demand.findings, found))
    return demand


def chance_above(fixtures: Iterable[Fixture], flow_l_min: float) -> float:
    """Share of the busy hour in which demand exceeds a flow.

    Why: rates a device of a given flow: a 26 L/min unit at this house is overdrawn so much of the time.
    Units: ``flow_l_min`` L/min; returns a fraction of all moments, running or not.
    Range: flow 0 or more.
    Raises: ``OutsideValidRange`` for unknown fixtures or a negative flow.
    Source: Peak Water Demand Study 2017 (published p and q); exact convolution (computed).

    >>> round(chance_above([Fixture("shower", 1)], 1.0), 3)
    0.045
    """
    limit = float(within("flow", flow_l_min, low=0.0, unit="L/min")) / L_PER_GAL * 10
    counts = counted(fixtures)
    groups = tuple(
        convolution.Group(n, kind.probability, round(kind.flow_gpm * 10))
        for kind, n in ((KIND_BY_CODE[c], n) for c, n in counts)
        if kind.probability is not None
    )
    pmf = convolution.distribution(groups)
    return float(pmf[int(np.floor(limit + 1e-9)) + 1 :].sum())


def daily_volume(people: float, litres_per_person_day: float = 227.0, *, other_litres_d: float = 0.0) -> DailyVolume:
    """Water used on an occupied day.

    Why: regeneration interval, cartridge life and storage follow from it; use the people really there, not the
    bedrooms.
    Units: ``people``, ``litres_per_person_day`` L, ``other_litres_d`` L/d (animals, a hot tub); returns L/d.
    Range: people more than 0 up to 200; 20 to 1,000 L per person; other use 0 to 100,000 L/d.
    Raises: ``OutsideValidRange`` outside.
    Source: litres = people x rate + other (computed); 227 L (60 gal) is common practice, 189 to 379 L (50 to 100
    gal) the planning range of an extension service (published).

    >>> daily_volume(4, 227.0).litres_d
    908.0
    """
    number = within("people", people, low=0.0, high=200.0, low_open=True)
    rate = within(
        "water per person",
        litres_per_person_day,
        low=20.0,
        high=1000.0,
        unit="L/d",
        source="plausible household use",
    )
    other = within("other daily use", other_litres_d, low=0.0, high=100_000.0, unit="L/d")
    litres = number * rate + other
    step = Step(
        "Vd",
        "water used on an occupied day",
        litres,
        "L/d",
        f"{number:g} people x {rate:g} L + {other:g} L",
        "common practice",
        "computed",
        "volume",
    )
    return DailyVolume(litres, (step,), ())
