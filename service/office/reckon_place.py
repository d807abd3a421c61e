"""Small calculations on the place: a sweating tank and its jacket, the 12 V budget."""

from __future__ import annotations

import numpy as np
from django.utils.dates import MONTHS as MONTH_NAMES
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as L  # noqa: N812

from service.office.reckoned import Ask, Calculator, Chart, Reckoned, Values, picked, shown
from sizing.drawing.reckoned import MONTHS, Curve, CurveChart, MonthChart
from sizing.drawing.speech import say
from sizing.engine import power, sweat
from sizing.engine.display import show, unit_of
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.sun import monthly_sun_kwh_m2
from sizing.engine.worksheet import Section, Step

_HUMIDITIES = tuple(range(30, 96, 5))


def _sweat(values: Values, system: str) -> Reckoned:
    water, air, jacket, tank = (values[name] for name in ("water_c", "air_c", "jacket_m", "tank_m"))
    thick = None if jacket is None else jacket * 1000.0
    answer = sweat.check_sweat(water, air, values["humidity"], jacket_mm=thick, tank_m=tank)
    steps, told = answer.steps, ["t", "Td", "Ts"]
    if thick is not None:
        told.append("Tj")
    if thick is not None and tank is not None and values["height_m"] is not None:
        round_m, tall_m = sweat.jacket_size_m(tank, values["height_m"], thick)
        for symbol, meaning, value in (("b", _("sheet, round the tank"), round_m), ("h", _("sheet, height"), tall_m)):
            formula = f"pi x ({tank:.3f} + {thick / 1000:.4f})" if symbol == "b" else ""
            steps = (*steps, Step(symbol, meaning, value, "m", formula, "geometry", "computed", "length"))
            told.append(symbol)
    steps = tuple(_thickness(step) for step in steps)
    chart = _sweat_chart(water, air, values["humidity"], system)
    return Reckoned(picked(steps, *told), (Section(_("Condensation"), steps),), answer.findings, chart)


def _thickness(step: Step) -> Step:
    """A thickness in mm as a small length, so that it is shown in the reader's units; none is enough at infinity."""
    if step.symbol != "t" or isinstance(step.value, str):
        return step
    value = step.value / 1000.0 if np.isfinite(step.value) else _("none is enough")
    return Step(step.symbol, step.meaning, value, "m" if np.isfinite(step.value) else "", step.formula, step.source,
                step.status, "length_small")  # fmt: skip


def _sweat_chart(water: float, air: float, humidity: float, system: str) -> Chart:
    needs = [(h, float(sweat.least_jacket_mm(water, air, h)) / 1000.0) for h in _HUMIDITIES]
    here = float(sweat.least_jacket_mm(water, air, humidity)) / 1000.0
    title, unit = _("Least jacket against the room's humidity"), unit_of("length_small", system)
    points = tuple((float(h), shown(t, "length_small", system)) for h, t in needs)
    mark = None
    if humidity <= _HUMIDITIES[-1]:
        mark = (humidity, shown(here, "length_small", system), show(here, "length_small", system))
    drawing = CurveChart(
        title,
        _("relative humidity, %"),
        unit,
        (Curve(_("jacket"), points, True),),
        _("The damper the room, the thicker the jacket must be, steeply near the end."),
        None,
        mark,
    )
    rows = tuple(
        (f"{h} %", show(float(sweat.dew_point_c(air, h)), "temperature", system), show(t, "length_small", system))
        for h, t in needs[::2]
    )
    return Chart(title, drawing, (_("Humidity"), _("Dew point"), _("Least jacket")), rows)


SWEAT = Calculator(
    "sweat",
    L("Condensation and jacket"),
    L("Whether a cold tank drips in this room, and the jacket that keeps it dry."),
    (
        Ask("water_c", L("Coldest water"), "temperature", 0.1, 40.0, default=8.0, says=("water temperature",)),
        Ask("air_c", L("Air in the room"), "temperature", 0.1, 60.0, default=25.0, says=("air temperature",)),
        Ask("humidity", L("Relative humidity"), "", 1.0, 100.0, "%", 60.0, says=("relative humidity",)),
        Ask("jacket_m", L("Jacket"), "length_small", 0.001, 0.05, required=False, says=("thickness",),
            per=lambda _values: 0.001, hint=L("left empty: bare")),
        Ask("tank_m", L("Tank diameter"), "length_small", 0.1, 2.0, required=False, says=("tank diameter",)),
        Ask("height_m", L("Height to cover"), "length", 0.2, 3.0, required=False, says=("tank height",)),
    ),
    _sweat,
    (
        L("Tape every seam: room air that reaches the tank behind the jacket drips there, unseen."),
        L("A shiny cover makes the surface colder and sweating worse."),
        L("Keep the jacket clear of drain, vent and relief valve, and the valve's papers govern."),
    ),
)  # fmt: skip

_MONTHS = tuple((str(number), name) for number, name in MONTH_NAMES.items())
_CLEARNESS = {"clear": L("clear"), "fair": L("fair"), "cloudy": L("cloudy"), "grey": L("grey")}
_LOADS = 3


def _months(first: int, last: int) -> list[int]:
    months = [first]
    while months[-1] != last:
        months.append(months[-1] % 12 + 1)
    return months


def _loads(values: Values) -> list[power.Load]:
    names = (_("lamp"), _("second load"), _("third load"))
    rows = [(name, values[f"watts_{n}"], values[f"hours_{n}"]) for n, name in enumerate(names, start=1)]
    return [power.Load(name, watts, 24.0 if hours is None else hours) for name, watts, hours in rows if watts]


def _power(values: Values, system: str) -> Reckoned:
    loads, dark = _loads(values), values["dark_days"]
    clearness = figure(power.PRACTICE, "clearness")
    share = clearness.value[values["clearness"]]
    sun = monthly_sun_kwh_m2(
        values["latitude"], values["longitude"], altitude_m=values["altitude_m"] or 0.0, tilt_deg=values["tilt"],
        clearness=share,
    )  # fmt: skip
    months = _months(int(values["first_month"]), int(values["last_month"]))
    budget = power.power_budget(
        loads, sun, months, days_without_sun=dark, chemistry=values["chemistry"], coldest_c=values["battery_c"],
        panel_w=values["panel_w"],
    )  # fmt: skip
    back = power.days_to_refill(budget.wh_day, dark, np.array(budget.made_wh))
    worst = budget.worst_month
    refill = float(back[worst - 1])
    steps = (
        Step("G", _("sun in the worst month in use"), sun[worst - 1], "kWh/m² a day",
             _("clear sky of the 21st x %(share)g") % {"share": share}, "pvlib; " + clearness.citation, "computed"),
        *budget.steps,
        Step("tr", _("days to fill the battery again in that month"), refill if np.isfinite(refill) else _("never"),
             "days" if np.isfinite(refill) else "",
             f"{budget.wh_day:g} x {dark:g} / ({budget.made_wh[worst - 1]:.0f} - {budget.wh_day:g})",
             "energy balance", "computed"),
    )  # fmt: skip
    told = ["C", "W", "E", "tr"] if values["panel_w"] else ["C", "W", "E"]
    if values["cable_m"]:
        volts = figure(power.PRACTICE, "voltage").value[values["chemistry"]]
        amps = sum(load.watts for load in loads) / volts
        gauge = power.smallest_awg(amps, values["cable_m"], volts=volts)
        drop = figure(power.PRACTICE, "voltage_drop")
        steps = (*steps, Step("AWG", _("cable, at least"), f"{gauge}", "AWG",
                              f"{amps:.1f} A over {values['cable_m']:.1f} m one way, {drop.value:g} % lost at most",
                              drop.citation, "common practice"))  # fmt: skip
        told.append("AWG")
    chart = _power_chart(budget, sun, months, back)
    found = (*budget.findings, *_refill_findings(budget, refill))
    return Reckoned(picked(steps, *told), (Section(_("12 V budget"), steps),), found, chart)


def _refill_findings(budget: power.PowerBudget, refill: float) -> tuple[Finding, ...]:
    if np.isfinite(refill) or any(finding.code == "panel_short" for finding in budget.findings):
        return ()
    return (
        Finding(
            "panel_bare",
            Severity.EQUIPMENT,
            _("A panel that just makes the day's energy never fills the battery again after dark days."),
            _("Choose a larger one, type it in, and see the days it takes by month."),
            "power",
            "energy balance",
        ),
    )


def _power_chart(budget: power.PowerBudget, sun: tuple[float, ...], months: list[int], back: np.ndarray) -> Chart:
    title = _("Energy for the battery by month")
    need = _("taken %(wh).0f Wh a day") % {"wh": budget.wh_day}
    used = tuple(month in months for month in range(1, 13))
    drawing = MonthChart(title, _("Wh a day"), budget.made_wh, used, budget.wh_day, need)
    rows = tuple(
        (
            say(name),
            f"{sun[k]:.1f}",
            f"{budget.made_wh[k]:,.0f}",
            f"{budget.made_wh[k] - budget.wh_day:+,.0f}".replace("-", "−"),
            f"{back[k]:.0f}" if np.isfinite(back[k]) else _("never"),
            _("yes") if used[k] else _("no"),
        )
        for k, name in enumerate(MONTHS)
    )
    head = (_("Month"), _("Sun, kWh/m²"), _("Made, Wh"), _("Left, Wh"), _("Days to fill"), _("In use"))
    note = _("Filled: in use. Hollow: not in use. A triangle: makes less than the day takes.")
    return Chart(title, drawing, head, rows, note)


_CHEMISTRY = (("lead_acid", L("lead-acid")), ("lithium", L("lithium iron phosphate")))
_WHAT = (L("UV lamp"), L("Second load"), L("Third load"))
_WATTS = tuple(
    ask
    for number, name in enumerate(_WHAT, start=1)
    for ask in (
        Ask(f"watts_{number}", name, "power", 0.1, 10_000.0, required=number == 1, block=L("What draws power")),
        Ask(f"hours_{number}", L("Hours a day, %(what)s") % {"what": name}, "", 0.0, 24.0, "h", required=False,
            block=L("What draws power"), hint=L("left empty: day and night")),
    )
)  # fmt: skip
POWER = Calculator(
    "power",
    L("12 V budget"),
    L("Battery and panel for a lamp off the grid, month by month, and the cable to it."),
    (
        *_WATTS,
        Ask("latitude", L("Latitude"), "", -66.0, 66.0, "° N", says=("latitude",), block=L("Sun")),
        Ask("longitude", L("Longitude"), "", -180.0, 180.0, "° E", says=("longitude",), block=L("Sun"),
            hint=L("west is negative")),
        Ask("altitude_m", L("Height above the sea"), "length", -100.0, 5000.0, required=False, block=L("Sun"),
            says=("altitude",)),
        Ask("tilt", L("Tilt of the panel"), "", 0.0, 90.0, "°", 45.0, says=("tilt",), block=L("Sun")),
        Ask("clearness", L("Sky"), choices=tuple(_CLEARNESS.items()), default="cloudy", block=L("Sun"),
            hint=L("what is left of a clear day's sun in the worst month")),
        Ask("first_month", L("In use from"), choices=_MONTHS, default="1", block=L("Sun")),
        Ask("last_month", L("In use to"), choices=_MONTHS, default="12", block=L("Sun")),
        Ask("dark_days", L("Days without sun"), "", 0.5, 30.0, "days", 3.0, says=("days without sun",),
            block=L("Battery and cable")),
        Ask("chemistry", L("Battery"), choices=_CHEMISTRY, default="lead_acid", block=L("Battery and cable"),
            says=("battery chemistry",)),
        Ask("battery_c", L("Coldest battery"), "temperature", -6.7, 60.0, default=10.0,
            says=("battery temperature",), block=L("Battery and cable")),
        Ask("panel_w", L("Panel already there"), "power", 1.0, 20_000.0, required=False,
            block=L("Battery and cable")),
        Ask("cable_m", L("Cable, one way"), "length", 0.1, 500.0, required=False, block=L("Battery and cable"),
            says=("current over this length", "cable length")),
    ),
    _power,
    (
        L("A UV lamp burns day and night: switched off, the pipe behind it must be disinfected again."),
        L("Fuse at the battery; the code's current limit for the cable governs and is not checked here."),
        L("Lead-acid batteries give off gas when charged: vent the box. Lithium must not be charged below freezing."),
    ),
)  # fmt: skip
