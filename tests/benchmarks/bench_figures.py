"""The speeds the engine promises, each printed as a share of its allowance; processor time, the best of several.

Run with ``make bench``: 30 fixtures 1 ms, 1,000 houses 0.3 s, a line of eight stages 1 ms and its 10,000 draws
100 ms, the saturation index of 10,000 waters 50 ms and at least 100 times quicker than PHREEQC, the import 0.5 s.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from sizing.engine import carbonate
from sizing.engine.confidence import Judge, plausible
from sizing.engine.demand import peak_flow
from sizing.engine.saturation import paired_indices, saturation_indices
from sizing.engine.stages.base import Stage
from sizing.engine.stages.registry import stage_for
from sizing.engine.train_duty import brief_of
from sizing.engine.water import Water
from tests.benchmarks.bench_engine import THIRTY, _forget, _houses
from tests.engine import waters
from tests.engine.train.households import iron_well
from tests.engine.train.test_confidence import uncertain

WATERS, DRAWS, ASKED = 10_000, 10_000, 300
LINE = (
    "screen-100-1", "airox-12", "soft-42", "carb-12", "sed-20x45-5-pleated", "restrict-30", "uv-a-42", "ro-75-cert",
)  # fmt: skip


def best(call: Callable[[], Any], rounds: int = 7, before: Callable[[], Any] = lambda: None) -> float:
    """Seconds of processor time, the least of several rounds."""
    took = []
    for _ in range(rounds):
        before()
        start = time.process_time()
        call()
        took.append(time.process_time() - start)
    return min(took)


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Callable[..., None]:
    """Print a figure as it stands against its allowance, and hold it to that."""

    def tell(what: str, seconds: float, allowed: float) -> None:
        with capsys.disabled():
            share = seconds / allowed
            print(f"\n{what}: {seconds * 1000:.3g} ms of {allowed * 1000:g} ms allowed, {share:.2f} of it")
        assert seconds <= allowed

    return tell


def test_peak_of_thirty_fixtures(told: Any) -> None:
    told("peak of 30 fixtures, nothing remembered", best(lambda: peak_flow(THIRTY), 50, _forget), 0.001)


def test_peak_of_a_thousand_houses_at_once(told: Any) -> None:
    houses = _houses(1000)
    told("peak of 1,000 houses", best(lambda: [peak_flow(house) for house in houses], 5, _forget), 0.3)


def test_import_of_the_engine(told: Any) -> None:
    code = (
        "import pkgutil, importlib, time; t = time.process_time(); import sizing.engine as e\n"
        "for m in pkgutil.walk_packages(e.__path__, 'sizing.engine.'): importlib.import_module(m.name)\n"
        "print(time.process_time() - t)"
    )
    runs = [
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True) for _ in range(3)
    ]
    told("import of the engine", min(float(run.stdout) for run in runs), 0.5)


def _line() -> tuple[Any, list[tuple[Stage, bool, int]]]:
    request = uncertain(iron_well())
    products = {product.code: product for product in request.catalogue}
    return request, [(stage_for(products[code]), "tap" if code.startswith("ro") else "main", 1) for code in LINE]


def test_ten_thousand_draws_of_a_line_of_eight_stages(told: Any) -> None:
    """Feed limits, margins, backwash, water and loss of every stage, then pressure and goals of the whole."""
    request, stages = _line()
    brief, drawn = brief_of(request), plausible(request, np.random.default_rng(1), DRAWS)
    judge = Judge(brief, drawn)
    judge.walk(stages)
    assert len(judge.slack) > 20
    told(f"eight stages, {DRAWS:,} draws", best(lambda: Judge(brief, drawn).walk(stages), 9), 0.1)


def test_a_line_of_eight_stages_in_plain_numbers(told: Any) -> None:
    """The design's own walk of one water: feed limits, margins, loss and water of each stage, no arrays."""
    request, stages = _line()
    brief = brief_of(request)

    def walk() -> Water:
        water = brief.request.water
        for stage, at, _count in stages:
            duty = brief.tap_duty if at == "tap" else brief.duty
            stage.feed_limits(duty)
            stage.margins(water, duty)
            stage.needs(water, duty)
            stage.loss(duty.peak_l_min, dirty=True)
            water = stage.treat(water, duty)
        return water

    assert walk()["hardness"] < brief.request.water["hardness"]
    told("eight stages, one water in plain numbers", best(walk, 50), 0.001)


def test_saturation_index_of_ten_thousand_waters(told: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """Against PHREEQC on as many of the same waters as it does in reasonable time, counted per water."""
    draw = np.random.default_rng(2)
    many = {
        "ph": draw.uniform(6.5, 8.5, WATERS),
        "alkalinity": draw.uniform(50.0, 350.0, WATERS),
        "calcium": draw.uniform(20.0, 120.0, WATERS),
        "temperature": draw.uniform(4.0, 25.0, WATERS),
    }
    still = dict.fromkeys(("magnesium", "sodium", "potassium", "chloride", "sulphate"), np.full(WATERS, 8.0))
    water = Water(many | still)
    strength = carbonate.system_of(water).strength
    took = best(lambda: saturation_indices(*many.values(), strength), 9)
    paired = best(lambda: paired_indices(water), 5)
    ours = paired_indices(water)
    phreeqc, theirs = waters.code(), []
    start = time.process_time()
    for k in range(ASKED):
        ions = {"Mg": 8.0, "Na": 8.0, "K": 8.0, "Cl": 8.0, "S(6)": "8 as SO4", "Ca": float(many["calcium"][k])}
        solution = phreeqc.add_solution(
            {"units": "mg/L", "temp": float(many["temperature"][k]), "pH": float(many["ph"][k]),
             "Alkalinity": f"{many['alkalinity'][k]} as Ca0.5(CO3)0.5", **ions}
        )  # fmt: skip
        theirs.append(solution.si("Calcite"))
        solution.forget()
    each = (time.process_time() - start) / ASKED
    assert np.abs(ours[:ASKED] - np.array(theirs)).max() < 0.05
    ratio = each * WATERS / took
    with capsys.disabled():
        print(f"\nPHREEQC: {each * 1000:.3g} ms a water; the index {ratio:,.0f} times quicker (100 wanted), "
              f"with ion pairs {each * WATERS / paired:,.0f} times ({paired * 1000:.0f} ms)")  # fmt: skip
    assert ratio >= 100
    told("saturation index of 10,000 waters", took, 0.05)
