"""What is asked about a household: labels, quantities, order on the page. Limits stand in the model."""

from __future__ import annotations

from typing import Any

from django.utils.dates import MONTHS as MONTH_NAMES
from django.utils.translation import gettext_lazy

from customers.households.models import AccessBy, PipeMaterial, PipeSize, Power, PumpType, Source
from sizing.engine.fixtures import FIXTURES

L = gettext_lazy
FIXTURE = "fixture_"

#: name -> (label, quantity, hint); limits come from the model.
MEASURES: dict[str, tuple[Any, str, Any]] = {
    "latitude": (L("Latitude"), "", L("degrees, north is positive")),
    "longitude": (L("Longitude"), "", L("degrees, east is positive")),
    "elevation_m": (L("Height above the sea"), "length", ""),
    "well_depth_m": (L("Well depth"), "length", ""),
    "casing_mm": (L("Casing, inside diameter"), "length_small", ""),
    "standing_water_m": (L("Standing water in the well"), "length", L("from pump to resting level")),
    "well_yield_l_min": (L("Well yield"), "flow", L("as the driller reported it")),
    "intake_depth_m": (L("Intake, depth under the surface"), "length", ""),
    "water_temperature_c": (L("Coldest water expected"), "temperature", ""),
    "cut_in_kpa": (L("Cut-in pressure"), "pressure", ""),
    "cut_out_kpa": (L("Cut-out pressure"), "pressure", ""),
    "tank_volume_l": (L("Pressure tank, whole volume"), "volume", L("from its label")),
    "tank_precharge_kpa": (L("Air charge of the tank, empty"), "pressure", ""),
    "tank_diameter_m": (L("Pressure tank, across"), "length", L("measured, for a jacket")),
    "tank_height_m": (L("Pressure tank, height"), "length", ""),
    "room_c": (L("Warmest air beside the tank"), "temperature", L("on a damp day: whether it sweats")),
    "room_humidity": (L("Humidity of that air"), "", L("percent")),
    "pipe_run_m": (L("Pipe from tank to worst fixture"), "length", ""),
    "worst_fixture_height_m": (L("Worst fixture above the tank"), "length", ""),
    "worst_fixture_min_kpa": (L("Least pressure wanted there"), "pressure", ""),
    "people_usual": (L("People, usual"), "", ""),
    "people_peak": (L("People, at most"), "", ""),
    "power_w": (L("Power that may be drawn"), "power", ""),
    "wall_m": (L("Free wall"), "length", ""),
    "depth_m": (L("Depth from the wall"), "length", ""),
    "height_m": (L("Height under the ceiling"), "length", ""),
}
TEXTS: dict[str, tuple[Any, bool]] = {
    "name": (L("Name of the place"), True),
    "road": (L("Road and number"), False),
    "access_note": (L("How to get there"), False),
    "source_note": (L("About the source"), False),
    "pump_note": (L("About the pump"), False),
    "worst_fixture": (L("Worst fixture: highest, farthest"), True),
    "drain_note": (L("About the drain"), False),
}
CHOICES: dict[str, tuple[Any, Any]] = {
    "access_by": (L("Reached by"), AccessBy),
    "source": (L("Source"), Source),
    "pump_type": (L("Pump"), PumpType),
    "pipe_size": (L("Pipe size"), PipeSize),
    "pipe_material": (L("Pipe material"), PipeMaterial),
    "power": (L("Power at the equipment"), Power),
}
TICKS: dict[str, Any] = {
    "untreated_tap": L("An outside tap branches off before treatment"),
    "infants_or_pregnancy": L("Infants, or someone pregnant, drink it"),
    "winter_heated": L("The place of the equipment stays above freezing in winter"),
    "drain": L("A drain is within reach"),
    "septic": L("Waste water goes to a septic tank"),
}
CUSTOMER = {
    "customer_name": "name",
    "email": "email",
    "phone": "phone",
    "second_phone": "second_phone",
    "postal_address": "postal_address",
}
MONTHS = [("", "–"), *((str(number), name) for number, name in MONTH_NAMES.items())]
SEASON = ("opens_month", "opens_day", "closes_month", "closes_day")
_FIXTURES = tuple(FIXTURE + kind.code for kind in FIXTURES)

#: (legend, field names), in the order of the page.
FIELDSETS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (L("Whose water"), tuple(CUSTOMER)),
    (L("The place"), ("name", "road", "access_by", "access_note", "latitude", "longitude", "elevation_m")),
    (
        L("Source"),
        (
            "source",
            "source_note",
            "intake_depth_m",
            "well_depth_m",
            "casing_mm",
            "standing_water_m",
            "well_yield_l_min",
            "water_temperature_c",
        ),
    ),
    (
        L("Pump and pressure tank"),
        (
            "pump_type",
            "pump_note",
            "cut_in_kpa",
            "cut_out_kpa",
            "tank_volume_l",
            "tank_precharge_kpa",
            "tank_diameter_m",
            "tank_height_m",
            "room_c",
            "room_humidity",
        ),
    ),
    (
        L("Pipe"),
        (
            "pipe_size",
            "pipe_material",
            "pipe_run_m",
            "worst_fixture",
            "worst_fixture_height_m",
            "worst_fixture_min_kpa",
            "untreated_tap",
        ),
    ),
    (L("Fixtures, how many of each"), _FIXTURES),
    (L("People and season"), ("people_usual", "people_peak", "infants_or_pregnancy", "occupancy", *SEASON)),
    (
        L("Room for the equipment"),
        ("winter_heated", "power", "power_w", "wall_m", "depth_m", "height_m", "drain", "drain_note", "septic"),
    ),
    (L("Units"), ("units",)),
)
