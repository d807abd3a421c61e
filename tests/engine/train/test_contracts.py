"""What the search takes for granted of every stage; the order of slots against the rules of order."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from sizing.engine.cost import present_values
from sizing.engine.design import CostTerms
from sizing.engine.stages.order import breaches, order_code
from sizing.engine.stages.registry import stage_for
from sizing.engine.train_duty import brief_of
from sizing.engine.train_like import wears_no_more
from sizing.engine.train_order import SLOTS
from sizing.engine.train_path import Line
from sizing.engine.train_search import options_of
from sizing.engine.train_spot import Option, kept
from sizing.engine.water import Water

from .households import CATALOGUE, drilled, hard_well, iron_well, lake_cabin, nitrate_well

STAGES = [stage_for(product) for product in CATALOGUE]
HOUSEHOLDS = [hard_well, iron_well, lake_cabin, nitrate_well]
MANY = settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))

FACTORS = {
    "iron": 3.0, "hardness": 500.0, "turbidity": 5.0, "nitrate": 20.0, "sulphide": 1.0, "manganese": 0.3,
    "tannin": 2.0, "colour": 50.0, "uvt": 80.0, "ph": 6.2, "free_chlorine": 1.0, "arsenic": 0.02, "uranium": 0.03,
    "total_coliform": 10.0, "alkalinity": 60.0, "dissolved_oxygen": 8.0, "sulphate": 200.0, "chloride": 200.0,
    "sodium": 100.0, "tds": 900.0, "suspended_solids": 20.0, "voc": 10.0, "pfas": 50.0, "calcium": 120.0,
    "magnesium": 40.0, "ammonia": 2.0, "barium": 2.0, "fluoride": 3.0,
}  # fmt: skip
SHARE = st.integers(0, 1000).map(lambda thousandths: thousandths / 1000.0)
SHARES = st.fixed_dictionaries(dict.fromkeys(FACTORS, SHARE))


def water_of(shares):
    """A water of any kind: each analyte a share of a plausible most."""
    values = {code: FACTORS[code] * share for code, share in shares.items() if code not in ("uvt", "ph")}
    values |= {"uvt": 55.0 + 44.0 * shares["uvt"], "ph": 5.5 + 3.5 * shares["ph"]}
    values["iron_dissolved"] = values["iron"] * shares["turbidity"]
    values["temperature"] = 8.0
    return Water(values)


@st.composite
def duties(draw):
    base = brief_of(draw(st.sampled_from([drilled, lake_cabin]))()).duty
    flow = draw(st.floats(8.0, 70.0))
    return replace(
        base, flow_l_min=flow, pump_l_min=flow, peak_l_min=flow * draw(st.floats(0.2, 1.0)),
        daily_l=draw(st.floats(100.0, 3000.0)), temperature_c=draw(st.floats(1.0, 25.0)),
    )  # fmt: skip


@pytest.mark.parametrize("household", HOUSEHOLDS)
def test_no_option_costs_less_than_its_floor(household):
    brief = brief_of(household())
    line = Line(brief, options_of(STAGES, brief))
    for option in line.options:
        feed = line.feed(line.start(), option)
        first, life, upkeep, *_ = line.floor(feed.spot)
        assert first == line.bought(option)
        assert life <= first + feed.running[0], option.name
        assert upkeep <= feed.running[1], option.name


@MANY
@given(st.sampled_from(STAGES), SHARES, duties())
def test_a_stage_betters_only_what_it_names_and_no_more_than_it_says(stage, shares, duty):
    water = water_of(shares)
    after, most = stage.treat(water, duty), stage.most_removed()
    for code in after:
        if code in ("ph", "dissolved_oxygen", "temperature") or code not in water:
            continue
        if code == "uvt":
            assert code in stage.improves() or after[code] <= water[code] + 1e-9
            continue
        fallen = after[code] < water[code] - 1e-9
        assert not fallen or code in stage.improves() or code in ("alkalinity", "carbon_dioxide"), (stage.kind, code)
        if code in stage.improves():
            assert after[code] >= water[code] * (1.0 - most.get(code, 1.0)) - 1e-9, (stage.kind, code)
    if "iron" in after and "iron_dissolved" in after:
        assert after["iron"] >= 0.0


@MANY
@given(st.sampled_from(STAGES), SHARES, duties())
def test_what_is_too_small_is_refused_by_its_margins_or_its_limits_too(stage, shares, duty):
    if stage.too_small(duty):
        limits = [limit for limit in stage.feed_limits(duty) if limit.analyte == "flow" and limit.hard]
        held = [margin.held for margin in stage.margins(water_of(shares), duty)]
        assert not all([*held, *(kept(limit, duty.flow_l_min) for limit in limits)])


@MANY
@given(st.sampled_from(STAGES), SHARES, duties())
def test_what_a_water_spoils_is_refused_by_its_margins_too(stage, shares, duty):
    water = water_of(shares)
    if stage.spoilt_by(water):
        assert not all(margin.held for margin in stage.margins(water, duty))


@MANY
@given(st.sampled_from(STAGES), SHARES, SHARE, duties())
def test_no_feed_undercuts_the_least_upkeep(stage, shares, share, duty):
    water = water_of(shares)
    known = {code: value * share for code, value in water.values.items() if code not in ("ph", "uvt", "temperature")}
    least, real = stage.least_upkeep(duty, Water(known)), stage.upkeep(water, duty)
    for name in ("salt_kg_year", "water_l_year", "power_kwh_year"):
        assert getattr(least, name) <= getattr(real, name) * (1 + 1e-9) + 1e-9, (stage.product.code, name)


@MANY
@given(st.sampled_from(STAGES), SHARES, st.sampled_from(sorted(FACTORS)), SHARE, duties())
def test_what_a_stage_does_not_heed_changes_nothing(stage, shares, code, share, duty):
    assume(stage.heeds() is not None)
    one, other = water_of(shares), water_of({**shares, code: share})
    if code in ("iron", "turbidity"):  # the dissolved part goes with these two
        other = other.with_values(iron_dissolved=min(one["iron_dissolved"], other["iron"]))
        assume(other["iron_dissolved"] == one["iron_dissolved"])
    for limit in stage.feed_limits(duty):
        if limit.analyte == code and (limit.hard or limit.required):
            assume(kept(limit, one[code]) == kept(limit, other[code]))
    if code not in stage.heeds(costs=False):
        assert [m.held for m in stage.margins(one, duty)] == [m.held for m in stage.margins(other, duty)]
        assert stage.needs(one, duty).backwash_l == stage.needs(other, duty).backwash_l
    if code in stage.heeds():
        return
    assert stage.upkeep(one, duty) == stage.upkeep(other, duty)
    before, after = stage.treat(one, duty), stage.treat(other, duty)
    alters = stage.alters()
    for left in before:
        if left not in alters:
            assert before[left] == one.get(left)
            assert after[left] == other.get(left)
        elif code not in alters[left]:
            assert before[left] == after[left], (stage.kind, code, left)


@MANY
@given(st.sampled_from(STAGES), SHARES, st.sets(st.sampled_from(sorted(FACTORS))), duties())
def test_what_was_not_measured_stays_unknown_but_for_what_a_stage_brings(stage, shares, untested, duty):
    full = water_of(shares)
    water = Water({code: value for code, value in full.values.items() if code not in untested})
    assert set(stage.treat(water, duty)) - set(water) <= set(stage.brings())


BY_LIKE = {}
for _stage in STAGES:
    _rank = _stage.rank()
    if _rank is not None:
        BY_LIKE.setdefault((type(_stage), _rank.like), []).append(_stage)
PAIRS = [
    (better, other)
    for alike in BY_LIKE.values()
    for better in alike
    for other in alike
    if better is not other
    and all(a >= b for a, b in zip(better.rank().merits, other.rank().merits, strict=True))
]  # fmt: skip


@MANY
@given(st.sampled_from(PAIRS), SHARES, duties())
def test_a_stage_of_higher_rank_bears_what_the_lower_bears_and_uses_no_more(pair, shares, duty):
    better, other = pair
    assume(not better.too_small(duty) and not other.too_small(duty))
    water = water_of(shares)
    assert better.treat(water, duty) == other.treat(water, duty)
    assert better.improves() == other.improves()
    for limit, twin in zip(better.feed_limits(duty), other.feed_limits(duty), strict=True):
        if limit.analyte != "flow":
            assert (limit.analyte, limit.sense, limit.value, limit.hard, limit.required) == (
                twin.analyte, twin.sense, twin.value, twin.hard, twin.required,
            )  # fmt: skip
    if all(margin.held for margin in other.margins(water, duty)):
        assert all(margin.held for margin in better.margins(water, duty) if "backwash_supply" not in margin.code)
    options = [Option(0, 0, better), Option(1, 0, other)]
    if wears_no_more(*options) and all(
        a >= b for a, b in zip(better.rank().thrift, other.rank().thrift, strict=True)
    ):
        costs = [
            sum(present_values(stage.upkeep(water, duty), duty.months_open, duty.daily_l, CostTerms()))
            for stage in pair
        ]
        assert costs[0] <= costs[1] + 1e-6
        assert better.upkeep(water, duty).hours_year <= other.upkeep(water, duty).hours_year + 1e-9


class Placed:
    def __init__(self, kind, fine):
        self.kind, self.fine = kind, fine


IN_LINE = [
    slot for slot in SLOTS if slot.at != "hot"
]  # what stands on the hot line has no order against the main line


def test_the_slots_keep_every_hard_rule_of_order():
    for one, other in combinations(IN_LINE, 2):
        for first in one.kinds:
            for second in other.kinds:
                codes = [order_code(Placed(first, one.fine)), order_code(Placed(second, other.fine))]
                assert breaches(codes) == (), codes


def test_the_slots_keep_the_soft_rules_but_for_two_that_are_meant():
    # A bed stands ahead of cartridges, which would choke its backwash; carbon first saves resin from chlorine.
    meant = {("backwash", "sediment_coarse"), ("carbon", "organics")}
    for one, other in combinations(IN_LINE, 2):
        for first in one.kinds:
            for second in other.kinds:
                codes = (order_code(Placed(first, one.fine)), order_code(Placed(second, other.fine)))
                assert codes in meant or breaches(codes, strengths=("soft",)) == (), codes
