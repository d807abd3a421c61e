"""What the bound of the search takes for granted of every stage; the order of slots against the rules of order."""

from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sizing.engine.stages.order import breaches, order_code
from sizing.engine.stages.registry import stage_for
from sizing.engine.train_bound import floor_costs
from sizing.engine.train_duty import brief_of
from sizing.engine.train_order import SLOTS
from sizing.engine.train_path import Line
from sizing.engine.train_search import options_of
from sizing.engine.water import Water

from .households import CATALOGUE, drilled, hard_well, iron_well, lake_cabin, nitrate_well

STAGES = [stage_for(product) for product in CATALOGUE]
HOUSEHOLDS = [hard_well, iron_well, lake_cabin, nitrate_well]


@pytest.mark.parametrize("household", HOUSEHOLDS)
def test_no_stage_costs_less_than_its_floor(household):
    brief = brief_of(household())
    line = Line(brief, options_of(STAGES, brief))
    for option in line.options:
        feed = line.feed(line.start(), option)
        least = floor_costs(option, option.share(brief.duty), brief.request.cost, 0.0)
        for floor, cost in zip(least[:3], feed.costs, strict=True):
            assert floor <= cost, option.name


FACTORS = {
    "iron": 3.0, "hardness": 500.0, "turbidity": 5.0, "nitrate": 20.0, "sulphide": 1.0, "manganese": 0.3,
    "tannin": 2.0, "colour": 50.0, "uvt": 80.0, "ph": 6.2, "free_chlorine": 1.0, "arsenic": 0.02, "uranium": 0.03,
    "total_coliform": 10.0, "alkalinity": 60.0, "dissolved_oxygen": 8.0,
}  # fmt: skip


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.fixed_dictionaries({code: st.floats(0.05, 1.0) for code in FACTORS}))
def test_a_stage_betters_only_what_it_names(shares):
    values = {code: FACTORS[code] * share for code, share in shares.items() if code not in ("uvt", "ph")}
    values |= {"uvt": 60.0 + 39.0 * shares["uvt"], "ph": 5.5 + 3.0 * shares["ph"]}
    values["iron_dissolved"] = 0.9 * values["iron"]
    water = Water({**drilled().water.values, **values})
    duty = brief_of(drilled()).duty
    for stage in {stage.kind: stage for stage in STAGES}.values():
        after = stage.treat(water, duty)
        for code in after:
            if code not in values or code in ("ph", "alkalinity", "dissolved_oxygen", "iron_dissolved"):
                continue
            better = after[code] > water[code] + 1e-9 if code == "uvt" else after[code] < water[code] - 1e-9
            assert not better or code in stage.improves(), (stage.kind, code)


class Placed:
    def __init__(self, kind, fine):
        self.kind, self.fine = kind, fine


def test_the_slots_keep_every_hard_rule_of_order():
    for one, other in combinations(SLOTS, 2):
        for first in one.kinds:
            for second in other.kinds:
                codes = [order_code(Placed(first, one.fine)), order_code(Placed(second, other.fine))]
                assert breaches(codes) == (), codes


def test_the_slots_keep_the_soft_rules_but_for_two_that_are_meant():
    # A bed stands ahead of cartridges, which would choke its backwash; carbon first saves resin from chlorine.
    meant = {("backwash", "sediment_coarse"), ("carbon", "organics")}
    for one, other in combinations(SLOTS, 2):
        for first in one.kinds:
            for second in other.kinds:
                codes = (order_code(Placed(first, one.fine)), order_code(Placed(second, other.fine)))
                assert codes in meant or breaches(codes, strengths=("soft",)) == (), codes
