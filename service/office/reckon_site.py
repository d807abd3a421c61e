"""What a household's file already answers of the small calculations' questions."""

from __future__ import annotations

from typing import Any

from customers.flow_tests.queries import latest_flow
from customers.households.models import Site
from sizing.proposals.adapters import raw_water

#: Question -> column of the household with the canonical answer.
COLUMNS = {
    "tank_l": "tank_volume_l",
    "cut_in_kpa": "cut_in_kpa",
    "cut_out_kpa": "cut_out_kpa",
    "precharge_kpa": "tank_precharge_kpa",
    "altitude_m": "elevation_m",
    "water_column_m": "standing_water_m",
    "water_c": "water_temperature_c",
    "people": "people_usual",
    "pipe_material": "pipe_material",
    "pipe_nominal": "pipe_size",
    "run_m": "pipe_run_m",
    "rise_m": "worst_fixture_height_m",
    "least_kpa": "worst_fixture_min_kpa",
    "latitude": "latitude",
    "longitude": "longitude",
    "first_month": "opens_month",
    "last_month": "closes_month",
}
#: Question -> analyte of the newest raw water.
ANALYTES = {"hardness": "hardness", "iron": "iron", "manganese": "manganese", "sodium": "sodium", "uvt": "uvt"}
MOST_RUNS = 3


def known_of(site: Site) -> dict[str, Any]:
    """Canonical answers by question; a question the file does not answer is missing."""
    known = {name: getattr(site, column) for name, column in COLUMNS.items()}
    if site.casing_mm is not None:
        known["casing_m"] = site.casing_mm / 1000.0
    water, _unusable = raw_water(site)
    known |= {name: water[analyte] for name, analyte in ANALYTES.items() if analyte in water}
    known |= {f"count_{row.code}": row.count for row in site.fixtures.all()}
    flow = latest_flow(site)
    if flow is not None:
        known |= {"pump_l_min": flow.flow_l_min, "method": flow.method}
        for row in list(flow.runs.all())[:MOST_RUNS]:
            known |= {f"litres_{row.position}": row.litres, f"seconds_{row.position}": row.seconds}
    return {name: value for name, value in known.items() if value is not None}
