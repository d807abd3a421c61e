"""Peak demand over random houses."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from sizing.engine import convolution
from sizing.engine.demand import chance_above, code_curve_l_min, daily_volume, fixture_unit_flow, peak_flow
from sizing.engine.design import Fixture
from sizing.engine.errors import OutsideValidRange
from sizing.engine.fixtures import FIXTURES, KIND_BY_CODE, counted
from sizing.engine.measures import L_PER_GAL

STUDIED = [kind.code for kind in FIXTURES if kind.probability is not None]
houses = st.dictionaries(st.sampled_from(STUDIED), st.integers(1, 4), min_size=1, max_size=8)
small_houses = st.dictionaries(st.sampled_from(STUDIED), st.integers(1, 2), min_size=1, max_size=4)


def fixtures_of(house):
    return [Fixture(code, count) for code, count in house.items()]


def groups_of(house):
    kinds = [(KIND_BY_CODE[code], count) for code, count in house.items()]
    return [convolution.Group(n, kind.probability, round(kind.flow_gpm * 10)) for kind, n in kinds]


@given(houses, st.sampled_from(STUDIED))
@settings(max_examples=150)
def test_one_more_fixture_never_lowers_the_peak(house, extra):
    before = peak_flow(fixtures_of(house)).flow_l_min
    after = peak_flow([*fixtures_of(house), Fixture(extra, 1)]).flow_l_min
    assert after >= before - 1e-9


@given(houses)
@settings(max_examples=150)
def test_the_peak_lies_between_the_largest_fixture_and_all_of_them(house):
    peak = peak_flow(fixtures_of(house))
    flows = [KIND_BY_CODE[code].flow_gpm * L_PER_GAL for code in house]
    total = sum(KIND_BY_CODE[code].flow_gpm * n for code, n in house.items()) * L_PER_GAL
    assert max(flows) - 1e-9 <= peak.flow_l_min <= total + 1e-9
    assert peak.whole_l_min <= peak.flow_l_min + 1e-9
    assert peak.unconditional_l_min <= peak.whole_l_min + 1e-9
    assert 0 < peak.p0 < 1
    assert peak.p0 <= math.exp(-peak.h) + 1e-12


@given(small_houses)
@settings(max_examples=80)
def test_the_largest_over_sub_sets_equals_looking_at_every_one(house):
    groups = groups_of(house)
    best = 0
    for counts in itertools.product(*[range(g.count + 1) for g in groups]):
        chosen = [convolution.Group(n, g.probability, g.tenths) for n, g in zip(counts, groups, strict=True) if n]
        if chosen:
            best = max(best, convolution.quantile(convolution.distribution(chosen), 0.99))
    assert round(peak_flow(fixtures_of(house)).flow_l_min / L_PER_GAL * 10) == best


@given(houses)
@settings(max_examples=60)
def test_the_distribution_is_one_and_agrees_with_drawing_fixtures(house):
    groups = groups_of(house)
    pmf = convolution.distribution(groups)
    assert pmf.sum() == pytest.approx(1.0, abs=1e-12)
    assert (pmf >= 0).all()
    mean = float((pmf * np.arange(pmf.size)).sum())
    assert mean == pytest.approx(sum(g.count * g.probability * g.tenths for g in groups), rel=1e-9)
    cut = convolution.distribution(groups, 40)
    assert np.allclose(cut, pmf[: cut.size], atol=1e-15)


@given(st.integers(1, 40), st.floats(0.001, 0.5), st.sampled_from([0.9, 0.95, 0.99]))
@settings(max_examples=80)
def test_equal_fixtures_agree_with_scipy_binomial(count, probability, percentile):
    pmf = convolution.distribution([convolution.Group(count, probability, 1)])
    assert np.allclose(pmf, binom.pmf(np.arange(count + 1), count, probability), atol=1e-12)
    assert convolution.quantile(pmf, percentile, conditional=False) == int(binom.ppf(percentile, count, probability))


@given(houses, st.floats(0.0, 100.0))
@settings(max_examples=60)
def test_the_chance_above_falls_with_the_flow(house, flow):
    fixtures = fixtures_of(house)
    assert chance_above(fixtures, flow) >= chance_above(fixtures, flow + 5.0) - 1e-15
    assert chance_above(fixtures, peak_flow(fixtures).unconditional_l_min) <= 0.01 + 1e-12


@given(houses)
@settings(max_examples=40)
def test_order_and_repetition_of_the_list_do_not_matter(house):
    fixtures = fixtures_of(house)
    pieces = [Fixture(f.code, 1) for f in reversed(fixtures) for _ in range(f.count)]
    assert counted(pieces) == counted(fixtures)
    assert peak_flow(pieces).flow_l_min == peak_flow(fixtures).flow_l_min


@given(st.floats(1.0, 4999.0), st.floats(0.0, 1.0))
def test_the_code_curve_rises(load, step):
    assert code_curve_l_min(load + step) >= code_curve_l_min(load)


@given(houses)
@settings(max_examples=60)
def test_grouped_bathrooms_never_count_more_than_their_parts(house):
    fixtures = fixtures_of(house)
    grouped = fixture_unit_flow(fixtures)
    apart = fixture_unit_flow(fixtures, group_bathrooms=False)
    assert grouped.wsfu <= apart.wsfu + 1e-9


@given(st.floats(0.5, 40.0), st.floats(20.0, 900.0), st.floats(0.0, 500.0))
def test_daily_volume_is_linear(people, rate, other):
    assert daily_volume(2 * people, rate, other_litres_d=2 * other).litres_d == pytest.approx(
        2 * daily_volume(people, rate, other_litres_d=other).litres_d
    )


def test_impossible_lists_are_refused_by_name():
    with pytest.raises(OutsideValidRange, match="fixture"):
        peak_flow([Fixture("fountain", 1)])
    with pytest.raises(OutsideValidRange, match="number of toilet"):
        peak_flow([Fixture("toilet", -1)])
    with pytest.raises(OutsideValidRange, match="fixtures"):
        peak_flow([])
    with pytest.raises(OutsideValidRange, match="percentile"):
        peak_flow([Fixture("toilet", 1)], percentile=1.0)
