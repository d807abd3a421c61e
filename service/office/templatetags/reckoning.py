"""Template tags of the small calculations: charts, values, and remarks in the reader's units."""

from __future__ import annotations

import re

from django import template
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from service.documents.words import typeset
from service.office.reckoned import Chart
from service.office.templatetags.steps import step_value
from sizing.drawing.chart_values import PressureProfile
from sizing.drawing.charts import draw_pressure
from sizing.drawing.reckoned import CurveChart, draw_curves, draw_months
from sizing.drawing.speech import speaking
from sizing.engine.display import show
from sizing.engine.worksheet import Step

register = template.Library()

#: A canonical unit in an engine's sentence -> its quantity and its size in the canonical one.
_UNITS = {
    "kPa": ("pressure", 1.0),
    "L/min": ("flow", 1.0),
    "degC": ("temperature", 1.0),
    "mm": ("length_small", 0.001),
}
_MEASURE = re.compile(rf"(-?\d+(?:\.\d+)?) ({'|'.join(map(re.escape, _UNITS))})\b")


@register.simple_tag
def reckoned_chart(chart: Chart, ident: str) -> SafeString:
    """The drawing of a chart; its table stands beside it."""
    drawing = chart.drawing
    with speaking(gettext):
        if isinstance(drawing, PressureProfile):
            return mark_safe(draw_pressure(drawing, ident, 480, 190))
        if isinstance(drawing, CurveChart):
            return mark_safe(draw_curves(drawing, ident))
        return mark_safe(draw_months(drawing, ident))


@register.simple_tag
def step_in(step: Step, system: str) -> SafeString:
    """The value of a step in the reader's units."""
    return step_value(step, system)


@register.filter
def in_units(text: str, system: str) -> str:
    """An engine's sentence with its pressures, flows, temperatures and thicknesses in the reader's units.

    >>> in_units("The air charge (207 kPa) is above cut-in", "us").replace(chr(160), " ")
    'The air charge (30.0 psi) is above cut-in'
    """

    def spoken(found: re.Match[str]) -> str:
        quantity, size = _UNITS[found[2]]
        return show(float(found[1]) * size, quantity, system)

    return typeset(_MEASURE.sub(spoken, str(text)) if system == "us" else text)


@register.filter
def sentence(text: str) -> str:
    """A meaning with its first letter large, the rest as it stands."""
    return text[:1].upper() + text[1:]
