"""Feed limits just inside and just outside, at the values the trade (or a rule) prints."""

import pytest

from sizing.engine.stages.registry import stage_for
from tests.engine.stages.made import catalogue, duty, stage

GPG = 17.1181
GPM = 3.785412

# stage, analyte, limit in canonical units, sense, where it stands
LIMITS = [
    ("uv-a-42", "hardness", 7 * GPG, "max", "7 gpg, sleeve scale (common practice)"),
    ("uv-a-42", "iron", 0.3, "max", "0.3 mg/L (common practice)"),
    ("uv-a-42", "manganese", 0.05, "max", "0.05 mg/L (common practice)"),
    ("uv-a-42", "turbidity", 1.0, "max", "1 NTU (common practice; second-hand from a health authority)"),
    ("uv-a-42", "uvt", 75.0, "min", "the unit's own rating"),
    ("soft-42", "iron", 3.0, "max", "3 mg/L, one data sheet (published), 2-5 in practice"),
    ("soft-42", "turbidity", 5.0, "max", "5 NTU, Ten States Standards 4.4.2.1 (published)"),
    ("soft-42", "manganese", 0.5, "max", "0.5 mg/L (common practice)"),
    ("org-12", "hardness", 10 * GPG, "max", "10 gpg, Keller (published)"),
    ("org-12", "iron", 0.3, "max", "0.3 mg/L (common practice)"),
    ("airox-12", "ph", 6.8, "min", "pH 6.8 (common practice)"),
    ("airox-12", "iron", 10.0, "max", "10 mg/L (common practice)"),
    ("airox-12", "tannin", 0.5, "max", "0.5 mg/L, organics hold iron (common practice)"),
    ("airox-12", "sulphide", 2.0, "max", "2 mg/L (common practice)"),
    ("carb-12", "iron", 0.3, "max", "0.3 mg/L (common practice)"),
    ("sed-20x45-20-spun", "turbidity", 10.0, "max", "10 NTU (common practice)"),
    ("ro-75-cert", "hardness", 10 * GPG, "max", "10 gpg (common practice)"),
    ("ro-75-cert", "iron", 0.1, "max", "0.1 mg/L (common practice)"),
    ("ro-75-cert", "manganese", 0.05, "max", "0.05 mg/L (common practice)"),
    ("ro-75-cert", "free_chlorine", 0.1, "max", "0.1 mg/L, thin film (practice)"),
    ("ro-75-cert", "total_coliform", 0.0, "max", "absent, Nebraska Extension G1490 (published)"),
    ("ro-75-cert", "tds", 1500.0, "max", "1,500 mg/L (common practice)"),
    ("neut-14", "ph", 6.0, "min", "pH 6, below it another way (common practice)"),
    ("chlor-20", "tannin", 1.0, "max", "1 mg/L, by-products (practice; risk published by Keller)"),
    ("nit-12-cert", "flow", 4 * GPM / 28.316847 * 57.0, "max", "4 gpm per ft3 (common practice)"),
]


@pytest.mark.parametrize(("code", "analyte", "value", "sense", "source"), LIMITS)
def test_hard_limit_stands_where_the_trade_puts_it(code, analyte, value, sense, source):
    found = [limit for limit in stage(code).feed_limits(duty()) if limit.analyte == analyte and limit.hard]
    real = [limit for limit in found if limit.sense == sense and (limit.value > 0 or value == 0.0)]
    assert [limit.value for limit in real] == pytest.approx([value], rel=0.002, abs=1e-9), source


def test_a_uv_asks_for_the_tests_it_cannot_do_without():
    required = {limit.analyte for limit in stage("uv-a-42").feed_limits(duty()) if limit.required}
    assert {"uvt", "turbidity", "iron", "hardness"} <= required


def test_the_rated_transmittance_of_the_unit_governs():
    limits = stage("uv-a-63").feed_limits(duty())
    assert next(limit.value for limit in limits if limit.analyte == "uvt") == 85.0


@pytest.mark.parametrize("code", sorted(catalogue()))
def test_every_limit_says_why_and_on_whose_word(code):
    for limit in stage_for(catalogue()[code]).feed_limits(duty()):
        assert limit.reason, limit
        assert limit.source, limit
        assert limit.sense in ("max", "min")
