"""Numbers as the household or the dealer wants to read them: metric or US customary."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.quantities import (
    KG_PER_POUND,
    KPA_PER_PSI,
    L_PER_FT3,
    L_PER_GALLON,
    M2_PER_FT2,
    M_PER_FOOT,
    M_PER_INCH,
    MG_L_PER_GPG,
)

NO_BREAK = "\u00a0"
SYSTEMS = ("metric", "us")


@dataclass(frozen=True)
class _Scale:
    """Displayed value = canonical / size - offset; ``digits`` decimals unless told otherwise."""

    unit: str
    size: float = 1.0
    offset: float = 0.0
    digits: int = 1


_S = _Scale
_SCALES: dict[str, tuple[_Scale, _Scale]] = {
    "flow": (_S("L/min"), _S("gpm", L_PER_GALLON)),
    "daily": (_S("L/day", digits=0), _S("gal/day", L_PER_GALLON, digits=0)),
    "volume": (_S("L"), _S("gal", L_PER_GALLON)),
    "media_volume": (_S("L"), _S("ft³", L_PER_FT3, digits=2)),
    "pressure": (_S("kPa", digits=0), _S("psi", KPA_PER_PSI, digits=1)),
    "length": (_S("m", digits=2), _S("ft", M_PER_FOOT, digits=1)),
    "length_small": (_S("mm", 0.001, digits=0), _S("in", M_PER_INCH, digits=1)),
    "area": (_S("m²", digits=3), _S("ft²", M2_PER_FT2, digits=2)),
    "temperature": (_S("°C"), _S("°F", 1 / 1.8, -32.0, digits=0)),
    "hardness": (_S("mg/L", digits=0), _S("gpg", MG_L_PER_GPG)),
    "salt_mass": (_S("kg"), _S("lb", KG_PER_POUND)),
    "mass": (_S("kg"), _S("lb", KG_PER_POUND)),
    "capacity": (_S("g"), _S("grains", 0.06479891, digits=0)),  # exchange capacity, g as CaCO3
    "rate": (_S("m/h", digits=1), _S("gpm/ft²", L_PER_GALLON * 0.06 / M2_PER_FT2, digits=1)),
    "concentration": (_S("mg/L", digits=2), _S("mg/L", digits=2)),
    "turbidity": (_S("NTU"), _S("NTU")),
    "colour": (_S("TCU", digits=0), _S("TCU", digits=0)),
    "uvt": (_S("%/cm"), _S("%/cm")),
    "dose": (_S("mJ/cm²"), _S("mJ/cm²")),
    "power": (_S("W", digits=0), _S("W", digits=0)),
    "energy": (_S("Wh", digits=0), _S("Wh", digits=0)),
    "time_min": (_S("min"), _S("min")),
    "days": (_S("days"), _S("days")),
    "fraction": (_S("%", 0.01), _S("%", 0.01)),
    "conductivity": (_S("µS/cm", digits=0), _S("µS/cm", digits=0)),
    "count": (_S("per 100 mL", digits=0), _S("per 100 mL", digits=0)),
}
QUANTITIES: tuple[str, ...] = tuple(_SCALES)


def _scale(quantity: str, system: str) -> _Scale:
    if system not in SYSTEMS:
        raise OutsideValidRange("system of units", system, source=f"known are {', '.join(SYSTEMS)}")
    if quantity not in _SCALES:
        raise OutsideValidRange("quantity", quantity, source=f"known are {', '.join(QUANTITIES)}")
    return _SCALES[quantity][SYSTEMS.index(system)]


def to_display(value: Any, quantity: str, system: str) -> tuple[Any, str]:
    """A canonical value in the reader's units, with the name of the unit.

    Why: one household reads gallons and psi, the next litres and kilopascals; the engine keeps one set.
    Units: canonical in (see ``sizing.engine``; "rate" is m/h, "length_small" is m, "capacity" g as CaCO3);
    float or array.
    Range: ``quantity`` in ``QUANTITIES``, ``system`` "metric" or "us".
    Raises: ``OutsideValidRange`` for an unknown quantity or system.
    Source: exact definitions of the units (computed).

    >>> to_display(37.85411784, "flow", "us")
    (10.0, 'gpm')
    >>> to_display(10.0, "temperature", "us")
    (50.0, '°F')
    """
    scale = _scale(quantity, system)
    return value / scale.size - scale.offset, scale.unit


def from_display(value: Any, quantity: str, system: str) -> Any:
    """The canonical value of a number typed in the reader's units.

    Why: forms take the reader's units and store canonical ones.
    Units: the reader's in, canonical out (see ``to_display``); float or array.
    Range: ``quantity`` in ``QUANTITIES``, ``system`` "metric" or "us".
    Raises: ``OutsideValidRange`` for an unknown quantity or system.
    Source: exact definitions of the units (computed).

    >>> round(from_display(60.0, "pressure", "us"), 1)
    413.7
    """
    scale = _scale(quantity, system)
    return (value + scale.offset) * scale.size


def show(value: float, quantity: str, system: str, digits: int | None = None) -> str:
    """A number and its unit as one printable string that does not break across lines.

    Why: screens, papers and letters print every measure the same way.
    Units: canonical in, text out with U+00A0 before the unit ("%" and "°C" too).
    Range: a finite number; ``digits`` decimals, or the usual number for the quantity.
    Raises: ``OutsideValidRange`` for an unknown quantity or system, or a number that is not finite.
    Source: exact definitions of the units (computed).

    >>> show(45.4249414, "flow", "us").replace(chr(160), "_")
    '12.0_gpm'
    """
    if not np.isfinite(value):
        raise OutsideValidRange(quantity, value, source="printing")
    shown, unit = to_display(float(value), quantity, system)
    places = _scale(quantity, system).digits if digits is None else digits
    text = f"{shown:,.{places}f}".replace("-", "−")
    if not any(c in "123456789" for c in text):
        text = text.replace("−", "")
    return f"{text}{NO_BREAK}{unit}"


def unit_of(quantity: str, system: str) -> str:
    """The name of the unit a quantity is shown in.

    Why: form labels and table heads name the unit once.
    Units: text.
    Range: ``quantity`` in ``QUANTITIES``, ``system`` "metric" or "us".
    Raises: ``OutsideValidRange`` for an unknown quantity or system.
    Source: exact definitions of the units (computed).

    >>> unit_of("hardness", "us")
    'gpg'
    """
    return _scale(quantity, system).unit
