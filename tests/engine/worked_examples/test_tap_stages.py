"""Carbon, cartridges and reverse osmosis."""

import pytest

from sizing.engine.adsorption import contact_min, contact_rule, diameter_for_rate_in, volume_for_contact_l
from sizing.engine.cartridges import cyst_log_credit
from sizing.engine.figures import figure
from sizing.engine.measures import KPA_PER_PSI, L_PER_FT3, L_PER_GAL, M_H_PER_GPM_FT2
from sizing.engine.membranes import (
    Membrane,
    driving_kpa,
    efficiency,
    osmotic_kpa,
    output_l_d,
    permeate,
    permeate_ph,
    rejection,
    shut_off_kpa,
    temperature_factor,
)
from tests.engine.worked_examples.rows import Row, cases, run

MG_L_PER_GPG = 64.79891 / 3.785411784
SECOND = figure("membrane-practice", "temperature_constant_second").value


def _rule(inputs):
    value = contact_rule(inputs["duty"]).value
    return value[0] if isinstance(value, list) else value


def _driving(inputs):
    return driving_kpa(
        inputs["feed_psi"] * KPA_PER_PSI,
        inputs["feed_TDS"],
        tank_kpa=inputs["tank_psi"] * KPA_PER_PSI,
        recovery=inputs["recovery"],
        permeate_tds_mg_l=inputs["permeate_TDS"],
    )


def _output(inputs):
    membrane = Membrane(
        inputs["rated_gpd"] * L_PER_GAL, inputs["rated_psi"] * KPA_PER_PSI, recovery=inputs["recovery"]
    )
    made = output_l_d(
        membrane,
        inputs["feed_psi"] * KPA_PER_PSI,
        inputs["T_C"],
        inputs["TDS"],
        tank_kpa=inputs["tank_psi"] * KPA_PER_PSI,
    )
    return made / L_PER_GAL


def _against_rating(inputs):
    membrane = Membrane(100.0, inputs["rated_psi"] * KPA_PER_PSI)
    return output_l_d(membrane, inputs["feed_psi"] * KPA_PER_PSI, inputs["T_C"], inputs["TDS"]) / 100.0


CARBON = {
    "contact": lambda i: contact_min(i["ft3"] * L_PER_FT3, i["gpm"] * L_PER_GAL),
    "diameter": lambda i: diameter_for_rate_in(i["gpm"] * L_PER_GAL, i["rate"] * M_H_PER_GPM_FT2),
    "volume": lambda i: volume_for_contact_l(i["min"], i["gpm"] * L_PER_GAL) / L_PER_FT3,
    "contact rule": _rule,
    "rate of a duty": lambda i: figure("carbon-practice", "rates").value[i["duty"]][i["end"]],
}
MEMBRANES = {
    "temperature divisor": lambda i: 1 / temperature_factor(i["T_C"]),
    "second temperature table": lambda i: temperature_factor(i["T_C"], (SECOND, SECOND)),
    "temperature factor": lambda i: temperature_factor(i["T_C"], (i["K_below_25"], i["K_above_25"])),
    "three per cent rule": lambda i: figure("membrane-practice", "three_percent").value ** (i["T_C"] - 25),
    "osmotic rule": lambda i: osmotic_kpa(i["TDS_mgL"]) / KPA_PER_PSI,
    "driving pressure": lambda i: _driving(i) / KPA_PER_PSI,
    "output": _output,
    "output against rating": _against_rating,
    "shut-off": lambda i: shut_off_kpa(i["feed_psi"] * KPA_PER_PSI) / KPA_PER_PSI,
    "efficiency": lambda i: efficiency(i["reject_per_product"]),
    "efficiency below recovery": lambda i: efficiency(i["reject_per_product"]) < i["recovery"],
    "feed hardness, gpg": lambda i: figure("membrane-practice", "feed_hardness").value / MG_L_PER_GPG,
    "rejection": lambda i: rejection(i["ion"]),
    "rejection above": lambda i: rejection(i["ion"], level=i["level"]) >= i["least"],
    "rejection within": lambda i: i["low"] <= rejection(i["ion"], level=i["level"]) <= i["high"],
    "permeate": lambda i: permeate(i["feed_TDS"], i["rejection"], i["recovery"]),
    "product pH": lambda i: permeate_ph(i["ph"], i["alkalinity"], i["product_alkalinity"]),
}
CARTRIDGES = {"cyst credit": lambda i: cyst_log_credit(i["rating_um"], absolute=i["absolute"])}


@pytest.mark.parametrize("row", cases("carbon"))
def test_carbon_agrees_with_what_is_printed(row: Row) -> None:
    run(row, CARBON)


@pytest.mark.parametrize("row", cases("membranes"))
def test_membranes_agree_with_what_is_printed(row: Row) -> None:
    run(row, MEMBRANES)


@pytest.mark.parametrize("row", cases("cartridges"))
def test_cartridges_agree_with_what_is_printed(row: Row) -> None:
    run(row, CARTRIDGES)
