"""The drawing's own words in the reader's language.

The code below writes English and passes every word of its own through ``say``. Whoever draws for a reader of
another language draws inside ``speaking(translate)``; widths are then those of the translated words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar


def _as_written(text: str) -> str:
    return text


_translate: ContextVar[Callable[[str], str]] = ContextVar("translate", default=_as_written)


def say(text: str, **held: object) -> str:
    """``text`` translated, with ``{names}`` filled in from ``held``."""
    spoken = _translate.get()(text)
    return spoken.format(**held) if held else spoken


@contextmanager
def speaking(translate: Callable[[str], str]) -> Iterator[None]:
    """Draw with words from ``translate`` (``gettext``, for one)."""
    token = _translate.set(translate)
    try:
        yield
    finally:
        _translate.reset(token)
