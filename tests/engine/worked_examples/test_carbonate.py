"""Neutralisers, saturation, the 27 reference waters and analysis checks against published and computed rows."""

import pytest

from sizing.engine import balance, carbonate, indexes, limits, neutraliser, plausibility, saturation
from sizing.engine.carbonate_constants import constants
from sizing.engine.quantities import KG_PER_POUND, L_PER_GALLON
from sizing.engine.stoichiometry import equivalent_weight
from sizing.engine.water import Water
from tests.engine import waters
from tests.engine.worked_examples.answers import answer
from tests.engine.worked_examples.rows import cases, read

REAGENTS = {"CaCO3": "calcite", "Na2CO3": "soda_ash"}


def _tested(i):
    """An open package's test water, its charge filled up with sodium or chloride."""
    short = i["alk"] / equivalent_weight("alkalinity") - i["Ca_mgL"] / equivalent_weight("calcium")
    return Water(
        {
            "temperature": i["T_C"],
            "ph": i["pH"],
            "alkalinity": i["alk"],
            "calcium": i["Ca_mgL"],
            "magnesium": 0.0,
            "sodium": max(short, 0.0) * equivalent_weight("sodium"),
            "chloride": max(-short, 0.0) * equivalent_weight("chloride"),
            "sulphate": 0.0,
        }
    )


NEUTRALISER = {
    "reagent_per_co2": lambda i: neutraliser.reagent_per_co2(i["reagent"]),
    "way_to_raise_ph": lambda i: [neutraliser.way_to_raise_ph(ph) for ph in i["ph"]],
    "calcite_pounds": lambda i: (
        neutraliser.calcite_use(i["dose_mgL"], i["gal_per_day"] * L_PER_GALLON) / KG_PER_POUND
    ),
    "calcite_ph": lambda i: neutraliser.neutralise(waters.water(i["case"]), 1.0).ph,
    "dose_to_ph": lambda i: neutraliser.dose_to_ph(waters.water(i["case"]), i["target_pH"], REAGENTS[i["reagent"]]),
    "stripped_ph": lambda i: carbonate.stripped_ph(carbonate.system_of(waters.water(i["case"]))),
    "free_co2": lambda i: carbonate.free_co2(i["pH"], i["alk_mgL"], i["T_C"]),
}

SATURATION = {
    "practical_ph": lambda i: indexes.practical_equilibrium_ph(i["alk"]),
    "practical_index": lambda i: indexes.practical_index(i["pHeq"], i["pHs"]),
    "factor_a": lambda i: indexes.langelier_factors(i["TDS"], 100.0, 100.0, 25.0)[0],
    "factor_c": lambda i: indexes.langelier_factors(300.0, i["Ca_hardness"], 100.0, 25.0)[2],
    "index_without_activity": lambda i: saturation.saturation_indices(i["pH"], i["alk"], i["Ca_mgL"], i["T_C"], 0.0),
    "precipitation_potential": lambda i: saturation.precipitation_potential(_tested(i)),
    "larson": lambda i: indexes.larson_skold(i["Cl"], i["SO4"], i["alk"]),
    "chloride_sulphate": lambda i: indexes.chloride_sulphate_ratio(i["Cl"], i["SO4"]),
    "index_words": lambda i: [indexes.index_remark(index, 7.0).code for index in i["index"]],
    "constant": lambda i: getattr(constants(float(i["T_C"])), i["which"]),
    "open_calcite": lambda i: saturation.calcite_hardness_at(i["log_pCO2"], float(i["T_C"])),
}

# The USGS examples, as the manual's input files give them (seawater: example 1).
SEAWATER = {
    "units": "ppm",
    "temp": 25.0,
    "pH": 8.22,
    "pe": 8.451,
    "density": 1.023,
    "Ca": 412.3,
    "Mg": 1291.8,
    "Na": 10768.0,
    "K": 399.1,
    "Si": 4.28,
    "Cl": 19353.0,
    "Alkalinity": "141.682 as HCO3",
    "S(6)": 2712.0,
}
CALCIUM = {
    "units": "mmol/kgw",
    "temp": 25.0,
    "pH": 7.0,
    "Ca": 3,
    "Na": 1,
    "Cl": 1,
    "N(5)": 0.2,
    "S(6)": 1,
    "Alkalinity": "3.8 meq/kgw",
}


def _percent_error(solution):
    """Charge-balance error of a PHREEQC solution, %."""
    positive = negative = 0.0
    for name, moles in solution.species.items():
        charge = _charge_of(name)
        positive += moles * max(charge, 0)
        negative -= moles * min(charge, 0)
    return 100.0 * (positive - negative) / (positive + negative)


def _charge_of(species):
    for sign in "+-":
        if sign in species:
            size = species.rsplit(sign, 1)[1]
            return int(f"{sign}{size or 1}")
    return 0


def _example(i):
    solution = waters.code().add_solution(SEAWATER if i["example"] == "seawater" else CALCIUM)
    return {
        "SI": lambda: solution.si("Calcite"),
        "I": lambda: solution.I,
        "EC": lambda: solution.sc,
        "pCO2": lambda: solution.si("CO2(g)"),
        "CBE": lambda: _percent_error(solution),
    }[i["quantity"]]()


def _conductivity(i):
    solution = waters.phreeqc(i["case"]).copy()
    solution.change_temperature(25.0)
    return solution.sc


REFERENCE = {
    "phreeqc_example": _example,
    "water_index": lambda i: saturation.saturation_index(waters.water(i["case"])).index,
    "water_strength": lambda i: waters.phreeqc(i["case"]).I,
    "water_balance": lambda i: balance.charge_balance(waters.water(i["case"])),
    "water_conductivity": _conductivity,
    "heated_index": lambda i: (
        saturation.saturation_index(saturation.heated(waters.water(i["case"]), float(i["T_C"]))).index
    ),
}


def _limits_of(i):
    known = {limit.key: limit.value for limit in limits.printed_limits(i["jurisdiction"])}
    return [known[key] for key in i["keys"]]


def _balance_words(i):
    """The hint printed for a water with that many equivalents (sodium, chloride and alkalinity to fill up)."""
    filled = Water(
        {
            "calcium": i["cations"] * 20.039,
            "magnesium": 0.0,
            "sodium": 0.0,
            "chloride": 0.0,
            "sulphate": 0.0,
            "alkalinity": i["anions"] * 50.043,
        }
    )
    charge = next(f for f in plausibility.remarks(filled) if f.code.endswith("charge"))
    return charge.message.rsplit(": ", 1)[1].rstrip(".")


ANALYSIS = {
    "calculated_tds": lambda i: balance.calculated_tds(waters.water(i["case"])),
    "conductivity_from_tds": lambda i: (
        balance.ionic_strength(Water({"tds": i["TDS"]})) / balance.ionic_strength(Water({"conductivity": 1.0}))
    ),
    "strength_from_tds": lambda i: balance.ionic_strength(Water({"tds": i["TDS"]})),
    "balance_words": _balance_words,
    "limits_of": _limits_of,
}


@pytest.mark.parametrize("row", cases("neutraliser"))
def test_neutraliser(row):
    answer(row, NEUTRALISER)


@pytest.mark.parametrize("row", cases("saturation"))
def test_saturation(row):
    answer(row, SATURATION)


@pytest.mark.parametrize("row", cases("reference_waters"))
def test_reference_waters(row):
    answer(row, REFERENCE)


@pytest.mark.parametrize("row", cases("analysis"))
def test_analysis_checks(row):
    answer(row, ANALYSIS)


def test_all_reference_waters_are_used():
    assert {row.inputs["case"] for row in read("reference_waters") if "case" in row.inputs} == set(waters.table())
    assert len(waters.table()) >= 27
