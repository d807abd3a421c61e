"""Days, numbers and places as the water path writes them."""

from __future__ import annotations

from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from customers.households.models import Site
from sizing.engine.display import NO_BREAK, QUANTITIES, show, to_display, unit_of
from sizing.engine.water import ANALYTES

OWN_QUANTITY = {"uvt": "uvt"}


def day_words(day: date) -> str:
    """A day written out: 20 Jun 2026."""
    return date_format(day, "j M Y")


def short_day(day: date) -> str:
    """A day without its year: 2 Jun."""
    return date_format(day, "j M")


def quantity_of(code: str) -> str:
    """The display quantity of an analyte; "" where its own unit stands whatever the system."""
    return code if code in QUANTITIES and code in ANALYTES else OWN_QUANTITY.get(code, "")


def unit_words(code: str, system: str) -> str:
    """The unit of an analyte as the household reads it."""
    quantity = quantity_of(code)
    return unit_of(quantity, system) if quantity else ANALYTES[code].unit


def number_words(value: float, code: str, system: str, *, figures: int = 3) -> str:
    """A canonical value in the household's unit, without it, to ``figures`` significant figures."""
    quantity = quantity_of(code)
    shown = float(to_display(value, quantity, system)[0]) if quantity else float(value)
    if abs(shown) >= 10 ** (figures - 1):
        return f"{shown:,.0f}"
    text = f"{shown:.{figures}g}"
    return f"{shown:.4f}".rstrip("0").rstrip(".") if "e" in text else text


def pressure_range(site: Site, system: str) -> str:
    """The pressure switch's range: 275-415 kPa; "" where not known."""
    if site.cut_in_kpa is None or site.cut_out_kpa is None:
        return ""
    low = show(site.cut_in_kpa, "pressure", system, 0).split(NO_BREAK)[0]
    return f"{low}–{show(site.cut_out_kpa, 'pressure', system, 0)}"


def source_name(site: Site) -> str:
    """The source as the drawing names it."""
    names = {
        "drilled_well": _("Drilled well"),
        "dug_well": _("Dug well"),
        "lake": _("Lake intake"),
        "river": _("River intake"),
        "spring": _("Spring"),
        "cistern": _("Cistern"),
    }
    return str(names[site.source])


def source_detail(site: Site, system: str) -> str:
    """Depth and pump, as far as known."""
    depth = site.well_depth_m if "well" in site.source else site.intake_depth_m
    parts = []
    if depth is not None:
        parts.append(_("%(depth)s deep") % {"depth": show(depth, "length", system, 1)})
    if site.pump_type not in ("unknown", "gravity"):
        parts.append(_("%(kind)s pump") % {"kind": site.get_pump_type_display()})
    elif site.pump_type == "gravity":
        parts.append(_("by gravity"))
    return ", ".join(parts)


def in_sentence(name: str) -> str:
    """The name of a part or stage inside a sentence: "Quartz sleeve" gives "quartz sleeve", "UV lamp" stays."""
    return name if name[1:2].isupper() or not name[1:2].isalpha() else name[:1].lower() + name[1:]
