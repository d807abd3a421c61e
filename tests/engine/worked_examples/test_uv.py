"""Ultraviolet light: the dose table, log credit, transmittance, classes and feed limits."""

import math

import pytest

from sizing.engine.figures import figure
from sizing.engine.uv import (
    UvUnit,
    absorbance_per_cm,
    credited_dose,
    dose_for_log,
    lamp_output_share,
    log_credit,
    percent_inactivated,
    transmittance_percent,
)
from sizing.engine.uv_sizing import feed_limits
from tests.engine.worked_examples.rows import Row, cases, run

MG_L_PER_GPG = 64.79891 / 3.785411784


def _coloured_water_is_admitted(_):
    """Tea-coloured water: about 60 % per cm and 3 NTU, against the limits of a class A unit."""
    water = {"uvt": 60.0, "turbidity": 3.0}
    limits = [limit for limit in feed_limits(75.0) if limit.analyte in water and limit.hard]
    kept = [
        water[limit.analyte] >= limit.value if limit.sense == "min" else water[limit.analyte] <= limit.value
        for limit in limits
    ]
    assert len(kept) == 2
    return all(kept)


CHECKS = {
    "dose for log": lambda i: dose_for_log(i["organism"], i["log_credit"]),
    "log credit": lambda i: log_credit(i["dose_mJ_cm2"], i["organism"]),
    "absorbance": lambda i: absorbance_per_cm(i["UVT_pct_1cm"]),
    "transmittance": lambda i: transmittance_percent(i["A254_per_cm"]),
    "path for a share": lambda i: -math.log10(i["T_pct"] / 100) / absorbance_per_cm(i["UVT_pct_1cm"]),
    "transmittance over a path": lambda i: transmittance_percent(
        absorbance_per_cm(i["UVT_pct_1cm"]), i.get("path_cm", 10.0)
    ),
    "percent": lambda i: percent_inactivated(i["log"]),
    "lamp output": lambda i: 100 * lamp_output_share(i["hours"]),
    "class B is a barrier": lambda i: credited_dose(UvUnit(30.0, 85.0, 16.0, "B"), 40.0) > 0.0,
    "class A without pretreatment on coloured water": _coloured_water_is_admitted,
    "class A dose, J/m2": lambda i: figure("uv-practice", "class_a_dose").value * 10,
    "dose in another unit": lambda i: i["dose_mJ_cm2"] * i["factor"],
    "hardness limit, gpg": lambda i: figure("uv-practice", "hardness").value / MG_L_PER_GPG,
}


@pytest.mark.parametrize("row", cases("uv"))
def test_uv_agrees_with_what_is_printed(row: Row) -> None:
    run(row, CHECKS)
