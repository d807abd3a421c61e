"""What two designs were asked otherwise, field by field, in the reader's units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from sizing.engine.design import DesignRequest
from sizing.engine.display import QUANTITIES, show
from sizing.engine.storage import to_data
from sizing.engine.water import ANALYTES
from sizing.proposals.forms import analyte_unit, shown_goal


@dataclass(frozen=True)
class InputChange:
    """One thing asked otherwise: the group it belongs to, its name, before and after in words."""

    group: str
    label: str
    before: str
    after: str


#: Fields of a request by their path: what they are called, and the quantity they are shown as.
NAMES: dict[str, tuple[Promise, str]] = {
    "source": (gettext_lazy("Source"), ""),
    "fixtures": (gettext_lazy("Fixtures"), ""),
    "unproven": (gettext_lazy("Results without a number"), ""),
    "supply.pump_flow_l_min.value": (gettext_lazy("Pump delivers"), "flow"),
    "supply.pump_flow_l_min.sd": (gettext_lazy("Uncertainty of the flow"), "flow"),
    "supply.cut_in_kpa": (gettext_lazy("Cut-in"), "pressure"),
    "supply.cut_out_kpa": (gettext_lazy("Cut-out"), "pressure"),
    "supply.tank_volume_l": (gettext_lazy("Pressure tank"), "volume"),
    "supply.pipe_nominal": (gettext_lazy("Pipe"), ""),
    "supply.pipe_material": (gettext_lazy("Pipe material"), ""),
    "supply.pipe_run_m": (gettext_lazy("Length of pipe"), "length"),
    "supply.worst_fixture_height_m": (gettext_lazy("Height of the worst fixture"), "length"),
    "supply.worst_fixture_min_kpa": (gettext_lazy("Least pressure at the worst fixture"), "pressure"),
    "supply.well_yield_l_min": (gettext_lazy("Yield of the well"), "flow"),
    "supply.well_storage_l": (gettext_lazy("Water stored in the well"), "volume"),
    "supply.tank_diameter_m": (gettext_lazy("Diameter of the pressure tank"), "length"),
    "supply.tank_height_m": (gettext_lazy("Height of the pressure tank"), "length"),
    "occupancy.people_usual": (gettext_lazy("People, usually"), ""),
    "occupancy.people_peak": (gettext_lazy("People, at most"), ""),
    "occupancy.litres_per_person_day": (gettext_lazy("Use of a person a day"), "volume"),
    "occupancy.outside_litres_day": (gettext_lazy("Water outside, on a day of watering"), "volume"),
    "occupancy.months_open": (gettext_lazy("Months open"), ""),
    "site.wall_m": (gettext_lazy("Wall"), "length"),
    "site.depth_m": (gettext_lazy("Depth"), "length"),
    "site.height_m": (gettext_lazy("Height"), "length"),
    "site.drain": (gettext_lazy("Drain"), ""),
    "site.power": (gettext_lazy("Power"), ""),
    "site.power_w": (gettext_lazy("Power to be had"), "power"),
    "site.winter_heated": (gettext_lazy("Heated in winter"), ""),
    "site.winter_occupied": (gettext_lazy("Lived in all winter"), ""),
    "site.septic": (gettext_lazy("Septic tank"), ""),
    "site.boat_in": (gettext_lazy("Reached by boat"), ""),
    "site.infants_or_pregnancy": (gettext_lazy("Infants or pregnancy"), ""),
    "site.outside_untreated": (gettext_lazy("Outside taps ahead of the treatment"), ""),
    "site.room_c": (gettext_lazy("Warmest air beside the tank"), "temperature"),
    "site.room_humidity": (gettext_lazy("Humidity beside the tank, %"), ""),
    "goals.ph_low": (gettext_lazy("pH, at least"), ""),
    "goals.ph_high": (gettext_lazy("pH, at most"), ""),
    "goals.uv_dose": (gettext_lazy("Barrier asked for"), "dose"),
    "goals.barrier_rule": (gettext_lazy("Rule on germs"), ""),
    "goals.dry_tank": (gettext_lazy("The tank must not sweat"), ""),
    "goals.soften": (gettext_lazy("Water that is softened"), ""),
    "cost.years": (gettext_lazy("Cost years"), ""),
    "cost.discount_rate": (gettext_lazy("Interest a year"), "fraction"),
    "cost.salt_per_kg": (gettext_lazy("Salt, a kilogram"), ""),
    "cost.power_per_kwh": (gettext_lazy("Power, a kilowatt hour"), ""),
    "cost.water_per_m3": (gettext_lazy("Water, a cubic metre"), ""),
    "cost.labour_per_hour": (gettext_lazy("Labour, an hour"), ""),
    "cost.visit": (gettext_lazy("A visit"), ""),
}
GROUPS: dict[str, Promise] = {
    "supply": gettext_lazy("Pump and pipe"),
    "occupancy": gettext_lazy("The household"),
    "site": gettext_lazy("The place"),
    "goals": gettext_lazy("Wanted"),
    "cost": gettext_lazy("Terms of cost"),
}
#: Told apart: analytes by name, the catalogue as prices, spreads beside their values.
APART = ("water", "water_sd", "catalogue", "at_entry", "at_tap")


def input_changes(old: DesignRequest, new: DesignRequest, system: str) -> tuple[InputChange, ...]:
    """Everything but the catalogue that was asked otherwise; a field without a name here is told by its own."""
    found = list(_analytes(_("Raw water"), old.water.values, new.water.values, system))
    for where, label in (("at_entry", _("Wanted at the entry")), ("at_tap", _("Wanted at the drinking tap"))):
        found += _analytes(label, getattr(old.goals, where), getattr(new.goals, where), system, at_most=True)
    before, after = (dict(_flat(to_data(request))) for request in (old, new))
    for path in {**before, **after}:
        if before.get(path) != after.get(path):
            found.append(_field(path, before.get(path), after.get(path), system))
    same = [code for code in old.water_sd if old.water.get(code) == new.water.get(code)]
    spread = [ANALYTES[code].name for code in same if old.water_sd[code] != new.water_sd.get(code)]
    if spread:
        found.append(InputChange(_("Raw water"), _("Uncertainty of"), "", ", ".join(spread)))
    return tuple(found)


def _analytes(
    group: str, old: Mapping[str, Any], new: Mapping[str, Any], system: str, *, at_most: bool = False
) -> Iterator[InputChange]:
    for code in ANALYTES:
        if code in (*old, *new) and old.get(code) != new.get(code):
            yield InputChange(
                group,
                ANALYTES[code].name,
                _value(code, old.get(code), system, at_most),
                _value(code, new.get(code), system, at_most),
            )


def _value(code: str, value: Any, system: str, at_most: bool) -> str:
    if value is None:
        return _("no limit") if at_most else _("not measured")
    return f"{shown_goal(code, float(value), system):g}\u00a0{analyte_unit(code, system)}".strip()


def _flat(data: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in data.items():
        if name in APART:
            continue
        if isinstance(value, Mapping):
            yield from _flat(value, f"{before}{name}.")
        else:
            yield f"{before}{name}", value


def _field(path: str, old: Any, new: Any, system: str) -> InputChange:
    start, _sep, rest = path.partition(".")
    label, quantity = NAMES.get(path, ((rest or start).replace("_", " ").replace(".", " "), ""))
    group = GROUPS.get(start, _("The household"))
    return InputChange(str(group), str(label), _words(old, quantity, system), _words(new, quantity, system))


def _words(value: Any, quantity: str, system: str) -> str:
    if value is None:
        return _("not known")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, list):
        return ", ".join(_item(item) for item in value) or _("none")
    if isinstance(value, int | float):
        return show(float(value), quantity, system) if quantity in QUANTITIES else f"{value:g}"
    return str(value).replace("_", " ")


def _item(item: Any) -> str:
    if isinstance(item, Mapping):
        return f"{item.get('count', '')} × {str(item.get('code', '')).replace('_', ' ')}"
    return str(item).replace("_", " ")
