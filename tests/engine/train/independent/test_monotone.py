"""Wishes made looser, a better pump and cleaner water never make a train dearer or impossible. What exactly holds:

- Looser goals or a roomier place: every line that passed still passes at the same cost, so none of the three
  least costs rises.
- A pump with more pressure at the same flow: losses are those of the flow, so the same holds; air heads and
  membranes only gain.
- A pump with more flow is not always better, and the physics says where: a UV, a cartridge, fibres, a nitrate
  bed and a chlorine feed are judged at the largest flow that can pass them. Where the peak demand was within
  the old pump's flow, a line that passed can break nothing else; a line without such stages stays, no dearer.
  With them, a larger unit or a restrictor ahead of the UV is what the better pump asks for.
- Cleaner water: everything carried is less by one share (absorbance too), proportions kept; pH, alkalinity,
  oxygen and temperature as they were. One analyte alone is not "cleaner" in this sense: less nitrate at the
  same sulphate spoils a nitrate bed (sulphate to nitrate at most 6), and a softener meeting less hardness may
  be set to less salt and leak more.
"""

from dataclasses import replace
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sizing.engine.demand import peak_flow
from sizing.engine.design import Measured, Train
from sizing.engine.errors import MissingEvidence
from sizing.engine.stages.starter import load_starter
from sizing.engine.train import choose_train, recheck
from sizing.engine.water import Water
from tests.engine.train.households import hard_well, iron_well, lake_cabin, nitrate_well

from .inspector import violations
from .random_households import household

STARTER = load_starter()
pytestmark = pytest.mark.usefixtures("designs_only")
several = settings(
    max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck), database=None
)
CARRIED = (
    "iron", "iron_dissolved", "manganese", "sulphide", "hardness", "calcium", "magnesium", "turbidity",
    "suspended_solids", "colour", "tannin", "nitrate", "sulphate", "total_coliform", "e_coli", "arsenic", "lead",
    "fluoride", "uranium",
)  # fmt: skip
# Codes of the inspector that hang on the largest flow that can pass, and what follows from a dose not given.
BY_LARGEST_FLOW = (
    "sediment largest flow", "screen largest flow", "carbon largest flow", "ultrafilter largest flow",
    "uv largest flow", "uv dose", "nitrate flow per litre", "chlorine feed", "barrier", "logs of", "told uv",
    "feed ro total_coliform", "feed ro e_coli", "feed tap_carbon total_coliform", "feed tap_carbon e_coli",
    "goal total_coliform", "goal e_coli",
)  # fmt: skip


@st.composite
def houses(draw):
    """A named household or a random one, with sixty products of the starter catalogue."""
    seed = draw(st.integers(0, 10_000))
    catalogue = tuple(Random(seed).sample(STARTER, 60))
    named = draw(st.sampled_from([None, None, iron_well, lake_cabin, hard_well, nitrate_well]))
    return replace(named(), catalogue=catalogue) if named else household(seed, catalogue)


def least(request):
    """The least first cost, whole-life cost and hours a year; nothing where no line passes."""
    try:
        trains = choose_train(request).trains
    except MissingEvidence:
        return None
    if not trains:
        return None
    return (
        float(min(train.first_cost for train in trains)),
        float(min(train.cost.total for train in trains)),
        min(train.upkeep_hours_year for train in trains),
    )


def no_worse(before, after):
    """Whether a line is still to be had, none of its least costs higher (to a cent or two of rounding)."""
    if before is None:
        return True
    return after is not None and all(new <= old + 0.02 for old, new in zip(before, after, strict=True))


@several
@given(houses(), st.floats(1.0, 3.0), st.floats(0.0, 0.5))
def test_looser_limits_never_cost_more(request, factor, wider):
    goals = request.goals
    looser = replace(
        goals,
        at_entry={code: value * factor for code, value in goals.at_entry.items()},
        at_tap={code: value * factor for code, value in goals.at_tap.items()},
        ph_low=None if goals.ph_low is None else goals.ph_low - wider,
        ph_high=None if goals.ph_high is None else goals.ph_high + wider,
    )
    before, after = least(request), least(replace(request, goals=looser))
    assert no_worse(before, after), (before, after)


@several
@given(houses(), st.floats(0.0, 2.0))
def test_a_roomier_place_never_costs_more(request, more):
    site = request.site
    lengths = {name: getattr(site, name) for name in ("wall_m", "depth_m", "height_m")}
    roomier = replace(
        site,
        **{name: None if value is None else value + more for name, value in lengths.items()},
        power_w=None if site.power_w is None else site.power_w * (1.0 + more),
        drain=True,
        winter_heated=True,
    )
    before, after = least(request), least(replace(request, site=roomier))
    assert no_worse(before, after), (before, after)


@several
@given(houses(), st.floats(0.0, 150.0))
def test_more_pressure_at_the_same_flow_never_costs_more(request, more):
    supply = request.supply
    if supply.cut_out_kpa + more > 551.0:
        return  # beyond 80 psi at no flow the codes ask for a reducing valve (IRC P2903.3.1), which costs
    stronger = replace(supply, cut_in_kpa=supply.cut_in_kpa + more, cut_out_kpa=supply.cut_out_kpa + more)
    before, after = least(request), least(replace(request, supply=stronger))
    assert no_worse(before, after), (before, after)


@several
@given(houses(), st.floats(1.0, 4.0))
def test_more_flow_breaks_nothing_but_what_is_judged_at_the_largest_flow(request, factor):
    supply = request.supply
    pump = supply.pump_flow_l_min.value
    if peak_flow(request.fixtures, people=request.occupancy.people_peak).flow_l_min > pump:
        return  # the pump held the peak down: with more flow the house asks for more
    stronger = replace(request, supply=replace(supply, pump_flow_l_min=Measured(pump * factor)))
    for train in choose_train(request).trains:
        found = {code for code, *_ in violations(stronger, train)}
        assert all(code.startswith(BY_LARGEST_FLOW) for code in found), found
        again = recheck(stronger, [s.product for s in train.stages], (), [s.count for s in train.stages])
        assert isinstance(again, Train) == (not found), (again, found)
        if isinstance(again, Train):
            assert again.cost.total <= train.cost.total
            assert again.first_cost == train.first_cost


@several
@given(houses(), st.floats(0.2, 1.0))
def test_cleaner_water_never_needs_more(request, share):
    water = dict(request.water.values)
    cleaner = water | {code: water[code] * share for code in CARRIED if code in water}
    if "uvt" in water:
        cleaner["uvt"] = 100.0 * (water["uvt"] / 100.0) ** share
    before, after = least(request), least(replace(request, water=Water(cleaner)))
    assert no_worse(before, after), (before, after)
