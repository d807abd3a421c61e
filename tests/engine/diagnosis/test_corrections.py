"""A dealer's own tables: causes and questions added, numbers corrected, jobs counted, all of it reversible."""

import itertools

import pytest

from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Correction, Evidence, diagnose, load_tables, tables_with
from sizing.engine.diagnosis_corrections import laid_over
from sizing.engine.errors import OutsideValidRange
from sizing.engine.identify import identify

TABLES = load_tables()
WELL = SourceType.DRILLED_WELL


def share(tables, complaint, cause, place=0):
    return next((one.weights[place] for one in tables.shares[complaint] if one.cause == cause), 0.0)


def finished(cause, complaint="white_scale", source="drilled_well", **answers):
    return Correction("finished", cause, target=complaint, source=source, answers=answers)


def test_shares_follow_finished_jobs_by_the_posterior_mean():
    """Worked by hand: strength 20, silica 0.05 of white scale on drilled wells; 6 of 10 jobs were silica."""
    jobs = [finished("silica")] * 6 + [finished("hardness")] * 4
    learnt = tables_with(TABLES, jobs)
    assert share(learnt, "white_scale", "silica") == pytest.approx((20 * 0.05 + 6) / 30)
    assert share(learnt, "white_scale", "hardness") == pytest.approx((20 * 0.93 + 4) / 30)
    assert share(learnt, "white_scale", "high_ph_feed") == pytest.approx(20 * 0.02 / 30)
    assert learnt.counts.seen("white_scale", 0) == 10


def test_jobs_on_one_source_leave_the_others_alone():
    learnt = tables_with(TABLES, [finished("silica")] * 30)
    for place in (1, 2, 3):
        assert share(learnt, "white_scale", "silica", place) == share(TABLES, "white_scale", "silica", place)


def test_a_spring_counts_with_rivers_and_cisterns():
    learnt = tables_with(TABLES, [finished("silica", source="spring"), finished("silica", source="cistern")])
    assert learnt.counts.causes == {("white_scale", 3, "silica"): 2}


def test_the_order_of_finished_jobs_does_not_matter_and_neither_does_how_they_come():
    jobs = [finished("silica", vinegar_fizz="no"), finished("hardness", vinegar_fizz="yes"), finished("hardness")]
    whole = [tables_with(TABLES, list(order)) for order in itertools.permutations(jobs)]
    step_by_step = TABLES
    for job in jobs:
        step_by_step = tables_with(step_by_step, [job])
    for other in (*whole[1:], step_by_step):
        assert other.shares == whole[0].shares
        assert dict(other.causes) == dict(whole[0].causes)


def test_answers_of_finished_jobs_correct_the_likelihood():
    jobs = [finished("silica", vinegar_nothing="no")] * 5
    learnt = tables_with(TABLES, jobs)
    assert TABLES.causes["silica"].signs["vinegar_nothing"][0] == 0.92
    assert learnt.causes["silica"].signs["vinegar_nothing"][0] == pytest.approx(20 * 0.92 / 25)


def test_an_unknown_answer_and_the_complaint_itself_are_not_counted():
    learnt = tables_with(TABLES, [finished("silica", vinegar_fizz="unknown", white_scale="yes")])
    assert dict(learnt.counts.answers) == {}
    assert learnt.causes["silica"] == TABLES.causes["silica"]


def test_many_jobs_outweigh_the_shipped_judgement():
    learnt = tables_with(TABLES, [finished("silica")] * 200)
    found = diagnose(Evidence(WELL, {"white_scale": "yes"}), learnt)
    assert found.causes[0].code == "silica"


def test_a_job_that_found_something_else_lowers_every_listed_cause():
    learnt = tables_with(TABLES, [finished("something_else")] * 5)
    for one in TABLES.shares["white_scale"]:
        assert share(learnt, "white_scale", one.cause) == pytest.approx(one.weights[0] * 20 / 25)


def test_leaving_a_correction_out_takes_it_back_whole():
    one = Correction("share", "silica", target="white_scale", value=0.4)
    two = finished("hardness")
    both = tables_with(TABLES, [one, two])
    without = tables_with(TABLES, [each for each in both.corrections if each is not one])
    alone = tables_with(TABLES, [two])
    assert without.shares == alone.shares
    assert tables_with(TABLES, []).shares == TABLES.shares
    assert share(TABLES, "white_scale", "silica") == 0.05


def test_setting_a_share_leaves_the_others_their_proportions_and_the_sum():
    learnt = tables_with(
        TABLES, [Correction("share", "silica", target="white_scale", source="drilled_well", value=0.5)]
    )
    assert share(learnt, "white_scale", "silica") == 0.5
    assert sum(one.weights[0] for one in learnt.shares["white_scale"]) == pytest.approx(1.0)
    before = share(TABLES, "white_scale", "hardness") / share(TABLES, "white_scale", "high_ph_feed")
    assert share(learnt, "white_scale", "hardness") / share(learnt, "white_scale", "high_ph_feed") == pytest.approx(
        before
    )
    assert share(learnt, "white_scale", "silica", 1) == 0.05


OWN = [
    Correction(
        "observation",
        "peat_road",
        words="The lane crosses a peat bog",
        plain="Does the lane cross a bog?",
        value=0.1,
        signs={"tannin": 0.8},
    ),
    Correction(
        "cause",
        "bog_seep",
        words="A seep from the peat bog into the well",
        confirm="Walk the ground after rain",
        health="Surface water: test for bacteria",
        shares={"tea_clear": 0.4},
        signs={"peat_road": 0.95, "after_rain": 0.9},
    ),
]


def test_a_cause_and_a_question_of_the_dealers_own_are_used_like_any_other():
    learnt = tables_with(TABLES, OWN)
    told = Evidence(WELL, {"tea_clear": "yes"})
    asked = {step.code: step for step in diagnose(told, learnt).steps}
    assert asked["peat_road"].ask == "Does the lane cross a bog?"
    found = diagnose(Evidence(WELL, {"tea_clear": "yes", "peat_road": "yes", "after_rain": "yes"}), learnt)
    assert found.causes[0].code == "bog_seep"
    assert found.causes[0].health == "Surface water: test for bacteria"
    assert share(learnt, "tea_clear", "bog_seep") == 0.4
    assert sum(one.weights[0] for one in learnt.shares["tea_clear"]) == pytest.approx(1.0)
    assert "bog_seep" not in TABLES.causes


def test_a_device_and_a_feature_of_the_dealers_own_are_used_like_any_other():
    own = [
        Correction(
            "feature", "brass_plate", words="A brass plate with a crown", value=0.01, signs={"softener": 0.05}
        ),
        Correction(
            "device",
            "old_zeolite",
            words="Old greensand softener of a local smith",
            plain="The plate says so",
            stage_kind="softener",
            value=0.02,
            signs={"brass_plate": 0.98, "salt": 0.9},
        ),
    ]
    learnt = tables_with(TABLES, own)
    first = identify({"brass_plate": "yes", "salt": "yes"}, learnt).devices[0]
    assert (first.code, first.stage_kind) == ("old_zeolite", "softener")
    corrected = tables_with(learnt, [Correction("seen_on", "old_zeolite", target="cord", value=0.01)])
    assert corrected.devices["old_zeolite"].features["cord"] == 0.01


@pytest.mark.parametrize(
    ("correction", "field", "value"),
    [
        (finished("moonlight"), "cause", "moonlight"),
        (finished("silica", complaint="heartache"), "complaint", "heartache"),
        (finished("silica", source="moon"), "source", "moon"),
        (finished("silica", source=""), "source", "empty"),
        (Correction("observation", "new_one", words="x", asked="dream"), "asked", "dream"),
        (finished("silica", dancing="yes"), "observation", "dancing"),
        (finished("silica", vinegar_fizz="perhaps"), "vinegar_fizz", "perhaps"),
        (Correction("share", "silica", target="white_scale", value=1.4), "share", 1.4),
        (Correction("likelihood", "silica", target="dancing", value=0.4), "observation", "dancing"),
        (Correction("cause", "hardness", words="again"), "code of the cause", "hardness"),
        (Correction("cause", "something_else", words="else"), "code of the cause", "something_else"),
        (Correction("cause", "Big Words", words="x"), "code of the cause", "Big Words"),
        (Correction("cause", "new_one", words=" "), "words of the cause", "empty"),
        (Correction("observation", "new_one", words="x", group="moon"), "group", "moon"),
        (Correction("device", "new_one", words="x", stage_kind="magic"), "stage_kind", "magic"),
        (Correction("wish", "x"), "kind of correction", "wish"),
    ],
)
def test_a_correction_that_cannot_be_is_refused_by_name(correction, field, value):
    with pytest.raises(OutsideValidRange) as refused:
        tables_with(TABLES, [correction])
    assert (refused.value.parameter, refused.value.value) == (field, value)


def test_what_fits_no_more_is_told_and_the_rest_is_laid():
    """A cause of the dealer's own was taken back; the jobs that found it are left out, all others count."""
    orphan = finished("bog_seep", complaint="tea_clear")
    laid = laid_over(
        TABLES, [orphan, finished("silica"), Correction("cause", "x_y", words="x", signs={"dancing": 0.4})]
    )
    assert [one.place for one in laid.misfits] == [0, 2]
    assert "bog_seep" in laid.misfits[0].reason
    assert "x_y" not in laid.tables.causes
    assert laid.tables.shares == tables_with(TABLES, [finished("silica")]).shares


@pytest.mark.parametrize(
    "half",
    [
        Correction("cause", "x_y", words="x", shares={"tea_clear": 0.3, "heartache": 0.2}),
        Correction("cause", "x_y", words="x", shares={"tea_clear": 0.3, "white_scale": 3.0}),
        Correction("observation", "x_y", words="x", signs={"tannin": 0.3, "silica": 2.0}),
        Correction("feature", "x_y", words="x", signs={"softener": 0.3, "moon": 0.2}),
        finished("silica", vinegar_fizz="yes", dancing="yes"),
    ],
)
def test_a_correction_is_laid_whole_or_not_at_all(half):
    laid = laid_over(TABLES, [half])
    assert len(laid.misfits) == 1
    assert laid.tables.shares == TABLES.shares
    assert dict(laid.tables.causes) == dict(TABLES.causes)
    assert dict(laid.tables.observations) == dict(TABLES.observations)
    assert dict(laid.tables.features) == dict(TABLES.features)
    assert dict(laid.tables.devices) == dict(TABLES.devices)
