"""Whether a reverse-osmosis unit at one tap makes enough water, and what it sends to the drain."""

from __future__ import annotations

from dataclasses import dataclass

from sizing.engine.design import Margin
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.measures import KPA_PER_PSI
from sizing.engine.membranes import PRACTICE, Membrane, mean_output_l_d, temperature_factor
from sizing.engine.worksheet import Step


@dataclass(frozen=True)
class MembraneSizing:
    """Daily output against the drinking tap, water to drain, with margins, steps and findings."""

    made_l_d: float
    reject_l_d: float
    margins: tuple[Margin, ...]
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def size_membrane(
    membrane: Membrane,
    feed_kpa: float,
    temperature_c: float,
    tds_mg_l: float,
    demand_l_d: float,
    *,
    storage_l: float = 8.0,
) -> MembraneSizing:
    """Whether a unit at one tap makes enough water a day, and what it sends to the drain.

    Why: labels are for warm water, 60 psi and no tank.
    Units: kPa gauge at cut-in, degC (coldest), mg/L, L/d at the tap, litres drawn from a full tank; returns L/d.
    Range: as ``output_l_d``.
    Raises: ``OutsideValidRange`` outside.
    Source: as ``mean_output_l_d`` (common practice); mass balance (computed).

    >>> sized = size_membrane(Membrane(190.0), 310.0, 10.0, 300.0, 15.0)
    >>> 15 < sized.made_l_d < 60, sized.margins[0].held
    (True, True)
    """
    made = float(mean_output_l_d(membrane, feed_kpa, temperature_c, tds_mg_l))
    used = min(made, demand_l_d)
    reject = used * (1.0 - membrane.recovery) / membrane.recovery
    warm = float(temperature_factor(temperature_c, membrane.constants_k))
    margins = (Margin("ro_output", "Water made in a day", made, demand_l_d, "L/d", "min", "volume"),)
    steps = (
        Step(
            "Q0",
            "rated output",
            membrane.rated_l_d,
            "L/d",
            f"at {membrane.rated_kpa:.0f} kPa, {membrane.rated_c:g} degC",
            "",
            "given",
            "volume",
        ),
        Step(
            "kT",
            f"temperature factor at {temperature_c:g} degC",
            warm,
            "",
            "exp(K (1/298 - 1/(273+T)))",
            figure(PRACTICE, "temperature_constants").citation,
            "common practice",
        ),
        Step(
            "Q",
            "output while the tank fills",
            made,
            "L/d",
            "rated x driving pressure / rated driving pressure x kT",
            "net driving pressure",
            "computed",
            "volume",
        ),
        Step(
            "R",
            "water to the drain",
            reject,
            "L/d",
            f"{used:.1f} x (1 - {membrane.recovery:g}) / {membrane.recovery:g}",
            "mass balance",
            "computed",
            "volume",
        ),
    )
    return MembraneSizing(made, reject, margins, steps, _membrane_findings(feed_kpa, demand_l_d, storage_l))


def _membrane_findings(feed_kpa: float, demand_l_d: float, storage_l: float) -> tuple[Finding, ...]:
    findings = []
    low, high = (limit * KPA_PER_PSI for limit in figure(PRACTICE, "feed_pressure").value)
    if feed_kpa < low:
        findings.append(
            Finding(
                "ro_pressure_low",
                Severity.EQUIPMENT,
                f"Feed pressure {feed_kpa:.0f} kPa is under the {low:.0f} kPa a unit wants.",
                "A booster for the unit, or a higher switch setting.",
                "ro",
                figure(PRACTICE, "feed_pressure").citation,
            )
        )
    if feed_kpa > high:
        findings.append(
            Finding(
                "ro_pressure_high",
                Severity.EQUIPMENT,
                f"Feed pressure {feed_kpa:.0f} kPa is over the {high:.0f} kPa a unit bears.",
                "A reducing valve ahead of the unit.",
                "ro",
                figure(PRACTICE, "feed_pressure").citation,
            )
        )
    if storage_l < demand_l_d / 4.0:
        findings.append(
            Finding(
                "ro_storage_small",
                Severity.COMFORT,
                f"The tank gives {storage_l:g} L at once for {demand_l_d:g} L a day.",
                "A larger tank where many fill bottles together.",
                "ro",
                "common practice",
            )
        )
    return tuple(findings)
