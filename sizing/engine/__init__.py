"""The calculation engine: plain Python and numpy, no Django, no clock, no settings.

Everything here is a pure function or a frozen value. Canonical units, used everywhere inside
(``pint`` stands only at the edges):

flow L/min, daily volume L/d, volume L, length m, pressure kPa gauge, temperature degC,
concentration mg/L (hardness and alkalinity as CaCO3, nitrate and nitrite as N, sulphide as S),
turbidity NTU, colour TCU, transmittance % per cm at 254 nm, dose mJ/cm2, power W, energy Wh,
money ``Decimal`` in the dealer's currency, microbes per 100 mL.
"""

VERSION = "1"
