"""Limits, readings, chlorine contact, shock doses and boiling against published and computed rows."""

import math

import numpy as np
import pytest

from sizing.engine import boiling, chlorination, contact, limits, well_readings
from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.quantities import KG_PER_POUND, L_PER_GALLON, L_PER_IMPERIAL_GALLON, M_PER_FOOT, M_PER_INCH
from tests.engine.worked_examples.answers import answer
from tests.engine.worked_examples.rows import cases

OUNCE_KG = KG_PER_POUND / 16.0
FLUID_OUNCE_L = L_PER_GALLON / 128.0
CUP_L = L_PER_GALLON / 16.0


def _printed(i):
    """The value in force (or the only one) for an analyte, as the authority prints it."""
    return [
        float(limit.printed.split()[0])
        for limit in limits.printed_limits(i["jurisdiction"])
        if limit.analyte == i["analyte"] and limit.printed.partition(" ")[2] == i["unit"]
    ]


def _standing(i):
    return next(limit.standing for limit in limits.printed_limits(i["jurisdiction"]) if limit.key == i["key"])


def _none(i):
    found = [limit for limit in limits.printed_limits(i["jurisdiction"]) if limit.analyte == i["analyte"]]
    return found if found else "none"


def _limits_of(i):
    known = {limit.key: limit.value for limit in limits.printed_limits(i["jurisdiction"])}
    return [known[key] for key in i["keys"]]


LIMITS = {"standing_of": _standing, "no_limit": _none, "limits_of": _limits_of}

READINGS = {
    "ontario_reading": lambda i: (
        well_readings.ontario_reading(i["total_coliform_per_100mL"], i["ecoli_per_100mL"]).value
    ),
    "surface_water_cleared_by_a_sample": lambda i: (
        well_readings.ontario_reading(0, 0, surface_water=True) is not well_readings.SampleReading.DO_NOT_DRINK
    ),
    "target": lambda i: well_readings.treatment_target(i["jurisdiction"], i.get("ecoli"))[i["organism"]],
    "boil_minutes": lambda i: boiling.boil_minutes(i["elevation"], i["agency"]),
    "feet_to_m": lambda i: i["ft"] * M_PER_FOOT,
    "after_boiling": lambda i: boiling.concentration_after_boiling(i["NO3_N_mg_L"], i["fraction_evaporated"]),
    "boiling_helps": lambda i: boiling.boiling_helps(i["problems"]),
}


def _ph(i):
    return 7.5 if i["pH"] == "6-9" else float(i["pH"])


def _virus_1991(i):
    column = "ph_10" if i["pH"] == 10 else "ph_6_9"
    temperatures = figure(contact.MANUAL, "virus_temperatures").value
    row = figure("swtr-guidance-1991", f"virus_{i['log']:g}_log").value[column]
    printed = row[temperatures.index(float(i["temp_C"]))]
    assert contact.virus_ct(i["temp_C"], _ph(i), float(i["log"])) >= printed
    return printed


def _other(i):
    rows = figure(contact.MANUAL, "other_oxidants").value
    return rows[i["key"]][rows["temperatures"].index(float(i["temp_C"]))]


def _litres_per_minute(i):
    return i["volume_gal"] * L_PER_GALLON, i["flow_gpm"] * L_PER_GALLON


def _credit(i):
    volume, flow = _litres_per_minute(i)
    minutes = contact.contact_time(volume, flow, i["baffling"])
    return contact.contact_credit([(i["C_mg_L"], minutes)], i["temp_C"], i["pH"])


def _rounding(i):
    """Which way the look-up moves between two cells: seen from the answer, not from the code."""
    low, high = {"temperature": (10.0, 15.0), "pH": (7.0, 7.5), "free chlorine": (1.0, 1.2)}[i["parameter"]]

    def need(value):
        given = {"temperature": 12.0, "pH": 7.0, "free chlorine": 1.0} | {i["parameter"]: value}
        return contact.giardia_ct(given["temperature"], given["pH"], given["free chlorine"])

    between = need(0.5 * (low + high))
    assert between in (need(low), need(high))
    return "down" if between == need(low) else "up"


def _refused(i):
    with pytest.raises(OutsideValidRange, match=r"pH is 9\.4"):
        contact.giardia_ct(i["temp_C"], i["pH"], 1.0)
    return "no value - refuse"


def _cells_below(i):
    temperatures, chlorine, phs = np.meshgrid(
        *(figure(contact.MANUAL, f"giardia_{axis}").value for axis in ("temperatures", "chlorine", "ph")),
        indexing="ij",
    )
    table = np.asarray(figure(contact.MANUAL, "giardia_ct").value)
    assert table.size == i["cells"]
    return int((contact.giardia_ct_short(temperatures, phs, chlorine) < table).sum())


CONTACT = {
    "giardia_table": lambda i: contact.giardia_ct(i["temp_C"], i["pH"], i["free_Cl2_mg_L"]),
    "giardia_fraction": lambda i: round(
        contact.giardia_ct(i["temp_C"], i["pH"], i["free_Cl2_mg_L"], float(i["log"]))
    ),
    "giardia_interpolated": lambda i: contact.giardia_ct_interpolated(i["temp_C"], i["pH"], i["free_Cl2_mg_L"]),
    "giardia_regression": lambda i: contact.giardia_ct_regression(i["temp_C"], i["pH"], i["free_Cl2_mg_L"]),
    "giardia_short": lambda i: contact.giardia_ct_short(i["temp_C"], i["pH"], i["free_Cl2_mg_L"]),
    "virus_table": lambda i: contact.virus_ct(i["temp_C"], _ph(i)),
    "virus_1991": _virus_1991,
    "chloramine": lambda i: contact.chloramine_ct(i["temp_C"], i["organism"]),
    "other_oxidant": _other,
    "baffling": lambda i: contact.baffling_factor(i["condition"]),
    "cryptosporidium_credit": lambda i: (
        contact.contact_credit([(i["C_mg_L"], i["T_min"])], 10.0, 7.5).cryptosporidium
    ),
    # The manual's own example takes pi as 3.14 and 7.48 gallons to the cubic foot.
    "cylinder_gallons": lambda i: math.pi / 4 * i["diameter_ft"] ** 2 * i["depth_ft"] * 28.316846592 / L_PER_GALLON,
    "detention": lambda i: contact.contact_time(*_litres_per_minute(i), 1.0),
    "contact_minutes": lambda i: contact.contact_time(i["TDT_min"], 1.0, i["baffling"]),
    "ct": lambda i: contact.ct_delivered(i["C_mg_L"], i["T_min"]),
    "ratio": lambda i: i["CT"] / i["CT99_9"],
    "logs_from_ct": lambda i: 3.0 * i["CT"] / i["CT99_9"],
    "virus_logs_from_ct": lambda i: 4.0 * i["CT"] / i["CT99_99"],
    "giardia_logs": lambda i: _credit(i).giardia,
    "virus_logs": lambda i: _credit(i).virus,
    "rounding": _rounding,
    "giardia_refused": _refused,
    "capped_chlorine": lambda i: contact.ct_delivered(i["free_Cl2_mg_L"], 1.0),
    "cells_below_table": _cells_below,
}


def _casing_l(i, feet):
    return float(chlorination.water_in_casing(i["diameter_in"] * M_PER_INCH, feet * M_PER_FOOT))


def _shock(i, litres, dose, **strength):
    return chlorination.shock_dose(litres, dose_mg_l=dose, **strength)


def _indiana_dose(i):
    """The dose its 12 in row implies: 6.0 oz of 65 % granules in 100 ft of water."""
    litres = _casing_l({"diameter_in": 12}, 100.0)
    return 6.0 * OUNCE_KG * 1e6 * 0.65 / litres


SHOCK = {
    "casing_gallons_per_foot": lambda i: _casing_l(i, 1.0) / L_PER_GALLON,
    "casing_gallons": lambda i: _casing_l(i, i["water_ft"]) / L_PER_GALLON,
    "trade_strength": lambda i: chlorination.strength_from_trade(i["trade_pct"]),
    "indiana_granules": lambda i: (
        _shock(i, _casing_l(i, i["water_ft"]), 50.0, granules_share=i["available_pct_w"] / 100.0).granules_kg
        / OUNCE_KG
    ),
    "indiana_bleach": lambda i: (
        _shock(
            i, _casing_l(i, i["water_ft"]), 50.0, bleach_g_l=chlorination.strength_from_trade(i["trade_pct"])
        ).bleach_l
        / FLUID_OUNCE_L
    ),
    "indiana_dose": _indiana_dose,
    "alberta_imperial_gallons": lambda i: 2.0 * _casing_l(i, i.get("water_ft", 1.0)) / L_PER_IMPERIAL_GALLON,
    "alberta_bleach_per_ft": lambda i: _shock(i, i["times"] * _casing_l(i, 1.0), 200.0).bleach_l,
    "alberta_granules_per_ft": lambda i: (
        _shock(i, i["times"] * _casing_l(i, 1.0), 200.0, granules_share=0.70).granules_kg * 1000.0
    ),
    "cdc_cups_per_ft": lambda i: (
        _shock(i, _casing_l({"diameter_in": i["diameter_ft"] * 12.0}, 1.0), 100.5).bleach_l / CUP_L
    ),
    "cups_per_100_gal": lambda i: _shock(i, i["gal"] * L_PER_GALLON, i["dose"]).bleach_l / CUP_L,
    "granule_oz_per_100_gal": lambda i: (
        _shock(i, i["gal"] * L_PER_GALLON, i["dose"], granules_share=i["share"]).granules_kg / OUNCE_KG
    ),
    "fl_oz_per_100_gal": lambda i: _shock(i, i["gal"] * L_PER_GALLON, i["dose"]).bleach_l / FLUID_OUNCE_L,
    "bleach_litres": lambda i: (
        _shock(i, _casing_l(i, i["water_ft"]), i["dose_mg_L"], bleach_g_l=i["bleach_g_per_L"]).bleach_l
    ),
    "caution": lambda i: i["code"] in {finding.code for finding in chlorination.shock_dose(500.0).findings},
    "drops": lambda i: chlorination.emergency_drops(
        i["NaOCl_pct"], L_PER_GALLON if i["volume"] == "1 gal" else L_PER_GALLON / 4.0
    ),
}


@pytest.mark.parametrize("row", cases("limits"))
def test_limits(row):
    if row.check == "printed_limit":
        assert float(row.expected) in _printed(row.inputs), _printed(row.inputs)
    else:
        answer(row, LIMITS)


@pytest.mark.parametrize("row", cases("readings"))
def test_readings(row):
    answer(row, READINGS)


@pytest.mark.parametrize("row", cases("contact"))
def test_contact(row):
    answer(row, CONTACT)


@pytest.mark.parametrize("row", cases("shock"))
def test_shock(row):
    answer(row, SHOCK)
