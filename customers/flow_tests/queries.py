"""Reads of flow tests, and what a measured flow allows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from customers.flow_tests.models import FlowMethod, FlowTest
from customers.households.models import Site
from sizing.engine import supply
from sizing.engine.demand import peak_flow
from sizing.engine.design import Fixture
from sizing.engine.errors import EngineError
from sizing.engine.findings import Finding
from sizing.engine.worksheet import Worksheet


def latest_flow(site: Site) -> FlowTest | None:
    """The newest flow test: by day, then by entry."""
    return site.flow_tests.order_by("-tested_on", "-pk").first()


def measure(method: str, runs: Sequence[tuple[float, float]]) -> supply.FlowTest:
    """The engine's answer to runs of (litres, seconds). Raises ``OutsideValidRange`` naming what is impossible."""
    litres = [run[0] for run in runs]
    seconds = [run[1] for run in runs]
    if method == FlowMethod.BUCKET:
        return supply.bucket_test(litres, seconds)
    return supply.drawdown_test(litres, seconds)


def findings_of(test: FlowTest) -> tuple[Finding, ...]:
    """Remarks of the engine on a stored test."""
    runs = list(test.runs.values_list("litres", "seconds"))
    return measure(test.method, runs).findings if runs else ()


def worksheet_of(test: FlowTest) -> Worksheet:
    """The stored calculation."""
    return Worksheet.from_data(test.worksheet)


@dataclass(frozen=True)
class Allowance:
    """What the flow is enough for, or not: L/min needed beside L/min measured; ``held`` also at two standard
    uncertainties less (``surely``)."""

    what: str
    needed_l_min: float
    held: bool
    surely: bool


def peak_of(site: Site) -> float | None:
    """The household's 99th-percentile draw (L/min) by its fixtures; ``None`` where none were counted."""
    fixtures = [Fixture(row.code, row.count) for row in site.fixtures.all()]
    if not fixtures:
        return None
    try:
        return float(peak_flow(fixtures).flow_l_min)
    except EngineError:
        return None


def allowances(site: Site, test: FlowTest) -> list[Allowance]:
    """Whether the pump alone carries the household's peak (a tank covers a short one)."""
    peak = peak_of(site)
    if peak is None:
        return []
    low = test.flow_l_min - 2 * test.sd_l_min
    return [Allowance("peak", peak, test.flow_l_min >= peak, low >= peak)]
