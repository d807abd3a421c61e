"""A rating as a person types and reads it: "8 US gpm", "30 L/min", "25 %"; canonical inside."""

from __future__ import annotations

import math
import re
from functools import cache
from types import MappingProxyType
from typing import Any

from sizing.engine.display import from_display, to_display, unit_of
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.quantities import registry
from sizing.engine.stages.ratings import RatingField

# What a rating is shown as, by its quantity and canonical unit. Anything else is shown as it is kept.
_SHOWN_AS = MappingProxyType(
    {
        ("flow", "L/min"): "flow",
        ("pressure", "kPa"): "pressure",
        ("volume", "L"): "volume",
        ("volume", "L/d"): "daily",
        ("length", "m"): "length_small",
        ("mass", "kg"): "mass",
        ("mass", "g as CaCO3"): "capacity",
        ("fraction", ""): "fraction",
    }
)
_BY_NAME = MappingProxyType({"media_l": "media_volume", "baffling": ""})
# Canonical and shown units as pint writes them. "%" and "%/cm" are bare numbers to it.
_FOR_PINT = MappingProxyType(
    {
        "L/min": "liter/minute", "mL/min": "milliliter/minute", "L/d": "liter/day", "kPa": "kilopascal", "L": "liter",
        "m": "meter", "in": "inch", "um": "micrometer", "W": "watt", "kg": "kilogram", "g": "gram",
        "g as CaCO3": "gram", "min": "minute", "mg/L": "milligram/liter", "g/L": "gram/liter",
        "mJ/cm2": "millijoule/centimeter**2", "W/(m K)": "watt/meter/kelvin",
    }
)  # fmt: skip
# Words of the trade that pint does not know, or takes for something else. Compared without case and blanks.
_SPOKEN = MappingProxyType(
    {
        "gpm": "gallon/minute", "gph": "gallon/hour", "gpd": "gallon/day", "gal/day": "gallon/day",
        "gal/d": "gallon/day", "gal/min": "gallon/minute", "gal/h": "gallon/hour", "gal": "gallon",
        "gallon": "gallon", "gallons": "gallon", "l": "liter", "l/min": "liter/minute", "l/day": "liter/day",
        "l/d": "liter/day", "lpm": "liter/minute", "lpd": "liter/day", "l/h": "liter/hour",
        "m3/h": "meter**3/hour", "m3/d": "meter**3/day", "ft3": "foot**3", "cuft": "foot**3",
        "litre": "liter", "litres": "liter", "psi": "psi", "kpa": "kilopascal", "bar": "bar", "mbar": "millibar",
        "mpa": "megapascal", '"': "inch",
        "in": "inch", "inch": "inch", "inches": "inch", "'": "foot", "ft": "foot", "um": "micrometer",
        "micron": "micrometer", "microns": "micrometer", "mic": "micrometer", "w": "watt", "watt": "watt",
        "watts": "watt", "kw": "kilowatt", "hp": "horsepower", "lb": "pound", "lbs": "pound", "grain": "grain",
        "grains": "grain", "gr": "grain", "kgr": "kilograin", "kilograins": "kilograin", "min": "minute",
        "minutes": "minute", "h": "hour", "s": "second", "mj/cm2": "millijoule/centimeter**2",
        "j/m2": "joule/meter**2", "ppm": "milligram/liter", "w/mk": "watt/meter/kelvin",
        "w/(mk)": "watt/meter/kelvin",
    }
)  # fmt: skip
_PLAIN_UNIT = re.compile(r"[A-Za-z_]{1,20}(?:[23])?(?:\s*[/*]\s*\(?[A-Za-z_]{1,20}(?:[23])?\)?){0,2}")
_TYPED = re.compile(r"(?P<number>[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?)\s*(?P<unit>.*)", re.DOTALL)
_FRACTIONS = {"½": ".5", "¼": ".25", "¾": ".75"}
_YES, _NO = frozenset({"yes", "y", "true", "1", "on", "x"}), frozenset({"no", "n", "false", "0", "off"})
_PER_CENT = {"%": 100.0, "percent": 100.0, "per cent": 100.0}


def quantity_of(field: RatingField) -> str:
    """The display quantity of a rating; "" for one that is shown as it is kept.

    Units: none.
    Range: any rating.
    Raises: nothing.
    Source: ``sizing.engine.display``.

    >>> quantity_of(RatingField("loss_kpa", "Loss", "pressure", "kPa"))
    'pressure'
    """
    return _BY_NAME.get(field.name, _SHOWN_AS.get((field.quantity, field.unit), ""))


def unit_shown(field: RatingField, system: str) -> str:
    """The unit beside a rating on a form.

    Units: text.
    Range: ``system`` "metric" or "us".
    Raises: ``OutsideValidRange`` for another system.
    Source: ``sizing.engine.display``.

    >>> unit_shown(RatingField("loss_kpa", "Loss", "pressure", "kPa"), "us")
    'psi'
    """
    quantity = quantity_of(field)
    return unit_of(quantity, system) if quantity else field.unit.replace("um", "µm").replace("2", "²")


def shown_rating(field: RatingField, value: Any, system: str) -> Any:
    """A rating as the reader's number; words and yes or no stay.

    Units: canonical in, the reader's out.
    Range: ``system`` "metric" or "us".
    Raises: ``OutsideValidRange`` for another system.
    Source: exact definitions of the units (computed).

    >>> round(shown_rating(RatingField("flow_l_min", "Flow", "flow", "L/min"), 37.85411784, "us"), 6)
    10.0
    """
    quantity = quantity_of(field)
    if not quantity or isinstance(value, str | bool):
        return value
    return to_display(float(value), quantity, system)[0]


def typed_rating(field: RatingField, text: str, system: str | None = None) -> Any:
    """A rating read from what somebody typed, validated by its field.

    Why: leaflets and price lists speak gpm, psi and inches in any mixture; a number must say what it is.
    Units: a bare number stands in the reader's unit of ``system``, or the canonical one without a system; any
    other unit of the same dimension is converted. Canonical out.
    Range: that of the field.
    Raises: ``UnreadableValue`` for what is no number, an unknown unit or one of another dimension;
    ``OutsideValidRange`` in canonical units.
    Source: pint's definitions (computed).

    >>> flow = RatingField("flow_l_min", "Flow it holds", "flow", "L/min", 0.0, 200.0)
    >>> round(typed_rating(flow, "8 US gpm"), 2), typed_rating(flow, "30 L/min"), typed_rating(flow, "10", "us")
    (30.28, 30.0, 37.85411784)
    """
    clean = " ".join(text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2212", "-").split())
    if field.choices:
        return field.read(clean)
    if field.quantity == "flag":
        return field.read(_flag(field, clean))
    for sign, decimal in _FRACTIONS.items():
        clean = clean.replace(sign, decimal)
    found = _TYPED.fullmatch(clean)
    if found is None:
        raise UnreadableValue(field.name, text, f"a number, {field.accepted}")
    number, unit = float(found["number"]), found["unit"].strip()
    if not unit:
        quantity = quantity_of(field)
        return field.read(from_display(number, quantity, system) if quantity and system else number)
    return field.read(float(f"{number * _factor(field, unit, text):.12g}"))


def _flag(field: RatingField, word: str) -> bool:
    if word.lower() in _YES:
        return True
    if word.lower() in _NO:
        return False
    raise UnreadableValue(field.name, word, "yes or no")


def _factor(field: RatingField, unit: str, text: str) -> float:
    """How many canonical units one of the typed unit makes."""
    if field.quantity in ("percent", "fraction"):
        return _share(field, unit, text)
    try:
        return _in_canonical(_squeezed(unit), unit, field.unit)
    except (KeyError, ValueError, TypeError, AttributeError) as bad:
        accepted = f"a number in {field.unit or 'no unit'} or a unit that converts to it"
        raise UnreadableValue(field.name, text, accepted) from bad


def _share(field: RatingField, unit: str, text: str) -> float:
    """Per cent of a fraction, or the per cent a rating is kept in."""
    squeezed = unit.lower().replace("/cm", "").strip()
    if squeezed in _PER_CENT:
        return 1.0 if field.quantity == "percent" else 0.01
    raise UnreadableValue(field.name, text, f"a number, {field.accepted}")


def _squeezed(unit: str) -> str:
    flat = unit.replace("²", "2").replace("³", "3").replace("µ", "u").replace("μ", "u").replace("·", "")
    return re.sub(r"[\s.^_]|\*\*", "", flat).lower()


def _spoken(squeezed: str) -> str | None:
    """The pint unit of a word of the trade; "US" and "imp" in front say whose gallon."""
    if squeezed in _SPOKEN:
        return _SPOKEN[squeezed]
    whose, rest = squeezed[:2], squeezed.removeprefix("us").removeprefix("imperial").removeprefix("imp")
    known = _SPOKEN.get(rest, "")
    if rest == squeezed or "gallon" not in known:
        return None
    return known if whose == "us" else known.replace("gallon", "imperial_gallon")


@cache
def _in_canonical(squeezed: str, unit: str, canonical: str) -> float:
    """Raises ``KeyError``, ``ValueError``, ``TypeError`` or ``AttributeError`` (pint's own) for what does not fit."""
    target = _FOR_PINT[canonical]
    written = _spoken(squeezed)
    if written is None:
        flat = unit.replace("²", "2").replace("³", "3").replace("µ", "u").replace("μ", "u")
        if _PLAIN_UNIT.fullmatch(flat) is None:
            raise ValueError(unit)
        written = re.sub(r"([A-Za-z_])([23])\b", r"\1**\2", flat)
    return float(registry().Quantity(written).to(target).magnitude)


def accepted_shown(field: RatingField, refusal: OutsideValidRange, system: str) -> str:
    """What a refusal accepts, in the reader's units.

    Units: canonical in, the reader's out.
    Range: ``system`` "metric" or "us".
    Raises: nothing.
    Source: exact definitions of the units (computed).

    >>> loss = RatingField("loss_kpa", "Loss", "pressure", "kPa", 0.0, 200.0)
    >>> accepted_shown(loss, OutsideValidRange("loss_kpa", -1.0, low=0.0, high=200.0, unit="kPa"), "us")
    'at least 0 and at most 29 psi'
    """
    quantity = quantity_of(field)
    if not quantity:
        return refusal.accepted

    def there(value: float | None, inward: int) -> float | None:
        return None if value is None else _four_figures(to_display(value, quantity, system)[0], inward)

    return OutsideValidRange(
        refusal.parameter,
        refusal.value,
        low=there(refusal.low, 1),
        high=there(refusal.high, -1),
        unit=unit_of(quantity, system),
        low_open=refusal.low_open,
    ).accepted


def _four_figures(value: float, inward: int) -> float:
    """A limit in four figures, rounded to the side that is still accepted (1 = up, -1 = down)."""
    if value == 0.0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 3)
    steps = value / step
    nearest = round(steps)
    if math.isclose(steps, nearest, rel_tol=1e-9):
        return float(f"{nearest * step:.6g}")
    return float(f"{(math.ceil(steps) if inward > 0 else math.floor(steps)) * step:.6g}")
