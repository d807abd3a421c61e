"""Words for papers: complete for every kind, with the cautions that must not be missing, and no claim of safety."""

import pytest

from sizing.engine.design import StageKind
from sizing.engine.errors import UnreadableValue
from sizing.engine.figures import FOLDER
from sizing.engine.stages import practice_text as words
from sizing.engine.stages.registry import stage_class
from sizing.engine.water import Water
from tests.engine.stages.made import catalogue, duty, stage

BEDS = ("backwash", "airox", "catalytic", "permanganate", "softener", "organics", "nitrate")


@pytest.mark.parametrize("kind", list(StageKind))
def test_every_kind_has_all_its_words(kind):
    assert words.plain_name(kind)
    assert words.household_words(kind)
    assert all(vars(words.install_notes(kind)).values())
    assert words.commissioning_rows(kind)
    assert words.routine_tasks(kind)
    assert words.frost(kind).risk
    assert {step.kind for step in (*words.opening_steps(kind), *words.closing_steps(kind))} == {kind.value}
    assert {task.who for task in words.routine_tasks(kind)} <= {"household", "dealer"}


@pytest.mark.parametrize("kind", [kind for kind in StageKind if kind is not StageKind.CHLORINE])
def test_papers_and_stages_say_the_same_purpose(kind):
    assert words.purpose(kind) == stage_class(kind).purpose


@pytest.mark.parametrize(
    ("kind", "codes"),
    [
        # cautions that a paper of that kind must carry (usual cautions of the trade)
        ("uv", {"uv_light", "electric", "lamp_glass", "chlorine_acid", "germs"}),
        ("softener", {"lifting", "air_gap", "septic", "brine"}),
        ("chlorine", {"chlorine_strong", "chlorine_acid", "septic"}),
        ("permanganate", {"permanganate", "air_gap"}),
        ("ro", {"air_gap", "cross_connection"}),
        ("booster", {"electric"}),
        ("reducer", {"hot_water"}),
        ("sediment", {"crawl_space", "cross_connection"}),
    ],
)
def test_cautions_that_must_not_be_missing(kind, codes):
    assert codes <= {caution.code for caution in words.cautions_for([kind])}


@pytest.mark.parametrize("kind", BEDS)
def test_every_bed_with_a_drain_says_air_gap(kind):
    # an air gap on every backwash drain, Illinois 35 IAC 604.805(i) (published)
    assert "air_gap" in {caution.code for caution in words.cautions_for([kind])}
    assert "air gap" in words.install_notes(kind).drain


def test_cautions_stand_once_and_defer_to_local_codes_last():
    codes = [caution.code for caution in words.cautions_for(list(StageKind))]
    assert len(codes) == len(set(codes))
    assert codes[-1] == "local_codes"
    assert [caution.code for caution in words.cautions_for([])] == ["pressure", "local_codes"]


def test_closing_turns_the_heater_off_before_anything_is_drained():
    steps = [step.text for step in words.season_checklist(["softener", "uv"], "closing")]
    assert steps[0].startswith("Heater power or gas off first")
    unplugged = next(i for i, text in enumerate(steps) if "Unplug" in text)
    drained = next(i for i, text in enumerate(steps) if "Drain the heater" in text)
    assert 0 < unplugged < drained


def test_opening_ends_with_a_sample():
    steps = [step.text for step in words.season_checklist(["sediment", "uv"], "opening")]
    assert "coliform sample" in steps[-1]


def test_a_checklist_holds_the_stages_that_are_there_and_no_others():
    kinds = {step.kind for step in words.season_checklist(["sediment", "ro"], "closing")}
    assert kinds == {"place", "sediment", "ro"}


def test_what_frost_destroys_goes_home():
    # membranes and lamps do not survive a frozen cabin (UNR Extension FS-05-09 for membranes, published)
    for kind, thing in (("ro", "membrane"), ("uv", "lamp"), ("ultrafilter", "module")):
        assert thing in words.frost(kind).goes_home
    for product in catalogue().values():
        unit = stage(product.code)
        if not unit.needs(Water({}), duty()).drainable:
            assert words.frost(product.kind).goes_home, product.code


def test_nothing_is_ever_called_safe_to_drink():
    for path in sorted((FOLDER / "practice").glob("*.toml")):
        text = path.read_text(encoding="utf-8").lower()
        assert "safe" not in text, path.name


def test_nitrate_is_never_to_be_boiled():
    assert "boil" in words.household_words("nitrate").lower()


@pytest.mark.parametrize("call", [words.plain_name, words.install_notes, words.opening_steps, words.frost])
def test_an_unknown_kind_is_named(call):
    with pytest.raises(UnreadableValue, match="teapot"):
        call("teapot")


def test_an_unknown_season_is_named():
    with pytest.raises(UnreadableValue, match="one of opening, closing"):
        words.season_checklist(["uv"], "spring")
