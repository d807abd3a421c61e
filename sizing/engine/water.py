"""The water vector: every analyte the engine knows, in canonical units, floats or arrays."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sizing.engine.errors import MissingEvidence, OutsideValidRange

Number = float | NDArray[np.float64]
MOST = sys.float_info.max  # any finite value


@dataclass(frozen=True)
class Analyte:
    """One thing that can be measured in water. ``low``/``high`` bound what is physically possible."""

    code: str
    name: str
    unit: str
    basis: str = ""
    low: float = 0.0
    high: float | None = None
    group: str = "chemistry"


def _table() -> Mapping[str, Analyte]:
    rows = (
        Analyte("ph", "pH", "", low=0.0, high=14.0, group="general"),
        Analyte("temperature", "Temperature", "degC", low=-2.0, high=100.0, group="general"),
        Analyte("conductivity", "Conductivity", "uS/cm", high=200_000.0, group="general"),
        Analyte("tds", "Total dissolved solids", "mg/L", high=200_000.0, group="general"),
        Analyte("hardness", "Hardness", "mg/L", "as CaCO3", high=20_000.0, group="general"),
        Analyte("alkalinity", "Alkalinity", "mg/L", "as CaCO3", high=20_000.0, group="general"),
        Analyte("carbon_dioxide", "Carbon dioxide", "mg/L", high=5_000.0, group="general"),
        Analyte("dissolved_oxygen", "Dissolved oxygen", "mg/L", high=60.0, group="general"),
        Analyte("turbidity", "Turbidity", "NTU", high=10_000.0, group="optical"),
        Analyte("suspended_solids", "Suspended solids", "mg/L", high=100_000.0, group="optical"),
        Analyte("colour", "True colour", "TCU", high=5_000.0, group="optical"),
        Analyte("uvt", "UV transmittance at 254 nm", "%/cm", low=0.0, high=100.0, group="optical"),
        Analyte("tannin", "Tannin", "mg/L", "as tannic acid", high=1_000.0, group="organics"),
        Analyte("toc", "Total organic carbon", "mg/L", high=1_000.0, group="organics"),
        Analyte("iron", "Iron, total", "mg/L", high=1_000.0, group="metals"),
        Analyte("iron_dissolved", "Iron, dissolved", "mg/L", high=1_000.0, group="metals"),
        Analyte("manganese", "Manganese", "mg/L", high=500.0, group="metals"),
        Analyte("sulphide", "Sulphide", "mg/L", "as S", high=500.0, group="metals"),
        Analyte("calcium", "Calcium", "mg/L", high=10_000.0, group="ions"),
        Analyte("magnesium", "Magnesium", "mg/L", high=10_000.0, group="ions"),
        Analyte("sodium", "Sodium", "mg/L", high=100_000.0, group="ions"),
        Analyte("potassium", "Potassium", "mg/L", high=10_000.0, group="ions"),
        Analyte("chloride", "Chloride", "mg/L", high=200_000.0, group="ions"),
        Analyte("sulphate", "Sulphate", "mg/L", high=100_000.0, group="ions"),
        Analyte("nitrate", "Nitrate", "mg/L", "as N", high=5_000.0, group="ions"),
        Analyte("nitrite", "Nitrite", "mg/L", "as N", high=1_000.0, group="ions"),
        Analyte("ammonia", "Ammonia", "mg/L", "as N", high=1_000.0, group="ions"),
        Analyte("fluoride", "Fluoride", "mg/L", high=1_000.0, group="ions"),
        Analyte("silica", "Silica", "mg/L", "as SiO2", high=1_000.0, group="ions"),
        Analyte("free_chlorine", "Free chlorine", "mg/L", high=1_000.0, group="general"),
        Analyte("arsenic", "Arsenic", "mg/L", high=100.0, group="metals"),
        Analyte("lead", "Lead", "mg/L", high=100.0, group="metals"),
        Analyte("copper", "Copper", "mg/L", high=500.0, group="metals"),
        Analyte("zinc", "Zinc", "mg/L", high=500.0, group="metals"),
        Analyte("aluminium", "Aluminium", "mg/L", high=500.0, group="metals"),
        Analyte("barium", "Barium", "mg/L", high=500.0, group="metals"),
        Analyte("boron", "Boron", "mg/L", high=500.0, group="metals"),
        Analyte("cadmium", "Cadmium", "mg/L", high=100.0, group="metals"),
        Analyte("chromium", "Chromium", "mg/L", high=100.0, group="metals"),
        Analyte("mercury", "Mercury", "mg/L", high=100.0, group="metals"),
        Analyte("antimony", "Antimony", "mg/L", high=100.0, group="metals"),
        Analyte("selenium", "Selenium", "mg/L", high=100.0, group="metals"),
        Analyte("strontium", "Strontium", "mg/L", high=500.0, group="metals"),
        Analyte("uranium", "Uranium", "mg/L", high=100.0, group="metals"),
        Analyte("radium", "Radium 226 and 228", "Bq/L", high=10_000.0, group="metals"),
        Analyte("radon", "Radon", "Bq/L", high=1_000_000.0, group="metals"),
        Analyte("pfas", "PFAS, sum reported", "ng/L", high=1_000_000.0, group="organics"),
        Analyte("voc", "Volatile organics, sum reported", "ug/L", high=1_000_000.0, group="organics"),
        Analyte("total_coliform", "Total coliform", "per 100 mL", high=1e9, group="microbes"),
        Analyte("e_coli", "E. coli", "per 100 mL", high=1e9, group="microbes"),
        Analyte("iron_bacteria", "Iron bacteria", "per mL", high=1e9, group="microbes"),
    )
    return MappingProxyType({row.code: row for row in rows})


ANALYTES: Mapping[str, Analyte] = _table()


@dataclass(frozen=True)
class Water:
    """A water: analyte code to value in canonical units; what is absent was not measured.

    Values are floats or equally long 1-d arrays of draws. Unknown codes and impossible values raise.
    Counts that were reported only as "present" are stored as 1.0.
    """

    values: Mapping[str, Number]

    def __post_init__(self) -> None:
        for code, value in self.values.items():
            _check(code, value)
        object.__setattr__(self, "values", MappingProxyType(dict(self.values)))

    def __contains__(self, code: str) -> bool:
        return code in self.values

    def __iter__(self) -> Iterator[str]:
        return iter(self.values)

    def __getitem__(self, code: str) -> Any:
        """The value (float, or array of draws; typed ``Any`` so arithmetic reads plainly).

        Raises ``MissingEvidence`` where it was not measured.
        """
        try:
            return self.values[code]
        except KeyError:
            name = ANALYTES[code].name if code in ANALYTES else code
            raise MissingEvidence([code], f"{name} was not measured") from None

    def get(self, code: str, default: Any = None) -> Any:
        """The value, or ``default`` where it was not measured."""
        return self.values.get(code, default)

    def with_values(self, **changes: Number) -> Water:
        """A copy with some analytes changed or added; only these are checked again."""
        values = dict(self.values)
        for code, value in changes.items():
            _check(code, value)
            values[code] = float(value) if isinstance(value, float) else value
        copy = object.__new__(Water)
        object.__setattr__(copy, "values", MappingProxyType(values))
        return copy


def _check(code: str, value: Number) -> None:
    analyte = ANALYTES.get(code)
    if analyte is None:
        raise OutsideValidRange("analyte", code, source="the engine's table of analytes")
    check_possible(analyte, value)


def check_possible(analyte: Analyte, value: Number) -> None:
    """Raise ``OutsideValidRange`` where a value is impossible for the analyte (or not finite)."""
    if isinstance(value, float):  # the usual case, kept quick: a search asks it many thousand times
        high = MOST if analyte.high is None else analyte.high
        if analyte.low <= value <= high and (value > 0.0 or analyte.code != "uvt"):
            return
    array = np.asarray(value, dtype=float)
    bad = ~np.isfinite(array) | (array < analyte.low)
    if analyte.high is not None:
        bad |= array > analyte.high
    if analyte.code == "uvt":
        bad |= array <= 0.0
    if bad.any():
        first = float(array[bad][0]) if array.ndim else float(array)
        raise OutsideValidRange(
            analyte.name,
            first,
            low=analyte.low,
            high=analyte.high,
            unit=" ".join(part for part in (analyte.unit, analyte.basis) if part),
            low_open=analyte.code == "uvt",
            source="physical possibility",
        )
