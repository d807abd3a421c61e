"""Template tags of papers: signs of cautions, words as papers set them."""

from __future__ import annotations

import re

from django import template
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from service.documents.words import formula_words, held, typeset, why_words
from sizing.drawing.drawn import draw_path
from sizing.drawing.signs import sign_svg
from sizing.drawing.speech import speaking
from sizing.drawing.values import WaterPath

register = template.Library()

DRAWN_WIDTH = 828.0  # px: words in the drawing come to 8.2 pt on Letter
MOST_HEIGHT = 680.0  # px on the sheet: what letterhead, title and notice leave of the first page


@register.simple_tag
def paper_path(path: WaterPath, width: float, bypass: bool = False) -> SafeString:
    """The drawing of a path for a sheet, ``width`` px wide; smaller where many rows would not leave room on it."""
    with speaking(gettext):
        svg = draw_path(path, DRAWN_WIDTH, "paper", bypass=bypass, shown=width)
        height = re.search(r'<svg[^>]* height="([\d.]+)"', svg)
        if height and float(height[1]) > MOST_HEIGHT:
            shown = width * MOST_HEIGHT / float(height[1])
            svg = draw_path(path, DRAWN_WIDTH, "paper", bypass=bypass, shown=shown)
    return mark_safe(svg)


@register.simple_tag
def sign(code: str) -> SafeString:
    """The sign of a caution; its words must stand beside it."""
    with speaking(gettext):
        return mark_safe(sign_svg(code))


@register.filter(is_safe=False)
def set_type(text: object) -> SafeString:
    """Text with ×, µ and units held to their numbers."""
    return held(typeset(text))


@register.filter(is_safe=False)
def formula(text: str) -> SafeString:
    """A worksheet formula as it is written by hand."""
    return held(formula_words(text))


@register.simple_tag
def why(reason: str, system: str) -> SafeString:
    """A reason cut to its telling part, in the household's units."""
    return held(why_words(reason, system))


@register.filter
def wordy(value: object) -> bool:
    """Whether a worksheet value is words rather than a number."""
    return isinstance(value, str) and len(value) > 16
