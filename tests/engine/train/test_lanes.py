"""Outside taps branched off ahead of the treatment, and the one drinking tap: what changes, and what is said."""

from dataclasses import replace

import pytest

from sizing.engine.demand import peak_flow
from sizing.engine.design import Fixture, Goals, Measured, SourceType, StageKind
from sizing.engine.errors import OutsideValidRange
from sizing.engine.findings import Severity
from sizing.engine.storage import from_data, to_data
from sizing.engine.train import choose_train, recheck, why_not
from sizing.engine.train_duty import brief_of
from sizing.engine.train_hand import lay_out

from .households import SMALL_HOUSE, drilled, hard_well, lake_cabin, nitrate_well

GAL = 3.785411784
HOSE = 5.0 * GAL  # L/min at a hose bibb: IPC 2018 Table 604.3 (published)


def with_tap(request, *, untreated=True, taps=1, litres=0.0):
    """The household with taps out of doors."""
    return replace(
        request,
        fixtures=(*request.fixtures, Fixture("outdoor_tap", taps)),
        site=replace(request.site, outside_untreated=untreated),
        occupancy=replace(request.occupancy, outside_litres_day=litres),
    )


def finding(findings, code):
    return next((f for f in findings if f.code == code), None)


def test_the_treated_peak_is_the_houses_alone_and_the_whole_has_the_hose():
    brief = brief_of(with_tap(drilled(), taps=2))
    assert brief.demand.flow_l_min == peak_flow(SMALL_HOUSE, people=5).flow_l_min
    assert brief.whole.flow_l_min - brief.demand.flow_l_min == pytest.approx(2 * HOSE)
    through = brief_of(with_tap(drilled(), taps=2, untreated=False))
    assert through.demand.flow_l_min - brief.demand.flow_l_min == pytest.approx(2 * HOSE)


def test_the_garden_leaves_the_daily_volume_that_is_treated():
    # 4 people at 227 L; 500 L a day in the garden.
    assert brief_of(with_tap(drilled(), litres=500.0)).daily.litres_d == 4 * 227.0
    assert brief_of(with_tap(drilled(), litres=500.0, untreated=False)).daily.litres_d == 4 * 227.0 + 500.0


def test_without_an_outside_tap_nothing_changes():
    asked = hard_well()
    marked = replace(asked, site=replace(asked.site, outside_untreated=True))
    assert to_data(choose_train(marked).trains) == to_data(choose_train(asked).trains)


def test_a_smaller_softener_does_where_the_hose_is_branched_off():
    # 38 L/min of pump: house and hose ask for more than the house alone, so nothing that holds both costs less.
    split, through = (choose_train(with_tap(hard_well(), untreated=way, litres=800.0)) for way in (True, False))
    assert split.trains[0].cost.total < through.trains[0].cost.total
    assert split.trains[0].cost.salt < through.trains[0].cost.salt


def test_the_pump_is_judged_by_all_taps():
    request = with_tap(drilled())
    house = peak_flow(SMALL_HOUSE).flow_l_min
    for pump, short in ((house + HOSE + 0.1, False), (house + HOSE - 0.1, True)):
        asked = replace(request, supply=replace(request.supply, pump_flow_l_min=Measured(pump)))
        assert (finding(brief_of(asked).findings, "pump_below_peak") is not None) is short
    assert "outside taps with them" in finding(brief_of(asked).findings, "pump_below_peak").message


@pytest.mark.parametrize(
    ("request_", "severity"),
    [(drilled(), Severity.NOTE), (lake_cabin(), Severity.HEALTH), (nitrate_well(), Severity.HEALTH)],
)
def test_the_tap_is_marked_and_where_the_raw_water_harms_it_is_a_health_matter(request_, severity):
    said = finding(brief_of(with_tap(request_)).findings, "outside_tap_untreated")
    assert said.severity is severity
    assert "Mark the outside tap as not treated" in said.what_to_do
    assert "Nobody drinks" in said.what_to_do
    assert ("germs" in said.message) is (request_.source is SourceType.LAKE)


def test_a_barrier_merely_asked_for_does_not_put_germs_into_the_hose():
    asked = with_tap(replace(drilled(), goals=Goals(uv_dose=40.0)))
    said = finding(brief_of(asked).findings, "outside_tap_untreated")
    assert said.severity is Severity.NOTE
    assert "germs" not in said.message


def test_the_train_tells_its_branches():
    asked = with_tap(nitrate_well(), taps=2, litres=300.0)
    train = choose_train(asked).trains[0]
    outside, tap = train.branches
    assert (outside.code, outside.taps, outside.litres_day) == ("outside", 2, 300.0)
    assert outside.flow_l_min == pytest.approx(2 * HOSE)
    assert train.stages[-1].kind is StageKind.RO
    assert (tap.code, tap.taps) == ("tap", 1)
    assert choose_train(hard_well()).trains[0].branches == ()


def test_the_worksheet_says_what_was_left_out():
    sheet = choose_train(with_tap(hard_well(), litres=300.0)).trains[0].worksheet
    (section,) = [section for section in sheet.sections if section.title.startswith("Outside taps")]
    values = {step.symbol: step.value for step in section.steps}
    assert values["Q_o"] == pytest.approx(HOSE)
    assert values["V_o"] == 300.0
    assert values["Q_w"] == pytest.approx(peak_flow(SMALL_HOUSE).flow_l_min + HOSE)
    assert all("Outside" not in s.title for s in choose_train(hard_well()).trains[0].worksheet.sections)


def test_rechecked_laid_out_and_asked_why_not_it_is_the_same_split():
    asked = with_tap(hard_well())
    train = choose_train(asked).trains[0]
    products = [stage.product for stage in train.stages]
    for other in (recheck(asked, products), lay_out(asked, products).train, why_not(asked, products[0].code)):
        assert other.branches == train.branches


def test_a_request_kept_before_there_were_branches_is_read_as_one_without():
    data = to_data(hard_well())
    del data["site"]["outside_untreated"], data["occupancy"]["outside_litres_day"]
    assert from_data(type(hard_well()), data) == hard_well()


def test_a_house_of_outside_taps_alone_has_nothing_to_treat():
    asked = replace(with_tap(drilled()), fixtures=(Fixture("outdoor_tap", 1),))
    with pytest.raises(OutsideValidRange, match="outside taps only"):
        brief_of(asked)


def test_impossible_garden_water_is_refused_by_name():
    with pytest.raises(OutsideValidRange, match="water used outside"):
        brief_of(with_tap(drilled(), litres=-1.0))


def hot_only(request):
    """The household softening its hot water only."""
    return replace(request, goals=replace(request.goals, soften="hot"))


def test_what_the_hot_line_asks_for():
    # By hand: bath with shower 5.5, two basins 1.5 each, kitchen 2.2, washer 3.5 gpm; the toilets draw none.
    hot = brief_of(hot_only(drilled())).hot
    assert hot.most_l_min == pytest.approx((5.5 + 2 * 1.5 + 2.2 + 3.5) * GAL)
    assert hot.litres_d == pytest.approx(0.4 * 4 * 227.0)
    assert hot.peak_l_min <= brief_of(drilled()).demand.flow_l_min


def test_a_softener_on_the_hot_line_uses_less_salt_and_leaves_the_cold_water_alone():
    whole, hot = choose_train(hard_well()).trains[0], choose_train(hot_only(hard_well())).trains[0]
    (softener,) = [stage for stage in hot.stages if stage.kind is StageKind.SOFTENER]
    assert softener.at == "hot"
    assert hot.cost.salt < whole.cost.salt
    assert hot.waters[-1]["hardness"] == hard_well().water["hardness"]
    assert hot.hot_water["hardness"] <= hard_well().goals.at_entry["hardness"]
    assert len(hot.waters) == len(hot.pressures_kpa) == 1 + sum(stage.at == "main" for stage in hot.stages)
    said = {f.code: f for f in hot.findings}
    assert "cold water gains none" in said["sodium_added"].message
    assert "soft_hot_only" in said
    assert any(m.code == "goal_hardness_hot" and m.held for m in hot.margins)


def test_hand_set_lines_put_the_softener_on_the_hot_line_wherever_it_was_listed():
    asked = hot_only(hard_well())
    best = choose_train(asked).trains[0]
    listed = sorted((stage.product for stage in best.stages), key=lambda p: p.kind is not StageKind.SOFTENER)
    assert recheck(asked, listed).stages == best.stages
    laid = lay_out(asked, listed)
    assert laid.breaches == ()
    assert [stage.at for stage in laid.train.stages] == [stage.at for stage in best.stages]
    code = next(product.code for product in listed if product.kind is StageKind.SOFTENER)
    assert why_not(asked, code).hot_water is not None


def test_hot_water_too_hard_is_told_of_the_hot_water():
    refused = recheck(hot_only(hard_well()), ())
    assert any("in the hot water" in refusal.constraint for refusal in refused)


def test_a_lamp_on_hard_water_is_not_helped_by_a_softener_behind_it():
    # Hardness above 7 gpg scales the sleeve: softening hot water only leaves the lamp in hard water.
    asked = hot_only(replace(drilled(hardness=325.0), goals=Goals({"hardness": 60.0}, uv_dose=40.0)))
    outcome = choose_train(asked)
    assert outcome.trains == ()
    assert any("hardness" in text for text in outcome.conflict)


def test_only_two_ways_of_softening_are_known():
    with pytest.raises(OutsideValidRange, match="what to soften"):
        brief_of(replace(drilled(), goals=Goals(soften="cold")))
    with pytest.raises(OutsideValidRange, match="hot water must be counted"):
        brief_of(hot_only(replace(drilled(), fixtures=(Fixture("toilet", 1),))))


def test_a_household_without_hardness_to_better_gets_no_hot_line():
    train = choose_train(hot_only(drilled())).trains[0]
    assert train.stages == ()
    assert (train.hot_water, train.branches) == (None, ())


def test_the_worksheet_works_the_hot_line_out():
    sheet = choose_train(hot_only(hard_well())).trains[0].worksheet
    (section,) = [section for section in sheet.sections if section.title.startswith("Hot line")]
    values = {step.symbol: step.value for step in section.steps}
    assert values["V_h"] == pytest.approx(0.4 * 4 * 227.0)
    assert next(step.status for step in section.steps if step.symbol == "s_h") == "from memory"
