"""What a laboratory's name for a test means: the analyte, what it is counted as, and a unit that stands in it."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from sizing.engine import unit_forms
from sizing.engine.units import accepted_units
from sizing.engine.water import ANALYTES

LEFT_OUT = "-"
BASES = {
    "n": "N",
    "nitrogen": "N",
    "no3": "NO3",
    "no2": "NO2",
    "nh3": "NH3",
    "nh4": "NH4",
    "caco3": "CaCO3",
    "hco3": "HCO3",
    "s": "S",
    "h2s": "H2S",
    "sio2": "SiO2",
    "si": "Si",
    "ca": "Ca",
    "mg": "Mg",
    "tannic acid": "tannic acid",
}


SURE_BASES = frozenset({"caco3", "n", "no3", "no2", "nh3", "hco3", "h2s", "sio2"})


@dataclass(frozen=True)
class Named:
    """A test's name as read. ``analyte`` is empty where it is not known, "-" where it is left out by choice."""

    analyte: str
    basis: str = ""
    unit: str = ""

    @property
    def known(self) -> bool:
        """Whether it is one of the engine's."""
        return self.analyte in ANALYTES


def fold(text: str) -> str:
    """Lower case, no accents, figures on the line, words parted by one blank.

    >>> fold("Nitrate-N (as NO₃)"), fold("Total  Coliforms")
    ('nitrate n as no3', 'total coliforms')
    """
    flat = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(letter for letter in flat if not unicodedata.combining(letter))
    return " ".join(re.sub(r"[^a-z0-9%/]+", " ", kept).split())


@cache
def _tables() -> tuple[dict[str, str], dict[str, tuple[str, str]]]:
    with (Path(__file__).parent / "names.toml").open("rb") as handle:
        data = tomllib.load(handle)
    names = {name: code for code, known in data["names"].items() for name in known}
    names |= {fold(row.name): code for code, row in ANALYTES.items()}
    for code, known in data["names"].items():
        symbols = [name for name in known if len(name) <= 2]
        names |= {f"{name} {symbol}": code for name in known if len(name) > 2 for symbol in symbols}
    return names, {name: (row[0], row[1]) for name, row in data["bases"].items()}


_IN_BRACKETS = re.compile(r"^(?P<name>.+?)[\s,]*[(\[](?P<inside>[^()\[\]]+)[)\]]\s*$")
_AFTER_MARK = re.compile(
    r"^(?P<name>.+?)\s*(?:,|;|\s-\s|\s)\s*(?P<unit>\S*(?:/\S+|%|NTU|TCU|ppm|ppb|gpg)\S*.*)$", re.I
)
_AS = re.compile(r"^(?P<name>.+?) as (?P<basis>[a-z0-9 ]+)$")


def read_name(text: str, own: Mapping[str, str] | None = None) -> Named:
    """The analyte a name means. ``own``: a laboratory's own names as they were answered, folded.

    A name with anything in it that is not understood is not known: it is asked about, never guessed.

    >>> read_name("Nitrate (as N)"), read_name("Iron, Total [mg/L]")
    (Named(analyte='nitrate', basis='N', unit=''), Named(analyte='iron', basis='', unit='mg/L'))
    >>> read_name("Manganese, dissolved").known
    False
    """
    flat = fold(text)
    if own and flat in own:
        return named_as(own[flat], text)
    return _read(text, "")


def named_as(code: str, text: str) -> Named:
    """A name answered by hand, with the basis and unit that its text still carries.

    >>> named_as("calcium", "Calcio como CaCO3 (mg/L)")
    Named(analyte='calcium', basis='CaCO3', unit='mg/L')
    """
    if code == LEFT_OUT:
        return Named(LEFT_OUT)
    rest, unit = _without_unit(text, code)
    flat = fold(rest)
    said = _AS.match(flat)
    if said and said["basis"] in BASES:
        return Named(code, BASES[said["basis"]], unit)
    words = {word for word in flat.split() if word in SURE_BASES}
    carried = [BASES[word] for word in words if _tables()[0].get(word) != code]
    return Named(code, carried[0] if len(carried) == 1 and takes_basis(code) else "", unit)


def _read(text: str, unit: str) -> Named:
    names, bases = _tables()
    flat = fold(text)
    if flat in bases:
        code, basis = bases[flat]
        return Named(code, basis, unit)
    if flat in names:
        return Named(names[flat], "", unit)
    if (found := _AS.match(flat)) and found["name"] in names:
        code = names[found["name"]]
        if names.get(found["basis"]) == code and not takes_basis(code):  # "iron as fe": counted as itself
            return Named(code, "", unit)
        if found["basis"] in BASES:
            return Named(code, BASES[found["basis"]], unit)
    name, _blank, last = flat.rpartition(" ")
    if name in names and last in SURE_BASES:  # "Hardness (CaCO3)"; "Silica (Si)" could be a symbol and is asked
        return Named(names[name], BASES[last], unit)
    if unit:
        return Named("", "", unit)
    rest, inside = _without_unit(text, "")
    if inside:
        return _read(rest, inside)
    return Named("")


def _without_unit(text: str, code: str) -> tuple[str, str]:
    """The name and the unit that stands in it, "Iron (mg/L)", "Iron, mg/L"; no unit where none is sure."""
    clean = " ".join(text.split())
    for pattern, group in ((_IN_BRACKETS, "inside"), (_AFTER_MARK, "unit")):
        found = pattern.match(clean)
        if found and _is_unit(found[group], code):
            return found["name"].strip(" ,;-"), found[group].strip()
    return clean, ""


@cache
def _is_unit(text: str, code: str) -> bool:
    """Whether any analyte (or the one given) takes the text as its unit, basis still open."""
    codes = [code] if code else list(ANALYTES)
    bare = text.strip()
    return any(unit_forms.recognise(ANALYTES[one], bare) for one in codes) or bare.casefold() in (
        "mg/l", "ug/l", "µg/l", "μg/l", "ppm", "ppb", "mg/litre", "mg/liter",
    )  # fmt: skip


def takes_basis(code: str) -> bool:
    """Whether results of the analyte are counted as something."""
    return any(" as " in unit for unit in accepted_units(code))
