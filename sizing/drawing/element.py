"""The smallest builder of SVG text: every attribute and every text is escaped here and nowhere else."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

_FORBIDDEN = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 65534, 65535))


def clean(words: str) -> str:
    """``words`` without the control characters that XML cannot hold, escaped for element content."""
    return escape(words.translate(_FORBIDDEN))


def number(value: float) -> str:
    """A coordinate in px, at most one decimal, no trailing zero."""
    rounded = f"{value:.1f}".rstrip("0").rstrip(".")
    return "0" if rounded in ("-0", "") else rounded


def el(name: str, *children: str, **attributes: str | float | None) -> str:
    """One element. ``class_`` gives class, an underscore inside gives a hyphen; None is left out."""
    parts = [name]
    for key, value in attributes.items():
        if value is None:
            continue
        shown = value if isinstance(value, str) else number(value)
        label = _NAMES.get(key) or key.rstrip("_").replace("_", "-")
        parts.append(f"{label}={quoteattr(shown.translate(_FORBIDDEN))}")
    opening = " ".join(parts)
    return f"<{opening}>{''.join(children)}</{name}>" if children else f"<{opening}/>"


_NAMES = {"viewBox": "viewBox", "view_box": "viewBox"}


def path(cls: str, d: str) -> str:
    """A path of class ``cls``."""
    return f'<path class="{cls}" d="{d}"/>'


def words(cls: str, x: float, y: float, text: str) -> str:
    """A line of text of class ``cls`` at x, baseline y (px); nothing for an empty text."""
    return f'<text class="{cls}" x="{number(x)}" y="{number(y)}">{clean(text)}</text>' if text else ""


def group(cls: str, *children: str, at: tuple[float, float] | None = None, scale: float = 1) -> str:
    """A group, moved to ``at`` (px) and scaled."""
    moves = []
    if at is not None:
        moves.append(f"translate({number(at[0])} {number(at[1])})")
    if scale != 1:
        moves.append(f"scale({scale:g})")
    return el("g", *children, class_=cls, transform=" ".join(moves) or None)


def figure(
    cls: str,
    ident: str,
    box: tuple[float, float, float, float],
    title: str,
    desc: str,
    *body: str,
    size: tuple[float, float] | None = None,
) -> str:
    """A whole ``<svg>`` of class ``cls``: title first (papers read only that), then desc.

    ``box`` is the view box, ``size`` the width and height in px (those of the box when left out).
    ``ident`` must be unique in the page: it names title and desc.
    """
    wide, high = size or (box[2], box[3])
    labels = f"{ident}-t {ident}-d" if desc else f"{ident}-t"
    return el(
        "svg",
        f'<title id="{ident}-t">{clean(title)}</title>',
        f'<desc id="{ident}-d">{clean(desc)}</desc>' if desc else "",
        *body,
        class_=cls,
        xmlns="http://www.w3.org/2000/svg",
        role="img",
        aria_labelledby=labels,
        viewBox=" ".join(number(part) for part in box),
        width=wide,
        height=high,
    )
