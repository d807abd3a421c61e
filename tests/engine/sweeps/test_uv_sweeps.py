"""Light in an annulus against quadrature; dose, capacity and credit over their ranges."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.uv import (
    ORGANISMS,
    UvUnit,
    absorbance_per_cm,
    capacity_l_min,
    credited_dose,
    dose_for_log,
    dose_mj_cm2,
    lamp_output_share,
    lamp_share_of_rating,
    light_share,
    log_credit,
    mean_irradiance_share,
    percent_inactivated,
    transmittance_percent,
    uvt_per_cm,
    wall_irradiance_share,
)
from sizing.engine.uv_sizing import feed_limits, size_uv

transmittances = st.floats(5.0, 100.0)
units = st.tuples(st.floats(10.0, 150.0), st.floats(60.0, 98.0), st.floats(16.0, 200.0), st.floats(0.5, 6.0)).map(
    lambda t: UvUnit(t[0], t[1], t[2], "A", t[3])
)


@pytest.mark.parametrize("uvt", [10.0, 50.0, 75.0, 85.0, 95.0, 99.9, 100.0])
@pytest.mark.parametrize(("sleeve", "wall"), [(1.15, 3.8), (1.15, 2.0), (2.5, 10.0), (0.8, 1.2)])
def test_the_mean_irradiance_is_the_integral_over_the_annulus(uvt, sleeve, wall):
    """Radial lamp of 1 W per cm: E(r) = e^(-a (r - r0)) / (2 pi r), averaged over the area."""
    a = -np.log(uvt / 100.0)

    def mean(absorption):
        total, _ = quad(lambda r: np.exp(-absorption * (r - sleeve)) / (2 * np.pi * r) * 2 * np.pi * r, sleeve, wall)
        return total / (np.pi * (wall**2 - sleeve**2))

    assert mean_irradiance_share(uvt, wall - sleeve) == pytest.approx(mean(a) / mean(0.0), rel=1e-9)


@given(transmittances, st.floats(0.2, 10.0))
def test_the_mean_lies_between_the_wall_and_clear_water(uvt, gap):
    wall, mean = wall_irradiance_share(uvt, gap), mean_irradiance_share(uvt, gap)
    assert 0 < wall <= mean + 1e-12
    assert mean <= 1 + 1e-12


@given(transmittances)
def test_absorbance_and_transmittance_undo_each_other(uvt):
    assert transmittance_percent(absorbance_per_cm(uvt)) == pytest.approx(uvt)


@given(transmittances, st.floats(5.0, 200.0))
def test_a_path_length_is_undone_exactly(uvt, path_mm):
    over = transmittance_percent(absorbance_per_cm(uvt), path_mm / 10.0)
    assume(over > 1e-9)
    assert uvt_per_cm(over, path_mm) == pytest.approx(uvt, rel=1e-6)


@given(units, transmittances, st.floats(1.0, 300.0))
@settings(max_examples=150)
def test_dose_falls_with_flow_and_rises_with_transmittance(unit, uvt, flow):
    here = dose_mj_cm2(unit, flow, uvt)
    assert here > 0
    assert dose_mj_cm2(unit, flow * 1.2, uvt) < here
    assert dose_mj_cm2(unit, flow, min(uvt + 1.0, 100.0)) >= here
    assert dose_mj_cm2(unit, flow, uvt, method="mean") >= here * (1 - 1e-12)
    assert dose_mj_cm2(unit, flow, uvt, sleeve_share=0.8) == pytest.approx(0.8 * here)


@given(units, transmittances)
@settings(max_examples=150)
def test_at_its_capacity_a_unit_gives_the_dose_it_was_asked_for(unit, uvt):
    capacity = capacity_l_min(unit, uvt)
    assert capacity <= unit.rated_flow_l_min + 1e-9
    if uvt <= unit.rated_uvt:
        assert dose_mj_cm2(unit, capacity, uvt) == pytest.approx(unit.rated_dose)
    else:
        assert capacity == pytest.approx(unit.rated_flow_l_min)


@given(units)
def test_the_rated_point_is_returned_as_it_was_given(unit):
    assert dose_mj_cm2(unit, unit.rated_flow_l_min, unit.rated_uvt) == pytest.approx(unit.rated_dose)
    assert light_share(unit, unit.rated_uvt) == pytest.approx(1.0)


@pytest.mark.parametrize("organism", ORGANISMS)
def test_credit_is_given_at_a_step_and_not_a_hair_below(organism):
    for log in np.arange(0.5, 4.01, 0.5):
        dose = dose_for_log(organism, float(log))
        assert log_credit(dose, organism) == pytest.approx(log)
        assert log_credit(dose * 0.9999, organism) == pytest.approx(log - 0.5)
    assert log_credit(0.0, organism) == 0.0
    assert log_credit(10_000.0, organism) == 4.0


@given(st.floats(0.0, 400.0), st.floats(0.0, 50.0), st.sampled_from(ORGANISMS))
def test_more_dose_never_earns_less_and_viruses_never_earn_more(dose, more, organism):
    assert log_credit(dose + more, organism) >= log_credit(dose, organism)
    assert log_credit(dose, "virus") <= log_credit(dose, organism)
    assert log_credit(dose, organism, validation_factor=1.5) <= log_credit(dose, organism)


@given(units, st.floats(0.0, 500.0))
def test_no_more_is_credited_than_was_validated(unit, dose):
    assert credited_dose(unit, dose) <= min(dose, unit.rated_dose) + 1e-12


@given(st.floats(0.0, 20_000.0))
def test_a_lamp_only_fades(hours):
    assert lamp_output_share(hours) <= 1.0
    assert lamp_share_of_rating(hours) <= 1.0
    assert lamp_output_share(hours) >= lamp_output_share(min(hours + 500.0, 20_000.0))


@given(st.floats(0.0, 11.0))
def test_each_log_leaves_a_tenth(log):
    assert 100 - percent_inactivated(log + 1) == pytest.approx((100 - percent_inactivated(log)) / 10, abs=1e-10)


@given(units, st.floats(5.0, 100.0), st.floats(40.0, 100.0))
@settings(max_examples=60)
def test_the_sizing_says_what_its_numbers_say(unit, flow, uvt):
    sized = size_uv(unit, flow, uvt)
    assert sized.dose == pytest.approx(dose_mj_cm2(unit, flow, uvt))
    assert sized.margins[0].held is (sized.dose >= unit.rated_dose)
    assert sized.margins[1].held is (flow <= unit.rated_flow_l_min)
    codes = {finding.code for finding in sized.findings}
    assert ("uvt_below_rating" in codes) is (uvt < unit.rated_uvt)
    assert ("uv_weak_on_viruses" in codes) is (sized.credits["virus"] < 4.0)


def test_draws_give_the_same_as_one_by_one():
    unit = UvUnit(45.0, 85.0)
    flows, uvt = np.array([10.0, 30.0, 60.0]), np.array([70.0, 85.0, 95.0])
    pairs = list(zip(flows, uvt, strict=True))
    assert dose_mj_cm2(unit, flows, uvt) == pytest.approx([dose_mj_cm2(unit, float(q), float(t)) for q, t in pairs])
    assert log_credit(flows, "giardia").tolist() == [log_credit(float(q), "giardia") for q in flows]


def test_what_cannot_be_is_refused():
    with pytest.raises(OutsideValidRange, match="UV transmittance is 120"):
        absorbance_per_cm(120.0)
    with pytest.raises(OutsideValidRange, match="UV transmittance"):
        absorbance_per_cm(0.0)
    with pytest.raises(MissingEvidence, match="path length"):
        uvt_per_cm(40.0, None)
    with pytest.raises(OutsideValidRange, match="organism"):
        log_credit(40.0, "iron bacteria")
    with pytest.raises(OutsideValidRange, match="class of the unit"):
        UvUnit(30.0, 85.0, 40.0, "C")


def test_feed_limits_name_the_unit_s_own_transmittance_and_ask_for_it():
    limits = {(limit.analyte, limit.sense): limit for limit in feed_limits(85.0)}
    assert limits["uvt", "min"].value == 85.0
    assert limits["uvt", "min"].required
    assert not limits["tannin", "max"].hard
    assert all(limit.source for limit in limits.values())
