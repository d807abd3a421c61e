"""Whether a UV unit is enough: its feed limits, and the sizing with worksheet, margins and findings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from sizing.engine.design import Margin
from sizing.engine.figures import Figure, figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import FeedLimit
from sizing.engine.uv import (
    ORGANISMS,
    PRACTICE,
    TABLE,
    UvUnit,
    absorbance_per_cm,
    capacity_l_min,
    credited_dose,
    dose_mj_cm2,
    lamp_share_of_rating,
    log_credit,
)
from sizing.engine.worksheet import Step


@lru_cache(maxsize=256)
def feed_limits(rated_uvt: float | None = None) -> tuple[FeedLimit, ...]:
    """Limits on the water entering a UV unit, after all pretreatment.

    Why: scale, iron and cloud keep the light from the organism; the unit then only looks as if it worked.
    Units: canonical units of the analytes; ``rated_uvt`` % per cm, the unit's own (it governs).
    Range: none; limits only.
    Raises: nothing.
    Source: industry feed limits (common practice), hydrogen sulphide and tannin from memory; a rating unknown earns
    nothing.

    >>> [limit.value for limit in feed_limits(85.0) if limit.analyte == "uvt"]
    [85.0]
    """

    def limit(
        analyte: str, sense: str, value: float, key: str, reason: str, *, hard: bool = True, required: bool = False
    ) -> FeedLimit:
        row: Figure = figure(PRACTICE, key)
        return FeedLimit(analyte, sense, value, reason, f"{row.citation} ({row.status})", hard, required)

    ph = figure(PRACTICE, "ph").value
    floor = figure(PRACTICE, "uvt").value if rated_uvt is None else rated_uvt
    scale, shade = "scale on the sleeve stops the light", "it stains the sleeve and takes up the light"
    return (
        limit("uvt", "min", floor, "uvt", "the dose is rated at this transmittance", required=True),
        limit(
            "turbidity",
            "max",
            figure(PRACTICE, "turbidity").value,
            "turbidity",
            "particles shield organisms",
            required=True,
        ),
        limit("hardness", "max", figure(PRACTICE, "hardness").value, "hardness", scale, required=True),
        limit("iron", "max", figure(PRACTICE, "iron").value, "iron", shade, required=True),
        limit("manganese", "max", figure(PRACTICE, "manganese").value, "manganese", shade),
        limit("sulphide", "max", figure(PRACTICE, "sulphide").value, "sulphide", shade),
        limit(
            "suspended_solids",
            "max",
            figure(PRACTICE, "suspended_solids").value,
            "suspended_solids",
            "particles shield organisms",
        ),
        limit(
            "tannin",
            "max",
            figure(PRACTICE, "tannin").value,
            "tannin",
            "tannin takes up the light: the measured transmittance decides",
            hard=False,
        ),
        limit("ph", "min", ph[0], "ph", "acid water eats fittings", hard=False),
        limit("ph", "max", ph[1], "ph", "scale forms on the sleeve", hard=False),
    )


@dataclass(frozen=True)
class UvSizing:
    """Sizing of a UV unit at the flow that can pass it. ``credits`` by organism in log10, from the credited dose."""

    dose: float
    credited: float
    capacity_l_min: float
    credits: dict[str, float]
    margins: tuple[Margin, ...]
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def size_uv(
    unit: UvUnit,
    flow_l_min: float,
    uvt: float,
    *,
    wanted_dose: float | None = None,
    lamp_hours: float = 0.0,
    sleeve_share: float = 1.0,
) -> UvSizing:
    """Whether a unit gives its dose at the largest flow that can pass it.

    Why: it is sized on what the pump (or a restrictor) can deliver, not on what people usually draw.
    Units: L/min, % per cm, mJ/cm2 (``None`` = the rated dose), powered hours of the lamp, share of light through
    the sleeve.
    Range: as ``dose_mj_cm2``.
    Raises: ``OutsideValidRange`` outside.
    Source: rated point of the unit (given), Beer-Lambert along the gap (published), EPA Table B-9 (published).

    >>> answer = size_uv(UvUnit(45.0, 85.0), 38.0, 90.0)
    >>> round(answer.dose, 1), answer.credited, answer.credits["virus"]
    (47.4, 40.0, 0.5)
    """
    wanted = unit.rated_dose if wanted_dose is None else wanted_dose
    lamp = float(lamp_share_of_rating(lamp_hours))
    dose = float(dose_mj_cm2(unit, flow_l_min, uvt, sleeve_share=sleeve_share, lamp_share=lamp))
    mean = float(dose_mj_cm2(unit, flow_l_min, uvt, method="mean", sleeve_share=sleeve_share, lamp_share=lamp))
    credited = float(credited_dose(unit, dose))
    capacity = float(capacity_l_min(unit, uvt, dose=wanted, sleeve_share=sleeve_share * lamp))
    credits = {name: float(log_credit(credited, name, unit_class=unit.unit_class)) for name in ORGANISMS}
    margins = (
        Margin("uv_dose", "UV dose at the largest flow", dose, wanted, "mJ/cm2", "min"),
        Margin("uv_flow", "Flow through the UV unit", flow_l_min, unit.rated_flow_l_min, "L/min", "max", "flow"),
    )
    steps = _steps(unit, flow_l_min, uvt, dose, mean, credited, capacity, credits, lamp, sleeve_share)
    return UvSizing(dose, credited, capacity, credits, margins, steps, _findings(unit, uvt, credits, lamp))


def _steps(
    unit: UvUnit,
    flow: float,
    uvt: float,
    dose: float,
    mean: float,
    credited: float,
    capacity: float,
    credits: dict[str, float],
    lamp: float,
    sleeve: float,
) -> tuple[Step, ...]:
    a, rated = float(absorbance_per_cm(uvt)), float(absorbance_per_cm(unit.rated_uvt))
    shown = f"10^(-({a:.4f} - {rated:.4f}) x {unit.gap_cm:g})" if a > rated else "1 (no credit for clearer water)"
    return (
        Step(
            "D0",
            "rated dose",
            unit.rated_dose,
            "mJ/cm2",
            f"at {unit.rated_flow_l_min:g} L/min and {unit.rated_uvt:g} % per cm",
            "the unit's papers",
            "given",
        ),
        Step("A", "absorbance of the water at 254 nm", a, "1/cm", f"2 - log10({uvt:g})", "Beer-Lambert", "published"),
        Step(
            "D",
            "dose at this flow and water, along the wall of the chamber",
            dose,
            "mJ/cm2",
            f"{unit.rated_dose:g} x {unit.rated_flow_l_min:g} / {flow:.1f} x {shown} x {sleeve:g} x {lamp:.2f}",
            "irradiance x time",
            "computed",
        ),
        Step(
            "Dm",
            "the same for a fully mixed chamber (second method)",
            mean,
            "mJ/cm2",
            "(1 - e^(-a g)) / (a g) in place of e^(-a g)",
            "mean irradiance of the annulus",
            "computed",
        ),
        Step("Q", "largest flow for the wanted dose", capacity, "L/min", "", "irradiance x time", "computed", "flow"),
        Step(
            "Dc",
            "dose that may be credited",
            credited,
            "mJ/cm2",
            "no more than was validated; class A only",
            figure(PRACTICE, "class_a_dose").citation,
            "published",
        ),
        *_credit_steps(credits),
    )


def _credit_steps(credits: dict[str, float]) -> tuple[Step, ...]:
    return tuple(
        Step(
            f"log {name}",
            f"log credit, {name}",
            value,
            "log10",
            "highest step reached",
            figure(TABLE, "dose").citation,
            "published",
        )
        for name, value in credits.items()
    )


def _findings(unit: UvUnit, uvt: float, credits: dict[str, float], lamp: float) -> tuple[Finding, ...]:
    found = []
    if unit.unit_class != "A":
        found.append(
            Finding(
                "uv_not_class_a",
                Severity.HEALTH,
                "This unit is no barrier on water that may carry disease: it earns no credit.",
                "A class A unit (40 mJ/cm2).",
                "uv",
                figure(PRACTICE, "class_b_dose").citation,
            )
        )
    if unit.unit_class == "A" and credits["virus"] < 4.0:
        found.append(
            Finding(
                "uv_weak_on_viruses",
                Severity.HEALTH,
                f"Against viruses the dose earns {credits['virus']:g} log only; 4 log would need 186 mJ/cm2.",
                "Where viruses matter (septic nearby, dug well, lake or river), pair it with chlorine.",
                "uv",
                figure(TABLE, "dose").citation,
            )
        )
    if uvt < unit.rated_uvt:
        found.append(
            Finding(
                "uvt_below_rating",
                Severity.HEALTH,
                f"The water passes {uvt:g} % per cm, the unit was rated at {unit.rated_uvt:g} %: "
                "its dose here is calculated, not validated.",
                "Clear the water first, or take a unit rated at this transmittance.",
                "uvt",
                "the unit's papers",
            )
        )
    if lamp < 1.0:
        found.append(
            Finding(
                "lamp_overdue",
                Severity.HEALTH,
                "The lamp is older than its rated life: a lit lamp is no proof of dose.",
                "Renew the lamp.",
                "lamp",
                figure(PRACTICE, "lamp_months").citation,
            )
        )
    return tuple(found)
