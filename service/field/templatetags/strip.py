"""The cut-down water path with the place where the reader stands."""

from __future__ import annotations

from django import template
from django.utils.safestring import SafeString, mark_safe

from sizing.drawing.strip import draw_strip
from sizing.drawing.values import WaterPath

register = template.Library()


@register.simple_tag
def here_strip(path: WaterPath, here: int | None = None, width: float = 500) -> SafeString:
    """The strip of a path; ``here`` is a stage's number, 0 the pressure tank, left out for none."""
    return mark_safe(draw_strip(path, width, "strip", here))
