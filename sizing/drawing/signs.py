"""Signs of the cautions: a square with one cut corner, one idea each, always printed beside its words.

A sign is found by the code of its caution (``figures/practice/cautions.toml``). Own drawings on a field of 48 by 48.
"""

from __future__ import annotations

from typing import Final

from sizing.drawing.element import clean
from sizing.drawing.papers import PRINT
from sizing.drawing.speech import say

FRAME: Final = "M10 2H46V46H2V10Z"
_F: Final = ' fill="currentColor"'
_THIN: Final = ' stroke-width="1.5"'

SIGNS: Final[dict[str, tuple[str, str]]] = {
    "pressure": (
        "Water under pressure",
        '<circle cx="20" cy="19" r="10.5"/><path d="M20 19l6 -5M20 29.500v11M31 37h9M31 32l8 -4M31 42l5 2"/>'
        '<path d="M12 41h16" stroke-width="4"/>',
    ),
    "electric": ("Electric shock", f'<path{_F} d="M27 8L15 26H23L20 40L33 21H25Z"/>'),
    "uv_light": (
        "Ultraviolet light on eyes and skin",
        f'<path{_F} d="M10 12H38V18H10Z"/><path d="M14 23l-2 4M24 23v4M34 23l2 4"/>'
        f'<path d="M9 36q15 -12 30 0q-15 10 -30 0z"/><circle{_F} cx="24" cy="35.500" r="3.500"/>'
        '<path d="M8 43L40 26"/>',
    ),
    "lamp_glass": (
        "Thin glass, with mercury inside",
        '<path d="M8 17H40V25H8Z"/><path d="M4 21h4M40 21h3M22 17l4 3l-4 2l3 3"/>'
        '<path d="M15 31l3 8l-7 -2zM29 31l7 3l-5 6z"/>',
    ),
    "chlorine_acid": (
        "Chlorine and acid never together",
        '<path d="M8 40V22l3 -4v-5h6v5l3 4v18zM28 40V22l3 -4v-5h6v5l3 4v18z"/><path d="M8 29h12M28 29h12"/>'
        '<path d="M21 8l6 6M27 8l-6 6" stroke-width="3"/>',
    ),
    "hot_water": (
        "Hot water",
        '<path d="M8 14h16q10 0 10 10v4h-8v-3q0 -3 -3 -3H8zM16 14V8M11 8h10"/>'
        '<path d="M22 41q3 -3 0 -7M29 42q4 -4 0 -8M36 41q4 -3 0 -7"/>',
    ),
    "lifting": (
        "Heavy lifting, two people",
        f'<path d="M13 26H35V42H13Z"/><circle{_F} cx="9" cy="14" r="4"/><circle{_F} cx="39" cy="14" r="4"/>'
        '<path d="M9 19v10l4 4M39 19v10l-4 4M24 20V9M20 13l4 -4l4 4"/>',
    ),
    "crawl_space": (
        "Low space and ladders",
        f'<path{_THIN} d="M5 11H43M9 11l4 -6M19 11l4 -6M29 11l4 -6M38 11l4 -6"/>'
        f'<circle{_F} cx="14" cy="23" r="4"/><path d="M18 25L34 28V40M34 28L40 40M20 26L17 38M6 42H43"/>',
    ),
    "cross_connection": (
        "No link between treated and untreated water",
        '<path d="M6 14H42M6 34H42" stroke-width="4"/><path d="M24 16V32" stroke-dasharray="3 4"/>'
        '<path d="M18 19l12 10M30 19l-12 10" stroke-width="3"/>',
    ),
    "air_gap": (
        "Air gap at the drain",
        '<path d="M16 6V17H24V6M10 30H30L24 38V43H16V38ZM37 18V29M34 21l3 -3l3 3M34 26.500l3 3l3 -3"/>'
        f'<path{_THIN} d="M28 17h13M33 30.500h8"/>',
    ),
    "septic": (
        "Where rinse water goes",
        '<path d="M4 18H44M24 6V26M12 26H38V42H12Z"/><path d="M15 34q4 -3 8 0t8 0t5 0"/>'
        f'<path{_THIN} d="M12 18l-4 5M20 18l-4 5M36 18l-4 5M43 18l-4 5"/>',
    ),
    "brine": (
        "Salt and brine",
        '<path d="M15 8H33L31 14Q38 20 38 29V41H10V29Q10 20 17 14Z"/><path d="M16 14H32"/>'
        f'<path{_THIN} d="M17 26h4v4h-4zM26 23h4v4h-4zM27 32h4v4h-4zM19 34h4v4h-4z"/>',
    ),
    "permanganate": (
        "A strong stain that burns",
        f'<path d="M18 7H30M20 7V16L10 39Q9 42 12 42H36Q39 42 38 39L28 16V7"/><path{_F} d="M14 31H34L38 41H10Z"/>'
        f'<path{_THIN} d="M21 25h.1M26 22h.1M28 27h.1"/>',
    ),
    "dust": (
        "Dust in eyes and lungs",
        '<circle cx="24" cy="19" r="12"/><path d="M14 22Q24 17 34 22V28Q24 37 14 28Z" fill="#FFFFFF"/>'
        '<path d="M12 19l3 4M36 19l-3 4M20 26h8"/>'
        f'<path{_THIN} d="M7 37h.1M12 41h.1M18 39h.1M30 40h.1M36 37h.1M41 41h.1M24 43h.1" stroke-linecap="round"/>',
    ),
    "chlorine_strong": (
        "Bleach burns skin, eyes and cloth",
        '<path d="M7 8H17L20 15V22H7ZM20 17l6 2"/><path d="M30 20q-4 6 0 8q4 -2 0 -8z"/>'
        '<path d="M8 37q8 -6 14 -4h8q4 1 2 4h-9M32 35l7 -4q4 0 2 4l-9 7H20H8"/>',
    ),
    "germs": (
        "Laboratory sample",
        f'<path{_F} d="M19 7H29V12H19Z"/><path d="M20 12V17Q14 19 14 25V42H34V25Q34 19 28 17V12"/>'
        f'<path d="M14 31q5 -3 10 0t10 0"/><path{_THIN} d="M18 25h8M18 37h12"/>',
    ),
    "bottle_acid": (
        "Acid or alkali in the bottle",
        '<path d="M17 7H31M19 7V16L11 38Q10 42 14 42H34Q38 42 37 38L29 16V7"/><path d="M14 31q5 -3 10 0t10 0"/>'
        f'<path{_F} d="M24 17q-4 6 0 8q4 -2 0 -8z"/>',
    ),
    "flame": (
        "Flame and alcohol",
        '<path d="M24 6Q37 18 36 29Q35 41 24 42Q13 41 12 29Q12 22 18 17Q19 23 22 23Q26 18 24 6Z"/>'
        '<path d="M24 42q-6 -3 -5 -9q5 -2 6 -7q6 5 4 12q-1 3 -5 4"/>',
    ),
    "local_codes": (
        "Local codes and licensed trades",
        '<path d="M12 8H30L37 15V42H12Z"/><path d="M30 8V15H37"/>'
        f'<path{_THIN} d="M17 20h14M17 25h14M17 30h7"/><path d="M24 36l3 3l6 -7"/>',
    ),
}


class UnknownSign(KeyError):
    """A caution without a sign; names the code and the codes that have one."""


def sign_svg(code: str, size: float = 44) -> str:
    """The sign of a caution, ``size`` px wide, for paper. Raises ``UnknownSign`` for a code without one."""
    if code not in SIGNS:
        raise UnknownSign(f"sign is {code!r}, accepted is one of {', '.join(SIGNS)}")
    title, body = SIGNS[code]
    ink = PRINT["ink"]
    return (
        f'<svg class="pic" width="{size:g}" height="{size:g}" viewBox="0 0 48 48" fill="none" stroke="{ink}" '
        'stroke-width="2.2" stroke-linejoin="round" stroke-linecap="round" xmlns="http://www.w3.org/2000/svg">'
        f'<title>{clean(say(title))}</title><path d="{FRAME}"/>{body.replace("currentColor", ink)}</svg>'
    )
