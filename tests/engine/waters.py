"""The 27 reference waters: as the engine holds them, and as PHREEQC computes them."""

import csv
import functools
import json
from pathlib import Path

from sizing.engine.quantities import nitrate_as_n
from sizing.engine.water import Water

DATA = Path(__file__).parent / "data" / "waters.csv"
CODES = {
    "Ca": "calcium",
    "Mg": "magnesium",
    "Na": "sodium",
    "K": "potassium",
    "Cl": "chloride",
    "SO4": "sulphate",
    "F": "fluoride",
    "Fe": "iron_dissolved",
    "Mn": "manganese",
}
PHREEQC = {"NO3": "N(5)", "SO4": "S(6)", "Fe": "Fe(2)", "Mn": "Mn(2)"}
AS = {"NO3": " as NO3", "SO4": " as SO4"}


@functools.cache
def table():
    with DATA.open(newline="") as handle:
        return {row["case"]: {**row, "ions": json.loads(row["ions"])} for row in csv.DictReader(handle)}


def water(case: str) -> Water:
    """The case as a water of the engine."""
    row = table()[case]
    values = {
        "temperature": float(row["temperature_c"]),
        "ph": float(row["ph"]),
        "alkalinity": float(row["alkalinity"]),
        "nitrate": nitrate_as_n(row["ions"].get("NO3", 0.0)),
    }
    for code in ("calcium", "magnesium", "sodium", "potassium", "chloride", "sulphate"):
        values[code] = 0.0
    return Water(values | {CODES[ion]: value for ion, value in row["ions"].items() if ion in CODES})


@functools.cache
def code():
    """One PHREEQC session."""
    import phreeqpython

    return phreeqpython.PhreeqPython(database="phreeqc.dat")


@functools.cache
def phreeqc(case: str):
    """The case computed live by PHREEQC."""
    row = table()[case]
    given = {PHREEQC.get(ion, ion): f"{value}{AS.get(ion, '')}" for ion, value in row["ions"].items()}
    return code().add_solution(
        {
            "units": "mg/L",
            "temp": float(row["temperature_c"]),
            "pH": float(row["ph"]),
            "Alkalinity": f"{row['alkalinity']} as Ca0.5(CO3)0.5",
            **given,
        }
    )
