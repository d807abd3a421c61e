"""Lines that leave the main line: outside taps ahead of the treatment, hot line and drinking tap behind it."""

from __future__ import annotations

from collections.abc import Iterator

from sizing.engine.demand import PeakDemand, peak_flow
from sizing.engine.design import Branch, DesignRequest, Fixture
from sizing.engine.errors import OutsideValidRange
from sizing.engine.findings import Finding, Severity
from sizing.engine.fixtures import COLD_ONLY, KIND_BY_CODE, OUTSIDE
from sizing.engine.ranges import within
from sizing.engine.train_hot import HotLine
from sizing.engine.worksheet import Step

UNTREATED_TAP = "outside_tap_untreated"


def outside_taps(request: DesignRequest) -> int:
    """How many taps stand out of doors.

    Units: count.
    Range: any request.
    Raises: nothing.
    Source: the fixtures as counted.

    >>> from types import SimpleNamespace as N
    >>> outside_taps(N(fixtures=(Fixture("shower", 1), Fixture("outdoor_tap", 2))))
    2
    """
    return sum(int(fixture.count) for fixture in request.fixtures if fixture.code in OUTSIDE)


def is_split(request: DesignRequest) -> bool:
    """Whether outside taps are branched off ahead of the treatment.

    Units: none.
    Range: any request.
    Raises: nothing.
    Source: the request.

    >>> from types import SimpleNamespace as N
    >>> is_split(N(fixtures=(Fixture("shower", 1),), site=N(outside_untreated=True)))
    False
    """
    return request.site.outside_untreated and outside_taps(request) > 0


def treated(request: DesignRequest) -> tuple[Fixture, ...]:
    """The fixtures whose water passes the treatment.

    Units: none.
    Range: any request with a fixture indoors.
    Raises: ``OutsideValidRange`` where every fixture is an outside tap that is not treated.
    Source: the request.

    >>> from types import SimpleNamespace as N
    >>> house = (Fixture("shower", 1), Fixture("outdoor_tap", 1))
    >>> [f.code for f in treated(N(fixtures=house, site=N(outside_untreated=True)))]
    ['shower']
    """
    if not is_split(request):
        return request.fixtures
    left = tuple(fixture for fixture in request.fixtures if fixture.code not in OUTSIDE)
    if not any(fixture.count for fixture in left):
        raise OutsideValidRange(
            "fixtures", "outside taps only", source="behind the treatment there must be at least one fixture"
        )
    return left


def treated_outside_litres(request: DesignRequest) -> float:
    """What the outside taps add to the daily volume that is treated, L.

    Units: L/d.
    Range: 0 to 100,000 L/d; without an outside tap nothing is added.
    Raises: ``OutsideValidRange`` outside.
    Source: the request.

    >>> from types import SimpleNamespace as N
    >>> treated_outside_litres(N(fixtures=(Fixture("outdoor_tap", 1),), site=N(outside_untreated=False),
    ...     occupancy=N(outside_litres_day=400.0)))
    400.0
    """
    litres = within("water used outside", request.occupancy.outside_litres_day, low=0.0, high=100_000.0, unit="L/d")
    return float(litres) if outside_taps(request) and not is_split(request) else 0.0


def whole_demand(request: DesignRequest, inside: PeakDemand) -> PeakDemand:
    """Peak demand of all fixtures, which the pump must bear whether they are treated or not.

    Units: L/min.
    Range: any request.
    Raises: as ``demand.peak_flow``.
    Source: ``demand.peak_flow``.

    >>> from types import SimpleNamespace as N
    >>> request = N(fixtures=(Fixture("shower", 1), Fixture("outdoor_tap", 1)), site=N(outside_untreated=True))
    >>> inside = peak_flow(treated(request))
    >>> round((whole_demand(request, inside).flow_l_min - inside.flow_l_min) / 3.785411784, 1)
    5.0
    """
    return peak_flow(request.fixtures) if is_split(request) else inside


def outside_flow_l_min(request: DesignRequest) -> float:
    """What the outside taps ask for, all running, L/min.

    Units: L/min.
    Range: any request with an outside tap.
    Raises: as ``demand.peak_flow``.
    Source: the code's flow at a hose bibb, added as a continuous flow.

    >>> from types import SimpleNamespace as N
    >>> round(outside_flow_l_min(N(fixtures=(Fixture("outdoor_tap", 1),))) / 3.785411784, 1)
    5.0
    """
    return float(peak_flow(f for f in request.fixtures if f.code in OUTSIDE).flow_l_min)


def branches_of(
    request: DesignRequest, peak_l_min: float, tap_l_d: float, *, at_tap: bool, hot: HotLine | None = None
) -> tuple[Branch, ...]:
    """The lines that leave the main line of a train, ahead of it first.

    Units: L/min, L/d.
    Range: any request; ``at_tap`` = a unit stands at the drinking tap, ``hot`` the hot line with a softener.
    Raises: nothing beyond ``outside_flow_l_min``.
    Source: the request; the drinking tap is one kitchen tap, no faster than the house's peak.

    >>> from types import SimpleNamespace as N
    >>> request = N(fixtures=(Fixture("kitchen_faucet", 1),), site=N(outside_untreated=False))
    >>> [branch.code for branch in branches_of(request, 20.0, 8.0, at_tap=True)]
    ['tap']
    """
    found = []
    if is_split(request):
        litres = request.occupancy.outside_litres_day
        found.append(Branch("outside", outside_taps(request), outside_flow_l_min(request), litres))
    if hot is not None:
        drawing = sum(int(f.count) for f in treated(request) if f.code not in COLD_ONLY)
        found.append(Branch("hot", drawing, min(hot.peak_l_min, peak_l_min), hot.litres_d))
    if at_tap:
        tap = peak_flow([Fixture("kitchen_faucet", 1)]).flow_l_min
        found.append(Branch("tap", 1, min(tap, peak_l_min), tap_l_d))
    return tuple(found)


def outside_findings(request: DesignRequest, barrier_reason: str) -> Iterator[Finding]:
    """What must be said of an outside tap that is not treated.

    Units: none.
    Range: any request; ``barrier_reason`` says why germs are to be expected, empty where they are not.
    Raises: nothing.
    Source: common practice; a health matter where the raw water is one.

    >>> from types import SimpleNamespace as N
    >>> list(outside_findings(N(fixtures=(), site=N(outside_untreated=True)), ""))
    []
    """
    if not is_split(request):
        return
    raw, tap = request.water, request.goals.at_tap
    over = [code for code in sorted(tap) if code in raw and raw[code] > tap[code]]
    why = "The outside tap is branched off ahead of the treatment; what runs there is raw water."
    if barrier_reason:
        why += f" {barrier_reason[0].upper()}{barrier_reason[1:]}: germs are to be expected in it."
    yield Finding(
        UNTREATED_TAP,
        Severity.HEALTH if barrier_reason or over else Severity.NOTE,
        why,
        "Mark the outside tap as not treated. Nobody drinks from the hose or fills a paddling pool, a bottle or an "
        "animal's trough from it without a test that allows it. A vacuum breaker at the tap keeps hose water from "
        "being drawn back; follow the local plumbing code.",
        "outdoor_tap",
        "common practice",
    )


def outside_steps(request: DesignRequest, whole: PeakDemand, pump_l_min: float) -> tuple[Step, ...]:
    """The worksheet lines of the outside branch; none where there is no such branch.

    Units: stated on each line.
    Range: any request.
    Raises: as ``outside_flow_l_min``.
    Source: stated on each line.

    >>> from types import SimpleNamespace as N
    >>> outside_steps(N(fixtures=(), site=N(outside_untreated=True)), None, 30.0)
    ()
    """
    if not is_split(request):
        return ()
    kinds = ", ".join(
        f"{f.count} x {KIND_BY_CODE[f.code].name.lower()}" for f in request.fixtures if f.code in OUTSIDE
    )
    return (
        Step("n_o", "Taps branched off ahead of the treatment", kinds, status="given"),
        Step(
            "Q_o", "What they ask for, left out of the treated peak", outside_flow_l_min(request), "L/min",
            "continuous loads are added in flow", "flow at a hose bibb", "published", "flow",
        ),
        Step(
            "V_o", "Water used there on a day, left out of what is treated", request.occupancy.outside_litres_day,
            "L/d", "", "asked at the household", "given", "volume",
        ),
        Step(
            "Q_w", "Peak the pump must bear, outside taps with it", whole.flow_l_min, "L/min",
            f"the pump delivers {pump_l_min:.1f} L/min", "", "computed", "flow",
        ),
    )  # fmt: skip
