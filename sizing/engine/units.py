"""Units in one place: conversions, reading what a paper says, and showing what a reader wants.

The work is done in ``quantities`` (definitions and conversions), ``reported`` and ``unit_forms`` (reading)
and ``display`` (showing); everything else imports the names from here.
"""

from sizing.engine.display import QUANTITIES, from_display, show, to_display, unit_of
from sizing.engine.quantities import (
    BQ_PER_PCI,
    GRAINS_PER_POUND,
    KG_PER_POUND,
    KPA_PER_PSI,
    L_PER_FT3,
    L_PER_GALLON,
    L_PER_IMPERIAL_GALLON,
    M2_PER_FT2,
    M_PER_FOOT,
    M_PER_INCH,
    MG_L_PER_GPG,
    MG_PER_GRAIN,
    alkalinity_from_bicarbonate,
    celsius_from_fahrenheit,
    factor,
    fahrenheit_from_celsius,
    gpg_to_mg_l,
    hardness_from_ions,
    mg_l_to_gpg,
    nitrate_as_n,
    nitrate_as_no3,
    registry,
    sulphide_as_h2s,
)
from sizing.engine.reported import Reported, accepted_units, parse_result

__all__ = [
    "BQ_PER_PCI",
    "GRAINS_PER_POUND",
    "KG_PER_POUND",
    "KPA_PER_PSI",
    "L_PER_FT3",
    "L_PER_GALLON",
    "L_PER_IMPERIAL_GALLON",
    "M2_PER_FT2",
    "MG_L_PER_GPG",
    "MG_PER_GRAIN",
    "M_PER_FOOT",
    "M_PER_INCH",
    "QUANTITIES",
    "Reported",
    "accepted_units",
    "alkalinity_from_bicarbonate",
    "celsius_from_fahrenheit",
    "factor",
    "fahrenheit_from_celsius",
    "from_display",
    "gpg_to_mg_l",
    "hardness_from_ions",
    "mg_l_to_gpg",
    "nitrate_as_n",
    "nitrate_as_no3",
    "parse_result",
    "registry",
    "show",
    "sulphide_as_h2s",
    "to_display",
    "unit_of",
]
