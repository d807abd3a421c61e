"""What the place asks of a train: flows, pressures, the barrier against germs, and what had to be assumed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sizing.engine.demand import (
    DailyVolume,
    FixtureUnitDemand,
    PeakDemand,
    daily_volume,
    fixture_unit_flow,
    peak_flow,
)
from sizing.engine.design import DesignRequest, SourceType
from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.log_credits import GERM_WORDS, NO_LOGS, ORGANISMS, Logs, required_logs
from sizing.engine.ranges import within
from sizing.engine.stages.base import Duty
from sizing.engine.sweat import least_jacket_mm
from sizing.engine.train_hot import HotLine, hot_findings, hot_line
from sizing.engine.train_lanes import is_split, outside_findings, treated, treated_outside_litres, whole_demand
from sizing.engine.train_pressure import PathLoss, path_loss
from sizing.engine.water import ANALYTES

PRACTICE = "design-practice"
SURFACE = (SourceType.LAKE, SourceType.RIVER, SourceType.CISTERN)
INFLUENCED = (SourceType.SPRING, SourceType.DUG_WELL)
SOURCE_WORDS = {
    SourceType.LAKE: "a lake",
    SourceType.RIVER: "a river",
    SourceType.CISTERN: "a cistern",
    SourceType.SPRING: "a spring",
    SourceType.DUG_WELL: "a dug well",
    SourceType.DRILLED_WELL: "a drilled well",
}


@dataclass(frozen=True)
class Brief:
    """The request worked out: duties on the main line and at the tap, barrier, pressure budget, findings.

    ``demand``, ``units`` and ``daily`` are of the water that is treated, ``whole`` of all fixtures, ``hot`` of
    the hot line where only that is softened.
    ``flow_l_min`` is what the pump delivers, ``peak_l_min`` the peak demand no more than that, ``barrier_dose`` the
    UV dose wanted (0 = none), ``cyst_prefilter`` whether the filter ahead of it must be cyst-tested.
    """

    request: DesignRequest
    demand: PeakDemand
    whole: PeakDemand
    hot: HotLine | None
    units: FixtureUnitDemand
    daily: DailyVolume
    flow_l_min: float
    peak_l_min: float
    duty: Duty
    tap_duty: Duty
    path: PathLoss
    barrier_dose: float
    barrier_reason: str
    cyst_prefilter: bool
    findings: tuple[Finding, ...]
    dew_resistance: float = 0.0  # m2 K/W round the pressure tank that keep it from sweating; 0 = none is asked for
    logs: Logs = NO_LOGS  # log credits wanted, in the order of ``log_credits.ORGANISMS``
    logs_citation: str = ""
    held_by: str = ""  # code of a restrictor below the peak that must be in the line, the household content with it

    def at_flow(self, flow_l_min: float) -> Duty:
        """The main-line duty where no more than ``flow_l_min`` can pass."""
        if flow_l_min >= self.duty.flow_l_min:
            return self.duty
        return replace(self.duty, flow_l_min=flow_l_min, peak_l_min=min(self.duty.peak_l_min, flow_l_min))

    def hot_at(self, flow_l_min: float) -> Duty:
        """The duty on the hot line where no more than ``flow_l_min`` can pass."""
        base = self.at_flow(flow_l_min)
        if self.hot is None:
            return base
        return replace(
            base,
            flow_l_min=min(base.flow_l_min, self.hot.most_l_min),
            peak_l_min=min(base.peak_l_min, self.hot.peak_l_min),
            daily_l=self.hot.litres_d,
        )

    @property
    def hot_peak_l_min(self) -> float:
        """Peak flow on the hot line, L/min."""
        return self.peak_l_min if self.hot is None else min(self.peak_l_min, self.hot.peak_l_min)

    def held(self, code: str, flow_l_min: float) -> Brief:
        """The same place where the household is content with what a restrictor holds."""
        if flow_l_min >= self.peak_l_min:
            return self
        path = path_loss(self.request.supply, flow_l_min, max(self.duty.temperature_c, 0.0))
        return replace(
            self,
            peak_l_min=flow_l_min,
            duty=replace(self.duty, peak_l_min=flow_l_min),
            tap_duty=replace(self.tap_duty, peak_l_min=flow_l_min),
            path=path,
            held_by=code,
            findings=(*self.findings, _held(flow_l_min, self.demand.flow_l_min)),
        )

    @property
    def demand_l_min(self) -> float:
        """The peak the household asks for: what its fixtures want, or the restrictor it is content with."""
        return self.peak_l_min if self.held_by else self.demand.flow_l_min

    @property
    def stage_loss_budget_kpa(self) -> float:
        """What all stages together may take at peak, filters dirty, pump at cut-in; below 0 = nothing is left."""
        supply = self.request.supply
        return supply.cut_in_kpa - self.path.total_kpa - supply.worst_fixture_min_kpa


def brief_of(request: DesignRequest) -> Brief:
    """The request checked and worked out.

    Units: canonical throughout.
    Range: pump flow above 0, cut-out above cut-in, months 1 to 12, goals within what is possible.
    Raises: ``OutsideValidRange`` naming the field; ``MissingEvidence`` where a dry tank is asked for and the room's
    air is not known; as ``demand.peak_flow`` and ``demand.daily_volume``.
    Source: peak demand study by exact convolution; barrier by source class, common practice.

    >>> from sizing.engine.design import (Fixture, Goals, Measured, Occupancy, SiteLimits, SupplySide)
    >>> from sizing.engine.water import Water
    >>> request = DesignRequest(
    ...     Water({"iron": 0.1}), SourceType.LAKE, SupplySide(Measured(30.0), 276.0, 414.0, 150.0),
    ...     (Fixture("shower", 1), Fixture("kitchen_faucet", 1)), Occupancy(2, 4), SiteLimits(), Goals(), ())
    >>> brief = brief_of(request)
    >>> brief.barrier_dose, brief.cyst_prefilter, brief.duty.temperature_c
    (40.0, True, 2.0)
    """
    _check(request)
    supply, people = request.supply, request.occupancy
    fixtures = treated(request)
    demand = peak_flow(fixtures, people=people.people_peak)
    whole = whole_demand(request, demand)
    daily = daily_volume(
        people.people_usual, people.litres_per_person_day, other_litres_d=treated_outside_litres(request)
    )
    flow = float(supply.pump_flow_l_min.value)
    peak = min(demand.flow_l_min, flow)
    temperature, found = _temperature(request)
    duty = Duty(
        flow_l_min=flow,
        peak_l_min=peak,
        daily_l=daily.litres_d,
        pump_l_min=flow,
        months_open=tuple(sorted(set(people.months_open))),
        temperature_c=temperature,
        feed_kpa=supply.cut_in_kpa,
        pump_kpa=supply.cut_out_kpa,
        tap_l_d=figure(PRACTICE, "tap_litres_per_person").value * people.people_usual,
        people=people.people_usual,
    )
    path = path_loss(supply, peak, max(temperature, 0.0))
    barrier = _barrier(request)
    return Brief(
        request=request,
        demand=demand,
        whole=whole,
        hot=hot_line(request, fixtures, daily.litres_d),
        units=fixture_unit_flow(fixtures),
        daily=daily,
        flow_l_min=flow,
        peak_l_min=peak,
        duty=duty,
        tap_duty=replace(duty, feed_kpa=max(supply.cut_in_kpa - path.rise_kpa, 0.0)),
        path=path,
        barrier_dose=barrier.dose,
        barrier_reason=barrier.reason,
        cyst_prefilter=(barrier.dose > 0 or any(barrier.logs)) and request.source in (*SURFACE, *INFLUENCED),
        findings=(
            *demand.findings,
            *daily.findings,
            *found,
            *barrier.findings,
            *outside_findings(request, barrier.reason if barrier.germs else ""),
            *hot_findings(request),
            *_flow(request, whole),
            *_unproven(request),
        ),
        dew_resistance=_dew_resistance(request, temperature),
        logs=barrier.logs,
        logs_citation=barrier.citation,
    )


def _check(request: DesignRequest) -> None:
    supply, goals = request.supply, request.goals
    within("pump flow", supply.pump_flow_l_min.value, low=0.0, low_open=True, unit="L/min")
    within("pump flow uncertainty", supply.pump_flow_l_min.sd, low=0.0, unit="L/min")
    within("cut-in", supply.cut_in_kpa, low=0.0, low_open=True, unit="kPa")
    within("cut-out", supply.cut_out_kpa, low=supply.cut_in_kpa, low_open=True, unit="kPa")
    within("wanted UV dose", goals.uv_dose, low=0.0, high=400.0, unit="mJ/cm2")
    for where, wanted in (("at entry", goals.at_entry), ("at tap", goals.at_tap)):
        for code, value in wanted.items():
            if code not in ANALYTES:
                raise OutsideValidRange(f"goal {where}", code, source="one of the engine's analytes")
            analyte = ANALYTES[code]
            within(f"goal for {analyte.name} {where}", value, low=analyte.low, high=analyte.high, unit=analyte.unit)
    if goals.ph_low is not None and goals.ph_high is not None:
        within("pH, upper goal", goals.ph_high, low=goals.ph_low, high=14.0)
    if not request.occupancy.months_open:
        raise OutsideValidRange("months open", "none", low=1, high=12)
    for month in request.occupancy.months_open:
        within("month open", month, low=1, high=12)
    seen: set[str] = set()
    for product in request.catalogue:
        if product.code in seen:
            raise OutsideValidRange("product code", product.code, source="each code once in a catalogue")
        seen.add(product.code)


def _dew_resistance(request: DesignRequest, water_c: float) -> float:
    """What a jacket must hold back so that the tank stays dry in the warmest room air."""
    site = request.site
    if not request.goals.dry_tank:
        return 0.0
    if site.room_c is None or site.room_humidity is None:
        raise MissingEvidence(
            ["room_air"],
            "Whether the tank sweats cannot be told before the warmest air in its room and the humidity are known. "
            "Read a thermometer and a hygrometer beside the tank.",
        )
    water = min(max(water_c, 0.0), 40.0)
    return float(least_jacket_mm(water, site.room_c, site.room_humidity, conductivity=1.0)) / 1000.0


def _temperature(request: DesignRequest) -> tuple[float, tuple[Finding, ...]]:
    if "temperature" in request.water:
        return float(request.water["temperature"]), ()
    assumed = figure(PRACTICE, "assumed_temperature")
    value = float(assumed.value[request.source.value])
    return value, (
        Finding(
            "temperature_assumed",
            Severity.NOTE,
            f"The water's temperature was not measured; {value:g} degC is assumed, the coldest to expect from "
            f"{SOURCE_WORDS[request.source]}.",
            "Measure it at the next visit.",
            "temperature",
            "common practice",
        ),
    )


@dataclass(frozen=True)
class Barrier:
    """What is wanted against germs: a dose of a class A unit, or logs by organism; and why."""

    dose: float = 0.0
    logs: Logs = NO_LOGS
    reason: str = ""
    citation: str = ""
    findings: tuple[Finding, ...] = ()
    germs: bool = False  # found or to be presumed; not where a barrier is merely asked for


def _barrier(request: DesignRequest) -> Barrier:
    """Germs found or to be presumed raise the barrier whatever the goals say."""
    found = [
        f"{ANALYTES[code].name} {request.water[code]:g} per 100 mL"
        for code in ("e_coli", "total_coliform")
        if request.water.get(code, 0.0) > 0
    ]
    presumed = request.source in (*SURFACE, *INFLUENCED)
    goals = request.goals
    required = required_logs(goals.barrier_rule, request.source, request.water.get("e_coli"), found=bool(found))
    if not found and not presumed:
        if goals.uv_dose > 0:
            return Barrier(goals.uv_dose, reason="A barrier against germs is asked for", findings=_virus(request))
        return Barrier(findings=_untested(request))
    reason = f"{' and '.join(found)} {'were' if len(found) > 1 else 'was'} found" if found else ""
    if presumed:
        words = f"water from {SOURCE_WORDS[request.source]} is presumed to carry germs, whatever one sample says"
        reason = f"{reason}, and {words}" if reason else words[0].upper() + words[1:]
    prove = (
        "Do not drink the water untreated until two samples in a row after the remedy are clear."
        if found
        else "Take a sample after commissioning; the water is not proven before the laboratory says so."
    )
    if required.logs:
        logs = tuple(required.logs.get(organism, 0.0) for organism in ORGANISMS)
        wanted = " and ".join(f"{value:g} log of {GERM_WORDS[name]}" for name, value in required.logs.items())
        message = f"{reason}: as {required.source_class}, {wanted} are wanted of every train here."
        raised = Finding("logs_required", Severity.HEALTH, message, prove, "barrier", required.citation)
        return Barrier(goals.uv_dose, (logs[0], logs[1], logs[2]), reason, required.citation, (raised,), germs=True)
    least = float(figure(PRACTICE, "barrier_dose").value)
    raised = Finding(
        "barrier_required",
        Severity.HEALTH,
        f"{reason}: a class A barrier of {least:g} mJ/cm2 with a filter of 5 um or finer ahead of it is part of "
        "every train here.",
        prove,
        "uv",
        "common practice by source class; NSF/ANSI 55 scope (second-hand)",
    )
    return Barrier(max(least, goals.uv_dose), reason=reason, findings=(raised, *_virus(request)), germs=True)


def _virus(request: DesignRequest) -> tuple[Finding, ...]:
    credit = figure(PRACTICE, "virus_credit_at_barrier")
    if request.source is SourceType.DRILLED_WELL and not request.site.septic:
        return ()
    return (
        Finding(
            "virus_credit",
            Severity.HEALTH,
            f"40 mJ/cm2 earns {credit.value:g} log against viruses, no more.",
            "Where viruses matter (septic nearby, shallow or surface water), add chlorine with contact time.",
            "uv",
            credit.citation,
        ),
    )


def _untested(request: DesignRequest) -> tuple[Finding, ...]:
    if "total_coliform" in request.water or "e_coli" in request.water:
        return ()
    return (
        Finding(
            "coliform_not_tested",
            Severity.HEALTH,
            "No coliform result is at hand, so no barrier against germs is part of the design.",
            "Book a coliform sample before this is quoted.",
            "total_coliform",
            "common practice",
        ),
    )


def _flow(request: DesignRequest, demand: PeakDemand) -> tuple[Finding, ...]:
    flow = request.supply.pump_flow_l_min.value
    if demand.flow_l_min <= flow:
        return ()
    outside = ", the outside taps with them," if is_split(request) else ""
    return (
        Finding(
            "pump_below_peak",
            Severity.COMFORT,
            f"At peak the taps{outside} can ask for {demand.flow_l_min:.1f} L/min; the pump delivers "
            f"{flow:.1f} L/min.",
            "The pressure tank covers short peaks; a larger pump or tank covers long ones.",
            "pump",
            "computed",
        ),
    )


def _held(flow_l_min: float, asked_l_min: float) -> Finding:
    return Finding(
        "restrictor_below_demand",
        Severity.COMFORT,
        f"The restrictor holds {flow_l_min:.3g} L/min; at peak the taps can ask for {asked_l_min:.3g} L/min.",
        "Tell the household that two taps at once run slower.",
        "restrictor",
        "computed",
    )


def _unproven(request: DesignRequest) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            "assumed_value",
            Severity.NOTE,
            f"{ANALYTES[code].name} was assumed, not measured.",
            f"Book a test for {ANALYTES[code].name.lower()}.",
            code,
            "given",
        )
        for code in request.unproven
        if code in ANALYTES
    )
