"""The order of stages as data: complete, consistent, and in agreement with the trade's own line."""

import tomllib

import pytest

from sizing.engine.design import StageKind
from sizing.engine.figures import FOLDER
from sizing.engine.stages.order import STRENGTHS, breaches, order_code, order_rules, reasons_between
from tests.engine.stages.made import stage

PLACES = {"sediment_coarse", "sediment_fine", "pressure_tank", "plumbing", "outdoor_branch", "air_injection"}
# The trade's main line (common practice): coarse, pH, iron, softening, organics, carbon, fine, restrictor, UV last.
LINE = [
    "sediment_coarse", "neutraliser", "airox", "softener", "organics", "carbon", "sediment_fine", "restrictor", "uv",
]  # fmt: skip


def test_codes_are_known_and_every_rule_says_why():
    known = {kind.value for kind in StageKind} | PLACES
    for rule in order_rules():
        assert {rule.before, rule.after, *rule.unless_between} <= known, rule
        assert rule.strength in STRENGTHS
        assert rule.reason
        assert rule.source
        assert rule.status in ("published", "computed", "common practice", "from memory")


def test_hard_and_soft_rules_together_have_no_cycle():
    after = {}
    for rule in order_rules():
        if rule.strength in ("hard", "soft"):
            after.setdefault(rule.before, set()).add(rule.after)
    done, walking = set(), set()

    def walk(code):
        assert code not in walking, f"cycle through {code}"
        if code in done:
            return
        walking.add(code)
        for following in after.get(code, ()):
            walk(following)
        walking.discard(code)
        done.add(code)

    for code in list(after):
        walk(code)
    assert done


def test_the_trades_line_breaks_nothing():
    assert breaches(LINE, strengths=("hard", "soft", "forbidden")) == ()


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("softener", "uv"),
        ("sediment_fine", "uv"),
        ("organics", "uv"),
        ("carbon", "uv"),
        ("softener", "organics"),
        ("airox", "softener"),
        ("neutraliser", "softener"),
        ("chlorine", "retention"),
        ("restrictor", "uv"),
        ("softener", "ro"),
    ],
)
def test_turning_a_hard_pair_round_is_a_breach(before, after):
    # pairs printed or practised as "must stand before" (sources in the figures)
    assert breaches([before, after]) == ()
    assert [breach.rule.after for breach in breaches([after, before])] == [after]


def test_forbidden_only_without_the_stage_between():
    # no air ahead of a softener that is to take iron, unless a filter stands between: Utah R309-535-11(4) (published)
    assert [b.rule.strength for b in breaches(["air_injection", "softener"])] == ["forbidden"]
    assert breaches(["air_injection", "airox", "softener"]) == ()


def test_soft_rules_are_only_asked_for():
    assert breaches(["softener", "sediment_coarse"]) == ()
    assert len(breaches(["softener", "sediment_coarse"], strengths=("soft",))) == 1


def test_carbon_may_stand_on_either_side_of_a_softener():
    assert [rule.strength for rule in reasons_between("carbon", "softener")] == ["either"]
    assert breaches(["softener", "carbon"], strengths=STRENGTHS) == ()


def test_codes_of_cartridges_follow_their_fineness():
    codes = [order_code(stage(code)) for code in ("sed-20x45-20-spun", "sed-20x45-5-spun", "uv-a-42")]
    assert codes == ["sediment_coarse", "sediment_fine", "uv"]


def test_groups_name_stage_kinds_only():
    groups = tomllib.loads((FOLDER / "order.toml").read_text(encoding="utf-8"))["groups"]
    kinds = {kind.value for kind in StageKind}
    assert all(set(members) <= kinds for members in groups.values())
