"""Speed of diagnosis: one answer more on the phone, ranking, interlocks and next steps all anew (budget 20 ms)."""

from __future__ import annotations

from typing import Any

import pytest

from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Correction, Evidence, diagnose, load_tables, tables_with
from sizing.engine.identify import identify
from sizing.engine.water import Water

WATER = Water({"ph": 6.7, "hardness": 210.0, "iron": 1.2, "iron_dissolved": 0.9, "nitrate": 3.0, "tannin": 0.2})
CASES = {
    "nothing said": Evidence(SourceType.DRILLED_WELL),
    "one complaint": Evidence(SourceType.DRILLED_WELL, {"tea_clear": "yes"}),
    "the widest complaint": Evidence(SourceType.DRILLED_WELL, {"metal_taste": "yes", "first_draw": "no"}),
    "six complaints, nine answers, six results": Evidence(
        SourceType.DRILLED_WELL,
        dict.fromkeys(("metal_taste", "black_stain", "fishy", "cloudy_stays", "orange_slime", "blue_green"), "yes")
        | {"slime_smears": "yes", "rust_stains": "yes", "film_breaks": "no"},
        WATER,
        frozenset({"infants"}),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_a_full_update(benchmark: Any, name: str) -> None:
    tables = load_tables()
    found = benchmark(diagnose, CASES[name], tables)
    assert found.steps


def test_naming_a_device(benchmark: Any) -> None:
    tables = load_tables()
    found = benchmark(identify, {"tall_tank": "yes", "salt": "no", "air_inlet": "unknown"}, tables)
    assert found.devices


def test_the_first_update_with_a_dealers_new_tables(benchmark: Any) -> None:
    """Two hundred finished jobs laid over the tables, and the first diagnosis with them."""
    jobs = [
        Correction("finished", "silica", target="white_scale", source="drilled_well", answers={"vinegar_fizz": "no"})
    ] * 200
    evidence = CASES["one complaint"]
    benchmark(lambda: diagnose(evidence, tables_with(load_tables(), jobs)))
