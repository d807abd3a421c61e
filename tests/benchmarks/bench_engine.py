"""Speed of the engine: run with ``pytest tests/benchmarks --benchmark-only``, never part of the suite.

Figures wanted: importing the engine 0.5 s; peak demand of a 30-fixture house 1 ms and of 1,000 houses 0.3 s.
"""

from __future__ import annotations

import random
import subprocess
import sys
from typing import Any

import numpy as np
import pytest

from sizing.engine import convolution, demand, uv
from sizing.engine.demand import peak_flow
from sizing.engine.design import Fixture, Measured, SupplySide
from sizing.engine.hydraulics import worst_fixture_kpa
from sizing.engine.media import backwash_rate_m_h

THIRTY = [
    Fixture("bath_shower", 3),
    Fixture("shower", 2),
    Fixture("bath", 1),
    Fixture("lavatory", 8),
    Fixture("toilet", 6),
    Fixture("bidet", 1),
    Fixture("kitchen_faucet", 2),
    Fixture("bar_sink", 1),
    Fixture("dishwasher", 2),
    Fixture("clothes_washer", 2),
    Fixture("laundry_faucet", 2),
]


def _houses(number: int) -> list[list[Fixture]]:
    draw = random.Random(1)
    houses = []
    for _ in range(number):
        baths = draw.randint(1, 4)
        counts = {
            "bath_shower": draw.randint(1, baths),
            "shower": draw.randint(0, baths - 1),
            "lavatory": baths + draw.randint(0, 2),
            "toilet": baths + draw.randint(0, 1),
            "kitchen_faucet": 1,
            "bar_sink": draw.randint(0, 1),
            "bath": draw.randint(0, 1),
            "dishwasher": draw.randint(0, 1),
            "clothes_washer": draw.randint(0, 1),
            "laundry_faucet": draw.randint(0, 1),
        }
        houses.append([Fixture(code, count) for code, count in counts.items()])
    return houses


def _forget() -> None:
    demand._peak.cache_clear()
    convolution._exceeding.cache_clear()
    convolution._prefix.cache_clear()


def test_peak_of_a_house_of_thirty_fixtures(benchmark: Any) -> None:
    """At most 1 ms, nothing remembered from the last time."""
    assert sum(fixture.count for fixture in THIRTY) == 30
    result = benchmark.pedantic(peak_flow, args=(THIRTY,), setup=_forget, rounds=300)
    assert result.flow_l_min > 0


def test_peak_of_a_thousand_houses(benchmark: Any) -> None:
    """At most 0.3 s for 1,000 different houses; what they share may be remembered."""
    houses = _houses(1000)
    answers = benchmark.pedantic(lambda: [peak_flow(house).flow_l_min for house in houses], setup=_forget, rounds=5)
    assert len(answers) == 1000


def test_importing_the_engine(benchmark: Any) -> None:
    """At most 0.5 s in a fresh interpreter; heavy libraries load where they are used."""
    code = (
        "import importlib, pkgutil, sys, time; t = time.perf_counter(); import sizing.engine as e\n"
        "for m in pkgutil.walk_packages(e.__path__, 'sizing.engine.'): importlib.import_module(m.name)\n"
        "heavy = {'scipy', 'pandas', 'pvlib', 'wntr', 'psychrolib', 'fluids', 'pint'} & set(sys.modules)\n"
        "print(time.perf_counter() - t, *sorted(heavy))"
    )

    def fresh() -> list[str]:
        run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        return run.stdout.split()

    printed = benchmark.pedantic(fresh, rounds=3)
    print(f"import alone: {float(printed[0]):.3f} s; heavy libraries loaded: {printed[1:] or 'none'}")


@pytest.mark.parametrize("draws", [1, 10_000])
def test_pressure_at_the_worst_fixture(benchmark: Any, draws: int) -> None:
    """The path of one household, and of ten thousand drawn flows and temperatures."""
    supply = SupplySide(Measured(40.0), 207.0, 345.0, 200.0)
    flow: Any = 30.0 if draws == 1 else np.linspace(5.0, 60.0, draws)
    celsius: Any = 10.0 if draws == 1 else np.linspace(4.0, 18.0, draws)
    benchmark(worst_fixture_kpa, supply, flow, [10.0, 20.0], temperature_c=celsius)


@pytest.mark.parametrize("draws", [1, 10_000])
def test_dose_of_a_unit(benchmark: Any, draws: int) -> None:
    """Dose at a flow and transmittance, one and ten thousand."""
    unit = uv.UvUnit(45.0, 85.0)
    flow: Any = 30.0 if draws == 1 else np.linspace(5.0, 60.0, draws)
    benchmark(uv.dose_mj_cm2, unit, flow, 80.0)


def test_backwash_rate_of_ten_thousand_temperatures(benchmark: Any) -> None:
    """Newton steps over an array."""
    benchmark(backwash_rate_m_h, 0.3, 0.55, 2650.0, 0.42, temperature_c=np.linspace(2.0, 25.0, 10_000))
