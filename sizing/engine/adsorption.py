"""Activated carbon: contact time at peak and mean flow, surface rate, bed life."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.design import Margin
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import Figure, figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.measures import M_H_PER_GPM_FT2, M_PER_IN
from sizing.engine.media import rate_m_h, tank_area_m2
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step

PRACTICE = "carbon-practice"
BULK_KG_L: float = figure(PRACTICE, "density").value
USED: float = figure(PRACTICE, "used_share").value
DUTIES = ("chlorine", "chloramine", "taste_odour", "voc", "organics", "fuel", "pfas")


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


def contact_min(volume_l: Number, flow_l_min: Number) -> Any:
    """Empty-bed contact time.

    Why: the one number that tells whether a carbon bed has time to work.
    Units: bed volume L, flow L/min, floats or arrays; returns min.
    Range: more than 0; volume at most 20,000 L, flow at most 10,000 L/min.
    Raises: ``OutsideValidRange`` outside.
    Source: V / Q (computed).

    >>> round(contact_min(1.5 * 28.316846592, 5 * 3.785411784), 2)
    2.24
    """
    volume = within("bed volume", volume_l, low=0.0, high=20_000.0, unit="L", low_open=True)
    return _out(volume / within("flow", flow_l_min, low=0.0, high=10_000.0, unit="L/min", low_open=True))


def volume_for_contact_l(minutes: Number, flow_l_min: Number) -> Any:
    """Bed volume for a contact time at a flow.

    Why: shows why ten minutes for a whole house is a very large tank.
    Units: min, L/min; returns L.
    Range: more than 0; at most 120 min and 10,000 L/min.
    Raises: ``OutsideValidRange`` outside.
    Source: V = t Q (computed).

    >>> round(volume_for_contact_l(10.0, 5 * 3.785411784) / 28.316846592, 2)
    6.68
    """
    wanted = within("contact time", minutes, low=0.0, high=120.0, unit="min", low_open=True)
    return _out(wanted * within("flow", flow_l_min, low=0.0, high=10_000.0, unit="L/min", low_open=True))


def diameter_for_rate_in(flow_l_min: Number, rate: Number) -> Any:
    """Least tank diameter that keeps a surface rate.

    Why: a bed fed too fast channels, whatever its volume.
    Units: L/min, m/h; returns inches (choose the next nominal size).
    Range: more than 0; flow at most 10,000 L/min, rate at most 500 m/h.
    Raises: ``OutsideValidRange`` outside.
    Source: d = sqrt(4 Q / (pi v)) (computed).

    >>> round(diameter_for_rate_in(5 * 3.785411784, 10 * 2.44475), 2)
    9.57
    """
    flow = within("flow", flow_l_min, low=0.0, high=10_000.0, unit="L/min", low_open=True)
    speed = within("rate", rate, low=0.0, high=500.0, unit="m/h", low_open=True)
    return _out(np.sqrt(4.0 * flow * 0.06 / speed / np.pi) / M_PER_IN)


def contact_rule(duty: str) -> Figure:
    """The contact time a duty asks for; the lower figure of a range.

    Why: chlorine goes in a minute, volatile organics and PFAS need many.
    Units: figure in min (a list is low, high).
    Range: "chlorine", "chloramine", "taste_odour", "voc", "organics", "fuel", "pfas".
    Raises: ``OutsideValidRange`` naming the duties.
    Source: New York household rule and a handbook (published); others from memory: the figure says which.

    >>> contact_rule("organics").value, contact_rule("organics").status
    (3.0, 'published')
    """
    if duty not in DUTIES:
        raise OutsideValidRange("duty of the carbon", duty, source=f"one of {', '.join(DUTIES)}")
    if duty in ("organics", "fuel", "pfas"):
        return figure(PRACTICE, f"{duty}_contact")
    row = figure(PRACTICE, "contact")
    return Figure(duty, row.value[duty][0], "min", row.status, row.citation, row.note)


def bed_life_litres(
    volume_l: Number,
    capacity_mg_g: Number,
    removed_mg_l: Number,
    *,
    density_kg_l: Number = BULK_KG_L,
    used_share: Number = USED,
) -> Any:
    """Water a carbon bed treats before it is spent, from the capacity its maker states.

    Why: a calendar interval alone lets a loaded bed break through.
    Units: bed L, mg adsorbed per g carbon at the feed's concentration, mg/L removed, kg/L bulk, share used before
    breakthrough; floats or arrays; returns L.
    Equation: litres = V rho 1000 q f / C.
    Range: all more than 0; volume at most 20,000 L, capacity 1,000 mg/g, removed 1,000 mg/L, share 1; density
    0.1 to 1.2 kg/L.
    Raises: ``OutsideValidRange`` outside.
    Source: mass balance (computed); density and used share from memory. Health contaminants are judged by test, not
    by this.

    >>> round(bed_life_litres(42.0, 100.0, 2.0))
    504000
    """
    volume = within("bed volume", volume_l, low=0.0, high=20_000.0, unit="L", low_open=True)
    capacity = within("capacity", capacity_mg_g, low=0.0, high=1000.0, unit="mg/g", low_open=True)
    removed = within("concentration removed", removed_mg_l, low=0.0, high=1000.0, unit="mg/L", low_open=True)
    density = within("bulk density", density_kg_l, low=0.1, high=1.2, unit="kg/L")
    share = within("used share", used_share, low=0.0, high=1.0, low_open=True)
    return _out(volume * density * 1000.0 * capacity * share / removed)


@dataclass(frozen=True)
class CarbonSizing:
    """Contact time at the peak and at the mean flow against the duty's rule."""

    peak_min: float
    mean_min: float
    rate_m_h: float
    margins: tuple[Margin, ...]
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def size_carbon(duty: str, volume_l: float, diameter_in: float, peak_l_min: float, daily_l: float) -> CarbonSizing:
    """Contact time and surface rate of a carbon bed against what its duty asks.

    Why: contact is judged at the peak; the mean over the day only says how long the bed lasts.
    Units: L, nominal in, L/min, L/d; returns min and m/h.
    Range: as ``contact_min`` and ``tank_area_m2``.
    Raises: ``OutsideValidRange`` outside or for an unknown duty.
    Source: as ``contact_rule``; at most 10 US gpm/ft2 (New York, published).

    >>> answer = size_carbon("organics", 42.0, 10.0, 12.0, 900.0)
    >>> round(answer.peak_min, 1), all(margin.held for margin in answer.margins)
    (3.5, True)
    """
    rule, cap = contact_rule(duty), figure(PRACTICE, "organics_rate")
    peak = float(contact_min(volume_l, peak_l_min))
    mean = float(contact_min(volume_l, daily_l / 1440.0))
    rate = float(rate_m_h(peak_l_min, tank_area_m2(diameter_in)))
    most = cap.value * M_H_PER_GPM_FT2
    margins = (
        Margin("carbon_contact", "Contact time at peak flow", peak, rule.value, "min", "min"),
        Margin("carbon_rate", "Rate over the carbon", rate, most, "m/h", "max"),
    )
    steps = (
        Step(
            "t",
            "contact time at peak flow",
            peak,
            "min",
            f"{volume_l:g} / {peak_l_min:.1f}",
            rule.citation,
            "computed",
        ),
        Step(
            "tm",
            "contact time at the mean flow of the day",
            mean,
            "min",
            f"{volume_l:g} / ({daily_l:g} / 1440)",
            "",
            "computed",
        ),
        Step(
            "v", "rate over the bed at peak", rate, "m/h", f"{peak_l_min:.1f} x 0.06 / area", cap.citation, "computed"
        ),
    )
    findings = [
        Finding(
            "carbon_grows_bacteria",
            Severity.HEALTH,
            "Carbon takes the disinfectant out and lets bacteria grow: any disinfection stands after it.",
            "UV last; renew the carbon in time.",
            "carbon",
            figure(PRACTICE, "organics_contact").citation,
        )
    ]
    if duty == "pfas":
        findings.append(
            Finding(
                "carbon_pfas_whole_house",
                Severity.HEALTH,
                "PFAS need about ten minutes in each of two vessels.",
                "A certified unit at the drinking tap, with a laboratory test after.",
                "carbon",
                "from memory",
            )
        )
    return CarbonSizing(peak, mean, rate, margins, steps, tuple(findings))
