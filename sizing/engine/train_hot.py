"""The hot line where only hot water is softened: what it asks of a softener ahead of the heater, and what is said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from sizing.engine.demand import peak_flow
from sizing.engine.design import DesignRequest, Fixture
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.fixtures import COLD_ONLY, KIND_BY_CODE
from sizing.engine.measures import L_PER_GAL
from sizing.engine.worksheet import Step

PRACTICE = "design-practice"
WAYS = ("all", "hot")


@dataclass(frozen=True)
class HotLine:
    """What the fixtures with hot water ask for: at peak, all open at once, and on a day."""

    peak_l_min: float
    most_l_min: float
    litres_d: float
    share: float


def only_hot(request: DesignRequest) -> bool:
    """Whether the softener stands on the hot line.

    Units: none.
    Range: "all" or "hot".
    Raises: ``OutsideValidRange`` for anything else.
    Source: the request.

    >>> from types import SimpleNamespace as N
    >>> only_hot(N(goals=N(soften="hot"))), only_hot(N(goals=N(soften="all")))
    (True, False)
    """
    if request.goals.soften not in WAYS:
        raise OutsideValidRange("what to soften", request.goals.soften, source=f"one of {', '.join(WAYS)}")
    return request.goals.soften == "hot"


def hot_line(request: DesignRequest, fixtures: Sequence[Fixture], daily_l: float) -> HotLine | None:
    """What the hot line asks for; ``None`` where all water is softened alike.

    Every fixture with hot water is counted at its whole flow, as if it ran hot only: the careful side.
    Units: L/min, L/d.
    Range: at least one fixture with hot water.
    Raises: ``OutsideValidRange`` where there is none.
    Source: peak demand study for the peak; share of hot water from memory with a margin (``design-practice``).

    >>> from types import SimpleNamespace as N
    >>> house = (Fixture("shower", 1), Fixture("toilet", 1))
    >>> line = hot_line(N(goals=N(soften="hot")), house, 1000.0)
    >>> round(line.most_l_min / 3.785411784, 1), line.litres_d
    (2.0, 400.0)
    """
    if not only_hot(request):
        return None
    drawn = [fixture for fixture in fixtures if fixture.code not in COLD_ONLY and fixture.count]
    if not drawn:
        raise OutsideValidRange("what to soften", "hot", source="a fixture with hot water must be counted")
    most = sum(KIND_BY_CODE[fixture.code].flow_gpm * fixture.count for fixture in drawn) * L_PER_GAL
    share = float(figure(PRACTICE, "hot_share").value)
    return HotLine(float(peak_flow(drawn).flow_l_min), most, share * daily_l, share)


def hot_findings(request: DesignRequest) -> Iterator[Finding]:
    """What must be said where only hot water is softened.

    Units: none.
    Range: any request.
    Raises: as ``only_hot``.
    Source: common practice.

    >>> from types import SimpleNamespace as N
    >>> [finding.code for finding in hot_findings(N(goals=N(soften="hot")))]
    ['soft_hot_only']
    """
    if only_hot(request):
        yield Finding(
            "soft_hot_only",
            Severity.NOTE,
            "Only hot water is softened: cold water stays as hard as it comes, toilets and cold fillings with it.",
            "Tell the household, and that they drink and cook with cold water: it gains no sodium.",
            "hardness",
            "common practice",
        )


def told_hot(finding: Finding) -> Finding:
    """A stage's finding as it reads on the hot line: sodium is gained by the hot water alone.

    Units: none.
    Range: any finding.
    Raises: nothing.
    Source: none needed.

    >>> told_hot(Finding("sodium_added", Severity.NOTE, "Softening adds 99 mg/L of sodium.", "x", "sodium")).message
    'Softening adds 99 mg/L of sodium. That is in the hot water only; cold water gains none.'
    """
    if finding.code != "sodium_added":
        return finding
    return replace(
        finding,
        message=f"{finding.message} That is in the hot water only; cold water gains none.",
        what_to_do="Tell people on a low-sodium diet to drink and cook with cold water.",
    )


def hot_steps(request: DesignRequest, fixtures: Sequence[Fixture], line: HotLine | None) -> tuple[Step, ...]:
    """The worksheet lines of the hot line; none where there is no such line.

    Units: stated on each line.
    Range: any request.
    Raises: nothing.
    Source: stated on each line.

    >>> hot_steps(None, (), None)
    ()
    """
    if line is None:
        return ()
    kinds = [f"{f.count} x {KIND_BY_CODE[f.code].name.lower()}" for f in fixtures if f.code not in COLD_ONLY]
    share = figure(PRACTICE, "hot_share")
    whole = line.litres_d / line.share
    return (
        Step("n_h", "Fixtures with hot water", ", ".join(kinds), status="given"),
        Step(
            "Q_h", "Peak flow on the hot line", line.peak_l_min, "L/min",
            "exact convolution, each fixture as if it ran hot only", "as the peak demand", "computed", "flow",
        ),
        Step(
            "Q_m", "The most it can draw, all open", line.most_l_min, "L/min", "sum of n q",
            "as the peak demand", "computed", "flow",
        ),
        Step("s_h", "Share of the water that is hot", line.share, "fraction", "", share.citation, share.status),
        Step(
            "V_h", "Hot water on a day", line.litres_d, "L/d", f"{line.share:g} x {whole:.0f} L", "", "computed",
            "volume",
        ),
    )  # fmt: skip
