"""Battery, panel, cable and sun."""

from datetime import date

import pytest

from sizing.engine.figures import figure
from sizing.engine.measures import M_PER_FT
from sizing.engine.power import (
    Load,
    array_w,
    awg_area_mm2,
    battery_ah,
    battery_temperature_factor,
    daily_wh,
    smallest_awg,
    voltage_drop_v,
    wire_index,
    wire_ohm_per_m,
)
from sizing.engine.sun import clear_sky_kwh_m2, day_length_h, extraterrestrial_kwh_m2
from tests.engine.worked_examples.rows import Row, cases, run

KFT = 1000 * M_PER_FT


def _battery(inputs):
    energy = inputs.get("Wh_day") or daily_wh([Load("lamp", inputs["W"], inputs["hours"])])
    return battery_ah(
        energy,
        inputs["days"],
        volts=inputs["V"],
        depth_of_discharge=inputs["dod"],
        inverter_share=inputs.get("k_inv", 1.0),
        cable_share=inputs.get("k_cable", 1.0),
    )


def _kept(inputs):
    """Energy a battery keeps: its Ah times its volts."""
    return 12.0 * battery_ah(
        inputs.get("Wh_day", inputs.get("Wh")), inputs.get("days", 1.0), depth_of_discharge=inputs.get("dod", 1.0)
    )


def _drop(inputs):
    if "awg" in inputs:
        return voltage_drop_v(inputs["A"], inputs["one_way_ft"] * M_PER_FT, inputs["ohm_kft"] / KFT)
    return voltage_drop_v(inputs["A"], inputs["one_way_m"], inputs["rho_ohm_mm2_m"] / inputs["area_mm2"])


def _sky(inputs):
    return clear_sky_kwh_m2(
        inputs["lat"],
        inputs.get("lon", -79.4),
        date.fromisoformat(inputs["date"]),
        altitude_m=inputs.get("alt_m", 300.0),
        tilt_deg=inputs.get("tilt_deg", 0.0),
        model=inputs.get("model", "ineichen"),
        linke_turbidity=inputs.get("linke_turbidity", 3.0),
    )


def _table(key):
    return lambda inputs: figure("off-grid-practice", key).value[str(inputs["awg"])]


CHECKS = {
    "battery in the cold": lambda i: battery_temperature_factor((i["T_F"] - 32) / 1.8),
    "energy kept": _kept,
    "battery from energy": lambda i: battery_ah(i["Wh"], 1.0, volts=i["V"], depth_of_discharge=1.0),
    "battery, short rule": lambda i: battery_ah(i["Wh_day"], i["days_factor"], volts=i["V"], depth_of_discharge=1.0),
    "battery": _battery,
    "panel": lambda i: array_w(i["Wh_day"], i["psh"], system_factor=i["K"]),
    "wire at 20 C": lambda i: wire_ohm_per_m(i["awg"]) * KFT,
    "wire at 75 C": _table("ohm_75c"),
    "stranded wire at 75 C": _table("ohm_75c_stranded"),
    "wire in conduit": _table("ohm_75c_conduit"),
    "voltage drop": _drop,
    "wire area": lambda i: awg_area_mm2(i["awg"]),
    "wire size": lambda i: smallest_awg(i["A"], i["round_trip_ft"] / 2 * M_PER_FT, volts=i["V"], temperature_c=75.0),
    "wire index": lambda i: wire_index(i["A"], i["one_way_ft"] * M_PER_FT, i["V"], i["loss_pct"]),
    "clear sky": _sky,
    "clear sky, tilted": _sky,
    "day length": lambda i: day_length_h(i["lat"], i["day"]),
}


@pytest.mark.parametrize("row", cases("off_grid"))
def test_off_grid_agrees_with_what_is_printed(row: Row) -> None:
    per_unit = {"MJ/m2/day": 3.6}.get(row.unit, 1.0)
    above = {"above the air": lambda i: extraterrestrial_kwh_m2(i["lat"], i["day"]) * per_unit}
    run(row, {**CHECKS, **above})
