"""Template tags of the design bench: the engine's sentences for the reader, pressure along a line."""

from __future__ import annotations

from django import template
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from service.documents.words import typeset as set_words
from service.office.bench_words import Reader
from sizing.catalogue.kinds import NAMES
from sizing.drawing.chart_values import PressureProfile
from sizing.drawing.profile import draw_profile
from sizing.drawing.speech import speaking
from sizing.engine.display import unit_of

register = template.Library()


@register.filter
def said(text: str, reader: Reader) -> str:
    """A sentence of the engine in the reader's units: ``{{ breach.text|said:reader }}``."""
    return reader.sentence(str(text))


@register.filter
def within(text: str, reader: Reader) -> str:
    """The same inside a sentence, its first letter as it stands."""
    return reader.say(str(text))


@register.filter
def typeset(text: str) -> str:
    """A product's name as papers set it: × for x, µm for um."""
    return set_words(text)


@register.filter
def kind_name(kind: str) -> str:
    """What a kind of stage is called on the shelf: ``{{ device.stage_kind|kind_name }}``."""
    return NAMES.get(kind, kind.replace("_", " "))


@register.filter
def pressure_unit(system: str) -> str:
    """The unit pressures are read in: ``{{ system|pressure_unit }}``."""
    return unit_of("pressure", system)


@register.filter
def signed(number: float, digits: int = 0) -> str:
    """A change with its sign; a dash where nothing changed."""
    if round(number, digits) == 0:
        return "–"
    return f"{'+' if number > 0 else '−'}{abs(number):,.{digits}f}"


@register.simple_tag
def profile_chart(profile: PressureProfile, ident: str, highest: float, width: float = 252) -> SafeString:
    """Pressure along one line, small, on the scale that ends at ``highest``."""
    with speaking(gettext):
        return mark_safe(draw_profile(profile, ident, highest, width))
