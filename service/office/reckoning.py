"""The small calculations the desk can do, in the order in which they are listed."""

from __future__ import annotations

from service.office.reckon_beds import BACKWASH, UV
from service.office.reckon_dosing import SHOCK, SOFTENER
from service.office.reckon_place import POWER, SWEAT
from service.office.reckon_supply import FLOW, PRESSURE, TANK
from service.office.reckoned import Calculator

CALCULATORS: tuple[Calculator, ...] = (FLOW, TANK, PRESSURE, BACKWASH, SOFTENER, UV, SHOCK, SWEAT, POWER)


def calculator_named(name: str) -> Calculator:
    """The calculation of this name; ``KeyError`` for another."""
    return {calculator.name: calculator for calculator in CALCULATORS}[name]
