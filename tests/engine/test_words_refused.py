"""A word that is none of the known ones is refused under its name, itself, and with what would do."""

import pytest

from sizing.engine import (
    adsorption,
    boiling,
    cartridges,
    contact,
    display,
    exchange,
    fixture_units,
    hydraulics,
    limits,
    media,
    neutraliser,
    oxidation,
    oxidation_methods,
    pipes,
    power,
    regeneration,
    stoichiometry,
    tank,
    uv,
    well_readings,
)
from sizing.engine.errors import OutsideValidRange

WRONG = "moonshine"

# call of one word, the name it is refused under, and one of the words that would do
CALLS = [
    (adsorption.contact_rule, "duty of the carbon", "organics"),
    (lambda word: boiling.boil_minutes(200.0, word), "agency", ""),
    (lambda word: contact.chloramine_ct(10.0, word), "organism", "giardia"),
    (contact.baffling_factor, "baffling", "unbaffled"),
    (lambda word: display.show(1.0, word, "us"), "quantity", "flow"),
    (lambda word: display.show(1.0, "flow", word), "system of units", "metric"),
    (lambda word: exchange.capacity_ceiling(28.3, 4.0, word), "salt", "potassium"),
    (lambda word: regeneration.chloride_to_drain(4.0, word), "salt", "potassium"),
    (lambda word: fixture_units.code_curve_l_min(20.0, word), "column", "flush_valve"),
    (hydraulics.outlet_needs, "outlet", "shower, plain"),
    (media.medium, "medium", "sand"),
    (lambda word: neutraliser.sodium_from_feed(10.0, word), "reagent", "caustic"),
    (lambda word: oxidation.alkalinity_used(1.0, 0.1, word), "oxidant", "Cl2"),
    (lambda word: oxidation.oxygen_demand(sulphide=1.0, product=word), "product of sulphide", "sulphate"),
    (oxidation_methods.method_limits, "method", "air_media"),
    (lambda word: pipes.explicit_factor(1e5, form=word), "form", "haaland"),
    (lambda word: pipes.screwed_fitting(word, 0.02), "fitting", "90 ell"),
    (lambda word: pipes.fitting_length_m(word, "1"), "fitting", ""),
    (lambda word: power.battery_temperature_factor(10.0, chemistry=word), "battery chemistry", "lithium"),
    (lambda word: tank.plain_tank_l(40.0, word), "switch setting", "30-50"),
    (stoichiometry.charge_of, "analyte", ""),
    (lambda word: uv.log_credit(40.0, word), "organism", "virus"),
    (lambda word: uv.dose_for_log(word, 3.0), "organism", "virus"),
    (lambda word: well_readings.hardness_word(100.0, word), "scale", "vermont"),
    (well_readings.treatment_target, "jurisdiction", "quebec"),
    (lambda word: limits.limit_set(word), "jurisdiction", "canada"),
]


@pytest.mark.parametrize(("call", "name", "known"), CALLS, ids=[f"{i}-{row[1]}" for i, row in enumerate(CALLS)])
def test_an_unknown_word_is_refused_with_those_that_would_do(call, name, known):
    with pytest.raises(OutsideValidRange) as refusal:
        call(WRONG)
    assert refusal.value.parameter == name
    assert refusal.value.value == WRONG
    assert known in refusal.value.source
    assert refusal.value.source


def test_a_cartridge_of_another_diameter_is_refused():
    with pytest.raises(OutsideValidRange) as refusal:
        cartridges.rated_flow_l_min(3.0, 10.0)
    assert (refusal.value.parameter, refusal.value.value) == ("cartridge diameter", 3.0)


def test_one_rated_point_is_not_a_curve():
    with pytest.raises(OutsideValidRange) as refusal:
        exchange.capacity_from_ratings([(2.0, 1000.0)], 28.3, 2.0)
    assert (refusal.value.parameter, refusal.value.value, refusal.value.low) == ("rated points", 1, 2)
