"""Laws every diagnosis keeps on the shipped tables, whatever is said."""

import itertools
import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Diagnosis, Evidence, diagnose, load_tables
from sizing.engine.diagnosis_bayes import entropy_bits, outcome_gain, question_gains
from sizing.engine.diagnosis_model import lens_of, measured_pieces, pieces, weigh
from sizing.engine.diagnosis_results import Result
from sizing.engine.diagnosis_tables import PROFILES
from sizing.engine.errors import OutsideValidRange
from sizing.engine.storage import from_data, to_data
from sizing.engine.water import Water

TABLES = load_tables()
COMPLAINTS = sorted(TABLES.shares)
OBSERVATIONS = sorted(TABLES.observations)
SOURCES = list(SourceType)
MEASURED = sorted(set(TABLES.measures) - {"iron_share"})
LENSES = [(source, complaint) for source in SOURCES for complaint in COMPLAINTS]

answers = st.dictionaries(st.sampled_from(OBSERVATIONS), st.sampled_from(["yes", "no", "unknown"]), max_size=9)
results = st.dictionaries(
    st.sampled_from(["iron", "manganese", "hardness", "tannin", "chloride", "nitrate"]),
    st.floats(0.001, 450.0),
    max_size=4,
)


def said(source, told, values=None):
    return Evidence(source, told, Water(values) if values else None)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(SOURCES), answers, results)
def test_shares_sum_to_one_and_gains_are_never_negative(source, told, values):
    found = diagnose(said(source, told, values), TABLES)
    for complaint in found.complaints:
        assert sum(complaint.causes.values()) == pytest.approx(1.0, abs=1e-9)
        assert min(complaint.causes.values()) >= 0.0
        assert complaint.open_bits >= 0.0
    assert all(step.gain_bits >= 0.0 and step.worth >= 0.0 for step in found.steps)
    assert [step.worth for step in found.steps] == sorted((step.worth for step in found.steps), reverse=True)
    assert all(0.0 <= cause.probability <= 1.0 for cause in found.causes)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(SOURCES), answers, results, st.randoms(use_true_random=False))
def test_the_order_of_asking_does_not_matter(source, told, values, chance):
    turned, other = list(told.items()), list(values.items())
    chance.shuffle(turned)
    chance.shuffle(other)
    first = diagnose(said(source, told, values), TABLES)
    second = diagnose(said(source, dict(turned), dict(other)), TABLES)
    assert first == second


@pytest.mark.parametrize(("source", "complaint"), LENSES[::5])
def test_what_no_cause_of_a_complaint_speaks_of_changes_nothing(source, complaint):
    lens = lens_of(TABLES, source, complaint)
    silent = [code for code, row in lens.rows.items() if np.ptp(lens.yes[row]) == 0.0]
    assert silent
    for code in silent[:6]:
        for answer in ("yes", "no"):
            assert np.allclose(weigh(lens, pieces(lens, {code: answer})), lens.prior, atol=1e-12)
    unmoved = [code for code in MEASURED if code not in lens.tells]
    for code in unmoved[:4]:
        piece = measured_pieces(TABLES, lens, {code: Result(code, 1.0)})
        assert np.allclose(weigh(lens, piece), lens.prior, atol=1e-12)


def test_an_unknown_answer_changes_nothing_but_is_not_asked_again():
    before = diagnose(said(SourceType.DRILLED_WELL, {"milky": "yes"}), TABLES)
    after = diagnose(said(SourceType.DRILLED_WELL, {"milky": "yes", "gas_taps": "unknown"}), TABLES)
    assert before.complaints == after.complaints
    assert "gas_taps" in {step.code for step in before.steps}
    assert "gas_taps" not in {step.code for step in after.steps}


@pytest.mark.parametrize("code", sorted(TABLES.measures))
def test_a_larger_result_never_speaks_less_for_a_higher_profile(code):
    """Monotone likelihood ratios: the order of the profiles is the order of the values."""
    measure = TABLES.measures[code]
    names = [name for name in PROFILES if name in measure.profiles]
    assert len(names) >= 2
    assert "usual" in names
    for lower, higher in itertools.pairwise(names):
        ratios = np.divide(measure.profiles[higher], measure.profiles[lower])
        assert (np.diff(ratios) >= -1e-9).all(), (lower, higher, ratios)
    for name in names:
        assert sum(measure.profiles[name]) == pytest.approx(1.0, abs=1e-9)
        assert len(measure.profiles[name]) == len(measure.cuts) + 1
        assert min(measure.profiles[name]) > 0.0
    assert list(measure.cuts) == sorted(measure.cuts)


@pytest.mark.parametrize(
    ("complaint", "cause", "code", "values"),
    [
        ("clear_then_orange", "ferrous_iron", "iron_dissolved", [0.05, 0.2, 0.7, 2.0, 6.0]),
        ("tea_clear", "tannin", "tannin", [0.1, 0.6, 2.0, 5.0]),
        ("white_scale", "hardness", "hardness", [10.0, 40.0, 90.0, 150.0, 250.0, 500.0]),
        ("egg_cold", "aquifer_sulphide", "sulphide", [0.01, 0.1, 0.6, 2.0]),
        ("black_stain", "manganese", "manganese", [0.01, 0.03, 0.1, 0.2, 0.6]),
        ("salty", "softener_rinse_fault", "chloride", [2000.0, 500.0, 150.0, 50.0, 10.0]),
        ("blue_green", "acid_water", "ph", [9.0, 8.0, 7.0, 6.6, 6.2, 5.5]),
    ],
)
def test_stronger_results_move_further(complaint, cause, code, values):
    found = []
    for value in values:
        lens = lens_of(TABLES, SourceType.DRILLED_WELL, complaint)
        now = weigh(lens, measured_pieces(TABLES, lens, {code: Result(code, value)}))
        found.append(float(now[lens.causes.index(cause)]))
    assert found == sorted(found)
    assert found[-1] > found[0]


def test_a_second_sign_of_the_same_cause_moves_further():
    shares = []
    told = {"orange_slime": "yes"}
    for code in ("slime_smears", "film_breaks", "swampy"):
        told = {**told, code: "yes"}
        shares.append(diagnose(said(SourceType.LAKE, told), TABLES).complaints[0].causes["iron_bacteria"])
    assert shares == sorted(shares)


@pytest.mark.parametrize("colour", ["turns_cloudy", "stand_rust", "rust_stains", "white_bowl"])
def test_a_measured_dissolved_iron_under_a_tenth_outranks_a_colour(colour):
    lens = lens_of(TABLES, SourceType.DRILLED_WELL, "clear_then_orange")
    place = lens.causes.index("ferrous_iron")

    def step(piece):
        before, after = lens.prior[place], weigh(lens, (piece,))[place]
        return abs(math.log2(after / (1 - after)) - math.log2(before / (1 - before)))

    seen = pieces(lens, {colour: "yes"})[0]
    result = measured_pieces(TABLES, lens, {"iron_dissolved": Result("iron_dissolved", 0.05)})[0]
    assert step(result) > step(seen)
    both = weigh(lens, (seen, result))
    assert both[place] < lens.prior[place]


@pytest.mark.parametrize("limit", [0.05, 0.1, 0.2, 1.0, 5.0, 50.0])
def test_a_result_not_found_never_says_more_than_a_zero(limit):
    lens = lens_of(TABLES, SourceType.DRILLED_WELL, "clear_then_orange")
    place = lens.causes.index("ferrous_iron")
    now = weigh(lens, measured_pieces(TABLES, lens, {"iron_dissolved": Result("iron_dissolved", limit, "<")}))
    zero = weigh(lens, measured_pieces(TABLES, lens, {"iron_dissolved": Result("iron_dissolved", 0.0)}))
    assert zero[place] - 1e-12 <= now[place] <= lens.prior[place] + 1e-9


def test_a_reporting_limit_far_above_every_class_says_nothing():
    lens = lens_of(TABLES, SourceType.DRILLED_WELL, "white_scale")
    now = weigh(lens, measured_pieces(TABLES, lens, {"silica": Result("silica", 1e6, "<")}))
    assert np.allclose(now, lens.prior)


def test_nothing_said_ever_rules_a_cause_out():
    for source, complaint in LENSES[::11]:
        lens = lens_of(TABLES, source, complaint)
        for answer in ("yes", "no"):
            now = weigh(lens, pieces(lens, dict.fromkeys(OBSERVATIONS, answer)))
            assert (now > 0.0).all()
            assert np.isfinite(now).all()


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 10_000), st.integers(2, 9), st.integers(1, 4))
def test_information_is_never_negative_and_never_more_than_is_open(seed, causes, measures):
    rng = np.random.default_rng(seed)
    now = rng.dirichlet(np.ones(causes))
    open_bits = float(entropy_bits(now))
    gains = question_gains(now, rng.random((6, causes)))
    assert (gains >= 0.0).all()
    assert (gains <= min(1.0, open_bits) + 1e-9).all()
    tables = [rng.dirichlet(np.ones(3), size=causes).T for _ in range(measures)]
    whole = outcome_gain(now, tables)
    assert 0.0 <= whole <= open_bits + 1e-9
    assert whole >= max(outcome_gain(now, [table]) for table in tables) - 1e-9
    assert whole <= sum(outcome_gain(now, [table]) for table in tables) + 1e-9


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(SOURCES), answers, results)
def test_evidence_and_answer_come_back_from_storage_as_they_were(source, told, values):
    evidence = said(source, told, values)
    found = diagnose(evidence, TABLES)
    assert from_data(Diagnosis, json.loads(json.dumps(to_data(found)))) == found
    again = from_data(Evidence, json.loads(json.dumps(to_data(evidence))))
    assert (again.source, dict(again.answers), again.facts) == (evidence.source, told, evidence.facts)
    assert diagnose(again, TABLES) == found


@pytest.mark.parametrize(
    ("evidence", "field", "value"),
    [
        (Evidence(SourceType.LAKE, {"purple_rain": "yes"}), "observation", "purple_rain"),
        (Evidence(SourceType.LAKE, {"milky": "perhaps"}), "milky", "perhaps"),
        (Evidence(SourceType.LAKE, facts=frozenset({"rich"})), "fact", "rich"),
        (Evidence(SourceType.LAKE, water=Water({"iron": 1.0}), below=frozenset({"lead"})), "result", "lead"),
        (Evidence(SourceType.LAKE, water=Water({"iron": np.array([1.0, 2.0])})), "Iron, total", "many values"),
        (Evidence(SourceType.LAKE, jurisdiction="atlantis"), "jurisdiction", "atlantis"),
    ],
)
def test_bad_evidence_is_refused_by_name(evidence, field, value):
    with pytest.raises(OutsideValidRange) as refused:
        diagnose(evidence, TABLES)
    assert (refused.value.parameter, refused.value.value) == (field, value)


def test_two_troubles_at_once_each_keep_their_cause():
    found = diagnose(said(SourceType.DRILLED_WELL, {"white_scale": "yes", "egg_hot": "yes"}), TABLES)
    by_complaint = {one.code: next(iter(one.causes)) for one in found.complaints}
    assert by_complaint == {"egg_hot": "anode_sulphate", "white_scale": "hardness"}
    assert {one.code for one in found.causes[:2]} == {"hardness", "anode_sulphate"}


def test_one_cause_behind_several_complaints_is_listed_once():
    told = {"orange_slime": "yes", "musty": "yes", "red_first_draw": "yes"}
    found = diagnose(said(SourceType.DRILLED_WELL, told), TABLES)
    first = found.causes[0]
    assert first.code == "iron_bacteria"
    assert set(first.complaints) == set(told)
    assert len({one.code for one in found.causes}) == len(found.causes)
    assert first.probability == max(first.complaints.values())
    assert first.unexplained == ()


def test_a_result_opens_the_complaint_it_stands_for_unless_it_was_denied():
    water = Water({"hardness": 300.0})
    opened = diagnose(Evidence(SourceType.DRILLED_WELL, water=water), TABLES).complaints
    assert [(one.code, one.by) for one in opened] == [("white_scale", "result")]
    denied = Evidence(SourceType.DRILLED_WELL, {"white_scale": "no"}, water)
    assert diagnose(denied, TABLES).complaints == ()


def test_with_nothing_said_the_first_thing_is_a_question():
    found = diagnose(Evidence(SourceType.DRILLED_WELL), TABLES)
    assert found.complaints == ()
    assert found.steps[0].kind == "ask"
    assert all(step.kind != "laboratory" or not step.analytes for step in found.steps)


def test_reasons_name_what_was_said_and_weigh_it():
    found = diagnose(
        Evidence(SourceType.DUG_WELL, {"tea_clear": "yes", "rust_stains": "yes"}, Water({"tannin": 0.1})), TABLES
    )
    tannin = next(one for one in found.causes if one.code == "tannin")
    assert tannin.supports[0].answer == "said"
    assert {one.code for one in tannin.against} == {"rust_stains", "tannin"}
    assert all(one.bits < 0.0 for one in tannin.against)
    result = next(one for one in tannin.against if one.code == "tannin")
    assert result.words == "Tannin 0.1 mg/L as tannic acid"
