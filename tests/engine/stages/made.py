"""Stages and duties for the tests, from the starter catalogue or with ratings changed."""

from dataclasses import replace
from functools import cache

from sizing.engine.stages.base import Duty
from sizing.engine.stages.registry import stage_for
from sizing.engine.stages.starter import load_starter

YEAR = tuple(range(1, 13))
PLAIN = {
    "ph": 7.2, "temperature": 10.0, "hardness": 300.0, "calcium": 80.0, "magnesium": 24.3, "alkalinity": 220.0,
    "iron": 2.0, "iron_dissolved": 1.8, "manganese": 0.1, "sulphide": 0.3, "turbidity": 0.8, "suspended_solids": 2.0,
    "colour": 20.0, "tannin": 0.4, "toc": 2.0, "uvt": 85.0, "sodium": 12.0, "chloride": 20.0, "sulphate": 40.0,
    "nitrate": 6.0, "tds": 420.0, "conductivity": 700.0, "free_chlorine": 0.5, "dissolved_oxygen": 0.5,
    "carbon_dioxide": 30.0, "total_coliform": 3.0, "e_coli": 1.0, "voc": 5.0, "pfas": 40.0, "lead": 0.01,
    "fluoride": 1.0, "arsenic": 0.02, "barium": 0.2, "radium": 0.1, "silica": 10.0, "potassium": 3.0, "ammonia": 0.1,
    "iron_bacteria": 5.0,
}  # fmt: skip


@cache
def catalogue():
    return {product.code: product for product in load_starter()}


def stage(code, **changes):
    """The starter's product of that code as a stage; keywords change ratings, ``certified_for`` its claims."""
    product = catalogue()[code]
    claims = changes.pop("certified_for", product.certified_for)
    return stage_for(replace(product, ratings={**product.ratings, **changes}, certified_for=claims))


def duty(**changes):
    """A house of three on a pump of 38 L/min, all year, at 10 degC."""
    usual = {
        "flow_l_min": 38.0, "peak_l_min": 16.0, "daily_l": 681.0, "pump_l_min": 38.0, "months_open": YEAR,
        "temperature_c": 10.0, "feed_kpa": 276.0, "pump_kpa": 414.0, "tap_l_d": 12.0, "people": 3.0,
    }  # fmt: skip
    return Duty(**{**usual, **changes})


def margin(stage_, water, duty_, code):
    """The margin of that code; fails where the stage has none."""
    return next(m for m in stage_.margins(water, duty_) if m.code == code)
