"""What the supply can give: the flow test (drawdown and refill, or a bucket), with its uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.design import Measured
from sizing.engine.errors import OutsideValidRange
from sizing.engine.findings import Finding, Severity
from sizing.engine.ranges import within
from sizing.engine.worksheet import Step


@dataclass(frozen=True)
class FlowTest:
    """A measured flow with its standard uncertainty; ``runs_l_min`` are the single runs."""

    flow_l_min: float
    sd_l_min: float
    runs_l_min: tuple[float, ...]
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]

    @property
    def measured(self) -> Measured:
        """The flow as a number with its uncertainty, for a design request."""
        return Measured(self.flow_l_min, self.sd_l_min)


def _runs(litres: float | Sequence[float], seconds: float | Sequence[float], what: str) -> tuple[Any, Any]:
    volume = np.atleast_1d(np.asarray(litres, dtype=float))
    time = np.atleast_1d(np.asarray(seconds, dtype=float))
    within(
        "litres drawn",
        volume,
        low=0.0,
        high=2000.0,
        unit="L",
        low_open=True,
        source="a pressure tank or bucket",
    )
    within(
        what,
        time,
        low=0.0,
        high=7200.0,
        unit="s",
        low_open=True,
        source="a time must pass for a flow to be known",
    )
    if volume.size not in (1, time.size):
        raise OutsideValidRange(
            "litres drawn", volume.size, low=time.size, high=time.size, unit="values, one per run"
        )
    return np.broadcast_to(volume, time.shape), time


def _measure(volume: Any, time: Any, litres_sd: float, seconds_sd: float) -> tuple[float, float, tuple[float, ...]]:
    runs = volume / time * 60.0
    flow = float(runs.mean())
    volume_part = flow * litres_sd / float(volume.mean())
    timing_part = flow * seconds_sd / float(time.mean()) / runs.size**0.5
    scatter = float(runs.std(ddof=1)) / runs.size**0.5 if runs.size > 1 else 0.0
    return flow, float(np.hypot(volume_part, max(timing_part, scatter))), tuple(float(run) for run in runs)


def drawdown_test(
    litres_drawn: float | Sequence[float],
    refill_seconds: float | Sequence[float],
    *,
    litres_sd: float = 0.5,
    seconds_sd: float = 1.0,
) -> FlowTest:
    """Pump flow from drawing the pressure tank down and timing its refill, with its uncertainty.

    Why: this is the flow a UV unit must treat and a backwash can count on; it is measured, not read from a label.
    Units: litres drawn from cut-out to cut-in, seconds from cut-in to cut-out with all taps shut, one value or one
    per run; ``litres_sd`` L and ``seconds_sd`` s are the standard uncertainties of one reading; returns L/min.
    Equation: q = 60 V / t per run, their mean; u^2 = (q u_V/V)^2 + the larger of (q u_t/t)^2/n and the scatter
    s^2/n. The volume is measured with one vessel, so its part does not shrink with more runs.
    Range: 0 < litres <= 2,000; 0 < seconds <= 7,200.
    Raises: ``OutsideValidRange`` for a refill time of 0, negative or missing values.
    Source: gallons drawn / refill seconds x 60 (common practice); propagation of uncertainty (computed).

    >>> round(drawdown_test(15 * 3.785411784, 75.0).flow_l_min / 3.785411784, 2)
    12.0
    """
    volume, time = _runs(litres_drawn, refill_seconds, "refill time")
    within("uncertainty of the litres", litres_sd, low=0.0, unit="L")
    within("uncertainty of the time", seconds_sd, low=0.0, unit="s")
    flow, sd, runs = _measure(volume, time, litres_sd, seconds_sd)
    listed = "; ".join(f"{v:g} L in {t:g} s" for v, t in zip(volume, time, strict=True))
    steps = (
        Step("V, t", "drawn from the tank, and its refill", listed, status="measured"),
        Step(
            "q",
            "pump flow at tank pressure",
            flow,
            "L/min",
            "60 V / t" + (", mean of the runs" if len(runs) > 1 else ""),
            "draw down, then time the refill with no water running",
            "common practice",
            "flow",
        ),
        Step(
            "u(q)",
            "standard uncertainty of the flow",
            sd,
            "L/min",
            f"from {litres_sd:g} L and {seconds_sd:g} s"
            + (f" and the scatter of {len(runs)} runs" if len(runs) > 1 else ""),
            "propagation of uncertainty",
            "computed",
            "flow",
        ),
    )
    findings = []
    if flow and sd / flow > 0.1:
        findings.append(
            Finding(
                "flow_test_uncertain",
                Severity.EQUIPMENT,
                f"The flow test is only known to {sd / flow:.0%}.",
                "Repeat it, draw more water, and measure the volume in a marked vessel.",
                "flow test",
            )
        )
    return FlowTest(flow, sd, runs, steps, tuple(findings))


def bucket_test(
    litres: float | Sequence[float],
    fill_seconds: float | Sequence[float],
    *,
    before_tank: bool = False,
    litres_sd: float = 0.25,
    seconds_sd: float = 0.5,
) -> FlowTest:
    """Flow at an open tap from the time to fill a bucket.

    Why: quick, but a tap fed by a pressure tank gives pump and tank together: too high to size a UV unit on.
    Units: litres, seconds (one value or one per run); returns L/min. ``before_tank`` = the tank was isolated.
    Equation: q = 60 V / t; the upside-down form (seconds / gallons / 60) that circulates is wrong.
    Range: 0 < litres <= 2,000; 0 < seconds <= 7,200.
    Raises: ``OutsideValidRange`` for a fill time of 0, negative or missing values.
    Source: gallons / seconds x 60 (common practice); propagation of uncertainty (computed).

    >>> bucket_test(20.0, 60.0).flow_l_min
    20.0
    """
    volume, time = _runs(litres, fill_seconds, "fill time")
    flow, sd, runs = _measure(volume, time, litres_sd, seconds_sd)
    steps = (
        Step(
            "q",
            "flow at the open tap",
            flow,
            "L/min",
            f"60 x {float(volume.mean()):g} L / {float(time.mean()):g} s",
            "time to fill a bucket",
            "common practice",
            "flow",
        ),
        Step(
            "u(q)",
            "standard uncertainty of the flow",
            sd,
            "L/min",
            "",
            "propagation of uncertainty",
            "computed",
            "flow",
        ),
    )
    finding = Finding(
        "bucket_includes_tank",
        Severity.EQUIPMENT,
        "A bucket at an open tap after the pressure tank shows pump and tank together.",
        "Size on a drawdown and refill test; this number is too high for the pump alone.",
        "flow test",
    )
    return FlowTest(flow, sd, runs, steps, () if before_tank else (finding,))
