"""Small calculations with salt and chlorine: shock dose, softener."""

from __future__ import annotations

import numpy as np
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as L  # noqa: N812

from service.office.reckoned import Ask, Calculator, Chart, Reckoned, Values, picked, shown
from sizing.drawing.chart_values import ChartLimit
from sizing.drawing.reckoned import Curve, CurveChart
from sizing.engine import exchange, regeneration, softened
from sizing.engine.chlorination import (
    shock_cautions,
    shock_dose,
    strength_from_trade,
    strength_left,
    water_in_casing,
)
from sizing.engine.display import show, unit_of
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.quantities import KG_PER_POUND, L_PER_FT3, L_PER_GALLON, MG_L_PER_GPG
from sizing.engine.worksheet import Section, Step

SHOCK_FIGURES, BLEACH = "shock-chlorination", "hypochlorite-practice"


def _poured(litres: float, system: str) -> tuple[float, str]:
    """A volume as one measures it out."""
    return (litres, "L") if system == "metric" else (litres / L_PER_GALLON * 128.0, "US fl oz")


def _weighed(kilograms: float, system: str) -> tuple[float, str]:
    """A mass as one weighs it out."""
    return (kilograms * 1000.0, "g") if system == "metric" else (kilograms / KG_PER_POUND * 16.0, "oz")


def _shock(values: Values, system: str) -> Reckoned:
    casing, column, plumbing = values["casing_m"], values["water_column_m"], values["plumbing_l"] or 0.0
    well = float(water_in_casing(casing, column))
    labelled, days = float(strength_from_trade(values["bleach_percent"])), values["bleach_days"] or 0.0
    strength = float(strength_left(labelled, days))
    share = values["granules_percent"] / 100.0
    answer = shock_dose(well + plumbing, dose_mg_l=values["dose_mg_l"], bleach_g_l=strength, granules_share=share)
    bleach, bleach_unit = _poured(answer.bleach_l, system)
    granules, granules_unit = _weighed(answer.granules_kg, system)
    trade, life = figure(BLEACH, "trade_percent"), figure(BLEACH, "half_life")
    aged = days > 0
    steps = (
        Step("Vw", _("water standing in the well"), well, "L", f"pi/4 x {casing:.3f}^2 x {column:.1f} x 1000",
             "geometry", "computed", "volume"),
        Step("V", _("water to treat"), answer.volume_l, "L", f"{well:.0f} + {plumbing:.0f}", "sum", "computed",
             "volume"),
        Step("c", _("dose"), answer.dose_mg_l, "mg/L", "", figure(SHOCK_FIGURES, "usual").citation, "given"),
        Step("m", _("chlorine it takes"), answer.chlorine_g, "g",
             f"{answer.volume_l:.0f} x {answer.dose_mg_l:g} / 1000", "volume x dose", "computed"),
        Step("s", _("available chlorine of the bleach"), strength, "g/L",
             f"{values['bleach_percent']:g} trade % x {trade.value:g}" + (f", after {days:g} days" if aged else ""),
             life.citation if aged else trade.citation, life.status if aged else trade.status),
        Step("Vb", _("plain bleach"), bleach, bleach_unit, f"{answer.chlorine_g:.1f} / {strength:.1f} L",
             "mass / strength", "computed"),
        Step("mg", _("or granules (calcium hypochlorite)"), granules, granules_unit,
             f"{answer.chlorine_g:.1f} / {share:g} g", figure(BLEACH, "granules").citation, "computed"),
    )  # fmt: skip
    return Reckoned(
        picked(steps, "Vb", "mg", "V"), (Section(_("Shock chlorination"), steps),), _said_once(answer.findings)
    )


def _said_once(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Remarks on this dose: what belongs on every sheet stands among the cautions already."""
    always = {caution.code for caution in shock_cautions()}
    return tuple(finding for finding in findings if finding.code not in always)


SHOCK = Calculator(
    "shock",
    L("Shock dose"),
    L("Bleach or granules for a well and its plumbing, with what to keep in mind."),
    (
        Ask("casing_m", L("Casing, inside diameter"), "length_small", 0.02, 3.0, says=("casing diameter",)),
        Ask("water_column_m", L("Water in the well"), "length", 0.1, 500.0, says=("water column",),
            hint=L("from the bottom of the well to the resting level; a file counts it from the pump")),
        Ask("plumbing_l", L("Tank, heater and pipe"), "volume", 0.0, 20_000.0, required=False,
            hint=L("what is to be treated beside the well")),
        Ask("dose_mg_l", L("Dose"), "", 1.0, 500.0, "mg/L", figure(SHOCK_FIGURES, "usual").value, says=("dose",)),
        Ask("bleach_percent", L("Bleach"), "", 1.0, 16.0, "trade %", 5.25,
            says=("trade percent", "strength", "bleach"),
            per=lambda _values: 1.0 / figure(BLEACH, "trade_percent").value),
        Ask("bleach_days", L("Age of the bleach"), "", 0.0, 1000.0, "days", required=False, says=("days",),
            hint=L("left empty: fresh. Old bleach is weaker than its label")),
        Ask("granules_percent", L("Granules, available chlorine"), "", 20.0, 80.0, "%",
            figure(BLEACH, "granules").value[0] * 100),
    ),
    _shock,
    (
        *(f"{caution.message} {caution.what_to_do}".strip() for caution in shock_cautions()),
        L("Bleach and granules are two ways, not a sum, and never go into one vessel."),
        L("Work in open air with gloves and goggles; never lean into a well or pit."),
        L("A well that turns bad again has a way in: mend cap, casing and seal first."),
    ),
)  # fmt: skip


def _softener(values: Values, system: str) -> Reckoned:
    hard, iron, manganese = values["hardness"], values["iron"] or 0.0, values["manganese"] or 0.0
    resin, salt, reserve = values["resin_l"], values["salt_kg"], values["reserve_percent"] / 100.0
    daily = values["people"] * values["person_l_d"]
    counted = float(exchange.compensated_hardness(hard, iron, manganese))
    load = float(exchange.daily_load(daily, counted))
    capacity = float(exchange.softener_capacity(resin, salt))
    days = float(exchange.regeneration_interval(capacity, load, reserve))
    leak = softened.hardness_leakage(hard, resin, salt)
    sodium = float(softened.sodium_added(hard - leak.typical))
    window = exchange.interval_window(iron)
    factor, practice = float(exchange.iron_allowance(iron)), figure("softener-practice", "iron_factor")
    left = figure("softener-practice", "leakage")
    curve, pounds = figure("softener-training-slides", "capacity_fit"), salt / KG_PER_POUND / (resin / L_PER_FT3)
    steps = (
        Step("Hc", _("compensated hardness, to set at the valve"), counted, "mg/L",
             f"{hard:.1f} + {MG_L_PER_GPG:.2f} x ({factor:g} x {iron:g} + 2 x {manganese:g})",
             practice.citation, practice.status, "hardness"),
        Step("V", _("water a day"), daily, "L/d", f"{values['people']:g} x {values['person_l_d']:.0f}", "product",
             "computed", "daily"),
        Step("L", _("hardness taken up a day"), load, "g", f"{daily:.0f} x {counted:.1f} / 1000", "mass balance",
             "computed", "capacity"),
        Step("C", _("capacity at this salt"), capacity, "g",
             f"({curve.value[0]:g} ln {pounds:.2f} + {curve.value[1]:g}) grains/ft3", curve.citation, curve.status,
             "capacity"),
        Step("t", _("days between regenerations"), days, "days", f"{capacity:.0f} x (1 - {reserve:g}) / {load:.1f}",
             "capacity, reserve and load", "computed"),
        Step("E", _("hardness taken up for the salt"), float(regeneration.salt_efficiency(capacity, salt)), "g/kg",
             f"{capacity:.0f} / {salt:.2f}", "definition", "computed"),
        Step("Sy", _("salt in a year of such days, at most"), salt * 365.0 / days, "kg",
             f"{salt:.2f} x 365 / {days:.2f}", "mass balance", "computed", "salt_mass"),
        Step("Hl", _("hardness left, careful end"), float(leak.high), "mg/L", "",
             left.citation, left.status, "hardness"),
        Step("Na", _("sodium added"), sodium, "mg/L", f"0.459 x ({hard:.1f} - {leak.typical:.1f})",
             "2 Na for each CaCO3", "computed"),
    )  # fmt: skip
    chart = _softener_chart(resin, salt, load, reserve, window, system)
    found = _softener_findings(days, window, iron)
    return Reckoned(picked(steps, "Hc", "t", "C", "Na"), (Section(_("Softener"), steps),), found, chart)


def _softener_findings(days: float, window: tuple[float, float], iron: float) -> tuple[Finding, ...]:
    found, source = [], figure("softener-practice", "interval_days").citation
    told = {"days": days, "low": window[0], "high": window[1]}
    if not window[0] <= days <= window[1]:
        much = days < window[0]
        found.append(Finding(
            "softener_interval", Severity.EQUIPMENT,
            _("%(days).1f days between regenerations; %(low)g to %(high)g is sensible for this water.") % told,
            _("More resin, or more salt each time.") if much else
            _("Less salt each time, a smaller bed, or a forced regeneration at the end of the window."),
            "softener", source,
        ))  # fmt: skip
    most = figure("softener-practice", "iron_limit")
    if iron > most.value:
        found.append(Finding(
            "softener_iron", Severity.EQUIPMENT,
            _("%(iron)g mg/L of iron is more than resin can shed.") % {"iron": iron},
            _("Take the iron out ahead of the softener."), "iron", most.citation,
        ))  # fmt: skip
    return tuple(found)


def _softener_chart(
    resin: float, salt: float, load: float, reserve: float, window: tuple[float, float], system: str
) -> Chart:
    low, high = exchange.salt_dose_range(resin)
    doses = np.minimum(np.linspace(low, high, 25), high)
    days = exchange.regeneration_interval(exchange.softener_capacity(resin, doses), load, reserve)
    own = float(exchange.regeneration_interval(exchange.softener_capacity(resin, salt), load, reserve))
    points = tuple((shown(s, "salt_mass", system), float(d)) for s, d in zip(doses, days, strict=True))
    title = _("Days between regenerations against salt")
    drawing = CurveChart(
        title,
        _("salt each time, %(unit)s") % {"unit": unit_of("salt_mass", system)},
        _("days"),
        (Curve(_("days"), points, True),),
        _("More salt each time lengthens the interval, by less and less; here %(days).1f days.") % {"days": own},
        ChartLimit(window[0], _("at least %(days)g") % {"days": window[0]}, "min"),
        (shown(salt, "salt_mass", system), own, f"{own:.1f}"),
    )
    rows = tuple(
        (
            show(float(s), "salt_mass", system),
            f"{float(d):.1f}",
            show(float(s) * 365.0 / float(d), "salt_mass", system),
        )
        for s, d in zip(doses[::4], days[::4], strict=True)
    )
    return Chart(title, drawing, (_("Salt each time"), _("Days"), _("Salt a year")), rows)


def _kg_of_resin(values: Values) -> float:
    """Kilograms of salt for one g/L of resin."""
    return float(values["resin_l"]) / 1000.0


SOFTENER = Calculator(
    "softener",
    L("Softener"),
    L("Hardness to set, capacity at a salt dose, days between regenerations, sodium added."),
    (
        Ask("hardness", L("Hardness"), "hardness", 1.0, 3000.0, says=("hardness", "compensated hardness"),
            hint=L("as CaCO3, entering the softener: with what a neutraliser adds")),
        Ask("iron", L("Dissolved iron"), "", 0.0, 50.0, "mg/L", required=False, says=("iron",)),
        Ask("manganese", L("Manganese"), "", 0.0, 20.0, "mg/L", required=False, says=("manganese",)),
        Ask("people", L("People"), "", 0.5, 200.0, default=3.0),
        Ask("person_l_d", L("Water a person and day"), "daily", 20.0, 1000.0, default=227.0, says=("daily volume",)),
        Ask("resin_l", L("Resin"), "media_volume", 1.0, 1000.0, says=("resin volume",)),
        Ask("salt_kg", L("Salt each regeneration"), "salt_mass", 0.05, 300.0,
            says=("salt dose", "salt dose per litre of resin"), per=_kg_of_resin),
        Ask("reserve_percent", L("Reserve"), "", 0.0, 90.0, "%", figure("softener-practice", "reserve").value * 100,
            says=("reserve",), hint=L("25 % is usual; 0 where a second tank takes over at once")),
    ),
    _softener,
    (
        L("Sodium rises with the hardness taken out: people on a low-sodium diet ask their doctor, or drink from a "
          "tap that is not softened."),
        L("Brine goes where local rules and the septic system allow."),
        L("Chlorine, sand and iron that has met air harm resin: take them out ahead of it."),
    ),
)  # fmt: skip
