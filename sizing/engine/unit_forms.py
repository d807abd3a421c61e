"""The unit strings met on laboratory papers, what each analyte accepts, and the way to canonical units."""

from __future__ import annotations

import re
from functools import cache

from sizing.engine.errors import UnreadableValue
from sizing.engine.quantities import BQ_PER_PCI, MG_L_PER_GPG, celsius_from_fahrenheit
from sizing.engine.stoichiometry import molar_mass
from sizing.engine.water import Analyte

_MASS = {"mg/L": 1.0, "ug/L": 1e-3, "ng/L": 1e-6}
_BASES = {"nitrate": ("NO3", "N"), "nitrite": ("NO2", "N"), "ammonia": ("NH3", "N"), "sulphide": ("H2S", "S")}


@cache
def _table(code: str, unit: str, group: str) -> dict[str, float]:
    """Unit string -> factor to the canonical unit of the analyte, canonical first."""
    if code in _BASES:
        ion, element = _BASES[code]
        ratio = molar_mass(element) / molar_mass(ion)
        rows = {f"mg/L as {element}": 1.0, f"mg/L as {ion}": ratio}
        rows |= {f"ug/L as {element}": 1e-3, f"ug/L as {ion}": ratio * 1e-3}
        if code == "ammonia":
            rows["mg/L as NH4"] = molar_mass("N") / molar_mass("NH4")
        return rows
    if code == "hardness":
        caco3 = molar_mass("CaCO3")
        german = 10.0 * caco3 / molar_mass("CaO")
        return {"mg/L as CaCO3": 1.0, "gpg": MG_L_PER_GPG, "mmol/L": caco3, "°fH": 10.0, "°dH": german}
    if code == "alkalinity":
        caco3 = molar_mass("CaCO3")
        rows = {"mg/L as CaCO3": 1.0, "mg/L as HCO3": caco3 / (2 * molar_mass("HCO3")), "meq/L": caco3 / 2}
        return rows | {"gpg": MG_L_PER_GPG}
    if code in ("calcium", "magnesium"):
        element = {"calcium": "Ca", "magnesium": "Mg"}[code]
        ratio = molar_mass(element) / molar_mass("CaCO3")
        return {f"mg/L as {element}": 1.0, "mg/L as CaCO3": ratio, "gpg": ratio * MG_L_PER_GPG}
    if code == "silica":
        return {"mg/L as SiO2": 1.0, "mg/L as Si": molar_mass("SiO2") / molar_mass("Si")}
    if code == "tannin":
        return {"mg/L as tannic acid": 1.0}
    if unit == "mg/L":
        return {"mg/L": 1.0, "ug/L": 1e-3}
    return _OTHER.get(code, {}) or _BY_UNIT.get(unit, {unit: 1.0})


_OTHER = {
    "ph": {"pH units": 1.0},
    "temperature": {"°C": 1.0, "°F": 1.0},
    "uvt": {"%/cm": 1.0, "A254/cm": 1.0},
    "conductivity": {"uS/cm": 1.0, "mS/cm": 1e3, "umho/cm": 1.0, "mS/m": 10.0},
    "colour": {"TCU": 1.0, "Pt-Co": 1.0},
    "turbidity": {"NTU": 1.0, "FNU": 1.0},
    "iron_bacteria": {"per mL": 1.0, "CFU/mL": 1.0},
    "pfas": {"ng/L": 1.0, "ug/L": 1e3},
    "voc": {"ug/L": 1.0, "mg/L": 1e3},
}
_BY_UNIT = {
    "per 100 mL": {"per 100 mL": 1.0, "CFU/100 mL": 1.0, "MPN/100 mL": 1.0},
    "Bq/L": {"Bq/L": 1.0, "pCi/L": BQ_PER_PCI},
}

# Other ways of writing the same unit, after lower case and without blanks.
_SPELLINGS = {
    "ppm": "mg/l", "ppb": "ug/l", "ppt": "ng/l", "mcg/l": "ug/l", "mg/litre": "mg/l", "mg/liter": "mg/l",
    "grains/gal": "gpg", "gr/gal": "gpg", "grainspergallon": "gpg", "grains": "gpg", "su": "phunits",
    "s.u.": "phunits", "ph": "phunits", "units": "phunits", "standardunits": "phunits", "c": "°c", "f": "°f",
    "degc": "°c", "degf": "°f", "umhos/cm": "umho/cm", "pcu": "pt-co", "ptco": "pt-co", "cu": "tcu",
    "colorunits": "tcu", "hazen": "tcu", "cfu/100ml": "cfu/100ml", "mpn/100ml": "mpn/100ml",
    "/100ml": "per100ml", "counts/100ml": "per100ml", "cfuper100ml": "cfu/100ml", "per1ml": "perml",
    "mpnper100ml": "mpn/100ml", "%percm": "%/cm", "%/1cm": "%/cm", "%(1cm)": "%/cm", "%1cm": "%/cm",
    "abs/cm": "a254/cm", "a/cm": "a254/cm", "1/cm": "a254/cm", "cm-1": "a254/cm", "fh": "°fh", "dh": "°dh",
}  # fmt: skip


def _folded(text: str) -> str:
    """Lower case, no blanks, one spelling of micro and of 'as'."""
    flat = re.sub(r"\s+", "", text.lower())
    flat = flat.replace("µ", "u").replace("μ", "u").replace("₃", "3").replace("₂", "2").replace("⁻¹", "-1")
    for stem, unit in (("mg/l", "mg/l"), ("ug/l", "ug/l"), ("ppm", "mg/l"), ("ppb", "ug/l")):
        tail = flat.removeprefix(stem)
        if tail != flat and tail:
            tail = tail.strip("()[]").removeprefix("as").strip("()-")
            tail = {"no3-n": "n", "no2-n": "n", "nh3-n": "n", "nitrogen": "n", "no3n": "n"}.get(tail, tail)
            return f"{unit}as{tail.rstrip('-+')}"
    return _SPELLINGS.get(flat, flat)


def forms(analyte: Analyte) -> tuple[str, ...]:
    """Unit strings the analyte accepts, canonical first.

    Why: forms and refusals list the same units.
    Units: text.
    Range: a known analyte.
    Raises: nothing.
    Source: usual laboratory papers (common practice).

    >>> from sizing.engine.water import ANALYTES
    >>> forms(ANALYTES["radium"])
    ('Bq/L', 'pCi/L')
    """
    return tuple(_table(analyte.code, analyte.unit, analyte.group))


def factors(analyte: Analyte) -> frozenset[float]:
    """How differently the accepted units count: one factor where they all mean the same number.

    Why: a file without units is read only where no unit could change the number.
    Units: factor to the canonical unit.
    Range: a known analyte.
    Raises: nothing.
    Source: see ``forms``.

    >>> from sizing.engine.water import ANALYTES
    >>> len(factors(ANALYTES["turbidity"])), len(factors(ANALYTES["sodium"]))
    (1, 2)
    """
    return frozenset(_table(analyte.code, analyte.unit, analyte.group).values())


def must_state(analyte: Analyte) -> bool:
    """Whether a result without a unit must be refused: a basis or a size that cannot be guessed.

    Why: 5 "nitrate" is 5 or 1.1, 20 "lead" is 20 or 0.02, and 90 % transmittance needs its path length.
    Units: none.
    Range: a known analyte.
    Raises: nothing.
    Source: rule of the engine (common practice).

    >>> from sizing.engine.water import ANALYTES
    >>> must_state(ANALYTES["nitrate"]), must_state(ANALYTES["ph"])
    (True, False)
    """
    basis = analyte.code in _BASES or analyte.code in ("uvt", "temperature", "alkalinity", "hardness")
    traces = analyte.group in ("metals", "organics") and analyte.code != "tannin"
    return basis or traces


def wanted(analyte: Analyte) -> str:
    """What would be accepted as a unit, in words.

    Why: a refusal names what would do.
    Units: text.
    Range: a known analyte.
    Raises: nothing.
    Source: rule of the engine (common practice).

    >>> from sizing.engine.water import ANALYTES
    >>> wanted(ANALYTES["uvt"])
    'a unit with its path length: %/cm, A254/cm, or the path as in "% over 10 cm"'
    """
    names = ", ".join(forms(analyte))
    if analyte.code == "uvt":
        return f'a unit with its path length: {names}, or the path as in "% over 10 cm"'
    if analyte.code in _BASES:
        return f"a unit with its basis: {names}"
    return f"one of the units {names}" if must_state(analyte) else f"no unit, or one of {names}"


_PATH = re.compile(r"^%(?:over|/|per|\()?(\d+(?:[.,]\d+)?)(mm|cm)\)?$")


def recognise(analyte: Analyte, text: str) -> str | None:
    """The accepted unit string a text means for the analyte, or ``None``.

    Why: laboratories write one unit in many ways; an unknown way is refused, never guessed.
    Units: text.
    Range: a known analyte.
    Raises: nothing.
    Source: usual laboratory papers (common practice).

    >>> from sizing.engine.water import ANALYTES
    >>> recognise(ANALYTES["nitrate"], "mg/L NO3-N"), recognise(ANALYTES["nitrate"], "ppm")
    ('mg/L as N', None)
    """
    flat = _folded(text)
    if analyte.code == "uvt" and (path := _PATH.match(flat)):
        centimetres = float(path[1].replace(",", ".")) * (0.1 if path[2] == "mm" else 1.0)
        return f"% over {centimetres:g} cm" if centimetres > 0 else None
    known = forms(analyte)
    for name in known:
        if _folded(name) == flat:
            return name
    if flat in _MASS_FOLDED and analyte.code not in _BASES:  # basis of a lone mg/L is the canonical one
        for name in known:
            if name.split(" as ")[0].lower() == flat:
                return name
    return None


_MASS_FOLDED = {name.lower() for name in _MASS}


def joined(analyte: Analyte, in_text: str, beside: str) -> str | None:
    """One unit from the text's and the column's, where they agree or complete each other ("mg/L" + "as N").

    Why: a paper may print "5 mg/L" under a column headed "as N"; two different units are refused.
    Units: text.
    Range: a known analyte.
    Raises: nothing.
    Source: rule of the engine (common practice).

    >>> from sizing.engine.water import ANALYTES
    >>> joined(ANALYTES["nitrate"], "mg/L", "as N"), joined(ANALYTES["iron"], "mg/L", "ug/L")
    ('mg/L as N', None)
    """
    first, second = recognise(analyte, in_text), recognise(analyte, beside)
    if first and second:
        return first if first == second else None
    both = recognise(analyte, f"{in_text} {beside}")
    if both:
        return both
    plain = _folded(in_text)
    if second and not first and plain in _MASS_FOLDED and second.lower().startswith(plain):
        return second
    plain = _folded(beside)
    if first and not second and plain in _MASS_FOLDED and first.lower().startswith(plain):
        return first
    return None


def to_canonical(analyte: Analyte, value: float, unit: str) -> float:
    """A value in an accepted unit, in the engine's unit.

    Why: everything behind the form counts in one unit.
    Units: ``unit`` out of ``forms`` (or "% over x cm" for transmittance); canonical out.
    Range: any finite number; transmittance above 0 and at most 100 %.
    Raises: ``UnreadableValue`` for a transmittance or absorbance that cannot be.
    Source: definitions; UVT = 100 x 10^-A, Beer-Lambert (computed).

    >>> from sizing.engine.water import ANALYTES
    >>> round(to_canonical(ANALYTES["uvt"], 40.0, "% over 10 cm"), 1)
    91.2
    """
    if analyte.code == "temperature" and unit == "°F":
        return float(celsius_from_fahrenheit(value))
    if analyte.code == "uvt":
        from sizing.engine import uv  # a module that stands on readings stands above this one

        if unit == "A254/cm":
            if value < 0:
                raise UnreadableValue(analyte.name, f"{value:g} {unit}", "an absorbance of 0 or more")
            return float(uv.transmittance_percent(value))
        if unit.startswith("% over "):
            if not 0 < value <= 100:
                raise UnreadableValue(analyte.name, f"{value:g} {unit}", "more than 0 and at most 100 %")
            path_cm = float(unit.removeprefix("% over ").removesuffix(" cm"))
            return float(uv.uvt_per_cm(value, path_cm * 10.0))
    return value * _table(analyte.code, analyte.unit, analyte.group)[unit]
