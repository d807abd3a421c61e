"""Granular beds: loss, fluidisation, expansion, backwash, tank areas and practice rates."""

import pytest

from sizing.engine.beds import bed_friction_factor, drag_coefficient, expanded_depth_m, grain_reynolds, settling_m_s
from sizing.engine.figures import figure
from sizing.engine.liquid import density_kg_m3
from sizing.engine.measures import KPA_PER_PSI, L_PER_GAL, M2_PER_FT2, M_H_PER_GPM_FT2
from sizing.engine.media import (
    backwash_rate_m_h,
    ergun_kpa,
    expansion_share,
    flow_at_rate_l_min,
    fluidisation_m_h,
    medium,
    settling_exponent_porosity,
    tank_area_m2,
    temperature_factor,
)
from tests.engine.worked_examples.rows import Row, cases, run

NU_DAVIS = 1.307e-6  # m2/s at 10 degC as printed
SIEVES = {"10-12": 2.0, "14-16": 1.41, "18-20": 1.0, "30-35": 0.595}  # upper openings, mm
CONTROLS = {
    "softening resin": "softening_resin",
    "carbon / light oxidation media": "carbon",
    "multi-layer": "multilayer",
}


def _fluidisation(inputs):
    heavy = inputs.get("grain_kg_m3", inputs.get("SG", 2.65) * 1000)
    return fluidisation_m_h(inputs["d_mm"], heavy, temperature_c=inputs["T_C"])


def _fluidisation_row(row):
    def answer(inputs):
        rate = _fluidisation(inputs)
        return rate / M_H_PER_GPM_FT2 if row.unit == "gpm/ft2" else rate

    return answer


def _expansion(inputs):
    rest = inputs["porosity0"]
    heavy = 1 + (inputs["SG"] - 1)
    rho = density_kg_m3(inputs["T_C"])
    return expansion_share(inputs["v_m_h"], inputs["d60_mm"], heavy * rho, rest, temperature_c=inputs["T_C"])


def _exponent(inputs):
    scale, power = figure("media-hydraulics", "expansion_exponent").value
    return scale * grain_reynolds(inputs["v_s"], inputs["d_m"], inputs["nu"]) ** power


def _voids(inputs):
    return settling_exponent_porosity(inputs["v_b"] * 3600, inputs["v_s"], inputs["d_m"] * 1000)


def _ergun(inputs):
    speed = inputs.get("v_m_s", inputs.get("vs_m_s")) * 3600
    liquid = (inputs["rho"], inputs["mu"]) if "rho" in inputs else None
    return ergun_kpa(
        speed,
        inputs["L_m"],
        inputs["dp_m"] * 1000,
        inputs["voidage"],
        temperature_c=inputs.get("T_C", 10.0),
        liquid=liquid,
    )


def _backwash(inputs):
    grain = (inputs["d60_mm"], inputs["grain_kg_m3"], inputs["porosity0"])
    return backwash_rate_m_h(inputs["expansion"], *grain, temperature_c=inputs["T_C"]) / M_H_PER_GPM_FT2


def _flow(inputs):
    area = inputs["area_ft2"] * M2_PER_FT2 if "area_ft2" in inputs else tank_area_m2(inputs["tank_in"])
    return flow_at_rate_l_min(inputs["rate_gpm_ft2"] * M_H_PER_GPM_FT2, area) / L_PER_GAL


def _settling(inputs):
    liquid = (inputs["rho"], inputs["mu"]) if "rho" in inputs else None
    return settling_m_s(inputs["D_m"] * 1000, inputs["rhop"], temperature_c=inputs.get("T_C", 10.0), liquid=liquid)


def _rate(inputs):
    row = medium(inputs["medium"])
    rates = {
        "service, low": row.service_low_m_h,
        "service, high": row.service_high_m_h,
        "backwash, low": row.backwash_low_m_h,
        "backwash, high": row.backwash_high_m_h,
    }
    return rates[inputs["rate"]] / M_H_PER_GPM_FT2


def _cold_over_warm(inputs):
    row = medium(inputs["medium"])
    rate = inputs["rate_gpm_ft2"] * M_H_PER_GPM_FT2
    cold, warm = (
        expansion_share(rate, row.d60_mm, row.grain_kg_m3, row.porosity, temperature_c=(f - 32) / 1.8)
        for f in (inputs["T1_F"], inputs["T2_F"])
    )
    return cold / warm


def _cold_factor(inputs):
    ratio = temperature_factor(inputs["medium"], inputs["T_C"]) / temperature_factor(
        inputs["medium"], inputs["from_C"]
    )
    return inputs["low"] <= ratio <= inputs["high"]


CHECKS = {
    "grain reynolds": lambda i: grain_reynolds(i["v_m_s"], i["d_m"], i["nu"], shape=i["phi"]),
    "drag": lambda i: drag_coefficient(i["R"]),
    "expansion exponent": _exponent,
    "expanded voids": _voids,
    "expansion": _expansion,
    "expanded depth": lambda i: i["h0_mm"] * (1 + i["expansion"]),
    "expanded depth by layers": lambda i: expanded_depth_m(i["D_m"], i["porosity"], [1.0], [1 - 1 / i["sum"]]),
    "m/h to gpm/ft2": lambda i: i["v_m_h"] / M_H_PER_GPM_FT2,
    "gpm/ft2 to m/h": lambda i: i["gpm_ft2"] * M_H_PER_GPM_FT2,
    "fluidisation, measured": lambda i: fluidisation_m_h(SIEVES[i["sieve"]], 2650.0, temperature_c=i["T_C"]),
    "bed friction factor": lambda i: bed_friction_factor(i["porosity"], i["R"]),
    "backwash flow": _flow,
    "backwash rate": _backwash,
    "settling": _settling,
    "shape": lambda i: figure("media-hydraulics", "shape").value[i["grain"]],
    "drain control": lambda i: figure("media-practice", "drain_controls").value[CONTROLS[i["media"]]][
        str(i["tank_in"])
    ],
    "rate of a medium": _rate,
    "backwash of a medium, low": lambda i: medium(i["medium"]).backwash_low_m_h / M_H_PER_GPM_FT2,
    "backwash within practice": lambda i: (
        medium(i["medium"]).backwash_low_m_h - 1e-9
        <= i["gpm_ft2"] * M_H_PER_GPM_FT2
        <= medium(i["medium"]).backwash_high_m_h + 1e-9
    ),
    "expansion cold over warm": _cold_over_warm,
    "cold factor within": _cold_factor,
}


@pytest.mark.parametrize("row", cases("media"))
def test_media_agree_with_what_is_printed(row: Row) -> None:
    unit = {"Pa": 1000.0, "psi": 1 / KPA_PER_PSI}.get(row.unit, 1.0)
    special = {
        "fluidisation": _fluidisation_row(row),
        "ergun": lambda i: _ergun(i) * unit,
        "ergun, given liquid": lambda i: _ergun(i) * unit,
        "tank area": lambda i: tank_area_m2(i["diameter_in"]) / M2_PER_FT2,
    }
    run(row, {**CHECKS, **special})
