"""How well results are known: rectangular for non-detects, shares for values, roots for counts."""

import numpy as np
import pytest

from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.lab_uncertainty import as_measured, result_uncertainty
from sizing.engine.reported import parse_result
from sizing.engine.water import ANALYTES


def test_a_non_detect_is_spread_evenly_below_its_limit():
    """Mean and standard deviation of a rectangle, against a drawn one."""
    found = as_measured(parse_result("<0.5", "turbidity", "NTU"))
    drawn = np.linspace(0.0, 0.5, 100_001)
    assert found.value == pytest.approx(drawn.mean())
    assert found.sd == pytest.approx(drawn.std(), rel=1e-4)


@pytest.mark.parametrize("text", ["ND", ">200"])
def test_what_has_no_number_is_not_given_one(text):
    with pytest.raises(MissingEvidence, match="gives no number"):
        as_measured(parse_result(text, "arsenic", "ug/L"))


def test_present_has_no_number_and_absent_is_none():
    with pytest.raises(MissingEvidence):
        as_measured(parse_result("present", "e_coli"))
    assert as_measured(parse_result("absent", "e_coli")).value == 0.0


@pytest.mark.parametrize("code", sorted(ANALYTES))
def test_every_analyte_has_an_uncertainty_and_a_kit_is_never_better(code):
    laboratory = result_uncertainty(code, 5.0)
    assert laboratory > 0.0
    assert result_uncertainty(code, 5.0, field_kit=True) >= laboratory


def test_an_impossible_value_has_none():
    with pytest.raises(OutsideValidRange):
        result_uncertainty("iron", -1.0)
    assert result_uncertainty("temperature", -1.0) == 0.5
