"""Dew point, film coefficients, surface temperatures and jackets."""

import pytest

from sizing.engine.figures import figure
from sizing.engine.liquid import atmosphere_kpa
from sizing.engine.sweat import (
    dew_point_c,
    dew_point_magnus_c,
    film_coefficient,
    least_jacket_mm,
    saturation_kpa,
    surface_c,
)
from tests.engine.worked_examples.rows import Row, cases, run

FILMS = {
    "vertical surface": "film_vertical",
    "horizontal, heat up": "film_horizontal_up",
    "horizontal, heat down": "film_horizontal_down",
}


def _surface(inputs):
    return surface_c(
        inputs["water_C"],
        inputs["air_C"],
        thickness_mm=inputs.get("thickness_mm", inputs.get("wall_mm")),
        conductivity=inputs["k"],
        film=inputs["h"],
        tank_m=inputs.get("tank_od_m"),
    )


def _least(inputs):
    return least_jacket_mm(
        inputs["water_C"], inputs["air_C"], inputs["RH_pct"], conductivity=inputs["k"], film=inputs["h"]
    )


CHECKS = {
    "vapour pressure": lambda i: saturation_kpa(i["T_C"]) * 1000,
    "atmosphere": lambda i: atmosphere_kpa(i["altitude_m"]) * 1000,
    "dew point": lambda i: dew_point_c(i["T_C"], i["RH_pct"]),
    "dew point, closed form": lambda i: dew_point_magnus_c(i["T_C"], i["RH_pct"]),
    "dew point, F": lambda i: dew_point_c((i["T_F"] - 32) / 1.8, i["RH_pct"]) * 1.8 + 32,
    "film resistance": lambda i: figure("condensation", FILMS[i["position"]]).value,
    "film from resistance": lambda i: figure("condensation", "film_per_ip").value / i["R_ip"],
    "film computed": lambda i: film_coefficient(
        i["Ts_C"], i["Ta_C"], height_m=i["height_m"], emittance=i["emittance"]
    ),
    "surface": _surface,
    "least jacket": _least,
}


@pytest.mark.parametrize("row", cases("condensation"))
def test_condensation_agrees_with_what_is_printed(row: Row) -> None:
    run(row, CHECKS)
