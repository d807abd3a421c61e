"""Small calculations on tanks and lamps: softener, backwash, UV capacity at another transmittance."""

from __future__ import annotations

import numpy as np
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as L  # noqa: N812

from service.office.reckoned import Ask, Calculator, Chart, Reckoned, Values, picked, shown
from sizing.drawing.chart_values import ChartLimit
from sizing.drawing.reckoned import Curve, CurveChart
from sizing.engine import media
from sizing.engine.display import show, unit_of
from sizing.engine.figures import figure
from sizing.engine.measures import M_PER_IN
from sizing.engine.uv import UvUnit, dose_mj_cm2, uvt_per_cm
from sizing.engine.uv_sizing import size_uv
from sizing.engine.worksheet import Section, Step

_MEDIA = tuple((code, row["name"]) for code, row in figure(media.PRACTICE, "media").value.items())
_CELSIUS = (2.0, 5.0, 8.0, 10.0, 15.0, 20.0, 25.0, 30.0)


def _backwash(values: Values, system: str) -> Reckoned:
    code, inches, pump = values["medium"], values["tank_m"] / M_PER_IN, values["pump_l_min"]
    celsius, row = values["water_c"], media.medium(values["medium"])
    need = media.backwash_need(code, inches, temperature_c=celsius, pump_l_min=pump)
    area = float(media.tank_area_m2(inches))
    grain = (row.d60_mm, row.grain_kg_m3, row.porosity)
    lifted = float(media.backwash_rate_m_h(row.expansion, *grain, temperature_c=celsius))
    book = figure(media.BOOK, "expansion")
    steps = [
        *need.steps,
        Step("Qmax", _("most that keeps the medium in"), need.most_l_min, "L/min", "", "", "computed", "flow"),
        Step("Qx", _("flow that lifts it by %(share).0f %% (second method)") % {"share": row.expansion * 100},
             float(media.flow_at_rate_l_min(lifted, area)), "L/min",
             f"grain {row.d60_mm:g} mm, {row.grain_kg_m3:g} kg/m3, voids {row.porosity:g}: illustrative",
             book.citation, "computed", "flow"),
    ]  # fmt: skip
    told = ["Qb", "Qmax"]
    if pump is not None:
        rise = float(media.expansion_share(media.rate_m_h(pump, area), *grain, temperature_c=celsius))
        lift = rise * 100 if np.isfinite(rise) else _("carried out of the tank")
        steps.append(Step("x", _("the pump's flow would lift it by"), lift, "%", "", book.citation, "computed"))
        told.append("x")
    chart = _backwash_chart(code, inches, celsius, need.flow_l_min, pump, system)
    return Reckoned(picked(tuple(steps), *told), (Section(_("Backwash"), tuple(steps)),), need.findings, chart)


def _backwash_chart(code: str, inches: float, celsius: float, need: float, pump: float | None, system: str) -> Chart:
    needs = [(t, media.backwash_need(code, inches, temperature_c=t)) for t in _CELSIUS]
    degrees, flow = unit_of("temperature", system), unit_of("flow", system)

    def line(which: str) -> tuple[tuple[float, float], ...]:
        return tuple((shown(t, "temperature", system), shown(getattr(n, which), "flow", system)) for t, n in needs)

    here = (shown(celsius, "temperature", system), shown(need, "flow", system), show(need, "flow", system))
    limit = None
    if pump is not None:
        limit = ChartLimit(shown(pump, "flow", system), _("pump %(flow)s") % {"flow": show(pump, "flow", system)})
    title = _("Backwash flow against water temperature")
    drawing = CurveChart(
        title,
        _("water, %(unit)s") % {"unit": degrees},
        flow,
        (Curve(_("least"), line("flow_l_min"), True), Curve(_("most"), line("most_l_min"))),
        _("Least and most backwash flow rise with the water's temperature."),
        limit,
        here,
    )
    rows = tuple(
        (show(t, "temperature", system), show(n.flow_l_min, "flow", system), show(n.most_l_min, "flow", system))
        for t, n in needs
    )
    return Chart(title, drawing, (_("Water"), _("Least"), _("Most")), rows)


BACKWASH = Calculator(
    "backwash",
    L("Backwash check"),
    L("The flow a bed needs to lift at this water temperature, against what the pump gives."),
    (
        Ask("medium", L("Medium"), choices=_MEDIA, default="softening_resin", says=("medium",)),
        Ask("tank_m", L("Tank diameter"), "length_small", 4 * M_PER_IN, 72 * M_PER_IN, says=("tank diameter",),
            per=lambda _values: M_PER_IN),
        Ask("water_c", L("Water"), "temperature", 0.0, 40.0, default=10.0, says=("water temperature",)),
        Ask("pump_l_min", L("Pump flow"), "flow", 0.1, 2000.0, required=False, says=("flow",)),
    ),
    _backwash,
    (
        L("A drain control chosen in summer washes the medium out in spring: cold water lifts more."),
        L("The medium's own papers govern its rate; drain, air gap and septic system must take the flow."),
        L("Check the free height above the bed before a higher flow is set."),
    ),
)  # fmt: skip

_PATHS = (("10", L("1 cm")), ("40", L("4 cm")), ("50", L("5 cm")), ("100", L("10 cm")))
_CLASSES = (("A", L("class A")), ("B", L("class B")), ("none", L("not certified")))


def _uv(values: Values, system: str) -> Reckoned:
    unit_class = "" if values["unit_class"] == "none" else values["unit_class"]
    unit = UvUnit(values["rated_l_min"], values["rated_uvt"], values["rated_dose"], unit_class)
    path = float(values["path_mm"])
    uvt = float(uvt_per_cm(values["uvt"], path))
    wanted = values["wanted_dose"]
    answer = size_uv(unit, values["flow_l_min"], uvt, wanted_dose=wanted, lamp_hours=values["lamp_h"] or 0.0)
    steps = answer.steps
    if path != 10.0:
        formula = f"100 x ({values['uvt']:g} / 100)^(10 / {path:g})"
        first = Step("T", _("transmittance over 1 cm"), uvt, "%", formula, "Beer-Lambert", "published")
        steps = (first, *steps)
    chart = _uv_chart(unit, values["flow_l_min"], uvt, unit.rated_dose if wanted is None else wanted, system)
    told = picked(steps, "Q", "D", "Dc", "log virus")
    return Reckoned(told, (Section(_("UV unit"), steps),), answer.findings, chart)


def _uv_chart(unit: UvUnit, flow: float, uvt: float, wanted: float, system: str) -> Chart:
    percents = tuple(float(p) for p in np.linspace(max(min(uvt, unit.rated_uvt) - 15.0, 20.0), 100.0, 25))
    flows = sorted({flow, unit.rated_flow_l_min, unit.rated_flow_l_min / 2})

    def doses(at: float) -> tuple[tuple[float, float], ...]:
        return tuple((p, float(dose_mj_cm2(unit, at, p))) for p in percents)

    here = float(dose_mj_cm2(unit, flow, uvt))
    title = _("Dose against transmittance and flow")
    drawing = CurveChart(
        title,
        _("transmittance, % per cm"),
        "mJ/cm²",
        tuple(Curve(show(at, "flow", system), doses(at), at == flow) for at in flows),
        _("Dose falls with the water's transmittance and with more flow; here %(dose).0f mJ/cm².") % {"dose": here},
        ChartLimit(wanted, _("wanted %(dose)g") % {"dose": wanted}, "min"),
        (uvt, here, f"{here:.0f}"),
    )
    table = tuple(sorted({uvt, unit.rated_uvt, *(p for p in (75.0, 80.0, 85.0, 90.0, 95.0) if p > percents[0])}))
    rows = tuple((f"{p:.4g} %", *(f"{float(dose_mj_cm2(unit, at, p)):.0f}" for at in flows)) for p in table)
    head = (_("Per cm"), *(show(at, "flow", system) for at in flows))
    return Chart(title, drawing, head, rows, _("Dose in mJ/cm², along the wall of the chamber."))


UV = Calculator(
    "uv",
    L("UV capacity"),
    L("What a rated unit still gives in water of another transmittance, and at which flow."),
    (
        Ask("rated_l_min", L("Rated flow"), "flow", 0.5, 5000.0, says=("rated flow",)),
        Ask("rated_uvt", L("Rated transmittance"), "", 1.0, 100.0, "% per cm", says=("rated UV transmittance",)),
        Ask("rated_dose", L("Rated dose"), "", 1.0, 1000.0, "mJ/cm²", 40.0, says=("rated dose",)),
        Ask("unit_class", L("Certified as"), choices=_CLASSES, default="A", says=("class of the unit",)),
        Ask("flow_l_min", L("Flow through it"), "flow", 0.1, 5000.0, says=("flow",),
            hint=L("the most that can pass: pump or restrictor")),
        Ask("uvt", L("Transmittance of the water"), "", 1.0, 100.0, "%", says=("UV transmittance",)),
        Ask("path_mm", L("Measured over"), choices=_PATHS, default="10", says=("path length",)),
        Ask("wanted_dose", L("Dose wanted"), "", 1.0, 1000.0, "mJ/cm²", required=False, says=("dose",),
            hint=L("left empty: the rated dose")),
        Ask("lamp_h", L("Lamp, hours powered"), "", 0.0, 20_000.0, "h", required=False, says=("lamp hours",)),
    ),
    _uv,
    (
        L("A dose outside the rated water is a calculation, not a certified claim."),
        L("A transmittance says nothing without its path: ask the laboratory whether it is per cm or over 100 mm."),
        L("Light works only through clear water and a clean sleeve: filter to 5 µm ahead, and look at hardness and "
          "iron."),
    ),
)  # fmt: skip
