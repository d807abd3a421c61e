"""Published and practice figures, read from ``sizing/figures/*.toml`` (one file per source document).

A file looks like::

    [source]
    title = "Disinfection Profiling and Benchmarking Technical Guidance Manual"
    publisher = "US EPA"
    edition = "EPA 815-R-20-003, June 2020"
    status = "published"            # published | computed | common practice | from memory
    note = "read in a secondary copy"

    [figures.uv_dose_virus_4log]
    value = 186.0                    # a number, or a list / table for a printed table
    unit = "mJ/cm2"
    table = "Table B-9"
    note = ""
"""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parent.parent / "figures"


@dataclass(frozen=True)
class Figure:
    """One figure with the document it stands in. ``citation`` is ready to print."""

    key: str
    value: Any
    unit: str
    status: str
    citation: str
    note: str = ""


@cache
def _document(name: str) -> dict[str, Any]:
    with (FOLDER / f"{name}.toml").open("rb") as handle:
        return tomllib.load(handle)


@cache
def figure(document: str, key: str) -> Figure:
    """The figure ``key`` of ``sizing/figures/<document>.toml``; ``KeyError`` names what is missing."""
    data = _document(document)
    source = data["source"]
    row = data["figures"][key]
    place = ", ".join(part for part in (source["publisher"], source["edition"], row.get("table", "")) if part)
    return Figure(
        key=key,
        value=row["value"],
        unit=row.get("unit", ""),
        status=row.get("status", source["status"]),
        citation=place,
        note=row.get("note", ""),
    )


def rows(document: str) -> dict[str, dict[str, Any]]:
    """All rows of a document as they stand, for tables that carry columns of their own (limits, for one)."""
    data: dict[str, dict[str, Any]] = _document(document)["figures"]
    return {key: dict(row) for key, row in data.items()}


def documents() -> tuple[str, ...]:
    """Names of all figure documents, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))


@cache
def figures_version() -> str:
    """Short digest of all figure files, stored with every design."""
    digest = hashlib.sha256()
    for path in sorted(FOLDER.glob("*.toml")):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:12]
