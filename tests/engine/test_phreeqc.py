"""The carbonate system against PHREEQC, computed live over the whole range: 27 waters, and sweeps between them."""

import numpy as np
import pytest

from sizing.engine import balance, carbonate, neutraliser, oxidation, saturation
from sizing.engine.carbonate_constants import constants
from sizing.engine.stoichiometry import molar_mass
from sizing.engine.water import Water
from tests.engine import waters

CASES = sorted(waters.table())


def dissolved_calcite(solution):
    """Closed equilibrium with calcite: (mg/L dissolved, pH)."""
    before = solution.total("Ca", units="mmol")
    end = solution.copy().equalize(["Calcite"], [0.0], [10.0])
    return (end.total("Ca", units="mmol") - before) * molar_mass("CaCO3"), end.pH


@pytest.mark.parametrize("case", CASES)
def test_index(case):
    found = saturation.saturation_index(waters.water(case))
    reference = waters.phreeqc(case).si("Calcite")
    assert found.index == pytest.approx(reference, abs=0.02)
    assert -0.005 <= found.without_pairs - reference <= 0.08


@pytest.mark.parametrize("case", CASES)
def test_free_carbon_dioxide(case):
    water = waters.water(case)
    species, _ = carbonate.settle(water["ph"], carbonate.system_of(water))
    reference = waters.phreeqc(case).species["CO2"]
    assert species.co2 == pytest.approx(reference, rel=0.02)
    carbon = sum(
        moles for name, moles in waters.phreeqc(case).species.items() if "CO3" in name or name in ("CO2", "(CO2)2")
    )
    assert float(species.carbon) == pytest.approx(carbon, rel=0.02)


@pytest.mark.parametrize("case", CASES)
def test_simple_carbon_dioxide_formula_where_it_is_valid(case):
    """Alkalinity above 15 mg/L and pH 5.5 to 8.3; a little high without the ionic strength, close with it."""
    water = waters.water(case)
    ph, alkalinity, celsius = water["ph"], water["alkalinity"], water["temperature"]
    if alkalinity <= 15.0 or not 5.5 <= ph <= 8.3:
        pytest.skip("outside the stated range of the formula")
    reference = waters.phreeqc(case).species["CO2"] * molar_mass("CO2") * 1000.0
    strength = balance.ionic_strength(water)
    assert 1.0 < carbonate.free_co2(ph, alkalinity, celsius) / reference < 1.22
    assert carbonate.free_co2(ph, alkalinity, celsius, strength) == pytest.approx(reference, rel=0.06)


@pytest.mark.parametrize("case", CASES)
def test_ionic_strength_with_pairs(case):
    water = waters.water(case)
    species, _ = carbonate.settle(water["ph"], carbonate.system_of(water))
    paired = balance.ionic_strength(water) - species.pairs.strength_less
    # Alkalinity counts as bicarbonate, so a water of pH 9.4 with much carbonate comes out a little low.
    assert paired == pytest.approx(waters.phreeqc(case).I, rel=0.07 if water["ph"] > 9.0 else 0.03)


@pytest.mark.parametrize("case", CASES)
def test_calcite_equilibrium(case):
    water = waters.water(case)
    dissolved, ph = saturation.calcite_to_saturation(carbonate.system_of(water))
    reference, reference_ph = dissolved_calcite(waters.phreeqc(case))
    # Near saturation in a well-buffered water 0.01 of index is 1 mg/L.
    assert dissolved * molar_mass("CaCO3") * 1000.0 == pytest.approx(reference, rel=0.03, abs=1.4)
    assert ph == pytest.approx(reference_ph, abs=0.03)


@pytest.mark.parametrize("ph", [6.5, 7.5, 9.0])
def test_a_water_with_no_calcium_at_all_still_takes_up_calcite(ph):
    from phreeqpython import PhreeqPython

    soft = {"units": "mg/kgw", "temp": 10.0, "pH": ph, "Alkalinity": "10.0 as Ca0.5(CO3)0.5", "Na": 4.6}
    reference, reference_ph = dissolved_calcite(PhreeqPython().add_solution(soft))
    water = Water({"ph": ph, "alkalinity": 10.0, "calcium": 0.0, "sodium": 4.6, "temperature": 10.0})
    dissolved, end = saturation.calcite_to_saturation(carbonate.system_of(water))
    assert dissolved * molar_mass("CaCO3") * 1000.0 == pytest.approx(reference, rel=0.03, abs=1.4)
    assert end == pytest.approx(reference_ph, abs=0.03)


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("target", [40.0, 60.0])
def test_heating_in_a_closed_pipe(case, target):
    hot = saturation.heated(waters.water(case), target)
    reference = waters.phreeqc(case).copy()
    reference.change_temperature(target)
    # Pairs of sodium are left out: felt in soft, alkaline sodium water only.
    allowed = 0.07 if hot["sodium"] > 130.0 and hot["ph"] > 8.0 else 0.03
    assert hot["ph"] == pytest.approx(reference.pH, abs=allowed)
    assert saturation.saturation_index(hot).index == pytest.approx(reference.si("Calcite"), abs=allowed + 0.01)


@pytest.mark.parametrize("case", ["PQ-02", "PQ-03", "PQ-04", "PQ-05", "PQ-06", "PQ-15", "PQ-20"])
@pytest.mark.parametrize(("reagent", "formula"), [("calcite", "CaCO3"), ("soda_ash", "Na2CO3"), ("caustic", "NaOH")])
def test_dose_to_a_ph(case, reagent, formula):
    target = 7.4
    dose = neutraliser.dose_to_ph(waters.water(case), target, reagent)
    reference = waters.phreeqc(case).copy().add(formula, dose / molar_mass(formula), "mmol")
    assert reference.pH == pytest.approx(target, abs=0.03)


@pytest.mark.parametrize("case", ["PQ-04", "PQ-05", "PQ-06", "PQ-08", "PQ-14", "PQ-16"])
def test_stripping_to_outdoor_air(case):
    found = carbonate.stripped_ph(carbonate.system_of(waters.water(case)))
    reference = waters.phreeqc(case).copy().equalize(["CO2(g)"], [-3.4], [10.0])
    assert found == pytest.approx(reference.pH, abs=0.06)


@pytest.mark.parametrize("celsius", [0.0, 5.0, 10.0, 15.0, 25.0, 40.0, 60.0, 80.0])
def test_constants_over_the_whole_range(celsius):
    """Log K by the activities PHREEQC reports for a dilute bicarbonate water."""
    solution = waters.code().add_solution(
        {"units": "mmol/L", "temp": celsius, "pH": 7.5, "Ca": 0.1, "Alkalinity": 1.0}
    )
    activity = solution.species_activities
    c = constants(celsius)
    hydrogen = activity["H+"]
    found = {
        "pk1": -np.log10(activity["HCO3-"] * hydrogen / activity["CO2"]),
        "pk2": -np.log10(activity["CO3-2"] * hydrogen / activity["HCO3-"]),
        "pkw": -np.log10(activity["OH-"] * hydrogen),
        "cahco3": np.log10(activity["CaHCO3+"] / (activity["Ca+2"] * activity["HCO3-"])),
        "caco3": np.log10(activity["CaCO3"] / (activity["Ca+2"] * activity["CO3-2"])),
    }
    for name, value in found.items():
        assert getattr(c, name) == pytest.approx(value, abs=0.005), name


def test_ten_thousand_waters_give_the_same_as_one_by_one():
    draws = np.random.default_rng(7)
    size = 400
    many = Water(
        {
            "ph": draws.uniform(5.6, 8.6, size),
            "alkalinity": draws.uniform(4.0, 300.0, size),
            "calcium": draws.uniform(1.0, 120.0, size),
            "hardness": draws.uniform(400.0, 500.0, size),
            "temperature": draws.uniform(2.0, 25.0, size),
            "tds": draws.uniform(20.0, 900.0, size),
        }
    )
    index = saturation.paired_indices(many)
    treated = neutraliser.neutralise(many)
    for at in range(0, size, 20):
        one = Water({code: float(values[at]) for code, values in many.values.items()})
        assert index[at] == pytest.approx(float(saturation.paired_indices(one)), abs=1e-9)
        assert treated.ph[at] == pytest.approx(neutraliser.neutralise(one).ph, abs=2e-4)
        assert treated.calcite[at] == pytest.approx(neutraliser.neutralise(one).calcite, abs=0.05)


def test_oxidised_iron_lowers_the_ph_as_phreeqc_says():
    """4 mg/L of iron and 0.8 of manganese oxidised in a closed water: acid added by the reaction."""
    water = waters.water("PQ-16")
    used = oxidation.alkalinity_used(water["iron_dissolved"], water["manganese"])
    acid = waters.phreeqc("PQ-16").copy().add("HCl", used / molar_mass("CaCO3") * 2.0, "mmol")
    from dataclasses import replace

    before = carbonate.system_of(water)
    after = replace(before, alkalinity=before.alkalinity - used / molar_mass("CaCO3") * 2.0 / 1000.0)
    assert carbonate.closed_ph(after) == pytest.approx(acid.pH, abs=0.02)
