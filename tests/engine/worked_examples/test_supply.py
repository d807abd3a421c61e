"""Flow test, pressure tank, well and suction lift."""

import pytest

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.liquid import atmosphere_kpa
from sizing.engine.measures import KPA_PER_M, KPA_PER_PSI, L_PER_GAL, M_PER_FT, M_PER_IN
from sizing.engine.supply import bucket_test, drawdown_test
from sizing.engine.tank import drawdown_factor, plain_tank_l, tank_drawdown, tank_for_run_l
from sizing.engine.wells import (
    casing_l_per_m,
    check_well,
    minutes_to_empty,
    practical_lift_m,
    recovery_min,
    suction_head_available_m,
    well_storage_l,
)
from tests.engine.worked_examples.rows import Row, cases, run

GAL_FT = L_PER_GAL / M_PER_FT


def _switch(inputs):
    low, high = inputs.get("cut_in"), inputs.get("cut_out")
    if "switch" in inputs:
        low, high = (float(part) for part in inputs["switch"].split("/"))
    air = inputs.get("atm_kPa", inputs.get("atm_psi", 14.696) * KPA_PER_PSI)
    return low * KPA_PER_PSI, high * KPA_PER_PSI, inputs["precharge_psig"] * KPA_PER_PSI, air


def _drawdown(inputs):
    return inputs["tank_gal"] * drawdown_factor(*_switch(inputs))


def _acceptance(inputs):
    high, charge = inputs["cut_out"] * KPA_PER_PSI, inputs["precharge_psig"] * KPA_PER_PSI
    return tank_drawdown(300.0, charge + 2 * KPA_PER_PSI, high, precharge_kpa=charge).acceptance


def _refused(inputs):
    low, charge = inputs["cut_in"] * KPA_PER_PSI, inputs["precharge_psig"] * KPA_PER_PSI
    with pytest.raises(OutsideValidRange, match="precharge"):
        drawdown_factor(low, low + 140.0, charge)
    found = tank_drawdown(200.0, low, low + 140.0, precharge_kpa=charge).findings
    return "precharge_above_cut_in" in {finding.code for finding in found}


def _standing(inputs):
    per_foot = inputs["gal_per_ft"]
    across = (per_foot * L_PER_GAL / M_PER_FT / 1000 * 4 / 3.141592653589793) ** 0.5
    return well_storage_l(across, inputs["depth_ft"] * M_PER_FT, inputs["static_ft"] * M_PER_FT) / L_PER_GAL


def _suction(inputs):
    feet = M_PER_FT * KPA_PER_M
    head = suction_head_available_m(
        inputs["atm_ft"] * feet,
        inputs["vapor_ft"] * feet,
        inputs["static_ft"] * M_PER_FT,
        (inputs["entrance_ft"] + inputs["friction_ft"]) * M_PER_FT,
    )
    return head / M_PER_FT


def _suction_from_gauge(inputs):
    """The gauge reads pressure at the pump, so velocity and gauge height are added as static head."""
    static = inputs["V_ft_s"] ** 2 / 2 / 32.174 + inputs["gauge_height_ft"]
    absolute = (inputs["gauge_psi"] + inputs["atm_psi"]) * KPA_PER_PSI
    head = suction_head_available_m(min(absolute, 110.0), inputs["vapor_psi"] * KPA_PER_PSI, static * M_PER_FT, 0.0)
    return (head + max(absolute - 110.0, 0.0) / KPA_PER_M) / M_PER_FT


def _largest_lift(inputs):
    feet = M_PER_FT * KPA_PER_M
    head = suction_head_available_m(
        inputs["atm_ft"] * feet, inputs["vapor_ft"] * feet, 0.0, inputs["hf_ft"] * M_PER_FT
    )
    return head / M_PER_FT - inputs["npshr_ft"]


CHECKS = {
    "drawdown factor": lambda i: drawdown_factor(
        *_switch(i if "cut_in" in i or "switch" in i else {**i, "switch": "30/50"})
    ),
    "tank drawdown": _drawdown,
    "atmosphere, psi": lambda i: round(atmosphere_kpa(i["ft"] * M_PER_FT) / KPA_PER_PSI, 1),
    "tank for a run": lambda i: tank_for_run_l(i["pump_gpm"] * L_PER_GAL, i["run_min"], i["factor"]) / L_PER_GAL,
    "litres for a run": lambda i: tank_for_run_l(i["pump_gpm"], i["run_min"], 1.0),
    "flow test": lambda i: drawdown_test(i["gallons"] * L_PER_GAL, i["refill_s"]).flow_l_min / L_PER_GAL,
    "bucket": lambda i: bucket_test(i["gallons"] * L_PER_GAL, i["seconds"]).flow_l_min / L_PER_GAL,
    "acceptance": _acceptance,
    "plain tank": lambda i: plain_tank_l(i["pump_gpm"] * L_PER_GAL, i["switch"]) / L_PER_GAL,
    "casing": lambda i: casing_l_per_m(i["casing_in"] * M_PER_IN) / GAL_FT,
    "standing water": _standing,
    "minutes to empty": lambda i: minutes_to_empty(i["stored_gal"], i["peak_gpm"], i["yield_gpm"]),
    "recovery": lambda i: recovery_min(i["stored_gal"], i["yield_gpm"]),
    "yield of a day": lambda i: check_well(0.0, i["gpm"], 1.0).daily_yield_l,
    "well storage": lambda i: well_storage_l(i["bore_mm"] / 1000, i["column_m"], 0.0),
    "well in two hours": lambda i: (
        check_well(i["stored_L"], i["yield_L_min"], 1200.0, peak_hours=i["hours"]).available_l
    ),
    "water of a county rule": lambda i: figure("household-use", "county_well").value[0] * i["hours"] * 60,
    "refused precharge": _refused,
    "suction head": _suction,
    "suction head from gauge": _suction_from_gauge,
    "largest lift": _largest_lift,
    "practical lift": lambda i: practical_lift_m(i["elevation_ft"] * M_PER_FT) / M_PER_FT,
}


@pytest.mark.parametrize("row", cases("supply"))
def test_supply_agrees_with_what_is_printed(row: Row) -> None:
    run(row, CHECKS)
