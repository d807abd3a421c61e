"""Commas and points in a file's results: what they mean where one number could be two."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

DECIMAL, THOUSANDS = "decimal", "thousands"
_LEAD = r"^[<>≤≥~]?=?\s*[+-]?"
_TAIL = r"(?:\s.*)?$"
_COMMA_SURE = re.compile(_LEAD + r"(?:0,\d+|\d+,(?:\d{1,2}|\d{4,}))" + _TAIL)
_POINT_SURE = re.compile(_LEAD + r"(?:0\.\d+|\d*\.(?:\d{1,2}|\d{4,}))" + _TAIL)
_COMMA_OPEN = re.compile(_LEAD + r"[1-9]\d{0,2},\d{3}" + _TAIL)
_POINT_OPEN = re.compile(_LEAD + r"[1-9]\d{0,2}\.\d{3}" + _TAIL)


@dataclass(frozen=True)
class Commas:
    """What a comma means in the file: as answered, else open where a number could be two (``example``)."""

    meaning: str
    open: bool
    example: str = ""
    comma_file: bool = False


def commas_of(texts: Iterable[str], answered: str = "") -> Commas:
    """Whether the results hold a number that could be two. "0,005" and "1.5" are sure, "1,234" never is, "1.234"
    only beside decimal commas.

    >>> commas_of(["0,35", "1.234"]).open, commas_of(["1.234", "0.5"]).open
    (True, False)
    """
    texts = [text.strip() for text in texts]
    if answered in (DECIMAL, THOUSANDS):
        return Commas(answered, False)
    comma_file = any(map(_COMMA_SURE.match, texts)) and not any(map(_POINT_SURE.match, texts))
    for text in texts:
        if _COMMA_OPEN.match(text) or (comma_file and _POINT_OPEN.match(text)):
            return Commas("", True, text, comma_file)
    return Commas("", False, comma_file=comma_file)


def could_be_two(text: str, commas: Commas) -> bool:
    """Whether one number of the file could be two: "1,234" always, "1.234" beside decimal commas.

    >>> could_be_two("1.234", Commas("", True)), could_be_two("<1,234", Commas("", True))
    (False, True)
    """
    clean = text.strip()
    return bool(_COMMA_OPEN.match(clean) or (commas.comma_file and _POINT_OPEN.match(clean)))


def written_out(text: str, meaning: str) -> str:
    """The text with an open comma or point written out as answered; everything else as it stands.

    >>> written_out("1,234", "decimal"), written_out("<1.234", "decimal"), written_out("1,234 mg/L", "thousands")
    ('1.234', '<1234', '1234 mg/L')
    """
    clean = text.strip()
    if meaning == DECIMAL:
        if _COMMA_OPEN.match(clean):
            return clean.replace(",", ".", 1)
        if _POINT_OPEN.match(clean):
            return clean.replace(".", "", 1)
    elif meaning == THOUSANDS and _COMMA_OPEN.match(clean):
        return clean.replace(",", "", 1)
    return text
