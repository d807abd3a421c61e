"""Cartridge filters: loading, life from suspended solids, pressure drop, cyst credit, what to put ahead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.measures import KPA_PER_PSI, L_PER_GAL
from sizing.engine.ranges import within
from sizing.engine.water import Number
from sizing.engine.worksheet import Step

PRACTICE = "cartridge-practice"
CAUGHT: float = figure(PRACTICE, "caught").value
YEAR_DAYS = 365.0


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


def change_loss_kpa() -> float:
    """Pressure drop at which a cartridge is changed.

    Why: the worst fixture is checked with filters at this loss, and the life ends at it.
    Units: returns kPa (the lower of the trade's 10 to 15 psi).
    Range: none.
    Raises: nothing.
    Source: trade practice (common practice).

    >>> round(change_loss_kpa(), 1)
    68.9
    """
    return float(figure(PRACTICE, "change_loss").value[0] * KPA_PER_PSI)


def _lengths(diameter_in: float, length_in: float) -> tuple[str, float]:
    key = f"{diameter_in:g}"
    if key not in figure(PRACTICE, "flow_per_10in").value:
        raise OutsideValidRange("cartridge diameter", diameter_in, source="2.5 or 4.5 in")
    return key, float(within("cartridge length", length_in, low=4.0, high=60.0, unit="in")) / 10.0


def rated_flow_l_min(diameter_in: float, length_in: float) -> float:
    """Flow a cartridge size is usually given.

    Why: where its papers say nothing.
    Units: in, in; returns L/min.
    Range: diameter 2.5 or 4.5 in; length 4 to 60 in.
    Raises: ``OutsideValidRange`` outside.
    Source: trade practice (from memory).

    >>> round(rated_flow_l_min(4.5, 20.0) / 3.785411784)
    20
    """
    key, tens = _lengths(diameter_in, length_in)
    return float(figure(PRACTICE, "flow_per_10in").value[key] * tens * L_PER_GAL)


def dirt_capacity_g(diameter_in: float, length_in: float) -> float:
    """Dirt a cartridge holds before its change loss, where its papers say nothing.

    Why: turns suspended solids into months.
    Units: in, in; returns g.
    Range: diameter 2.5 or 4.5 in; length 4 to 60 in.
    Raises: ``OutsideValidRange`` outside.
    Source: trade practice (from memory).

    >>> dirt_capacity_g(4.5, 20.0)
    240.0
    """
    key, tens = _lengths(diameter_in, length_in)
    return float(figure(PRACTICE, "dirt_per_10in").value[key] * tens)


def solids_from_turbidity(ntu: Number) -> Any:
    """Suspended solids guessed from turbidity, the high side.

    Why: laboratories report turbidity, a cartridge collects grams.
    Units: NTU, float or array; returns mg/L.
    Range: 0 to 10,000 NTU.
    Raises: ``OutsideValidRange`` outside.
    Source: 1 to 2 mg/L per NTU (from memory): measure suspended solids where it matters.

    >>> solids_from_turbidity(3.0)
    6.0
    """
    return _out(
        within("turbidity", ntu, low=0.0, high=10_000.0, unit="NTU") * figure(PRACTICE, "solids_per_ntu").value[1]
    )


def life_litres(dirt_g: Number, suspended_mg_l: Number, efficiency: Number = CAUGHT) -> Any:
    """Water through a cartridge until its dirt capacity is used.

    Why: where sediment is heavy it lasts weeks, not the year on the calendar.
    Units: g, mg/L, share caught; floats or arrays; returns L (infinite in clear water).
    Equation: litres = 1000 x dirt / (solids x efficiency).
    Range: dirt more than 0, at most 100,000 g; solids 0 to 100,000 mg/L; efficiency more than 0 to 1.
    Raises: ``OutsideValidRange`` outside.
    Source: mass balance (computed).

    >>> round(life_litres(240.0, 3.0, 0.8))
    100000
    """
    dirt = within("dirt capacity", dirt_g, low=0.0, high=100_000.0, unit="g", low_open=True)
    solids = np.asarray(within("suspended solids", suspended_mg_l, low=0.0, high=100_000.0, unit="mg/L"))
    caught = solids * within("share caught", efficiency, low=0.0, high=1.0, low_open=True)
    return _out(np.where(caught > 0, 1000.0 * dirt / np.where(caught > 0, caught, 1.0), np.inf))


def life_days(
    dirt_g: Number,
    suspended_mg_l: Number,
    daily_l: Number,
    *,
    efficiency: Number = CAUGHT,
    most_days: float = YEAR_DAYS,
) -> Any:
    """Days of use a cartridge lasts: dirt or the calendar, whichever first.

    Why: gives the next service date and the number of cartridges a year.
    Units: g, mg/L, L/d, share caught, days; floats or arrays; returns days in use.
    Range: as ``life_litres``; daily use more than 0; at most a year.
    Raises: ``OutsideValidRange`` outside.
    Source: mass balance (computed); a year at most (common practice).

    >>> round(life_days(240.0, 3.0, 1000.0), 1), life_days(240.0, 0.0, 1000.0)
    (100.0, 365.0)
    """
    use = within("daily use", daily_l, low=0.0, high=1e6, unit="L/d", low_open=True)
    most = within("calendar life", most_days, low=1.0, high=1100.0, unit="d")
    return _out(np.minimum(np.asarray(life_litres(dirt_g, suspended_mg_l, efficiency)) / use, most))


def loaded_loss_kpa(clean_kpa: Number, loaded_share: Number, *, change_kpa: float | None = None) -> Any:
    """Pressure drop of a cartridge that has used up a share of its dirt capacity.

    Why: pressure along the path between changes.
    Units: clean loss kPa at the flow, share 0 to 1, change loss kPa (``None`` = the trade's); returns kPa.
    Equation: from the clean loss to the change loss with the square of the share: most of the rise comes at the
    end.
    Range: share 0 to 1; clean loss 0 to 1,000 kPa.
    Raises: ``OutsideValidRange`` outside.
    Source: shape from memory; both ends given.

    >>> loaded_loss_kpa(20.0, 0.0), loaded_loss_kpa(20.0, 1.0, change_kpa=70.0)
    (20.0, 70.0)
    """
    clean = within("clean loss", clean_kpa, low=0.0, high=1000.0, unit="kPa")
    share = within("loaded share", loaded_share, low=0.0, high=1.0)
    end = change_loss_kpa() if change_kpa is None else change_kpa
    return _out(np.maximum(clean, clean + (end - clean) * share**2))


def cyst_log_credit(rating_um: float, *, absolute: bool, certified: bool = False) -> float:
    """Log credit of a cartridge for cysts (Cryptosporidium, Giardia).

    Why: a nominal 1 um cartridge passes 20 to 30 % of what it should stop.
    Units: rating um; returns log10: 3 for absolute 1 um or finer or a certified cyst reduction, else 0.
    Range: more than 0 to 500 um.
    Raises: ``OutsideValidRange`` outside.
    Source: US CDC on filters for cysts (published rule); 3 log for an absolute rating is common practice.

    >>> cyst_log_credit(1.0, absolute=False), cyst_log_credit(1.0, absolute=True)
    (0.0, 3.0)
    """
    rating = within("filter rating", rating_um, low=0.0, high=500.0, unit="um", low_open=True)
    fine = rating <= figure(PRACTICE, "cyst_rating").value
    return float(figure(PRACTICE, "cyst_log").value) if certified or (absolute and fine) else 0.0


@dataclass(frozen=True)
class CartridgeLife:
    """Life of a cartridge in days of use and in litres, with steps and findings."""

    days: float
    litres: float
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def cartridge_life(
    dirt_g: float, suspended_mg_l: float, daily_l: float, *, efficiency: float = CAUGHT, most_days: float = YEAR_DAYS
) -> CartridgeLife:
    """Life of a cartridge with the worksheet, and what to put ahead when it is short.

    Why: says plainly when a backwashing filter belongs ahead.
    Units: g, mg/L, L/d, share, days; returns days and litres.
    Range: as ``life_days``.
    Raises: ``OutsideValidRange`` outside.
    Source: mass balance (computed); thresholds from memory.

    >>> [finding.code for finding in cartridge_life(120.0, 40.0, 1000.0).findings]
    ['cartridge_loads_fast']
    """
    litres = float(life_litres(dirt_g, suspended_mg_l, efficiency))
    days = float(life_days(dirt_g, suspended_mg_l, daily_l, efficiency=efficiency, most_days=most_days))
    heavy = figure(PRACTICE, "heavy_solids")
    steps = (
        Step(
            "V",
            "water until the dirt capacity is used",
            litres,
            "L",
            f"1000 x {dirt_g:g} / ({suspended_mg_l:g} x {efficiency:g})",
            "mass balance",
            "computed",
            "volume",
        ),
        Step(
            "t",
            "days in use",
            days,
            "d",
            f"the lesser of {litres:.0f} / {daily_l:g} and {most_days:g}",
            "common practice",
            "computed",
        ),
    )
    findings: tuple[Finding, ...] = ()
    if suspended_mg_l > heavy.value or days < figure(PRACTICE, "short_life").value:
        findings = (
            Finding(
                "cartridge_loads_fast",
                Severity.EQUIPMENT,
                f"A cartridge would last {days:.0f} days in this water.",
                "A backwashing filter or a coarser, larger cartridge ahead of it.",
                "cartridge",
                heavy.citation or "from memory",
            ),
        )
    return CartridgeLife(days, litres, steps, findings)
