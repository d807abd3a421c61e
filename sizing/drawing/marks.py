"""State marks: a shape for each state, always drawn beside its word."""

from __future__ import annotations

from sizing.drawing.element import group, words
from sizing.drawing.metrics import text_width
from sizing.drawing.values import StageState

MARKS: dict[StageState, str] = {
    StageState.SERVICE: (
        '<path class="mk" d="M-6 0a6 6 0 1 0 12 0a6 6 0 1 0 -12 0z"/><path class="mi" d="M-3 .2l2.2 2.4L3.2 -2.4"/>'
    ),
    StageState.SOON: '<circle class="mo" r="5.5"/><path class="mk" d="M0 -5.5a5.5 5.5 0 0 1 0 11z"/>',
    StageState.OVERDUE: ('<path class="mk" d="M0 -6.5L7 5.8H-7Z"/><path class="mi" d="M0 -2.2V2M0 3.6v.6"/>'),
    StageState.LAID: '<path class="mo" d="M-5.5 -5.5h11v11h-11z"/><path class="ml" d="M-2 -3v6M2 -3v6"/>',
    StageState.UNPROVEN: '<circle class="md" r="5.5"/><path class="ml" d="M-2.6 0h5.2"/>',
    StageState.PROPOSED: (
        '<path class="mo" d="M-5.5 -5.5h8l3 3v8h-11z"/><path class="ml" d="M-2.8 0h5.6M0 -2.8v5.6"/>'
    ),
}
_SIZE = 12.5


def tag_width(state: StageState) -> float:
    """Width in px of mark, word and the room the tag's box takes."""
    return text_width(state.word, _SIZE, "semibold") + 18 + (0 if state is StageState.SERVICE else 12)


def state_tag(state: StageState, x: float, y: float) -> str:
    """Mark and word centred on x, word baseline y (px)."""
    inner = text_width(state.word, _SIZE, "semibold") + 18
    left = x - inner / 2
    box = ""
    if state is not StageState.SERVICE:
        wide = inner + 12
        box = f'<rect class="tg" x="{x - wide / 2:.1f}" y="{y - 13:g}" width="{wide:.1f}" height="18"/>'
    return group(
        f"st {state.value}",
        box,
        group("mark", MARKS[state], at=(left + 6, y - 4)),
        words("b", left + 18, y, state.word),
    )


def mark_svg(state: StageState) -> str:
    """The bare mark as a small figure for a page; its word must stand beside it."""
    size = 'width="14" height="14" viewBox="-7 -7 14 14"'
    return f'<svg class="mark" {size} aria-hidden="true" focusable="false">{MARKS[state]}</svg>'
