"""The search equals full enumeration on random small catalogues, and an independent judge finds nothing wrong."""

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sizing.engine.design import Goals, SiteLimits, SourceType, StageKind
from sizing.engine.train import _choose
from sizing.engine.train_bound import Bound
from sizing.engine.train_duty import brief_of
from sizing.engine.train_path import Line
from sizing.engine.train_search import By, Search, next_best, options_of

from .checker import broken
from .enumeration import admissible, front
from .fakes import Fake, Recipe, request

# What each kind betters first, and how it may differ: enough sense that many catalogues have lines that work.
BETTERS = {
    StageKind.BACKWASH: "turbidity",
    StageKind.SEDIMENT: "turbidity",
    StageKind.AIROX: "iron",
    StageKind.SOFTENER: "hardness",
    StageKind.ORGANICS: "nitrate",
    StageKind.CARBON: "turbidity",
    StageKind.RESTRICTOR: None,
    StageKind.RETENTION: None,
    StageKind.CHLORINE: None,
    StageKind.BOOSTER: None,
    StageKind.REDUCER: None,
    StageKind.UV: None,
    StageKind.RO: "nitrate",
}
ANALYTES = ("iron", "hardness", "turbidity", "nitrate")
BARE = (StageKind.RESTRICTOR, StageKind.BOOSTER, StageKind.REDUCER)  # kinds that better no water
CORE = (StageKind.SEDIMENT, StageKind.AIROX, StageKind.SOFTENER, StageKind.UV, StageKind.RO)


def often(draw, usual, seldom, chance=6):
    """``usual``, but one time in ``chance`` something drawn from ``seldom``."""
    return usual if draw(st.integers(1, chance)) < chance else draw(st.sampled_from(seldom))


@st.composite
def recipes(draw, number, kind):
    main = BETTERS[kind]
    removes = {} if main is None else {main: draw(st.sampled_from([0.5, 0.9, 0.99]))}
    other = often(draw, None, ANALYTES, 3)
    if other and other not in removes and kind not in BARE:
        removes[other] = 0.5
    harm = often(draw, None, ANALYTES, 4)
    limits = [
        (often(draw, "iron", ANALYTES, 3), often(draw, "max", ["min"], 10), draw(st.sampled_from([0.3, 1.0, 3.0])))
    ]
    earns = {
        StageKind.UV: (("cryptosporidium", 4.0), ("giardia", 4.0), ("virus", 0.5)),
        StageKind.RETENTION: (("giardia", 0.5), ("virus", draw(st.sampled_from([3.0, 3.5, 4.0])))),
        StageKind.SEDIMENT: (("cryptosporidium", 3.0), ("giardia", 3.0)),
    }
    wet = kind not in (
        StageKind.RETENTION,
        StageKind.CHLORINE,
        StageKind.BOOSTER,
        StageKind.REDUCER,
        StageKind.RESTRICTOR,
        StageKind.SEDIMENT,
        StageKind.UV,
        StageKind.RO,
    )
    return Recipe(
        kind,
        f"p{number}",
        price=draw(st.sampled_from([100, 200, 400, 400, 900])),
        removes=tuple(removes.items()),
        adds=((harm, draw(st.sampled_from([0.1, 1.0]))),) if harm and harm not in removes else (),
        limits=tuple((*limit, often(draw, False, [True], 4)) for limit in limits if draw(st.integers(0, 3)) == 0),
        rated=often(draw, 40.0, [26.0, 31.0]),
        loss_kpa=draw(st.sampled_from([2.0, 5.0, 15.0] if kind is not StageKind.BOOSTER else [-10.0, -40.0])),
        shutoff=draw(st.sampled_from([60.0, 120.0])),
        held=draw(st.sampled_from([400.0, 500.0])),
        bears=often(draw, None, [450.0, 500.0], 8),
        backwash=often(draw, 20.0, [40.0]) if wet else 0.0,
        drain=wet,
        power_w=5.0 if wet else 40.0 if kind is StageKind.UV else 0.0,
        wall=draw(st.sampled_from([0.2, 0.5])),
        drainable=often(draw, True, [False]),
        fine=kind is StageKind.SEDIMENT and often(draw, True, [False], 3),
        cyst=often(draw, True, [False], 3),
        dose=often(draw, 40.0, [0.0]) if kind is StageKind.UV else 0.0,
        minutes=draw(st.sampled_from([5.0, 20.0, 60.0])),
        part_price=draw(st.sampled_from([0, 20, 90])),
        months=draw(st.sampled_from([6.0, 12.0, 60.0])),
        salt_per=draw(st.sampled_from([0.0, 0.0, 1.0])),
        credits=earns.get(kind, ()) if draw(st.booleans()) else (),
        certified=("nitrate",) if draw(st.booleans()) else (),
    )


WATERS = (
    ("iron", [0.1, 0.6, 2.8, 2.8]),
    ("hardness", [20.0, 250.0, 250.0]),
    ("turbidity", [0.2, 4.0]),
    ("nitrate", [2.0, 12.0]),
    ("total_coliform", [0.0, 3.0, 3.0, 3.0]),
)


@st.composite
def cases(draw):
    kinds = [kind for kind in CORE if draw(st.integers(0, 9)) > 0]
    kinds += draw(st.lists(st.sampled_from(list(BETTERS)), min_size=2, max_size=6))
    stages = [Fake(draw(recipes(number, kind))) for number, kind in enumerate(kinds)]
    water = {code: draw(st.sampled_from(values)) for code, values in WATERS if draw(st.integers(0, 14)) > 0}
    wanted = (("iron", 0.3), ("hardness", 150.0), ("turbidity", 2.5))
    goals = Goals(
        at_entry={code: value for code, value in wanted if draw(st.booleans())},
        at_tap={"nitrate": 10.0} if draw(st.booleans()) else {},
        ph_low=None,
        ph_high=None,
        barrier_rule=often(draw, "household", ["us_public", "health_canada"], 3),
        soften=often(draw, "all", ["hot"], 3),
    )
    site = SiteLimits(
        wall_m=often(draw, None, [0.8, 1.6], 4),
        drain=often(draw, True, [False], 12),
        power=often(draw, "mains", ["none"], 20),
        power_w=often(draw, None, [47.0], 4),
        winter_heated=often(draw, True, [False], 4),
    )
    source = often(draw, SourceType.DRILLED_WELL, [SourceType.SPRING, SourceType.LAKE], 4)
    asked = request(
        water,
        source=source,
        goals=goals,
        site=site,
        cut_in=often(draw, 345.0, [220.0, 276.0], 3),
        above=often(draw, 138.0, [250.0], 8),
    )
    return asked, stages


def hot_duty(brief):
    """What stands on the hot line sees: a shower, a basin and a kitchen tap, two fifths of the day's water."""
    flow = min(30.0, (2.0 + 1.5 + 2.2) * 3.785411784)  # gpm of the peak demand study (published)
    return replace(brief.duty, flow_l_min=flow, peak_l_min=min(brief.hot.peak_l_min, flow) if brief.hot else 0.0,
                   daily_l=0.4 * brief.duty.daily_l)  # fmt: skip


def lines(case, *, pairs=True):
    asked, stages = case
    brief = brief_of(asked)
    line = Line(brief, [option for option in options_of(stages, brief, boosted=True) if pairs or option.count == 1])
    return brief, line, Bound(line)


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_equal_to_full_enumeration(case):
    _, line, bound = lines(case)
    every = admissible(line)
    found = Search(line, bound).run().paths
    assert {path.costs[:3] for path in found} == front(costs for costs, _ in every)


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_an_independent_judge_agrees(case):
    asked, _ = case
    brief, line, bound = lines(case, pairs=False)  # the judge knows single units
    taken = pipe_and_rise = brief.path.total_kpa
    for path in Search(line, bound).run().paths:
        stages = [feed.option.stage for feed in path.feeds]
        assert broken(asked, brief.duty, brief.tap_duty, stages, pipe_and_rise, hot_duty(brief)) == []
        assert path.loss + taken <= asked.supply.cut_in_kpa - asked.supply.worst_fixture_min_kpa + 1e-6


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_the_judge_and_the_walk_refuse_the_same_lines(case):
    asked, _ = case
    brief, line, _ = lines(case, pairs=False)
    by_slot: dict[int, list] = {}
    for option in line.options:
        by_slot.setdefault(option.slot, []).append(option)
    for step in range(3):
        options = [row[step % len(row)] for _, row in sorted(by_slot.items()) if (len(row) + step) % 2]
        _, faults = line.walk(options)
        stages = [option.stage for option in options]
        judged = broken(asked, brief.duty, brief.tap_duty, stages, brief.path.total_kpa, hot_duty(brief))
        assert bool(faults) == bool(judged), (faults, judged)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_the_least_of_each_cost_is_the_least_there_is(case):
    _, line, bound = lines(case)
    every = [costs for costs, _ in admissible(line)]
    for by in (By.LIFE, By.FIRST, By.HOURS):
        found = Search(line, bound, by).run().paths
        ordered = [tuple(costs[i] for i in by.value) for costs in every]
        assert [tuple(path.costs[i] for i in by.value) for path in found] == sorted(ordered)[:1]


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_a_line_is_found_where_there_is_one(case):
    _, line, bound = lines(case)
    assert bool(Search(line, bound, By.NONE).run().paths) == bool(admissible(line))


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases(), st.booleans())
def test_the_next_best_is_the_best_of_the_rest(case, by_kind):
    _, line, bound = lines(case)
    found = Search(line, bound, By.LIFE).run().paths
    if not found or not found[0].feeds:
        return

    def words(options):
        return {o.stage.kind.value if by_kind else o.stage.product.code for o in options}

    best = words(found[0].options)
    rest = [costs[1] for costs, options in admissible(line) if not best <= words(options)]
    second = next_best(line, bound, [best])
    assert (second.life if second else None) == (min(rest) if rest else None)


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_the_same_input_gives_the_same_outcome(case):
    from sizing.engine.errors import MissingEvidence

    asked, stages = case

    def answer():
        try:
            return _choose(asked, stages, 3)
        except MissingEvidence as missing:
            return missing.missing

    assert answer() == answer()
