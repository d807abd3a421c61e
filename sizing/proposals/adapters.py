"""Household rows to the engine's request, and its answer back to rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from customers.flow_tests.models import FlowTest
from customers.flow_tests.queries import latest_flow
from customers.households.models import Site
from customers.households.queries import months_open
from customers.water_tests.models import Place, Result
from customers.water_tests.queries import newest, rows_of
from sizing.catalogue.queries import active_products
from sizing.engine.design import (
    CostTerms,
    DesignRequest,
    Fixture,
    Goals,
    Measured,
    Occupancy,
    Product,
    SiteLimits,
    SourceType,
    SupplySide,
)
from sizing.engine.errors import MissingEvidence
from sizing.engine.lab_uncertainty import as_measured
from sizing.engine.reported import parse_result
from sizing.engine.water import Water
from sizing.engine.wells import well_storage_l

RAW_TEST = "raw water test"
COUNTED = ("total_coliform", "e_coli", "iron_bacteria")  # present or not: no spread to draw from


@dataclass(frozen=True)
class Wishes:
    """What a person set at the bench beside the evidence: limits wanted (canonical units), how cost counts, whether
    outside taps branch off ahead of the treatment (``None`` = as the household's file says), and whether the pressure
    tank must stay dry."""

    at_entry: Mapping[str, float] = field(default_factory=dict)
    at_tap: Mapping[str, float] = field(default_factory=dict)
    ph_low: float | None = 6.5
    ph_high: float | None = 8.5
    uv_dose: float = 0.0
    min_fixture_kpa: float | None = None
    years: int | None = None
    outside_untreated: bool | None = None
    outside_litres_day: float = 0.0
    soften: str = "all"  # or "hot"
    dry_tank: bool = False


def number_for_design(result: Result) -> float | None:
    """The number a design may use for a result, on the careful side (a reporting limit for "below" it)."""
    return parse_result(result.text, result.analyte, result.unit_text).for_water


@dataclass(frozen=True)
class RawReading:
    """The newest raw-water results, read once: everything a design takes from them."""

    results: Mapping[str, Result]

    @property
    def water(self) -> Water:
        """The engine's water, of the results that have a usable number."""
        numbers = {code: number_for_design(result) for code, result in sorted(self.results.items())}
        return Water({code: number for code, number in numbers.items() if number is not None})

    @property
    def unusable(self) -> tuple[str, ...]:
        """Analytes whose result is no number a design could use."""
        return tuple(code for code, result in sorted(self.results.items()) if number_for_design(result) is None)

    @property
    def spread(self) -> dict[str, float]:
        """Standard uncertainty of each number, from the laboratory method's usual spread."""
        found = {}
        for analyte, result in self.results.items():
            reported = parse_result(result.text, analyte, result.unit_text)
            if reported.qualifier in ("equal", "below") and reported.canonical is not None and analyte not in COUNTED:
                found[analyte] = as_measured(reported).sd
        return found


def read_raw(site: Site) -> RawReading:
    """The newest raw-water results. Where nothing is fitted yet, samples at the entry or a tap are raw water
    too; raw samples come first."""
    return raw_of(site, rows_of(site))


def raw_of(site: Site, rows: Sequence[Result]) -> RawReading:
    """The same from results read before, newest first."""
    results = newest(rows, [Place.RAW])
    if any(row.test.place in (Place.ENTRY, Place.TAP) for row in rows):
        fitted = site.stages.exclude(state="retired").exists()
        results = results if fitted else {**newest(rows, [Place.TAP]), **newest(rows, [Place.ENTRY]), **results}
    return RawReading(results)


def raw_water(site: Site) -> tuple[Water, tuple[str, ...]]:
    """The newest raw-water results as the engine's water, and the analytes that had no usable number."""
    raw = read_raw(site)
    return raw.water, raw.unusable


def missing_evidence(site: Site, flow: FlowTest | None, water: Water) -> list[tuple[str, str]]:
    """What must be measured before anything can be designed: (what, how to get it), in words."""
    missing: list[tuple[str, str]] = []
    if flow is None:
        missing.append(("flow test", "draw the pressure tank down and time the refill"))
    cut_in = (flow and flow.cut_in_kpa) or site.cut_in_kpa
    cut_out = (flow and flow.cut_out_kpa) or site.cut_out_kpa
    if not cut_in or not cut_out:
        missing.append(("pressure switch", "read cut-in and cut-out at the gauge"))
    if not site.tank_volume_l:
        missing.append(("pressure tank volume", "read the tank's label"))
    if not site.fixtures.exists():
        missing.append(("fixtures", "count showers, toilets, sinks and machines"))
    if not water.values:
        missing.append((RAW_TEST, "sample before any treatment"))
    return missing


def request_for(
    *,
    site: Site,
    wishes: Wishes,
    on: date,
    raw: RawReading | None = None,
    products: tuple[Product, ...] | None = None,
) -> DesignRequest:
    """The engine's request for a household at the prices of a day; ``raw`` and ``products`` where they were read
    before.

    Raises ``MissingEvidence`` naming everything that is missing.
    """
    flow = latest_flow(site)
    raw = raw or read_raw(site)
    water = raw.water
    missing = missing_evidence(site, flow, water)
    if missing or flow is None:
        what = ", ".join(name for name, _how in missing)
        raise MissingEvidence([name for name, _how in missing], f"Not measured yet: {what}")
    if "temperature" not in water:
        water = water.with_values(temperature=site.water_temperature_c)
    return DesignRequest(
        water=water,
        source=SourceType(site.source),
        supply=_supply(site, flow, wishes),
        fixtures=tuple(Fixture(f.code, f.count) for f in site.fixtures.order_by("code")),
        occupancy=Occupancy(
            people_usual=site.people_usual,
            people_peak=site.people_peak,
            months_open=months_open(site),
            outside_litres_day=wishes.outside_litres_day,
        ),
        site=SiteLimits(
            wall_m=site.wall_m,
            depth_m=site.depth_m,
            height_m=site.height_m,
            drain=site.drain,
            power=site.power,
            power_w=site.power_w,
            winter_heated=site.winter_heated,
            winter_occupied=not site.seasonal,
            septic=site.septic,
            boat_in=site.access_by == "boat",
            infants_or_pregnancy=site.infants_or_pregnancy,
            room_c=site.room_c,
            room_humidity=site.room_humidity,
            outside_untreated=site.untreated_tap if wishes.outside_untreated is None else wishes.outside_untreated,
        ),
        goals=Goals(
            at_entry=dict(wishes.at_entry),
            at_tap=dict(wishes.at_tap),
            ph_low=wishes.ph_low,
            ph_high=wishes.ph_high,
            uv_dose=wishes.uv_dose,
            soften=wishes.soften,
            dry_tank=wishes.dry_tank,
        ),
        catalogue=active_products(on) if products is None else products,
        cost=_cost(site, wishes),
        water_sd=raw.spread,
        unproven=raw.unusable,
    )


def _supply(site: Site, flow: FlowTest, wishes: Wishes) -> SupplySide:
    return SupplySide(
        pump_flow_l_min=Measured(flow.flow_l_min, flow.sd_l_min),
        cut_in_kpa=float(flow.cut_in_kpa or site.cut_in_kpa or 0),
        cut_out_kpa=float(flow.cut_out_kpa or site.cut_out_kpa or 0),
        tank_volume_l=float(site.tank_volume_l or 0),
        pipe_nominal=site.pipe_size,
        pipe_material=site.pipe_material,
        pipe_run_m=site.pipe_run_m,
        worst_fixture_height_m=site.worst_fixture_height_m,
        worst_fixture_min_kpa=wishes.min_fixture_kpa or site.worst_fixture_min_kpa,
        well_yield_l_min=site.well_yield_l_min,
        well_storage_l=_stored_l(site),
        tank_diameter_m=site.tank_diameter_m,
        tank_height_m=site.tank_height_m,
    )


def _stored_l(site: Site) -> float | None:
    """Water that stands above the pump, where the bore and the standing water are known."""
    well = site.source in (SourceType.DRILLED_WELL, SourceType.DUG_WELL)
    if not well or site.casing_mm is None or site.standing_water_m is None:
        return None
    return float(well_storage_l(site.casing_mm / 1000.0, site.standing_water_m, 0.0))


def _cost(site: Site, wishes: Wishes) -> CostTerms:
    dealer = site.dealer
    return CostTerms(
        years=wishes.years or dealer.cost_years,
        discount_rate=float(dealer.discount_rate / Decimal(100)),
        salt_per_kg=dealer.salt_per_kg,
        power_per_kwh=dealer.power_per_kwh,
        water_per_m3=dealer.water_per_m3,
        labour_per_hour=dealer.labour_per_hour,
        visit=dealer.visit_price,
    )
