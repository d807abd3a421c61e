"""Flow and pressure that outlets need."""

import pytest

from sizing.engine.hydraulics import outlet_needs
from sizing.engine.measures import KPA_PER_PSI, L_PER_GAL
from tests.engine.worked_examples.rows import Row, cases, run

DWELLING = {"sink": "sink, residential", "lavatory": "lavatory, private", "sillcock": "sillcock, hose bibb"}

CHECKS = {
    "outlet pressure": lambda i: outlet_needs(i["outlet"])[1] / KPA_PER_PSI,
    "outlet flow": lambda i: outlet_needs(i["outlet"])[0] / L_PER_GAL,
    "outlet pressure, dwelling": lambda i: outlet_needs(DWELLING.get(i["outlet"], i["outlet"]))[1] / KPA_PER_PSI,
}


@pytest.mark.parametrize("row", cases("pressure"))
def test_pressure_agrees_with_what_is_printed(row: Row) -> None:
    run(row, CHECKS)
