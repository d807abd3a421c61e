"""What is this thing: devices from features, look-alikes kept apart, the question that parts them."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine.design import SourceType, StageKind
from sizing.engine.diagnosis import load_tables
from sizing.engine.errors import OutsideValidRange
from sizing.engine.identify import Identification, identify
from sizing.engine.storage import from_data, to_data
from tests.engine.diagnosis.small import bits

TABLES = load_tables()

# Common practice of the trade: what these features together mean.
SEEN = [
    ("softener", ["tall_tank", "control_head", "salt", "drain_line", "hardness_gone"], "softener"),
    ("tannin_anion", ["tall_tank", "salt", "clock_nights", "hardness_unchanged"], "organics"),
    ("softener_cabinet", ["one_cabinet", "salt", "hardness_gone"], "softener"),
    ("softener_twin", ["two_tanks", "salt", "no:air_inlet", "no:cord", "hardness_gone"], "softener"),
    ("air_filter", ["tall_tank", "control_head", "drain_line", "no:salt", "air_inlet"], "airox"),
    ("permanganate_filter", ["tall_tank", "control_head", "purple"], "permanganate"),
    ("catalytic_filter", ["tall_tank", "control_head", "no:salt", "no:air_inlet", "black_heavy"], "catalytic"),
    ("carbon_backwash", ["tall_tank", "control_head", "no:salt", "black_light"], "carbon"),
    ("sediment_backwash", ["tall_tank", "control_head", "no:salt", "grey_light"], "backwash"),
    ("neutraliser_upflow", ["tall_tank", "plain_head", "dome_plug", "white_grains"], "neutraliser"),
    ("calcite_backwash", ["tall_tank", "control_head", "drain_line", "white_grains"], "neutraliser"),
    ("chlorine_feeder", ["solution_tub", "bleach_smell"], "chlorine"),
    ("soda_ash_feeder", ["solution_tub", "no:bleach_smell", "powder_tub"], "soda_ash"),
    ("peroxide_feeder", ["solution_tub", "no:bleach_smell", "peroxide_label"], None),
    ("retention_tank", ["plain_tank", "no:air_valve", "no:air_control", "no:gutter"], "retention"),
    ("pressure_tank", ["air_valve", "after_pump"], None),
    ("air_over_water_tank", ["air_control", "plain_tank", "no:air_valve"], None),
    ("uv_class_a", ["steel_cylinder", "end_nuts", "intensity_sensor"], "uv"),
    ("uv_no_sensor", ["steel_cylinder", "end_nuts", "no:intensity_sensor"], "uv"),
    ("inline_heater", ["gas_or_breaker", "no:end_nuts"], None),
    ("sediment_cartridge", ["clear_housing", "white_cartridge"], "sediment"),
    ("carbon_cartridge", ["clear_housing", "black_cartridge", "no:sink_tap"], "carbon"),
    ("ultrafilter", ["clear_housing", "hollow_fibres"], "ultrafilter"),
    ("screen", ["mesh_valve", "clear_housing"], "screen"),
    ("phosphate_feeder", ["white_balls"], None),
    ("ro_tank", ["ball_tank", "sink_tap"], "ro"),
    ("ro_tankless", ["sink_tap", "no:ball_tank", "hums", "drain_clamp"], "ro"),
    ("tap_carbon", ["sink_tap", "no:ball_tank", "no:drain_clamp"], "tap_carbon"),
    ("fridge_cartridge", ["fridge_line"], "tap_carbon"),
    ("jet_pump", ["motor", "suction_pipe"], None),
    ("submersible", ["control_box", "no:motor"], None),
    ("booster", ["motor", "no:suction_pipe", "no:after_pump"], "booster"),
    ("aerator", ["spray_vent"], None),
    ("cistern_tank", ["gutter"], None),
    ("bypass_valve", ["valve_body"], None),
    ("scale_coil", ["clamped_on"], None),
    ("scale_media", ["tall_tank", "plain_head", "claims_scale", "no:salt"], None),
]


def features(seen):
    return {part.removeprefix("no:"): "no" if part.startswith("no:") else "yes" for part in seen}


@pytest.mark.parametrize(("device", "seen", "stage"), SEEN, ids=[row[0] for row in SEEN])
def test_the_device_with_these_features_leads(device, seen, stage):
    first = identify(features(seen), TABLES).devices[0]
    assert first.code == device, [
        (one.code, round(one.probability, 2)) for one in identify(features(seen), TABLES).devices
    ]
    assert first.stage_kind == stage
    assert stage is None or StageKind(stage)
    assert stage is None or first.unknowns


def test_a_nitrate_and_a_tannin_unit_stay_apart_only_by_a_test():
    found = identify(features(["tall_tank", "salt", "hardness_unchanged", "white_beads"]), TABLES)
    assert {one.code for one in found.devices[:2]} == {"tannin_anion", "nitrate_anion"}
    assert all(other in found.devices[0].look_alikes for other in [found.devices[1].code])
    nitrate = next(one for one in found.devices if one.code == "nitrate_anion")
    assert "laboratory" in nitrate.confirm


def test_look_alikes_are_named_only_while_they_are_still_open():
    open_still = identify(features(["tall_tank", "salt"]), TABLES).devices[0]
    assert "tannin_anion" in open_still.look_alikes
    settled = identify(
        features(["tall_tank", "salt", "hardness_gone", "no:hardness_unchanged", "amber_beads", "no:two_tanks"]),
        TABLES,
    ).devices[0]
    assert settled.code == "softener"
    assert "tannin_anion" not in settled.look_alikes


@pytest.mark.parametrize(
    ("seen", "parts"),
    [
        (["tall_tank", "salt", "no:two_tanks"], {"hardness_gone", "hardness_unchanged", "clock_nights"}),
        (
            ["tall_tank", "control_head", "no:salt"],
            {"air_inlet", "purple", "black_heavy", "white_grains", "sounds_hollow"},
        ),
        (["steel_cylinder", "end_nuts"], {"intensity_sensor"}),
        (["sink_tap"], {"ball_tank", "drain_clamp"}),
        (["solution_tub"], {"bleach_smell", "powder_tub"}),
    ],
)
def test_the_question_that_tells_most_parts_the_look_alikes(seen, parts):
    questions = identify(features(seen), TABLES).questions
    assert max(questions, key=lambda one: one.gain_bits).code in parts


@settings(max_examples=30, deadline=None)
@given(
    st.dictionaries(st.sampled_from(sorted(TABLES.features)), st.sampled_from(["yes", "no", "unknown"]), max_size=8),
    st.sampled_from([None, *SourceType]),
    st.randoms(use_true_random=False),
)
def test_shares_order_and_gains(seen, source, chance):
    found = identify(seen, TABLES, source)
    assert sum(one.probability for one in found.devices) <= 1.0 + 1e-9
    assert all(one.gain_bits >= 0.0 for one in found.questions)
    assert not set(seen) & {one.code for one in found.questions}
    turned = list(seen.items())
    chance.shuffle(turned)
    assert identify(dict(turned), TABLES, source) == found
    assert from_data(Identification, to_data(found)) == found


def test_shares_and_gains_equal_the_tables_by_hand():
    """Two answers, written out from the table: prior in proportion to the weights, features independent."""
    seen = {"sink_tap": "yes", "ball_tank": "no"}
    low, high = TABLES.practice.certainty
    other = TABLES.practice.something_else
    total = sum(one.weight[2] for one in TABLES.devices.values())

    def chance(features, code):
        return min(high, max(low, features.get(code, TABLES.features[code].background)))

    weights = {
        one.code: (1 - other)
        * one.weight[2]
        / total
        * chance(one.features, "sink_tap")
        * (1 - chance(one.features, "ball_tank"))
        for one in TABLES.devices.values()
    }
    weights["something_else"] = other * chance({}, "sink_tap") * (1 - chance({}, "ball_tank"))
    shares = {code: weight / sum(weights.values()) for code, weight in weights.items()}
    found = identify(seen, TABLES, SourceType.LAKE)
    for one in found.devices:
        assert one.probability == pytest.approx(shares[one.code])
    devices = {**{one.code: one.features for one in TABLES.devices.values()}, "something_else": {}}
    for question in found.questions[:5]:
        later = 0.0
        for answer in ("yes", "no"):
            joint = {
                code: share
                * (
                    chance(devices[code], question.code)
                    if answer == "yes"
                    else 1 - chance(devices[code], question.code)
                )
                for code, share in shares.items()
            }
            seen_chance = sum(joint.values())
            later += seen_chance * bits({code: part / seen_chance for code, part in joint.items()})
        gain = (bits(shares) - later) * TABLES.features[question.code].answered
        assert question.gain_bits == pytest.approx(gain, abs=1e-9)


@pytest.mark.parametrize(
    ("seen", "field", "value"), [({"wings": "yes"}, "feature", "wings"), ({"salt": "some"}, "salt", "some")]
)
def test_bad_features_are_refused_by_name(seen, field, value):
    with pytest.raises(OutsideValidRange) as refused:
        identify(seen, TABLES)
    assert (refused.value.parameter, refused.value.value) == (field, value)
