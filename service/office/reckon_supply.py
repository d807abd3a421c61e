"""Small calculations on the supply: flow test, pressure tank, pressure along the path."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as L  # noqa: N812

from customers.flow_tests.models import FlowMethod
from customers.flow_tests.queries import measure
from customers.households.models import PipeMaterial, PipeSize
from service.office.reckoned import Ask, Calculator, Chart, DoesNotFit, Reckoned, Values, picked, shown
from sizing.drawing.chart_values import ChartLimit, PressureProfile, PressureStep
from sizing.engine.demand import FIXTURES, peak_flow
from sizing.engine.design import Fixture, Measured, SupplySide
from sizing.engine.display import show, unit_of
from sizing.engine.figures import figure
from sizing.engine.hydraulics import outlet_needs, path_pressure, stage_loss_kpa
from sizing.engine.tank import PRACTICE, tank_drawdown, tank_for_run_l
from sizing.engine.worksheet import Section, Step

RUNS, STAGES = 3, 4


def _run_asks(number: int) -> tuple[Ask, Ask]:
    block = L("Runs: one will do, two or three tell how well it repeats")
    first = number == 1
    return (
        Ask(f"litres_{number}", L("Water drawn, run %(n)s") % {"n": number}, "volume", 0.1, 2000.0, required=first,
            block=block, says=("litres drawn",) if first else ()),
        Ask(f"seconds_{number}", L("Time, run %(n)s") % {"n": number}, "", 1.0, 7200.0, "s", required=first,
            block=block, says=("refill time", "fill time") if first else ()),
    )  # fmt: skip


def _flow(values: Values, system: str) -> Reckoned:
    runs = []
    for number in range(1, RUNS + 1):
        litres, seconds = values[f"litres_{number}"], values[f"seconds_{number}"]
        if (litres is None) != (seconds is None):
            lacking = "litres" if litres is None else "seconds"
            raise DoesNotFit(f"{lacking}_{number}", _("water and time, or neither, for each run"))
        if litres is not None:
            runs.append((litres, seconds))
    test = measure(values["method"], runs)
    return Reckoned(picked(test.steps, "q", "u(q)"), (Section(_("Flow test"), test.steps),), test.findings)


FLOW = Calculator(
    "flow",
    L("Flow test"),
    L("What the pump delivers, and how well that is known."),
    (
        Ask("method", L("How it was measured"), choices=tuple(FlowMethod.choices), default=FlowMethod.DRAWDOWN),
        *(ask for number in range(1, RUNS + 1) for ask in _run_asks(number)),
    ),
    _flow,
    (
        L("Let the pump fill the tank to cut-out and stop first; no tap runs while the refill is timed."),
        L("Watch a weak well: stop when the flow falls or the water clouds."),
        L("A UV unit is sized on this flow, not on usual draws, unless a restrictor is part of it."),
    ),
)


def _tank(values: Values, system: str) -> Reckoned:
    pump = values["pump_l_min"]
    answer = tank_drawdown(
        values["tank_l"],
        values["cut_in_kpa"],
        values["cut_out_kpa"],
        precharge_kpa=values["precharge_kpa"],
        altitude_m=values["altitude_m"] or 0.0,
        pump_flow_l_min=pump,
    )
    steps, told = answer.steps, ["Vd", "P1"]
    if pump is not None:
        run = figure(PRACTICE, "minimum_run")
        wanted = float(tank_for_run_l(pump, run.value, answer.factor))
        meaning = _("tank that lets the pump run %(n)g min") % {"n": run.value}
        formula = f"{pump:g} x {run.value:g} / {answer.factor:.3f}"
        told += ["t", "N", "V1"]
        steps = (*steps, Step("V1", meaning, wanted, "L", formula, run.citation, run.status, "volume"))
    return Reckoned(picked(steps, *told), (Section(_("Pressure tank"), steps),), answer.findings)


_PRESSURES = (
    Ask("cut_in_kpa", L("Cut-in"), "pressure", 50.0, 700.0, says=("cut-in pressure",)),
    Ask("cut_out_kpa", L("Cut-out"), "pressure", 70.0, 1000.0, says=("cut-out pressure",)),
)
TANK = Calculator(
    "tank",
    L("Pressure-tank drawdown"),
    L("Water between cut-out and cut-in, and what it means for the pump."),
    (
        Ask("tank_l", L("Tank volume"), "volume", 1.0, 20_000.0, says=("tank volume",)),
        *_PRESSURES,
        Ask("precharge_kpa", L("Air charge"), "pressure", 0.0, 1000.0, required=False, says=("precharge",),
            hint=L("empty of water; left empty: 2 psi under cut-in")),
        Ask("pump_l_min", L("Pump flow"), "flow", 0.1, 2000.0, required=False, says=("pump flow",)),
        Ask("altitude_m", L("Height above the sea"), "length", -500.0, 5000.0, required=False, says=("altitude",)),
    ),
    _tank,
    (
        L("Read and set the air charge with the pump off and the tank empty of water."),
        L("The motor's own papers govern how often it may start."),
        L("Never set the switch above what tank, relief valve and pipe are rated for."),
    ),
)  # fmt: skip


def _stage_asks(number: int) -> tuple[Ask, Ask, Ask]:
    block = L("Stages in the order of flow, filters loaded")
    told = {"n": number}
    return (
        Ask(f"stage_{number}", L("Stage %(n)s") % told, text=40, required=False, block=block),
        Ask(f"loss_{number}", L("Loss, stage %(n)s") % told, "pressure", 0.0, 700.0, required=False, block=block),
        Ask(f"rated_{number}", L("At a flow of, stage %(n)s") % told, "flow", 0.1, 2000.0, required=False,
            block=block, hint=L("left empty: at the peak")),
    )  # fmt: skip


def _stages(values: Values, flow: float) -> tuple[list[tuple[str, float]], tuple[Step, ...]]:
    stages, steps = [], []
    for number in range(1, STAGES + 1):
        loss = values[f"loss_{number}"]
        if loss is None:
            if values[f"stage_{number}"]:
                raise DoesNotFit(f"loss_{number}", _("the pressure lost in this stage"))
            continue
        name = values[f"stage_{number}"] or _("stage %(n)s") % {"n": number}
        rated = values[f"rated_{number}"]
        at_peak = loss if rated is None else float(stage_loss_kpa(flow, [(rated, loss)]))
        if rated is not None:
            meaning = _("loss of %(name)s at the peak") % {"name": name}
            formula = f"{loss:.1f} x ({flow:.1f} / {rated:.1f})^2"
            steps.append(Step(f"d{number}", meaning, at_peak, "kPa", formula, "rated point", "given", "pressure"))
        stages.append((name, at_peak))
    return stages, tuple(steps)


def _peak(values: Values) -> tuple[float, tuple[Section, ...]]:
    if values["flow_l_min"] is not None:
        return values["flow_l_min"], ()
    counts = [Fixture(kind.code, values[f"count_{kind.code}"] or 0) for kind in FIXTURES]
    if not any(fixture.count for fixture in counts):
        raise DoesNotFit("flow_l_min", _("a peak flow, or the fixtures counted below"))
    peak = peak_flow(counts)
    return peak.flow_l_min, (Section(_("Peak demand"), peak.steps),)


def _pressure(values: Values, system: str) -> Reckoned:
    flow, sections = _peak(values)
    stages, losses = _stages(values, flow)
    least = values["least_kpa"]
    least = outlet_needs(values["outlet"])[1] if least is None else least
    supply = SupplySide(
        Measured(flow), values["cut_in_kpa"], values["cut_out_kpa"], 1.0,
        values["pipe_nominal"], values["pipe_material"], values["run_m"], values["rise_m"], least,
    )  # fmt: skip
    if supply.cut_out_kpa <= supply.cut_in_kpa:
        raise DoesNotFit("cut_out_kpa", _("more than cut-in"))
    answer = path_pressure(supply, flow, stages, temperature_c=values["water_c"])
    asked = (
        Step("Qp", _("flow through the path"), flow, "L/min", status="given", quantity="flow"),
        Step("pmin", _("wanted at the worst fixture"), least, "kPa", "", figure("icc-ipc-2018", "outlet").citation,
             "published" if values["least_kpa"] is None else "given", "pressure"),
    )  # fmt: skip
    steps = (*asked, *losses, *answer.steps)
    points = [
        (_("tank"), answer.pressures_kpa[0]),
        *((name, kpa) for (name, _loss), kpa in zip(stages, answer.pressures_kpa[1:], strict=True)),
        (_("fixture"), answer.at_fixture_kpa),
    ]
    return Reckoned(
        picked(steps, "p", "pmin", "Qp"),
        (*sections, Section(_("Pressure along the path"), steps)),
        answer.findings,
        _profile(points, least, system),
    )


def _profile(points: list[tuple[str, float]], least: float, system: str) -> Chart:
    title, letters = _("Pressure along the path at peak"), "ABCDEFGH"
    steps = tuple(
        PressureStep(letter, max(shown(kpa, "pressure", system), 0.0), f"{shown(kpa, 'pressure', system):.0f}")
        for letter, (_name, kpa) in zip(letters, points, strict=False)
    )
    wanted = ChartLimit(shown(least, "pressure", system), f"{_('least')} {show(least, 'pressure', system)}", "min")
    rows = tuple(
        (f"{letter} {name}", show(kpa, "pressure", system))
        for letter, (name, kpa) in zip(letters, points, strict=False)
    )
    profile = PressureProfile(title, unit_of("pressure", system), steps, wanted, _("at the fixture"))
    return Chart(title, profile, (_("After"), _("Pressure")), rows)


_OUTLETS = tuple((name, name) for name in figure("icc-ipc-2018", "outlet").value)
_FIXTURES = L("Fixtures, where the peak is to be reckoned from them")
PRESSURE = Calculator(
    "pressure",
    L("Pressure along the path"),
    L("Where the pressure goes at peak flow, and what is left at the worst fixture."),
    (
        *_PRESSURES,
        Ask("flow_l_min", L("Peak flow"), "flow", 0.1, 2000.0, required=False, says=("flow",),
            hint=L("left empty: from the fixtures below")),
        Ask("pipe_material", L("Pipe"), choices=tuple(PipeMaterial.choices), default="copper",
            says=("pipe material",)),
        Ask("pipe_nominal", L("Pipe size"), choices=tuple(PipeSize.choices), default="3/4", says=("pipe size",)),
        Ask("run_m", L("Run to the worst fixture"), "length", 0.0, 1000.0, default=15.0, says=("pipe length",)),
        Ask("rise_m", L("Rise to the worst fixture"), "length", -100.0, 100.0, default=3.0, says=("rise",)),
        Ask("outlet", L("Worst fixture"), choices=_OUTLETS, default="shower, balanced/thermostatic valve",
            says=("outlet",)),
        Ask("least_kpa", L("Own least pressure there"), "pressure", 0.0, 700.0, required=False,
            hint=L("left empty: as the code's table asks for the fixture")),
        Ask("water_c", L("Water"), "temperature", 0.0, 60.0, default=10.0, says=("temperature",)),
        *(ask for number in range(1, STAGES + 1) for ask in _stage_asks(number)),
        *(
            Ask(f"count_{kind.code}", kind.name, low=0, high=200, whole=True, required=False, block=_FIXTURES)
            for kind in FIXTURES
        ),
    ),
    _pressure,
    (
        L("Reckoned at cut-in with filters loaded, the worst moment; a gauge on a quiet day reads higher."),
        L("Above 80 psi (552 kPa) a reducing valve is wanted, and thermal expansion must have somewhere to go."),
    ),
)  # fmt: skip
