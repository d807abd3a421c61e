"""One cell: kept from running as a formula where it is written, and read back as it was."""

from __future__ import annotations

import re

RUNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:(?P<mark>[.,'’\u00a0\u202f ])\d{3})(?:(?P=mark)\d{3})*(?:(?P<point>[.,])\d+)?")


def safe_cell(text: str) -> str:
    """The text so that a spreadsheet shows it and never runs it.

    What begins with = + - @, a tab or a line end gets an apostrophe in front, except a plain number: -0.5 stays a
    number, <0.005 needs nothing. ``plain_cell`` takes exactly that apostrophe away again.

    >>> safe_cell("=HYPERLINK(1)"), safe_cell("-0.5"), safe_cell("<0.005"), safe_cell("-1+1")
    ("'=HYPERLINK(1)", '-0.5', '<0.005', "'-1+1")
    """
    return f"'{text}" if _runs(text) or text.startswith("'") else text


def plain_cell(text: str) -> str:
    """What ``safe_cell`` was given, for a cell it wrote; any other cell as it stands.

    >>> plain_cell("'=HYPERLINK(1)"), plain_cell("'tis")
    ('=HYPERLINK(1)', "'tis")
    """
    rest = text[1:]
    return rest if text.startswith("'") and (_runs(rest) or rest.startswith("'") or not rest) else text


def looks_like_a_number(text: str) -> bool:
    """Whether the whole cell is a number, with either decimal mark.

    >>> looks_like_a_number("-0,5"), looks_like_a_number("8 US gpm")
    (True, False)
    """
    return _NUMBER.fullmatch(text.strip()) is not None


def plain_number(text: str, decimal: str = ".") -> str:
    """A number written out with a decimal point, thousands marks gone.

    ``decimal`` is the file's mark. Raises ``ValueError`` for what is no number, and for one that could be two: with a
    decimal point "1,234" may be a thousand or one and a bit.

    >>> plain_number("1 234,5", ","), plain_number("-0.5")
    ('1234.5', '-0.5')
    """
    clean = text.strip().replace("\u2212", "-")
    other = "," if decimal == "." else "."
    if _NUMBER.fullmatch(clean) and other not in clean:
        return clean.replace(",", ".")
    grouped = _GROUPED.fullmatch(clean)
    if grouped is None or grouped["mark"] == decimal or grouped["point"] == other:
        raise ValueError(text)
    if grouped["mark"] == other and grouped["point"] is None and clean.count(other) == 1:
        raise ValueError(text)
    return clean.replace(grouped["mark"], "").replace(",", ".")


def _runs(text: str) -> bool:
    bare = text.lstrip(" \u00a0")
    return bare.startswith(RUNS) and _NUMBER.fullmatch(text) is None
