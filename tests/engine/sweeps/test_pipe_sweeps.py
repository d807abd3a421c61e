"""Friction over the whole range of Reynolds numbers, against two other programs."""

import tempfile
from itertools import pairwise
from pathlib import Path

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine.design import Measured, SupplySide
from sizing.engine.errors import OutsideValidRange
from sizing.engine.hydraulics import (
    elevation_kpa,
    path_pressure,
    pipe_run_loss_kpa,
    required_cut_in_kpa,
    stage_loss_kpa,
    worst_fixture_kpa,
)
from sizing.engine.liquid import density_and_viscosity
from sizing.engine.measures import KPA_PER_M, L_MIN_PER_M3_S
from sizing.engine.pipes import (
    bores,
    explicit_factor,
    friction_factor,
    hazen_williams_kpa,
    pipe_loss_kpa,
    smallest_size,
    velocity_m_s,
)

REYNOLDS = np.geomspace(10.0, 1e8, 60)
ROUGHNESS = (0.0, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.05)
SUPPLY = SupplySide(Measured(40.0), 207.0, 345.0, 200.0)


@pytest.mark.parametrize("rough", ROUGHNESS)
def test_the_factor_agrees_with_fluids_over_the_range(rough):
    mine = friction_factor(REYNOLDS, rough)
    theirs = [
        fluids.friction_factor(Re=float(re), eD=rough, Method="Colebrook" if re >= 2040 else None) for re in REYNOLDS
    ]
    assert mine == pytest.approx(theirs, rel=1e-7)


@pytest.mark.parametrize("rough", ROUGHNESS[:-1])
@pytest.mark.parametrize("form", ["swamee_jain", "haaland"])
def test_explicit_forms_stay_near_colebrook(rough, form):
    re = np.geomspace(5000.0, 1e8, 40)
    assert explicit_factor(re, rough, form=form) == pytest.approx(friction_factor(re, rough), rel=0.035)


def _network(rows, formula):
    """Head lost in each pipe by the EPANET engine: one reservoir, one pipe and one draw a row."""
    import wntr

    net = wntr.network.WaterNetworkModel()
    net.options.hydraulic.headloss = formula
    net.options.time.duration = 0
    net.add_reservoir("source", base_head=0.0)
    for i, (flow, bore, length, rough) in enumerate(rows):
        net.add_junction(f"j{i}", base_demand=flow / L_MIN_PER_M3_S, elevation=0.0)
        net.add_pipe(f"p{i}", "source", f"j{i}", length=length, diameter=bore, roughness=rough)
    with tempfile.TemporaryDirectory() as folder:
        result = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(Path(folder) / "net"))
    return np.array([-float(result.node["head"][f"j{i}"].iloc[0]) for i in range(len(rows))])


FLOWS = (6.0, 10.0, 20.0, 40.0, 60.0, 100.0)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("c", [100.0, 140.0, 150.0])
def test_hazen_williams_agrees_with_the_network_engine(c):
    rows = [(flow, bore, 50.0, c) for flow in FLOWS for bore in (0.0172, 0.026, 0.0409)]
    mine = [hazen_williams_kpa(f, b, length, c=c) / KPA_PER_M for f, b, length, _ in rows]
    assert _network(rows, "H-W") == pytest.approx(mine, rel=5e-4)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("rough_mm", [0.0015, 0.045])
def test_darcy_agrees_with_the_network_engine(rough_mm):
    """EPANET solves Darcy-Weisbach by Swamee and Jain at 1.1e-5 ft2/s; compared above Re 4,000."""
    rows = [(flow, bore, 50.0, rough_mm / 1000) for flow in FLOWS for bore in (0.0172, 0.026, 0.0409)]
    mine, theirs = [], _network(rows, "D-W")
    kept = []
    for (flow, bore, length, rough), head in zip(rows, theirs, strict=True):
        rho, mu = density_and_viscosity(19.5)
        if velocity_m_s(flow, bore) * bore * rho / mu > 4500:
            loss = pipe_loss_kpa(flow, bore, length, temperature_c=19.5, roughness_m=rough)
            mine.append(loss / (rho * KPA_PER_M / 1000))
            kept.append(head)
    assert len(kept) >= 12
    assert mine == pytest.approx(kept, rel=0.02)


def test_the_printed_forms_of_hazen_williams_agree_within_a_little():
    """Four printed constants, one formula: they may differ by 1.1 %, no more."""
    gpm, inches, c = 8.0, 1.049, 150.0
    engine = hazen_williams_kpa(gpm * 3.785411784, inches * 0.0254, 30.48, c=c) / KPA_PER_M / 0.3048
    us_head = 0.2083 * (100 / c) ** 1.852 * gpm**1.852 / inches**4.8655
    us_psi = 4.52 * gpm**1.85 / (c**1.85 * inches**4.87) * 100 * 2.30666
    metric = 10.67 * 30.48 * (gpm * 6.30902e-5) ** 1.852 / (c**1.852 * (inches * 0.0254) ** 4.87) / 0.3048
    assert [us_head, us_psi, metric] == pytest.approx([engine] * 3, rel=0.011)


def test_laminar_flow_is_poiseuille():
    rho, mu = density_and_viscosity(10.0)
    bore, length, flow = 0.02, 10.0, 0.5
    poiseuille = 128 * mu * length * flow / L_MIN_PER_M3_S / (np.pi * bore**4) / 1000
    assert velocity_m_s(flow, bore) * bore * rho / mu < 2040
    assert pipe_loss_kpa(flow, bore, length) == pytest.approx(poiseuille, rel=1e-9)


@given(st.floats(0.0, 150.0), st.floats(0.01, 0.05), st.floats(0.1, 100.0), st.floats(1.0, 30.0))
def test_loss_grows_with_flow_and_length_and_falls_with_bore_and_warmth(flow, bore, length, celsius):
    here = pipe_loss_kpa(flow, bore, length, temperature_c=celsius)
    assert here >= 0
    assert pipe_loss_kpa(flow * 1.1, bore, length, temperature_c=celsius) >= here
    assert pipe_loss_kpa(flow, bore, 2 * length, temperature_c=celsius) == pytest.approx(2 * here)
    assert pipe_loss_kpa(flow, bore * 1.1, length, temperature_c=celsius) <= here
    assert pipe_loss_kpa(flow, bore, length, minor_k=2.0, temperature_c=celsius) >= here


@given(
    st.lists(
        st.tuples(st.floats(2.0, 100.0), st.floats(0.1, 200.0)),
        min_size=1,
        max_size=4,
        unique_by=lambda p: round(p[0]),
    )
)
@settings(max_examples=80)
def test_a_stage_loss_starts_at_nothing_and_never_falls(points):
    flows = np.linspace(0.0, 150.0, 40)
    losses = stage_loss_kpa(flows, points)
    assert losses[0] == 0
    assert (np.diff(losses) >= -1e-9).all()
    if len(points) == 1:
        assert stage_loss_kpa(points[0][0], points) == pytest.approx(points[0][1])


@given(st.floats(0.0, 3.0), st.floats(0.0, 0.1))
def test_a_stage_loss_finds_the_curve_its_points_came_from(a, b):
    if a + b < 1e-3:
        return
    points = [(q, a * q + b * q * q) for q in (10.0, 25.0, 40.0)]
    assert stage_loss_kpa(33.0, points) == pytest.approx(a * 33 + b * 33 * 33, rel=1e-6)


@given(st.floats(1.0, 80.0), st.lists(st.floats(0.0, 80.0), max_size=6), st.floats(1.0, 30.0))
@settings(max_examples=80)
def test_pressure_along_the_path_adds_up(flow, losses, celsius):
    path = path_pressure(SUPPLY, flow, [(f"stage {i}", loss) for i, loss in enumerate(losses)], temperature_c=celsius)
    assert path.pressures_kpa[0] == SUPPLY.cut_in_kpa
    spent = sum(losses) + path.pipe_kpa + path.rise_kpa
    assert path.at_fixture_kpa == pytest.approx(SUPPLY.cut_in_kpa - spent)
    assert path.at_fixture_kpa == pytest.approx(worst_fixture_kpa(SUPPLY, flow, losses, temperature_c=celsius))
    low = "fixture_pressure_low" in {finding.code for finding in path.findings}
    assert low is not path.margin.held
    needed = required_cut_in_kpa(SUPPLY, flow, losses, temperature_c=celsius)
    assert needed - spent == pytest.approx(SUPPLY.worst_fixture_min_kpa)


def test_draws_give_the_same_as_one_by_one():
    flows, degrees = np.array([5.0, 20.0, 60.0]), np.array([4.0, 10.0, 20.0])
    together = worst_fixture_kpa(SUPPLY, flows, [flows * 0.5, 10.0], temperature_c=degrees)
    single = [
        worst_fixture_kpa(SUPPLY, float(f), [float(f) * 0.5, 10.0], temperature_c=float(t))
        for f, t in zip(flows, degrees, strict=True)
    ]
    assert together == pytest.approx(single, rel=1e-12)
    assert pipe_run_loss_kpa(SUPPLY, flows) == pytest.approx([pipe_run_loss_kpa(SUPPLY, float(f)) for f in flows])


@given(st.floats(-100.0, 100.0))
def test_going_up_and_down_again_costs_nothing(rise):
    assert elevation_kpa(rise) == -elevation_kpa(-rise)


@pytest.mark.parametrize("material", sorted(bores()))
def test_bores_grow_with_the_nominal_size_and_the_smallest_that_will_do_is_chosen(material):
    sizes = list(bores()[material].items())
    assert [bore for _, bore in sizes] == sorted(bore for _, bore in sizes)
    for (smaller, narrow), (larger, _) in pairwise(sizes):
        limit = 8 * 0.3048 * np.pi / 4 * narrow**2 * L_MIN_PER_M3_S
        assert smallest_size(material, limit * 0.999) == smaller
        assert smallest_size(material, limit * 1.001) == larger


def test_unknown_pipe_is_refused_with_what_is_known():
    with pytest.raises(OutsideValidRange, match="copper comes in"):
        path_pressure(SupplySide(Measured(30.0), 207.0, 345.0, 80.0, pipe_nominal="9/16"), 20.0, [])
    with pytest.raises(OutsideValidRange, match="pipe material"):
        smallest_size("bamboo", 10.0)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("flow", [8.0, 20.0, 35.0])
def test_the_whole_path_agrees_with_a_network_of_tank_valve_and_pipe(flow):
    """Tank at cut-in as a reservoir, the stages as one minor loss, the run, and the rise, solved by EPANET."""
    import wntr

    supply = SupplySide(Measured(40.0), 276.0, 414.0, 200.0, pipe_run_m=20.0, worst_fixture_height_m=4.0)
    bore, celsius = bores()["copper"]["3/4"], 19.5
    rho, _ = density_and_viscosity(celsius)
    kpa_per_m = rho * KPA_PER_M / 1000
    stage = 40.0 * (flow / 30.0) ** 2
    k = stage * 2000 / (rho * velocity_m_s(flow, bore) ** 2)
    net = wntr.network.WaterNetworkModel()
    net.options.hydraulic.headloss = "D-W"
    net.options.time.duration = 0
    net.add_reservoir("tank", base_head=supply.cut_in_kpa / kpa_per_m)
    net.add_junction("fixture", base_demand=flow / L_MIN_PER_M3_S, elevation=supply.worst_fixture_height_m)
    length = supply.pipe_run_m * 1.5
    net.add_pipe("run", "tank", "fixture", length=length, diameter=bore, roughness=1.5e-6, minor_loss=k)
    with tempfile.TemporaryDirectory() as folder:
        result = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(Path(folder) / "net"))
    theirs = float(result.node["pressure"]["fixture"].iloc[0]) * kpa_per_m
    mine = worst_fixture_kpa(supply, flow, [stage], temperature_c=celsius)
    assert mine == pytest.approx(theirs, abs=1.0)
