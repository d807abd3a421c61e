"""Log credits wanted by rule and source, and earned by UV, contact and filters together."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from sizing.engine.confidence import confidence
from sizing.engine.design import Goals, SiteLimits, SourceType, StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.log_credits import ORGANISMS, required_logs
from sizing.engine.stages.registry import stage_for
from sizing.engine.train import choose_train, recheck
from sizing.engine.train_duty import brief_of
from sizing.engine.train_path import Line
from sizing.engine.train_search import Search, options_of
from sizing.engine.water import Water

from .checker import broken
from .fakes import Fake, Recipe, request
from .households import drilled, lake_cabin

# (rule, source, E. coli per 100 mL, found) -> logs of Cryptosporidium, Giardia, viruses
# 40 CFR 141.70(a)(1), (a)(2): 3 log Giardia, 4 log virus (published); 2 log Cryptosporidium (from memory)
# Health Canada, enteric protozoa 2019 (as quoted), enteric viruses 2019-04-12 section 1.0: 3 and 4 log (published)
# Quebec Q-2 r. 40 s. 5.1, bands to 15, 150 and 1500 E. coli: virus 4, 5, 6; Giardia 3, 4, 5; Cryptosporidium 3, 3, 4
WANTED = [
    ("us_public", SourceType.LAKE, 3.0, True, (2.0, 3.0, 4.0)),
    ("us_public", SourceType.SPRING, 0.0, False, (2.0, 3.0, 4.0)),
    ("us_public", SourceType.DRILLED_WELL, 0.0, True, (0.0, 0.0, 4.0)),
    ("us_public", SourceType.DRILLED_WELL, 0.0, False, (0.0, 0.0, 0.0)),
    ("health_canada", SourceType.RIVER, None, False, (3.0, 3.0, 4.0)),
    ("quebec", SourceType.LAKE, 15.0, True, (3.0, 3.0, 4.0)),
    ("quebec", SourceType.LAKE, 16.0, True, (3.0, 4.0, 5.0)),
    ("quebec", SourceType.LAKE, 1000.0, True, (4.0, 5.0, 6.0)),
    ("household", SourceType.LAKE, 3.0, True, (0.0, 0.0, 0.0)),
]


@pytest.mark.parametrize(("rule", "source", "e_coli", "found", "logs"), WANTED)
def test_what_each_rule_asks_of_a_source(rule, source, e_coli, found, logs):
    asked = required_logs(rule, source, e_coli, found=found)
    assert tuple(asked.logs.get(organism, 0.0) for organism in ORGANISMS) == logs
    assert bool(asked.citation) == any(logs)


def test_an_unknown_rule_is_refused_with_those_there_are():
    with pytest.raises(OutsideValidRange, match="us_public"):
        required_logs("strict", SourceType.LAKE, None, found=False)


@cache
def lodge(rule="us_public"):
    """A clear lake, a lodge open all year on mains power."""
    cabin = lake_cabin()
    water = {**cabin.water.values, "tannin": 0.1, "colour": 5.0, "uvt": 92.0, "turbidity": 0.8, "temperature": 8.0}
    return replace(
        cabin,
        water=Water(water),
        site=SiteLimits(),
        occupancy=replace(cabin.occupancy, months_open=tuple(range(1, 13))),
        supply=replace(cabin.supply, cut_in_kpa=345.0, cut_out_kpa=483.0),
        goals=Goals(barrier_rule=rule),
    )


@cache
def outcome(rule="us_public"):
    return choose_train(lodge(rule))


@pytest.mark.parametrize("rule", ["us_public", "health_canada", "quebec"])
def test_no_train_earns_less_than_its_rule_asks(rule):
    request, found = lodge(rule), outcome(rule)
    brief = brief_of(request)
    assert found.trains
    for train in found.trains:
        margins = {margin.code: margin for margin in train.margins}
        for organism, logs in zip(ORGANISMS, brief.logs, strict=True):
            assert margins[f"logs_{organism}"].value >= logs == margins[f"logs_{organism}"].limit
        stages = [stage_for(stage.product) for stage in train.stages]
        if all(stage.count == 1 for stage in train.stages):
            assert broken(request, brief.duty, brief.tap_duty, stages, brief.path.total_kpa) == []
        assert any(section.title == "Log credits against germs" for section in train.worksheet.sections)


def test_forty_millijoule_and_a_fine_filter_fall_short_of_viruses():
    # EPA 815-R-20-003 Table B-9: 40 mJ/cm2 earns half a log of viruses; the next step is 58.
    household = outcome("household").trains[0]
    refusals = recheck(lodge(), [stage.product for stage in household.stages])
    assert any("4 log of viruses are wanted, the line earns 0.5" in refusal.reason for refusal in refusals)


def test_viruses_are_met_by_contact_or_by_a_dose_of_186():
    # EPA 815-R-20-003 Table B-9: 4 log of viruses take 186 mJ/cm2; a filter earns none.
    for train in outcome().trains:
        contact = any(stage.kind is StageKind.RETENTION for stage in train.stages)
        dose = max((s.product.ratings["rated_dose"] for s in train.stages if s.kind is StageKind.UV), default=0.0)
        assert contact or dose >= 186.0


def test_a_drilled_well_with_coliforms_wants_viruses_out_and_nothing_else():
    request = replace(drilled(total_coliform=3.0), goals=Goals(barrier_rule="us_public"))
    assert brief_of(request).logs == (0.0, 0.0, 4.0)
    assert brief_of(request).barrier_dose == 0.0


def test_two_filters_in_a_row_count_once():
    dirty = replace(
        lodge(), goals=Goals(barrier_rule="quebec"), water=Water({**lodge().water.values, "e_coli": 1000.0})
    )
    fine = next(p for p in dirty.catalogue if p.kind is StageKind.SEDIMENT and stage_for(p).cyst_tested)
    fibres = next(p for p in dirty.catalogue if p.kind is StageKind.ULTRAFILTER)
    reasons = [refusal.reason for refusal in recheck(dirty, [fine, fibres])]
    assert any("5 log of Giardia are wanted, the line earns 3" in reason for reason in reasons)


def test_the_share_of_plausible_peaks_counts_the_credits():
    request = replace(lodge(), water_sd={"uvt": 1.0})
    found = confidence(request, outcome().trains[0], np.random.default_rng(5), 2000)
    assert {"logs_virus", "logs_giardia", "logs_cryptosporidium"} <= {limit.code for limit in found.limits}


def test_a_stage_that_does_nothing_but_earn_logs_is_looked_at():
    """Two logs of Cryptosporidium, three of Giardia, four of viruses: contact and light earn them between them."""
    stages = [
        Fake(Recipe(StageKind.RETENTION, "contact", credits=(("giardia", 0.5), ("virus", 3.5)))),
        Fake(Recipe(StageKind.SEDIMENT, "fine", fine=True, cyst=True)),
        Fake(Recipe(StageKind.UV, "lamp", credits=(("cryptosporidium", 4.0), ("giardia", 4.0), ("virus", 0.5)))),
    ]
    asked = request(
        {}, source=SourceType.SPRING, goals=Goals(ph_low=None, ph_high=None, barrier_rule="us_public"), cut_in=345.0
    )
    brief = brief_of(asked)
    (found,) = Search(Line(brief, options_of(stages, brief))).run().paths
    assert [stage.product.code for stage in found.stages] == ["contact", "fine", "lamp"]
