"""Nothing passes: the conflict is a smallest one, and each relaxation opens a line. Proven by brute force."""

from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings

from sizing.engine import train_conflict
from sizing.engine.design import Goals, SiteLimits, SourceType, StageKind
from sizing.engine.errors import MissingEvidence
from sizing.engine.train import _choose, choose_train
from sizing.engine.train_conflict import Impasse
from sizing.engine.train_duty import brief_of
from sizing.engine.train_path import Line
from sizing.engine.train_search import By, Search, options_of

from .enumeration import admissible
from .fakes import Fake, Recipe, request
from .households import hopeless
from .test_search import cases, lines

SOFTENER = Recipe(
    StageKind.SOFTENER, "softener", removes=(("hardness", 0.95),), limits=(("iron", "max", 1.0, False),), drain=True,
    backwash=20.0,
)  # fmt: skip
FILTER = Recipe(StageKind.AIROX, "iron filter", removes=(("iron", 0.95),), drain=True, backwash=38.0)
FINE = Recipe(StageKind.SEDIMENT, "fine", removes=(("turbidity", 0.8),), fine=True, cyst=True)
LAMP = Recipe(StageKind.UV, "lamp", limits=(("uvt", "min", 75.0, True),), dose=40.0)


def choose(asked, *recipes):
    return _choose(asked, [Fake(recipe) for recipe in recipes], 3)


def test_a_small_pump_is_named_with_the_flow_that_would_do():
    goals = Goals(at_entry={"iron": 0.3}, ph_low=None, ph_high=None)
    found = choose(request({"iron": 2.8}, goals=goals, pump=30.0), FILTER)
    assert found.trains == ()
    assert "a pump that gives 38 L/min for the backwash" in found.relaxations
    assert any("38 L/min to backwash, the pump gives 30 L/min" in words for words in found.conflict)
    assert len(found.conflict) == 2  # the goal and the pump


def test_a_missing_drain_is_named():
    goals = Goals(at_entry={"hardness": 100.0}, ph_low=None, ph_high=None)
    found = choose(request({"hardness": 300.0}, goals=goals, site=SiteLimits(drain=False)), SOFTENER)
    assert found.relaxations[0] == "a drain with an air gap in reach"


def test_a_restrictor_below_the_peak_is_offered():
    lamp = Recipe(StageKind.UV, "lamp", dose=40.0, rated=12.0)
    restrictor = Recipe(StageKind.RESTRICTOR, "restrictor", rated=11.0)
    fine = Recipe(StageKind.SEDIMENT, "fine", fine=True)
    found = choose(request({"total_coliform": 2.0}), lamp, fine, restrictor)
    assert found.trains == ()
    assert any(words.startswith("a restrictor of 11 L/min") for words in found.relaxations)


def test_an_empty_catalogue_says_what_is_wanted():
    found = choose(request({"total_coliform": 2.0}))
    assert found.trains == ()
    assert found.conflict == ("Total coliform 2 per 100 mL was found: 40 mJ/cm2 are wanted, the line gives 0",)
    assert found.relaxations == ("a class A UV of 40 mJ/cm2 at 30 L/min",)


def test_only_the_missing_test_is_asked_for():
    with pytest.raises(MissingEvidence) as refused:
        choose(request({"iron": 0.1}, source=SourceType.LAKE), LAMP, FINE)
    assert refused.value.missing == ("uvt",)


def opens_by_enumeration(line, let):
    return bool(admissible(line.letting(let)))


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_the_conflict_is_a_smallest_one(case):
    _, line, _ = lines(case)
    if Search(line, by=By.NONE).run().paths:
        return
    impasse = Impasse(line)
    if impasse.untested():
        return
    impasse.gather()
    families = set(impasse.seen)
    conflict = impasse.smallest_conflict()
    kept = {f for name in conflict for f in families if f == name or f.startswith(f"{name}:")}
    assert not opens_by_enumeration(line, families - kept)
    grouped = sorted(impasse.families)
    for size in range(1, len(conflict)):
        for group in list(combinations(grouped, size))[:4]:
            fewer = {f for name in group for f in families if f == name or f.startswith(f"{name}:")}
            assert opens_by_enumeration(line, families - fewer)


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_each_way_opens_a_line_and_breaks_nothing_else(case):
    _, line, _ = lines(case)
    if Search(line, by=By.NONE).run().paths:
        return
    impasse = Impasse(line)
    if impasse.untested():
        return
    impasse.gather()
    for way in impasse.ways():
        assert way.words
        if "peak" not in way.families:
            broken = {"missing" if f.family.startswith("missing:") else f.family for f in way.faults}
            assert broken <= set(way.families)


def test_the_line_itself_is_not_changed_by_asking_why():
    asked = request({"hardness": 300.0}, goals=Goals(at_entry={"hardness": 100.0}), site=SiteLimits(drain=False))
    brief = brief_of(asked)
    line = Line(brief, options_of([Fake(SOFTENER)], brief))
    impasse = Impasse(line)
    impasse.gather()
    impasse.ways()
    assert line.ignore == frozenset()
    assert not Search(line, by=By.NONE).run().paths


def test_a_search_for_a_way_that_is_cut_short_is_owned_up_to(monkeypatch):
    whole = choose_train(hopeless())
    assert train_conflict.CUT_SHORT not in whole.conflict
    monkeypatch.setattr(train_conflict, "MOST_LOOKED", 1)
    short = choose_train(hopeless())
    assert short.trains == ()
    assert short.conflict[-1] == train_conflict.CUT_SHORT
