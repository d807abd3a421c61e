"""Exact unit definitions the physical modules calculate with; conversion for people is ``units``' work.

``L_PER_GAL`` litres per US gallon (also L/min per US gpm), ``KPA_PER_PSI``, ``M_PER_FT``, ``M_PER_IN``, ``GRAVITY``
m/s2, ``ATMOSPHERE`` kPa absolute at sea level, ``KPA_PER_M`` kPa per metre of water at 1,000 kg/m3,
``M_H_PER_GPM_FT2`` m/h per US gpm/ft2, ``L_PER_FT3`` litres per cubic foot.
"""

from __future__ import annotations

from sizing.engine.figures import figure

L_PER_GAL: float = figure("exact-measures", "litres_per_us_gallon").value
L_PER_IMPERIAL_GAL: float = figure("exact-measures", "litres_per_imperial_gallon").value
KPA_PER_PSI: float = figure("exact-measures", "kpa_per_psi").value
M_PER_FT: float = figure("exact-measures", "metres_per_foot").value
GRAVITY: float = figure("exact-measures", "gravity").value
ATMOSPHERE: float = figure("exact-measures", "atmosphere").value
M_PER_IN: float = M_PER_FT / 12.0
KPA_PER_M: float = GRAVITY
L_PER_FT3: float = (10.0 * M_PER_FT) ** 3
M2_PER_FT2: float = M_PER_FT**2
M_H_PER_GPM_FT2: float = L_PER_GAL * 60.0 / 1000.0 / M2_PER_FT2
L_MIN_PER_M3_S: float = 60_000.0
