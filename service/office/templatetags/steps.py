"""Template tags for the engine's recorded numbers: worksheet steps, settings, sizing numbers."""

from __future__ import annotations

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from sizing.engine.design import Setting
from sizing.engine.display import NO_BREAK, QUANTITIES, show
from sizing.engine.worksheet import Step

register = template.Library()

WRITTEN = {
    "mJ/cm2": "mJ/cm²",
    "ft2": "ft²",
    "ft3": "ft³",
    "m2": "m²",
    "m3": "m³",
    "degC": "°C",
    "uS/cm": "µS/cm",
    "um": "µm",
}


def written(value: float | str, unit: str, quantity: str, system: str) -> str:
    """A recorded number as people read it: in their units where the quantity says how, else as it stands."""
    if isinstance(value, str) and not any(sign.isdigit() for sign in value):
        return value
    if isinstance(value, str):
        return f"{value}{NO_BREAK}{WRITTEN.get(unit, unit)}".strip()
    if quantity in QUANTITIES:
        return show(float(value), quantity, system)
    return f"{figures(float(value))}{NO_BREAK}{WRITTEN.get(unit, unit)}".strip()


def figures(value: float) -> str:
    """Four significant figures, without an exponent for the sizes people meet."""
    if value == 0:
        return "0"
    if abs(value) >= 1000:
        return f"{value:,.0f}"
    if abs(value) < 1e-4:
        return f"{value:.2e}"
    return f"{value:.4g}"


@register.simple_tag
def step_value(step: Step, system: str) -> SafeString:
    """The value of a worksheet step."""
    return format_html('<span class="nowrap">{}</span>', written(step.value, step.unit, step.quantity, system))


@register.simple_tag
def setting(item: Setting, system: str) -> SafeString:
    """A set-up value or sizing number."""
    return format_html('<span class="nowrap">{}</span>', written(item.value, item.unit, item.quantity, system))
