"""Words as papers set them: signs for letters, numbers held to their units, reasons cut to the telling part."""

from __future__ import annotations

import re

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from sizing.engine.display import NO_BREAK, show

_UNIT = r"(?:µm|mm|cm|m|L|mL|gal|gpm|gpg|in|ft|ft³|ft²|psi|kPa|kg|lb|W|Wh|V|A|h|min|s|d|days|%|%/cm|NTU|TCU|mg/L|g/L"
_UNIT += r"|µg/L|mJ/cm²|L/min|mL/min|L/d|L/day|m/h|°C|°F|CFU/100|MPN/100|per)"
_SIGNS = (
    (re.compile(r"\bum\b"), "µm"),
    (re.compile(r"\bPH\b"), "pH"),
    (re.compile(r"\bdegC\b"), "°C"),
    (re.compile(r"\buS/cm\b"), "µS/cm"),
    (re.compile(r"(?<=[\w)\]²³]) x (?=[\d(\[a-z])"), f"{NO_BREAK}×{NO_BREAK}"),
    (re.compile(r"cm2\b"), "cm²"),
    (re.compile(r"\b(ft|m)([23])\b"), lambda found: found[1] + "²³"[int(found[2]) - 2]),
    (re.compile(rf"(\d) (?={_UNIT}(?![\w]))"), rf"\1{NO_BREAK}"),
    (re.compile(r"(mg/L|CFU/100|MPN/100|per|100) (?=as |100|mL)"), rf"\1{NO_BREAK}"),
    (re.compile(r"\bas CaCO3\b"), f"as{NO_BREAK}CaCO₃"),
    (re.compile(r"\bas (?=(?:N|S|H2S)\b)"), f"as{NO_BREAK}"),
    (re.compile(r"\bH2S\b"), "H₂S"),
)
_FORMULA = (
    (re.compile(r"\^2\b"), "²"),
    (re.compile(r"\^3\b"), "³"),
    (re.compile(r" \* "), f"{NO_BREAK}×{NO_BREAK}"),
    (re.compile(r" - (?=[\w(])"), f" −{NO_BREAK}"),
    (re.compile(r"<= "), f"≤{NO_BREAK}"),
    (re.compile(r">= "), f"≥{NO_BREAK}"),
)


def typeset(text: object) -> str:
    """``text`` with ×, µ and raised figures in place of x, um and 2, and every number held to its unit.

    >>> typeset("Sediment 5 um, 20 x 4.5 in") == "Sediment 5\\xa0µm, 20\\xa0×\\xa04.5\\xa0in"
    True
    """
    words = str(text)
    for pattern, sign in _SIGNS:
        words = pattern.sub(sign, words)
    return words


_SLASHED = re.compile(rf"[<>]?[\d.,]*\d{NO_BREAK}[^\s{NO_BREAK}]*/[^\s;,]*")


def held(text: str) -> SafeString:
    """Set text as HTML, with numbers whose unit has a slash kept on one line."""
    return mark_safe(_SLASHED.sub(lambda found: f'<span class="nb">{found[0]}</span>', escape(text)))


def formula_words(text: str) -> str:
    """A formula as it is written by hand: times, squares and minus signs."""
    words = typeset(text)
    for pattern, sign in _FORMULA:
        words = pattern.sub(sign, words)
    return words


_NUMBER = r"([\d.,]+)"
_REASONS = (
    (
        re.compile(
            r"^(?P<what>.+?) (?P<where>at the entry|at the drinking tap|in the hot water) "
            r"(?P<has>[\d.,<]+\S*(?: .+?)?), "
            r"(?P<sense>at most|at least) (?P<limit>.+?) is wanted$"
        ),
        "{what} {has}; {sense} {limit} wanted",
    ),
    (
        re.compile(
            r"^(?P<what>[^\d]+?) (?P<has>[\d.,]+ .+?) into (?P<stage>.+?), its feed limit is "
            r"(?P<sense>at most|at least) (?P<limit>[^:]+)(?:: (?P<because>.+))?$"
        ),
        "{what} {has}; {stage} takes {sense} {limit}",
    ),
    (
        re.compile(
            r"^(?P<stage>.+?): (?P<what>.+?) (?P<has>[\d.,]+ .+?), "
            r"(?P<sense>at most|at least) (?P<limit>.+?) is needed$"
        ),
        "{what} {has}; {stage} takes {sense} {limit}",
    ),
    (
        re.compile(r"^(?P<stage>.+?) has no filter of (?P<what>.+?) directly ahead of it$"),
        "Keeps particles from shading: {stage} wants {what} directly ahead",
    ),
    (
        re.compile(r"^(?P<has>[\d.,]+ \S+) can pass into (?P<stage>.+?), its feed limit is (?P<limit>.+)$"),
        "{has} could pass; {stage} is rated for {limit}",
    ),
    (
        re.compile(
            r"^(?P<what>.+?) (?:was|were) found(?:, and .+?)?: (?P<limit>[\d.]+ \S+) are wanted, the line gives .+$"
        ),
        "{what} found; {limit} of light wanted",
    ),
    (
        re.compile(
            r"^(?P<what>[Ww]ater from .+? is presumed to carry germs).*?: (?P<limit>[\d.]+ \S+) are wanted.*$"
        ),
        "{what}; {limit} of light wanted",
    ),
)


def why_words(reason: str, system: str = "metric") -> str:
    """The engine's reason for a stage, cut to its telling part and set in the household's units.

    A reason a person wrote stands as written.

    >>> why_words("Without it iron at the entry 1.4 mg/L, at most 0.3 mg/L is wanted").replace(chr(160), " ")
    'Iron 1.4 mg/L; at most 0.3 mg/L wanted'
    >>> said = "Without it hardness in the hot water 291 mg/L as CaCO3, at most 60 mg/L as CaCO3 is wanted"
    >>> why_words(said, "us").replace(chr(160), " ")
    'Hardness 17.0 gpg; at most 3.5 gpg wanted'
    """
    bare = reason.removeprefix("Without it ")
    if bare == reason:
        return typeset(reason)
    for pattern, frame in _REASONS:
        found = pattern.match(bare)
        if found is None:
            continue
        held = {name: _short(name, text or "") for name, text in found.groupdict().items()}
        bare = _(frame).format(**held)
        break
    else:
        bare = _("Without it %(what)s") % {"what": bare}
    bare = _in_units(bare, system)
    return typeset(bare[:1].upper() + bare[1:])


def _short(name: str, text: str) -> str:
    """A stage by the first part of its name: the rest stands in the table already."""
    return text.split(",")[0] if name == "stage" else text


def _in_units(text: str, system: str) -> str:
    """Hardness and flow in the household's units, other values as they stand."""
    if system != "us":
        return text

    def hardness(found: re.Match[str]) -> str:
        return show(float(found[1].replace(",", "")), "hardness", system)

    def flow(found: re.Match[str]) -> str:
        return show(float(found[1].replace(",", "")), "flow", system)

    if "hardness" in text.lower():
        text = re.sub(rf"{_NUMBER} mg/L as CaCO3", hardness, text)
    return re.sub(rf"{_NUMBER} L/min", flow, text)


_EITHER = re.compile(r"(?:A )?(?P<form>[Tt]ank|[Cc]artridge)[^:.]*: (?P<words>[^.]+)\.?")


def for_form(text: str, form: str) -> str:
    """The half of a note that speaks of this form, where it speaks of a tank and of a cartridge; else all of it.

    >>> for_form("A tank with backwash: own drain line. A cartridge: none", "cartridge")
    'None'
    """
    halves = {found["form"].lower(): found["words"].strip() for found in _EITHER.finditer(text)}
    words = halves.get(form, "") if len(halves) > 1 else ""
    return words[:1].upper() + words[1:] if words else text


def nothing(text: str) -> bool:
    """Whether a note says that there is nothing to do."""
    return text.strip().rstrip(".").lower() in ("", "none", "–")
