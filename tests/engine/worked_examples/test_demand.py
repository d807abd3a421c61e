"""Peak flow and daily use: plumbing-code tables, the probability study, planning figures."""

import math

import numpy as np
import pytest

from sizing.engine import convolution
from sizing.engine.demand import chance_above, code_curve_l_min, daily_volume, fixture_units, peak_flow
from sizing.engine.design import Fixture
from sizing.engine.figures import figure
from sizing.engine.fixture_units import allowance_flow
from sizing.engine.fixtures import FIXTURES, KIND_BY_CODE
from sizing.engine.measures import L_PER_GAL
from tests.engine.worked_examples.rows import Row, cases, run

BY_STUDY_NAME = {kind.study_name: kind for kind in FIXTURES if kind.study_name}
STUDY_HOUSE = {
    "clothes washer": 1,
    "combination bath/shower": 2,
    "kitchen faucet": 1,
    "lavatory faucet": 3,
    "water closet 1.28 gpf tank": 3,
}
HOUSES = {
    "1 bath: combo, lavatory, wc, kitchen, washer": {
        "combination bath/shower": 1,
        "lavatory faucet": 1,
        "water closet 1.28 gpf tank": 1,
        "kitchen faucet": 1,
        "clothes washer": 1,
    },
    "2 bath: combo, shower, 2 lav, 2 wc, kitchen, dw, washer": {
        "combination bath/shower": 1,
        "shower, per head": 1,
        "lavatory faucet": 2,
        "water closet 1.28 gpf tank": 2,
        "kitchen faucet": 1,
        "dishwasher": 1,
        "clothes washer": 1,
    },
    "2.5 bath (study house)": STUDY_HOUSE,
}
LOADS = {
    "bathroom group": (("toilet", 1), ("lavatory", 1), ("bath_shower", 1)),
    "kitchen sink": (("kitchen_faucet", 1),),
    "dishwasher": (("dishwasher", 1),),
    "clothes washer": (("clothes_washer", 1),),
    "laundry tray": (("laundry_faucet", 1),),
    "wc tank": (("toilet", 1),),
    "lavatory": (("lavatory", 1),),
}
ALLOWED = {
    "shower only": "shower",
    "lavatory": "lavatory",
    "toilet flush tank": "toilet",
    "kitchen sink": "kitchen_faucet",
    "dishwasher": "dishwasher",
    "laundry sink": "laundry_faucet",
    "clothes washer": "clothes_washer",
}


def _house(counts, times=1):
    return [Fixture(BY_STUDY_NAME[name].code, n * times) for name, n in counts.items()]


def _listed(inputs):
    counts = inputs.get("fixtures")
    if not isinstance(counts, dict):
        counts = inputs.get("per_dwelling") or HOUSES.get(inputs.get("house", ""), STUDY_HOUSE)
    return _house(counts, inputs.get("dwellings", 1))


def _moments(inputs):
    groups = [
        convolution.Group(f.count, KIND_BY_CODE[f.code].probability, round(KIND_BY_CODE[f.code].flow_gpm * 10))
        for f in _listed(inputs)
    ]
    pmf = convolution.distribution(groups)
    flow = np.arange(pmf.size) / 10
    mean = float((pmf * flow).sum())
    return mean, float((pmf * flow**2).sum()) - mean**2


def _loads(inputs):
    fixtures = []
    for name, _ in inputs["loads"].items():
        base, _, times = name.partition(" x")
        fixtures += [Fixture(code, n * int(times or 1)) for code, n in LOADS[base]]
    return fixture_units(fixtures)[0]


def _other_code(inputs):
    rows = figure("nspc-appendix-b", f"demand_{inputs['column']}").value
    return {int(x): y for x, y in rows}[inputs["wsfu"]]


def _allowance_house(inputs):
    house = (("lavatory", 2), ("toilet", 1), ("kitchen_faucet", 1), ("dishwasher", 1), ("clothes_washer", 1))
    return allowance_flow([*(Fixture(c, n) for c, n in house), Fixture("bath_shower", 1)]) / L_PER_GAL


def _in_use(inputs):
    pmf = convolution.distribution([convolution.Group(inputs["n"], inputs["p"], 1)])
    return convolution.quantile(pmf, 0.99, conditional=False)


CHECKS = {
    "fixture units, total": lambda i: figure("icc-ipc-2018", "wsfu").value[i["fixture"]][2],
    "fixture units, cold": lambda i: figure("icc-ipc-2018", "wsfu").value[i["fixture"]][0],
    "fixture units, hot": lambda i: figure("icc-ipc-2018", "wsfu").value[i["fixture"]][1],
    "code curve": lambda i: code_curve_l_min(i["wsfu"], i["column"]) / L_PER_GAL,
    "fixture units of a house": _loads,
    "other code table": _other_code,
    "largest flow allowed": lambda i: figure("household-use", "fixture_maximum").value[i["fixture"]],
    "allowance of a fixture": lambda i: allowance_flow([Fixture(ALLOWED[i["fixture"]], 1)]) / L_PER_GAL,
    "allowance of a house": _allowance_house,
    "gpm per outlet": lambda i: figure("household-use", "outlet_rule").value * 10,
    "fixtures in use together": _in_use,
    "probability of use": lambda i: BY_STUDY_NAME[i["fixture"]].probability,
    "design flow": lambda i: BY_STUDY_NAME[i["fixture"]].flow_gpm,
    "hunter number": lambda i: peak_flow(_house(STUDY_HOUSE, i["dwellings"])).h,
    "no flow, poisson": lambda i: 100 * math.exp(-peak_flow(_house(STUDY_HOUSE, i["dwellings"])).h),
    "no flow, exact": lambda i: peak_flow(_listed(i)).p0,
    "wistort of dwellings": lambda i: peak_flow(_listed(i)).wistort_l_min / L_PER_GAL,
    "exact below": lambda i: figure("peak-water-demand-study-2017", "hunter_number_exact_below").value,
    "normal from": lambda i: figure("peak-water-demand-study-2017", "hunter_number_normal_from").value,
    "peak while water runs": lambda i: peak_flow(_listed(i)).whole_l_min / L_PER_GAL,
    "peak of dwellings": lambda i: peak_flow(_house(STUDY_HOUSE, i["dwellings"])).whole_l_min / L_PER_GAL,
    "peak of all moments": lambda i: peak_flow(_listed(i)).unconditional_l_min / L_PER_GAL,
    "variance": lambda i: _moments(i)[1],
    "mean": lambda i: _moments(i)[0],
    "wistort": lambda i: peak_flow(_listed(i)).wistort_l_min / L_PER_GAL,
    "modified wistort": lambda i: peak_flow(_listed(i)).modified_wistort_l_min / L_PER_GAL,
    "chance above 7 gpm": lambda i: chance_above(_listed(i), 7 * L_PER_GAL),
    "use per person": lambda i: i["gallons_month"] / daily_volume(i["people"], 100.0).litres_d * 100 / i["days"],
    "septic of bedrooms": lambda i: figure("household-use", "septic_bedroom").value * i["bedrooms"],
    "day in two hours": lambda i: i["gpd"] / (figure("private-water-systems", "peak_hours").value * 60),
}


@pytest.mark.parametrize("row", cases("demand"))
def test_demand_agrees_with_what_is_printed(row: Row) -> None:
    run(row, CHECKS)
