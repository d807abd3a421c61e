"""One ordinary call of everything in the engine that refuses a number: what the refusals are tried on.

``call(guard)`` gives a function of keywords and the keywords of an ordinary case. A guard is named by the function it
stands in. Where that function takes a list, a class or a water, a small function here takes the plain number instead.
"""

from __future__ import annotations

import importlib
import inspect
from collections.abc import Callable
from datetime import date
from typing import Any

from sizing.engine import (
    beds,
    carbonate,
    cartridges,
    contact,
    cost,
    hydraulics,
    lab_uncertainty,
    liquid,
    media,
    membranes,
    neutraliser,
    oxidation,
    power,
    saturation,
    sun,
    supply,
    sweat,
    tank,
    uv,
    wells,
)
from sizing.engine.demand import Fixture
from sizing.engine.design import LifeKind, LifeRule, SourceType, WearPart
from sizing.engine.exchange import capacity_from_ratings
from sizing.engine.water import Water

WELL = {"ph": 7.3, "alkalinity": 250.0, "calcium": 90.0, "temperature": 10.0, "conductivity": 657.0}
SOFT = WELL | {"alkalinity": 5.0}
ACID = {"ph": 6.2, "alkalinity": 30.0, "calcium": 11.0, "temperature": 8.0, "tds": 58.8}

# What a parameter of this name ordinarily is.
ORDINARY: dict[str, Any] = {
    "absolute": True,
    "absorbance": 0.1,
    "air_c": 25.0,
    "alkalinity": 200.0,
    "alkalinity_removed_fraction": 0.5,
    "altitude_m": 200.0,
    "amount": 12.5,
    "amps": 2.0,
    "anions": 4.0,
    "area_m2": 0.05,
    "atmosphere_kpa": 101.0,
    "awg": 12,
    "baffling": 0.3,
    "bed_depth_m": 0.8,
    "bed_kg": 40.0,
    "bed_l": 40.0,
    "bicarbonate": 200.0,
    "bore": 0.02,
    "bore_m": 0.02,
    "calcite": 60.0,
    "calcium": 80.0,
    "calcium_hardness": 200.0,
    "calcium_removed": 60.0,
    "capacity_g": 1200.0,
    "capacity_mg_g": 50.0,
    "cations": 4.0,
    "celsius": 10.0,
    "chloride": 20.0,
    "chlorine": 1.0,
    "clean_kpa": 10.0,
    "code": "sand",
    "compensated": 300.0,
    "concentration": 100.0,
    "curve": wells.fit_pump_curve([(0.0, 60.0), (40.0, 40.0)]),
    "cut_in_kpa": 207.0,
    "cut_out_kpa": 345.0,
    "daily_l": 900.0,
    "day": date(2025, 6, 21),
    "day_of_year": 100,
    "days": 3.0,
    "days_without_sun": 3.0,
    "demand": 5.0,
    "demand_initiated": True,
    "density_kg_l": 1.1,
    "depth_m": 0.7,
    "diameter_in": 10.0,
    "diameter_m": 0.15,
    "dirt_g": 100.0,
    "dissolved_oxygen": 5.0,
    "dose": 40.0,
    "dose_mg_l": 2.0,
    "draw_l_min": 20.0,
    "drop_percent": 3.0,
    "e_coli": 0.0,
    "elevation_m": 200.0,
    "eq_per_l": 0.3,
    "equilibrium_ph": 7.5,
    "evaporated": 0.2,
    "expansion": 0.3,
    "factor": 0.3,
    "fahrenheit": 50.0,
    "feed_kpa": 400.0,
    "fitting": "90 ell",
    "fixtures": [Fixture("shower", 2)],
    "flow_l_min": 20.0,
    "friction_m": 1.0,
    "gap_cm": 2.5,
    "grain_kg_m3": 2650.0,
    "grain_m": 0.0005,
    "grain_mm": 0.55,
    "hardness": 300.0,
    "hardness_gpg": 15.0,
    "hardness_removed": 250.0,
    "head_l": 10.0,
    "height_m": 1.4,
    "hours": 4000.0,
    "humidity_percent": 60.0,
    "ionic_strength": 0.01,
    "iron": 1.0,
    "jurisdiction": "us",
    "kinematic_m2_s": 1.3e-6,
    "latitude": 45.0,
    "length_m": 20.0,
    "life_years": 5.0,
    "lift_m": 20.0,
    "litres": 20.0,
    "litres_drawn": 40.0,
    "load_g_day": 300.0,
    "loaded_share": 0.5,
    "log": 3.0,
    "log_pco2": -3.4,
    "longitude": -75.0,
    "made_wh": 900.0,
    "magnesium": 20.0,
    "magnesium_removed": 15.0,
    "manganese": 0.3,
    "media_l": 40.0,
    "mg_l_gal_per_ft3": 100_000.0,
    "minutes": 10.0,
    "months_open": 12,
    "nitrate": 12.0,
    "nitrate_as_no3": 45.0,
    "nitrate_n": 10.0,
    "ntu": 5.0,
    "ohm_per_m": 0.005,
    "one_way_m": 20.0,
    "organism": "virus",
    "path_mm": 10.0,
    "people": 4.0,
    "percent": 6.0,
    "permeate_alkalinity": 15.0,
    "ph": 7.0,
    "porosity": 0.42,
    "precharge_kpa": 193.0,
    "pressure_kpa": 300.0,
    "product": 10.0,
    "pump_flow_l_min": 40.0,
    "rate": 10.0,
    "rating_um": 1.0,
    "raw": 300.0,
    "reagent": "soda_ash",
    "recovery": 0.3,
    "refill_seconds": 60.0,
    "reject_per_product": 4.0,
    "rejected": 0.9,
    "removed_mg_l": 1.0,
    "resin_l": 28.3,
    "reynolds": 10_000.0,
    "rise_m": 6.0,
    "run_l": 3000.0,
    "run_min": 2.0,
    "salt_kg": 4.0,
    "saturated_ph": 7.4,
    "settling_m_s": 0.08,
    "solution_g_l": 5.0,
    "speed_m_s": 0.01,
    "static_level_m": 10.0,
    "static_m": 2.0,
    "stored_l": 500.0,
    "strength_g_l": 60.0,
    "sulphate": 40.0,
    "sulphide": 0.5,
    "sun_kwh_m2": 4.0,
    "surface_c": 15.0,
    "suspended_mg_l": 5.0,
    "switch": "30-50",
    "tank_area_m2": 0.05,
    "tank_height_m": 1.4,
    "tank_kpa": 200.0,
    "tank_l": 60.0,
    "tank_m": 0.4,
    "tank_volume_l": 150.0,
    "tannin": 1.0,
    "target": 100.0,
    "target_ph": 7.5,
    "tds": 400.0,
    "tds_mg_l": 400.0,
    "temperature_c": 10.0,
    "thickness_mm": 10.0,
    "total_coliform": 0.0,
    "trade_percent": 12.5,
    "unit": uv.UvUnit(45.0, 85.0, unit_class="A"),
    "use_kg_year": 30.0,
    "uvt": 85.0,
    "vapour_kpa": 1.2,
    "volts": 12.0,
    "volume_l": 40.0,
    "water_c": 8.0,
    "water_column_m": 30.0,
    "water_l": 200.0,
    "weight_percent": 5.25,
    "wh_day": 500.0,
    "wsfu": 20.0,
    "years": 10.0,
    "yield_l_min": 10.0,
}

# Where the ordinary value of a name does not suit one function.
INSTEAD: dict[str, dict[str, Any]] = {
    "log_credits.required_logs": {"rule": "quebec", "source": SourceType.LAKE, "found": True},
    "anion.nitrate_run": {"sulphate": 0.0, "alkalinity": 0.0},
    "boiling.concentration_after_boiling": {"value": 10.0},
    "beds.drag_coefficient": {"reynolds": 100.0},
    "contact.chloramine_ct": {"organism": "giardia"},
    "cost.annuity": {"rate": 0.03},
    "cost.renewals": {"rate": 0.03},
    "exchange.compensated_hardness": {"iron_factor": 4.0, "manganese_factor": 4.0},
    "exchange.service_flow": {"tank_area_m2": 0.05},
    "hydraulics.stage_loss_kpa": {"points": [(20.0, 40.0)]},
    "oxidation.air_charge_run": {"carried": 0.0},
    "oxidation.sludge": {"iron": 1.0, "manganese": 1.0},
    "regeneration.best_salt_dose": {"hardness": 300.0},
    "regeneration.regeneration_water": {"backwash_l_min": 12.0, "backwash_min": 10.0},
    "regeneration.year_of_salt": {"hardness": 300.0},
    "saturation.saturation_indices": {"alkalinity": 5.0},
    "sweat.surface_c": {"tank_m": 0.4},
    "tank.tank_drawdown": {"pump_flow_l_min": 40.0},
    "unusual.is_unusual": {"analyte": "iron", "value": 3.0},
    "uv.uvt_per_cm": {"percent": 90.0},
    "well_readings.treatment_target": {"jurisdiction": "quebec", "mean_e_coli": 10.0},
    "wells.well_storage_l": {"depth_m": 30.0},
}


def _water(start: dict[str, float], **changed: float) -> Water:
    return Water(start | changed)


def _supply_run(litres: float = 20.0, seconds: float = 60.0) -> Any:
    return supply.bucket_test(litres, seconds)


def _life(amount: float = 5.0) -> Any:
    return cost.life_years(WearPart("lamp", "Lamp", LifeRule(LifeKind.OPERATING, amount)), (6, 7), 600.0)


def _shaped(fraction: float = 1.0, voids: float = 0.6, **rest: float) -> Any:
    return beds.expanded_depth_m(rest.get("depth_m", 0.7), rest.get("porosity", 0.42), [fraction], [voids])


def _layer(fraction: float = 1.0, porosity: float = 0.42, depth_m: float = 0.7) -> Any:
    return beds.rose_kpa(0.003, depth_m, porosity, [fraction], [0.0005])


def _settling(grain_mm: float = 0.5, grain_kg_m3: float = 2650.0) -> Any:
    return beds.settling_m_s(grain_mm, grain_kg_m3, liquid=(1000.0, 0.0013))


def _rated_loss(flow: float = 20.0, loss: float = 40.0, linear_share: float = 0.0) -> Any:
    return hydraulics.stage_loss_kpa(10.0, [(flow, loss)], linear_share=linear_share)


def _salt_points(second: float = 1600.0, salt_kg: float = 2.72) -> Any:
    return capacity_from_ratings([(1.18, 713.0), (3.54, second), (6.08, 2015.0)], 27.75, salt_kg)


def _reagent(**changed: Any) -> Any:
    rest = {name: changed.pop(name) for name in ("target_ph", "reagent") if name in changed}
    return neutraliser.dose_to_ph(_water(ACID, **changed), rest.get("target_ph", 7.5), rest.get("reagent", "calcite"))


def _load(watts: float = 30.0, hours_day: float = 4.0) -> Any:
    return power.daily_wh([power.Load("pump", watts, hours_day)])


def _pump(flow: float = 40.0, head: float = 60.0) -> Any:
    return wells.fit_pump_curve([(0.0, head), (flow, 0.0)])


def _uncertainty(value: float = 5.0, code: str = "iron") -> Any:
    return lab_uncertainty.result_uncertainty(code, value)


# A private function, a class or a list: reached as its users reach it, by plain numbers.
THROUGH: dict[str, Callable[..., Any]] = {
    "beds.expanded_depth_m": _shaped,
    "beds.rose_kpa": _layer,
    "beds.settling_m_s": _settling,
    "carbonate.stripped_ph": lambda log_pco2=-3.4: carbonate.stripped_ph(carbonate.system_of(_water(ACID)), log_pco2),
    "carbonate.system_of": lambda **changed: carbonate.system_of(_water(WELL, **changed)),
    "cartridges._lengths": lambda length_in=10.0: cartridges.rated_flow_l_min(2.5, length_in),
    "contact._checked": lambda temperature_c=10.0, ph=7.0, chlorine=1.0: contact.giardia_ct(
        temperature_c, ph, chlorine
    ),
    "cost.life_years": _life,
    "exchange.capacity_from_ratings": _salt_points,
    "hydraulics._rated": _rated_loss,
    "lab_uncertainty.result_uncertainty": _uncertainty,
    "liquid._celsius": lambda temperature_c=10.0: liquid.viscosity_pa_s(temperature_c),
    "media._galileo": lambda grain_mm=0.5, grain_kg_m3=2650.0: media.fluidisation_m_h(grain_mm, grain_kg_m3),
    "membranes.Membrane.__post_init__": lambda rated_l_d=190.0, rated_kpa=414.0, recovery=0.2: membranes.Membrane(
        rated_l_d, rated_kpa, recovery=recovery
    ),
    "neutraliser.dose_to_ph": _reagent,
    "neutraliser.neutralise": lambda approach=0.75: neutraliser.neutralise(_water(ACID), approach),
    "oxidation._demand": lambda iron=1.0, manganese=0.3, sulphide=0.5: oxidation.oxygen_demand(
        iron, manganese, sulphide
    ),
    "power.daily_wh": _load,
    "saturation.paired_indices": lambda **changed: saturation.paired_indices(_water(SOFT, **changed)),
    "sun._latitude": lambda latitude=45.0: sun.extraterrestrial_kwh_m2(latitude, 100),
    "supply._runs": _supply_run,
    "sweat._air": lambda air_c=25.0, humidity_percent=60.0: sweat.dew_point_magnus_c(air_c, humidity_percent),
    "tank._switch": lambda cut_in_kpa=207.0, cut_out_kpa=345.0, precharge_kpa=193.0: tank.drawdown_factor(
        cut_in_kpa, cut_out_kpa, precharge_kpa
    ),
    "uv.UvUnit.__post_init__": lambda rated_flow_l_min=45.0, rated_uvt=85.0, rated_dose=40.0: uv.UvUnit(
        rated_flow_l_min, rated_uvt, rated_dose
    ),
    "wells.fit_pump_curve": _pump,
}


def call(guard: str) -> tuple[Callable[..., Any], dict[str, Any]]:
    """The function to call for a guard, and the keywords of an ordinary call."""
    if guard in THROUGH:
        return THROUGH[guard], {}
    module, _, name = guard.partition(".")
    function = getattr(importlib.import_module(f"sizing.engine.{module}"), name)
    needed = [n for n, p in inspect.signature(function).parameters.items() if p.default is inspect.Parameter.empty]
    instead = INSTEAD.get(guard, {})
    return function, {name: ORDINARY[name] for name in needed if name not in instead} | instead
