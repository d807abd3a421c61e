"""The values a design is asked with and answered by. No calculation here.

``DesignRequest`` -> ``sizing.engine.train.choose_train`` -> ``DesignOutcome``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Any

from sizing.engine.findings import Finding
from sizing.engine.water import Water
from sizing.engine.worksheet import Worksheet


class SourceType(StrEnum):
    """Where the water comes from."""

    DRILLED_WELL = "drilled_well"
    DUG_WELL = "dug_well"
    LAKE = "lake"
    RIVER = "river"
    SPRING = "spring"
    CISTERN = "cistern"


class StageKind(StrEnum):
    """Every kind of stage the engine can place. One class in ``sizing.engine.stages`` each."""

    SEDIMENT = "sediment"  # cartridge, coarse or fine; the rating says which
    BACKWASH = "backwash"  # backwashing sediment filter
    NEUTRALISER = "neutraliser"  # calcite bed
    AIROX = "airox"  # air-charged oxidising filter (iron, manganese, sulphide)
    SOFTENER = "softener"
    ORGANICS = "organics"  # tannin anion bed with salt tank
    CARBON = "carbon"  # cartridge or tank
    RESTRICTOR = "restrictor"
    UV = "uv"
    RO = "ro"  # reverse osmosis at one tap
    SCREEN = "screen"
    SODA_ASH = "soda_ash"
    CATALYTIC = "catalytic"
    PERMANGANATE = "permanganate"
    CHLORINE = "chlorine"
    RETENTION = "retention"
    NITRATE = "nitrate"
    ULTRAFILTER = "ultrafilter"
    TAP_CARBON = "tap_carbon"
    BOOSTER = "booster"
    REDUCER = "reducer"
    JACKET = "jacket"


class LifeKind(StrEnum):
    """What wears a part out."""

    CALENDAR = "calendar"  # months on the calendar
    OPERATING = "operating"  # months in operation (a lamp)
    LITRES = "litres"  # water passed
    OPENING = "opening"  # new at each opening of a seasonal place, yearly where occupied all year
    CONDITION = "condition"  # looked at; months = how often to look


@dataclass(frozen=True)
class LifeRule:
    """Life of a wearing part. ``amount`` is months, or litres for ``LITRES``; ``cap_months`` the calendar cap."""

    kind: LifeKind
    amount: float
    cap_months: float | None = None
    source: str = "common practice"


@dataclass(frozen=True)
class WearPart:
    """A part of a stage that wears: ``code`` is stable ("lamp", "cartridge", "salt", "resin", ...)."""

    code: str
    name: str
    life: LifeRule
    specification: str = ""  # open specification: "20 x 4.5 in, 5 um", "lamp 36 W, 4-pin, 843 mm"
    price: Decimal = Decimal(0)
    minutes: float = 20.0  # hands-on time to renew it
    by_customer: bool = False  # salt, for one


@dataclass(frozen=True)
class Product:
    """A catalogue item as the engine sees it. ``ratings`` is validated by the kind's schema (stages.SCHEMAS)."""

    code: str
    kind: StageKind
    name: str
    ratings: Mapping[str, Any]
    price: Decimal
    install_hours: float = 1.0
    size_label: str = ""  # short, for the drawing: "10 x 54 in, 42 L"
    certified_for: tuple[str, ...] = ()  # analyte codes whose reduction is a certified claim
    wear: tuple[WearPart, ...] = ()


@dataclass(frozen=True)
class Measured:
    """A number with its standard uncertainty (same unit)."""

    value: float
    sd: float = 0.0


@dataclass(frozen=True)
class Fixture:
    """``count`` fixtures of one code of the peak-demand table ("shower", "kitchen_faucet", ...)."""

    code: str
    count: int


@dataclass(frozen=True)
class Occupancy:
    """Who uses the water and when. ``months_open`` lists months 1-12 (all twelve = year-round).

    ``outside_litres_day`` runs from the outside taps on a day they are used, beside what people use.
    """

    people_usual: float
    people_peak: float
    months_open: tuple[int, ...] = tuple(range(1, 13))
    litres_per_person_day: float = 227.0
    outside_litres_day: float = 0.0


@dataclass(frozen=True)
class SupplySide:
    """Pump, tank and pipe as found. Flow is what the pump delivers at the tank between cut-in and cut-out."""

    pump_flow_l_min: Measured
    cut_in_kpa: float
    cut_out_kpa: float
    tank_volume_l: float
    pipe_nominal: str = "3/4"
    pipe_material: str = "copper"
    pipe_run_m: float = 15.0
    worst_fixture_height_m: float = 3.0
    worst_fixture_min_kpa: float = 138.0
    well_yield_l_min: float | None = None
    well_storage_l: float | None = None
    tank_diameter_m: float | None = None  # outer sizes of the pressure tank, for a jacket
    tank_height_m: float | None = None


@dataclass(frozen=True)
class SiteLimits:
    """What the place allows. Lengths in m; ``power`` is "mains", "12v" or "none".

    ``outside_untreated`` = the outside taps are branched off ahead of the treatment.
    """

    wall_m: float | None = None
    depth_m: float | None = None
    height_m: float | None = None
    drain: bool = True
    power: str = "mains"
    power_w: float | None = None
    winter_heated: bool = True
    winter_occupied: bool = True
    septic: bool = True
    boat_in: bool = False
    room_c: float | None = None  # warmest air where the tank stands, and its humidity: whether it sweats
    room_humidity: float | None = None
    infants_or_pregnancy: bool = False
    outside_untreated: bool = False


@dataclass(frozen=True)
class Goals:
    """Upper limits wanted, analyte code -> value, at the entry and at the drinking tap; and the barrier wanted.

    ``ph_low``/``ph_high`` bound pH at entry. ``uv_dose`` 0 = no microbial barrier wanted (never for a
    source that is surface water or has shown coliforms: the engine raises the barrier itself and says so).
    ``barrier_rule`` says by which rule a source with germs is judged: "household" asks for a class A unit, others
    (``log_credits.RULES``) for logs by organism, from whatever stages earn them. ``dry_tank`` asks that the pressure
    tank does not sweat. ``soften`` is "all", or "hot": the softener stands on the hot line ahead of the heater, and
    the hardness wanted at the entry is wanted of the hot water instead.
    """

    at_entry: Mapping[str, float] = field(default_factory=dict)
    at_tap: Mapping[str, float] = field(default_factory=dict)
    ph_low: float | None = 6.5
    ph_high: float | None = 8.5
    uv_dose: float = 0.0
    barrier_rule: str = "household"
    dry_tank: bool = False
    soften: str = "all"


@dataclass(frozen=True)
class CostTerms:
    """How whole-life cost is counted. Rates are real (after inflation), per year."""

    years: int = 15
    discount_rate: float = 0.03
    salt_per_kg: Decimal = Decimal("0.60")
    power_per_kwh: Decimal = Decimal("0.18")
    water_per_m3: Decimal = Decimal("0.50")
    labour_per_hour: Decimal = Decimal("95")
    visit: Decimal = Decimal("120")


@dataclass(frozen=True)
class DesignRequest:
    """Everything ``choose_train`` needs. ``water_sd`` gives standard uncertainties by analyte (absolute)."""

    water: Water
    source: SourceType
    supply: SupplySide
    fixtures: tuple[Fixture, ...]
    occupancy: Occupancy
    site: SiteLimits
    goals: Goals
    catalogue: tuple[Product, ...]
    cost: CostTerms = field(default_factory=CostTerms)
    water_sd: Mapping[str, float] = field(default_factory=dict)
    unproven: tuple[str, ...] = ()  # analytes assumed, not measured: carried as findings


@dataclass(frozen=True)
class Margin:
    """How far a value stands from the limit it must keep. ``sense`` "max" = stay below, "min" = stay above."""

    code: str
    label: str
    value: float
    limit: float
    unit: str
    sense: str
    quantity: str = ""

    @property
    def held(self) -> bool:
        """Whether the limit is kept."""
        return self.value <= self.limit if self.sense == "max" else self.value >= self.limit


@dataclass(frozen=True)
class Needs:
    """What a stage asks of the place at the design flow."""

    backwash_l_min: float = 0.0
    backwash_l: float = 0.0
    backwash_every_days: float | None = None
    drain: bool = False
    power_w: float = 0.0
    wall_m: float = 0.3
    depth_m: float = 0.3
    height_m: float = 0.6
    min_inlet_kpa: float = 0.0
    holds_litres: float = 0.0
    drainable: bool = True
    portable: bool = False


@dataclass(frozen=True)
class Setting:
    """A set-up value for the installer: "Hardness setting", 22, "gpg"."""

    name: str
    value: float | str
    unit: str = ""
    quantity: str = ""


@dataclass(frozen=True)
class PlacedStage:
    """One stage of a train, sized. ``at`` is "main", "hot" (on the hot line) or "tap";
    ``ahead_of`` rows explain its place in the order."""

    kind: StageKind
    product: Product
    at: str
    reasons: tuple[str, ...]
    protects: tuple[str, ...]
    loss_kpa: float
    loss_dirty_kpa: float
    needs: Needs
    settings: tuple[Setting, ...]
    numbers: tuple[Setting, ...]  # sizing numbers worth showing beside the stage
    wear: tuple[WearPart, ...]
    salt_kg_year: float = 0.0
    water_l_year: float = 0.0
    power_kwh_year: float = 0.0
    upkeep_hours_year: float = 0.0
    count: int = 1  # parallel units side by side


@dataclass(frozen=True)
class CostBars:
    """Whole-life cost split the way it is drawn; present value over ``CostTerms.years``."""

    bought: Decimal
    salt: Decimal
    parts: Decimal
    power: Decimal
    visits: Decimal

    @property
    def total(self) -> Decimal:
        """Sum of the five parts."""
        return self.bought + self.salt + self.parts + self.power + self.visits


@dataclass(frozen=True)
class Branch:
    """A line that leaves the main line: ``code`` is "outside" (ahead of the treatment), "hot" (softened
    behind it, ahead of the heater) or "tap" (one drinking tap).

    ``taps`` fixtures hang on it, which ask for ``flow_l_min`` at peak and ``litres_day`` on a day.
    """

    code: str
    taps: int
    flow_l_min: float
    litres_day: float


@dataclass(frozen=True)
class Train:
    """One admissible train. ``waters[0]`` is raw water after tank and branch, then after each main stage;
    ``tap_water`` after the polishing unit, ``hot_water`` after the softener on the hot line,
    if any. ``pressures_kpa`` goes with ``waters`` at peak flow. ``branches``
    are the lines that leave the main line, none where all the water of the house goes one way."""

    name: str
    stages: tuple[PlacedStage, ...]
    waters: tuple[Water, ...]
    tap_water: Water | None
    pressures_kpa: tuple[float, ...]
    margins: tuple[Margin, ...]
    findings: tuple[Finding, ...]
    first_cost: Decimal
    cost: CostBars
    upkeep_hours_year: float
    worksheet: Worksheet
    confidence: float | None = None  # share of plausible peaks in which every limit holds
    branches: tuple[Branch, ...] = ()
    hot_water: Water | None = None


@dataclass(frozen=True)
class Refusal:
    """A train (or product) looked at and refused, and the constraint it broke, with the numbers."""

    label: str
    constraint: str
    reason: str


@dataclass(frozen=True)
class DesignOutcome:
    """What the search found: ``trains`` best first (may be empty), why others were refused, how many were tried.

    When ``trains`` is empty ``conflict`` names the constraints that cannot be met together, and
    ``relaxations`` what would open a way, cheapest first.
    """

    trains: tuple[Train, ...]
    refusals: tuple[Refusal, ...]
    conflict: tuple[str, ...]
    relaxations: tuple[str, ...]
    findings: tuple[Finding, ...]
    searched: int
    peak_flow_l_min: float
    design_flow_l_min: float
    daily_l: float
    engine_version: str
    figures_version: str
