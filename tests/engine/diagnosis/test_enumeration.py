"""The engine against the whole joint distribution, written out outcome by outcome."""

import pytest

from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Evidence, diagnose
from sizing.engine.water import Water
from tests.engine.diagnosis.small import expected_gain, given, joint, random_tables, shares

SEEDS = range(12)
INSIDE = {"iron": {0: 0.4, 1: 3.0}, "manganese": {0: 1.0, 1: 3.0, 2: 9.0}}  # a value in each class


def told(tables, answers, water=None, **more):
    return diagnose(Evidence(SourceType.DRILLED_WELL, {"c0": "yes", **answers}, water, **more), tables)


def leading(diagnosis):
    return next(one for one in diagnosis.complaints if one.code == "c0").causes


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("answers", [{}, {"q0": "yes"}, {"q0": "no", "q2": "yes"}, {"c1": "no", "q1": "unknown"}])
def test_shares_equal_the_joint_table_given_the_answers(seed, answers):
    tables = random_tables(seed)
    known = {code: answer for code, answer in answers.items() if answer != "unknown"}
    expected = shares(given(joint(tables), known))
    assert leading(told(tables, answers)) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("iron", "manganese"), [(0, 0), (1, 2), (0, 1)])
def test_shares_equal_the_joint_table_given_results_too(seed, iron, manganese):
    tables = random_tables(seed)
    water = Water({"iron": INSIDE["iron"][iron], "manganese": INSIDE["manganese"][manganese]})
    expected = shares(given(joint(tables), {"q1": "yes"}, {"iron": {iron}, "manganese": {manganese}}))
    assert leading(told(tables, {"q1": "yes"}, water)) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_result_not_found_counts_every_class_under_its_reporting_limit(seed):
    tables = random_tables(seed)
    water = Water({"manganese": 5.0})  # "<5": the classes under 2 and from 2 to 5
    expected = shares(given(joint(tables), cells={"manganese": {0, 1}}))
    found = leading(told(tables, {}, water, below=frozenset({"manganese"})))
    assert found == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_gain_of_a_question_equals_the_joint_table(seed):
    tables = random_tables(seed)
    now = given(joint(tables), {"q0": "yes"})
    steps = {step.code: step.gain_bits for step in told(tables, {"q0": "yes"}).steps}
    for code in ("q1", "q2", "c1"):
        assert steps[code] == pytest.approx(expected_gain(now, lambda one, c=code: one.answers[c]), abs=1e-10)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_gain_of_a_package_equals_the_joint_table_over_both_results_at_once(seed):
    tables = random_tables(seed)
    now = given(joint(tables), {"q0": "no"})
    both = {step.code: step.gain_bits for step in told(tables, {"q0": "no"}).steps}["both"]
    assert both == pytest.approx(expected_gain(now, lambda one: tuple(one.cells.values())), abs=1e-10)
    for code in tables.measures:
        assert both >= expected_gain(now, lambda one, c=code: one.cells[c]) - 1e-10


@pytest.mark.parametrize("seed", SEEDS)
def test_a_package_tells_only_what_is_not_known_yet(seed):
    tables = random_tables(seed)
    now = given(joint(tables), cells={"iron": {1}})
    steps = {step.code: step for step in told(tables, {}, Water({"iron": 3.0})).steps}
    expected = expected_gain(now, lambda one: one.cells["manganese"])
    if expected < 1e-12:
        assert "both" not in steps or steps["both"].gain_bits == pytest.approx(0.0, abs=1e-10)
    else:
        assert steps["both"].gain_bits == pytest.approx(expected, abs=1e-10)
        assert steps["both"].analytes == ("manganese",)
