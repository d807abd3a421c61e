"""Ultraviolet light: transmittance, irradiance of an annular reactor, capacity, dose and log credit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.ranges import within
from sizing.engine.water import Number

TABLE = "epa-815-r-20-003-uv"
PRACTICE = "uv-practice"
CLASS_A_DOSE: float = figure(PRACTICE, "class_a_dose").value
GAP_CM: float = figure(PRACTICE, "gap").value
ORGANISMS = ("cryptosporidium", "giardia", "virus")
_SHORT = 1e-9  # doses this close to a step have reached it


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


def absorbance_per_cm(uvt: Number) -> Any:
    """Absorbance of water at 254 nm from its transmittance.

    Why: absorbances add up over a path, transmittances do not.
    Units: ``uvt`` % per cm at 254 nm, float or array; returns 1/cm (base 10).
    Range: more than 0 to 100 %.
    Raises: ``OutsideValidRange`` outside.
    Source: A = 2 - log10(UVT), Beer-Lambert (published); scattering by turbidity is not covered.

    >>> round(absorbance_per_cm(70.0), 4)
    0.1549
    """
    percent = within(
        "UV transmittance", uvt, low=0.0, high=100.0, unit="% per cm", low_open=True, source="physical possibility"
    )
    return _out(2.0 - np.log10(percent))


def transmittance_percent(absorbance: Number, path_cm: Number = 1.0) -> Any:
    """Transmittance over a path from the absorbance per cm.

    Why: laboratories report either.
    Units: 1/cm (base 10), cm; floats or arrays; returns %.
    Range: absorbance 0 to 20 per cm; path more than 0 to 100 cm.
    Raises: ``OutsideValidRange`` outside.
    Source: UVT = 100 x 10^(-A L), Beer-Lambert (published).

    >>> round(transmittance_percent(0.05), 2)
    89.13
    """
    a = within("absorbance", absorbance, low=0.0, high=20.0, unit="1/cm")
    path = within("path length", path_cm, low=0.0, high=100.0, unit="cm", low_open=True)
    return _out(100.0 * 10.0 ** (-a * path))


def uvt_per_cm(percent: Number, path_mm: float | None) -> Any:
    """Transmittance per cm from one reported over another path.

    Why: North America reports per cm, Austria and Germany per 100 mm: 40 % over 100 mm is 91 % per cm.
    Units: %, mm; returns % per cm, float or array.
    Range: more than 0 to 100 %; path 1 to 1,000 mm.
    Raises: ``MissingEvidence`` without a path length; ``OutsideValidRange`` outside.
    Source: Beer-Lambert (published).

    >>> round(uvt_per_cm(40.0, 100.0), 1)
    91.2
    """
    if path_mm is None:
        raise MissingEvidence(
            ["uvt_path"], "A UV transmittance says nothing without its path length: per cm, or over 100 mm?"
        )
    share = within(
        "UV transmittance", percent, low=0.0, high=100.0, unit="%", low_open=True, source="physical possibility"
    )
    path = within("path length", path_mm, low=1.0, high=1000.0, unit="mm")
    return _out(100.0 * (share / 100.0) ** (10.0 / path))


def mean_irradiance_share(uvt: Number, gap_cm: Number) -> Any:
    """Mean irradiance in an annular reactor as a share of that in water that absorbs nothing.

    Why: how much of a unit's light tea-coloured water leaves.
    Units: % per cm, gap between sleeve and wall cm; floats or arrays; returns a fraction.
    Equation: a long lamp on the axis lights the water at radius r by P/(2 pi r L) e^(-a (r - r0)); its mean over
    the annulus is (1 - e^(-a g)) / (a g) of the clear-water mean, a = A ln 10, g the gap.
    Range: more than 0 to 100 %; gap 0.1 to 30 cm.
    Raises: ``OutsideValidRange`` outside.
    Source: radial model with Beer-Lambert (published form), closed integral (computed); no reflection from the
    wall.

    >>> round(mean_irradiance_share(75.0, 2.5), 3)
    0.713
    """
    gap = within("gap between sleeve and wall", gap_cm, low=0.1, high=30.0, unit="cm")
    x = np.asarray(absorbance_per_cm(uvt)) * np.log(10.0) * gap
    small = x < 1e-6
    safe = np.where(small, 1.0, x)
    return _out(np.where(small, 1.0 - x / 2.0, -np.expm1(-safe) / safe))


def wall_irradiance_share(uvt: Number, gap_cm: Number) -> Any:
    """Light that reaches the outer wall, as a share of that in water that absorbs nothing.

    Why: water that keeps to the wall gets no more than this; the safe side for a chamber whose mixing is unknown.
    Units: % per cm, cm; floats or arrays; returns a fraction.
    Range: more than 0 to 100 %; gap 0.1 to 30 cm.
    Raises: ``OutsideValidRange`` outside.
    Source: 10^(-A g), Beer-Lambert (published).

    >>> round(wall_irradiance_share(75.0, 2.5), 3)
    0.487
    """
    gap = within("gap between sleeve and wall", gap_cm, low=0.1, high=30.0, unit="cm")
    return _out(10.0 ** (-np.asarray(absorbance_per_cm(uvt)) * gap))


@dataclass(frozen=True)
class UvUnit:
    """A rated unit: it gives ``rated_dose`` mJ/cm2 at ``rated_flow_l_min`` in water of ``rated_uvt`` % per cm, at
    the end of its lamp's life. ``unit_class`` is "A", "B" or "" (not certified)."""

    rated_flow_l_min: float
    rated_uvt: float
    rated_dose: float = CLASS_A_DOSE
    unit_class: str = "A"
    gap_cm: float = GAP_CM

    def __post_init__(self) -> None:
        within("rated flow", self.rated_flow_l_min, low=0.0, high=5000.0, unit="L/min", low_open=True)
        within("rated UV transmittance", self.rated_uvt, low=0.0, high=100.0, unit="% per cm", low_open=True)
        within("rated dose", self.rated_dose, low=0.0, high=1000.0, unit="mJ/cm2", low_open=True)
        if self.unit_class not in ("A", "B", ""):
            raise OutsideValidRange("class of the unit", self.unit_class, source="A, B or none")


def light_share(unit: UvUnit, uvt: Number, *, method: str = "wall") -> Any:
    """Light at another transmittance as a share of that at the rated one; never more than 1.

    Why: a unit rated in clear water loses dose in coloured water; it earns nothing in clearer water than it was
    tested in.
    Units: % per cm, float or array; returns a fraction. ``method`` "wall" (safe side) or "mean" (fully mixed).
    Range: more than 0 to 100 %.
    Raises: ``OutsideValidRange`` outside or for another method.
    Source: ratio of ``wall_irradiance_share`` or ``mean_irradiance_share`` (computed).

    >>> unit = UvUnit(45.0, 85.0)
    >>> round(light_share(unit, 75.0), 3), round(light_share(unit, 75.0, method="mean"), 3), light_share(unit, 95.0)
    (0.731, 0.868, 1.0)
    """
    if method not in ("wall", "mean"):
        raise OutsideValidRange("method", method, source="wall or mean")
    share = wall_irradiance_share if method == "wall" else mean_irradiance_share
    return _out(np.minimum(np.asarray(share(uvt, unit.gap_cm)) / share(unit.rated_uvt, unit.gap_cm), 1.0))


def capacity_l_min(
    unit: UvUnit, uvt: Number, *, dose: float | None = None, method: str = "wall", sleeve_share: Number = 1.0
) -> Any:
    """Flow at which a unit still gives a dose in water of another transmittance; never above its rated flow.

    Why: decides whether a unit on the shelf will do for this lake, or what restrictor it needs.
    Units: % per cm, mJ/cm2 (``None`` = the rated dose), share of light through the sleeve; returns L/min.
    Equation: Q = rated flow x light share x sleeve share x rated dose / dose, at most the rated flow.
    Range: dose more than 0 to 1,000 mJ/cm2; sleeve share more than 0 to 1. Outside the rated transmittance it is a
    calculation, no claim.
    Raises: ``OutsideValidRange`` outside.
    Source: dose = irradiance x time (published); light share computed.

    >>> round(capacity_l_min(UvUnit(45.0, 85.0), 75.0), 1)
    32.9
    """
    wanted = within(
        "dose", unit.rated_dose if dose is None else dose, low=0.0, high=1000.0, unit="mJ/cm2", low_open=True
    )
    sleeve = within("light through the sleeve", sleeve_share, low=0.0, high=1.0, low_open=True)
    flow = unit.rated_flow_l_min * light_share(unit, uvt, method=method) * sleeve * unit.rated_dose / wanted
    return _out(np.minimum(flow, unit.rated_flow_l_min))


def dose_mj_cm2(
    unit: UvUnit,
    flow_l_min: Number,
    uvt: Number,
    *,
    method: str = "wall",
    sleeve_share: Number = 1.0,
    lamp_share: Number = 1.0,
) -> Any:
    """Dose a unit gives at a flow and transmittance.

    Why: the dose at the flow the pump can deliver is what counts, not the one on the label.
    Units: L/min, % per cm, shares; floats or arrays; returns mJ/cm2. ``lamp_share`` is relative to the end of lamp
    life the unit was rated at: 1 unless the lamp is older than that.
    Equation: D = rated dose x rated flow / flow x light share x sleeve share x lamp share.
    Range: flow more than 0, at most 10,000 L/min; shares more than 0 to 1.
    Raises: ``OutsideValidRange`` outside.
    Source: dose = irradiance x time (published); light share computed. What may be credited: ``credited_dose``.

    >>> round(dose_mj_cm2(UvUnit(45.0, 85.0), 30.0, 85.0), 1)
    60.0
    """
    flow = within("flow", flow_l_min, low=0.0, high=10_000.0, unit="L/min", low_open=True)
    sleeve = within("light through the sleeve", sleeve_share, low=0.0, high=1.0, low_open=True)
    lamp = within("lamp output", lamp_share, low=0.0, high=1.0, low_open=True)
    return _out(
        unit.rated_dose * unit.rated_flow_l_min / flow * light_share(unit, uvt, method=method) * sleeve * lamp
    )


def credited_dose(unit: UvUnit, dose: Number) -> Any:
    """Part of a calculated dose that may be credited: none above the rated one, none at all without class A.

    Why: only a validated dose counts; a slow tap does not turn 40 into 186 mJ/cm2, and class B is no barrier.
    Units: mJ/cm2, float or array.
    Range: dose 0 or more.
    Raises: ``OutsideValidRange`` for a negative dose.
    Source: NSF/ANSI 55 scope and classes (published summary); EPA 815-R-20-003 on validated dose (published).

    >>> credited_dose(UvUnit(45.0, 85.0), 60.0), credited_dose(UvUnit(45.0, 85.0, 16.0, "B"), 60.0)
    (40.0, 0.0)
    """
    value = within("dose", dose, low=0.0, unit="mJ/cm2")
    return _out(np.minimum(value, unit.rated_dose) * (1.0 if unit.unit_class == "A" else 0.0))


def log_credit(dose: Number, organism: str, *, unit_class: str = "A", validation_factor: float = 1.0) -> Any:
    """Log inactivation that a validated dose earns: the highest step reached, never interpolated upward.

    Why: 40 mJ/cm2 earns 4 log of Cryptosporidium and Giardia but half a log of viruses.
    Units: mJ/cm2, float or array; returns log10. ``validation_factor`` divides the dose first.
    Range: dose 0 or more; factor 1 to 10. Class B or no class earns nothing.
    Raises: ``OutsideValidRange`` for another organism or impossible values.
    Source: EPA 815-R-20-003 Table B-9 (published; the first Giardia cell from memory).

    >>> log_credit(40.0, "virus"), log_credit(40.0, "giardia"), log_credit(40.0, "giardia", unit_class="B")
    (0.5, 4.0, 0.0)
    """
    name = organism.lower()
    if name not in ORGANISMS:
        raise OutsideValidRange("organism", organism, source=f"one of {', '.join(ORGANISMS)}")
    factor = within("validation factor", validation_factor, low=1.0, high=10.0)
    value = np.asarray(within("dose", dose, low=0.0, unit="mJ/cm2")) / factor
    if unit_class != "A":
        return _out(np.zeros_like(value))
    steps = np.array([0.0, *figure(TABLE, "log_steps").value])
    reached = np.searchsorted(np.array(figure(TABLE, "dose").value[name]), value + _SHORT, side="right")
    return _out(steps[reached])


def dose_for_log(organism: str, log: float) -> float:
    """Validated dose that a log credit asks for.

    Why: 4 log of viruses needs 186 mJ/cm2; beyond a household unit, so chlorine joins it.
    Units: log10; returns mJ/cm2.
    Range: more than 0 to 4; between steps the next higher one.
    Raises: ``OutsideValidRange`` outside or for another organism.
    Source: EPA 815-R-20-003 Table B-9 (published; the first Giardia cell from memory).

    >>> dose_for_log("virus", 4.0)
    186.0
    """
    name = organism.lower()
    if name not in ORGANISMS:
        raise OutsideValidRange("organism", organism, source=f"one of {', '.join(ORGANISMS)}")
    steps = figure(TABLE, "log_steps").value
    wanted = within("log credit", log, low=0.0, high=steps[-1], low_open=True, source=figure(TABLE, "dose").citation)
    table: Mapping[str, list[float]] = figure(TABLE, "dose").value
    return float(table[name][int(np.searchsorted(np.array(steps), wanted - _SHORT))])


def percent_inactivated(log: Number) -> Any:
    """Percent inactivated by a log reduction.

    Why: 4 log reads 99.99 % on the household's page.
    Units: log10, float or array; returns %.
    Range: 0 to 12.
    Raises: ``OutsideValidRange`` outside.
    Source: definition (computed).

    >>> percent_inactivated(2.0)
    99.0
    """
    return _out(100.0 * (1.0 - 10.0 ** (-np.asarray(within("log reduction", log, low=0.0, high=12.0)))))


def lamp_output_share(hours: Number) -> Any:
    """Output of a lamp after so many powered hours, as a share of new.

    Why: a lamp fades long before it goes dark, used or not; 12 months of operation is about 8,760 h.
    Units: h powered, float or array; returns a fraction; straight line through the published point.
    Range: 0 to 20,000 h.
    Raises: ``OutsideValidRange`` outside.
    Source: 65 % after one year, US unified facilities guide specification (published); the line is common practice.

    >>> lamp_output_share(8750.0)
    0.65
    """
    life, end = figure(PRACTICE, "lamp_end_of_life").value
    burnt = within("lamp hours", hours, low=0.0, high=20_000.0, unit="h")
    return _out(np.maximum(1.0 - (1.0 - end) * np.asarray(burnt) / life, 0.05))


def lamp_share_of_rating(hours: Number) -> Any:
    """Lamp output relative to the end of life a unit is rated at; 1 until then.

    Why: a lamp left in past its year gives less than the rated dose.
    Units: h powered, float or array; returns a fraction of the rated output.
    Range: 0 to 20,000 h.
    Raises: ``OutsideValidRange`` outside.
    Source: as ``lamp_output_share``.

    >>> lamp_share_of_rating(100.0), round(lamp_share_of_rating(17520.0), 2)
    (1.0, 0.46)
    """
    end = figure(PRACTICE, "lamp_end_of_life").value[1]
    return _out(np.minimum(np.asarray(lamp_output_share(hours)) / end, 1.0))
