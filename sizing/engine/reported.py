"""Reading a result as it stands on the paper: "<0.02", "ND", "absent", "TNTC", "7 gpg", "10 mg/L as N"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from sizing.engine import unit_forms
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.water import ANALYTES, Analyte, check_possible

QUALIFIERS = ("equal", "below", "above", "absent", "present")


@dataclass(frozen=True)
class Reported:
    """One result as reported.

    ``qualifier`` is "equal", "below" (``value`` is the reporting limit, ``None`` where it was not stated),
    "above", "absent" or "present". ``value`` stands in ``unit`` as printed, ``canonical`` in the engine's
    unit. A non-detect never carries a number of its own: 0 is not what was found.
    """

    text: str
    qualifier: str
    value: float | None
    unit: str
    canonical: float | None
    analyte: str

    @property
    def for_water(self) -> float | None:
        """The number a calculation may use on the careful side, or ``None``: a reporting limit stands for
        "below" it, "present" and an overgrown plate count as 1, "absent" as 0."""
        if self.qualifier == "absent":
            return 0.0
        if self.qualifier == "present" or (self.qualifier == "above" and self.canonical is None):
            return 1.0
        return self.canonical


_NUMBER = r"[+-]?(?:\d{1,3}(?:,\d{3})+(?!\d)(?:\.\d+)?|\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_VALUE = re.compile(rf"^(?P<sign>[<>≤≥]=?)?\s*(?P<number>{_NUMBER})\s*(?P<unit>.*)$")
_NOT_DETECTED = {"nd", "n.d.", "not detected", "none detected", "non-detect", "non detect", "bdl", "u"}
_ABSENT = {"absent", "a", "negative", "neg", "none"}
_PRESENT = {"present", "p", "positive", "pos", "detected"}
_TOO_MANY = {"tntc", "overgrown", "o/g", "too numerous to count"}
_FORMS = 'a number, "<0.02", ">200", "ND"'
_MICROBE_FORMS = f'{_FORMS}, "absent", "present", "TNTC" or "overgrown"'


def parse_result(text: str, analyte_code: str, unit_text: str = "") -> Reported:
    """Read one reported result, refusing what does not say clearly what it is.

    Why: a non-detect is not zero, nitrate as N is not nitrate as NO3, and a transmittance without its path
    length means nothing; a wrong reading here would travel into every design.
    Units: whatever the paper says, out of ``accepted_units(analyte_code)``; without any unit the canonical
    one is taken, except where a basis is needed (nitrate, nitrite, ammonia, UV transmittance, metals are
    never guessed between mg/L and ug/L: their unit must be stated). Decimal point or comma.
    Range: what is physically possible for the analyte.
    Raises: ``UnreadableValue`` naming the field, the text and the accepted forms; ``OutsideValidRange`` for
    an impossible value or an unknown analyte.
    Source: laboratory reporting practice (common practice); conversions computed.

    >>> parse_result("<0.02", "iron", "mg/L").qualifier
    'below'
    >>> parse_result("30", "nitrate", "mg/L as NO3").canonical  # doctest: +ELLIPSIS
    6.77...
    >>> parse_result("7 gpg", "hardness").canonical  # doctest: +ELLIPSIS
    119.8...
    >>> parse_result("5", "nitrate", "mg/L")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    sizing.engine.errors.UnreadableValue: Nitrate: cannot read '5 mg/L'; accepted is a unit with its basis...
    """
    analyte = ANALYTES.get(analyte_code)
    if analyte is None:
        raise OutsideValidRange("analyte", analyte_code, source="the engine's table of analytes")
    clean = " ".join(text.replace("\u00a0", " ").replace("\u2212", "-").split())
    word = clean.lower().rstrip(".") if clean.lower() != "n.d." else "n.d."
    if spoken := _spoken(clean, word, analyte, unit_text):
        return spoken
    found = _VALUE.match(clean)
    if found is None:
        raise _unreadable(analyte, text)
    unit = _agreed_unit(analyte, found["unit"].strip(), unit_text.strip(), text)
    value = _number(found["number"], analyte, text)
    canonical = unit_forms.to_canonical(analyte, value, unit)
    check_possible(analyte, canonical)
    sign = (found["sign"] or "").replace("≤", "<").replace("≥", ">")
    qualifier = "below" if sign.startswith("<") else "above" if sign.startswith(">") else "equal"
    if unit == "A254/cm" and qualifier != "equal":  # a small absorbance is a large transmittance
        qualifier = "above" if qualifier == "below" else "below"
    if analyte.group == "microbes" and qualifier == "below" and value <= 0:
        raise _unreadable(analyte, text)
    return Reported(text, qualifier, value, unit, canonical, analyte_code)


def _spoken(clean: str, word: str, analyte: Analyte, unit_text: str) -> Reported | None:
    """A result given in words, or ``None`` where the text is not one of the known words."""
    microbe = analyte.group == "microbes"

    def reported(qualifier: str) -> Reported:
        return Reported(clean, qualifier, None, unit_text.strip(), None, analyte.code)

    if word in _NOT_DETECTED:
        return reported("absent" if microbe and word != "u" else "below")
    if microbe and word in _ABSENT:
        return reported("absent")
    if microbe and word in _PRESENT:
        return reported("present")
    if microbe and word in _TOO_MANY:
        return reported("above")
    return None


def _number(text: str, analyte: Analyte, whole: str) -> float:
    """The number, decimal comma or thousands commas told apart; "1,234" could be either and is refused."""
    if "," in text:
        if "." in text or text.count(",") > 1:
            return float(text.replace(",", ""))
        head, tail = text.split(",")
        digits = re.split(r"[eE]", tail)[0]
        if len(digits) == 3 and head.lstrip("+-") not in ("", "0"):
            raise UnreadableValue(
                analyte.name, whole, f'"{head}{tail}" or "{head}.{tail}": the comma could mean either'
            )
        return float(text.replace(",", "."))
    return float(text)


def _agreed_unit(analyte: Analyte, in_text: str, beside: str, whole: str) -> str:
    """The one unit meant by the text and by the unit column; they must not contradict each other."""
    if in_text and beside:
        combined = unit_forms.joined(analyte, in_text, beside)
        if combined is None:
            raise UnreadableValue(analyte.name, whole, f"one unit; here {in_text!r} and {beside!r} stand")
        return combined
    given = in_text or beside
    if not given:
        if unit_forms.must_state(analyte):
            raise UnreadableValue(analyte.name, whole, unit_forms.wanted(analyte))
        return accepted_units(analyte.code)[0]
    found = unit_forms.recognise(analyte, given)
    if found is None:
        shown = whole if in_text else f"{whole} {beside}"
        raise UnreadableValue(analyte.name, shown, unit_forms.wanted(analyte))
    return found


def _unreadable(analyte: Analyte, text: str) -> UnreadableValue:
    forms = _MICROBE_FORMS if analyte.group == "microbes" else _FORMS
    return UnreadableValue(analyte.name, text, f"{forms}, in {', '.join(accepted_units(analyte.code))}")


@cache
def accepted_units(analyte_code: str) -> list[str]:
    """Unit strings a form may offer for an analyte, the canonical one first.

    Why: a form that offers the right units needs no guessing afterwards.
    Units: text; every string can be handed to ``parse_result`` as it stands.
    Range: a known analyte.
    Raises: ``OutsideValidRange`` for an unknown analyte.
    Source: usual laboratory and field-kit papers (common practice).

    >>> accepted_units("hardness")
    ['mg/L as CaCO3', 'gpg', 'mmol/L', '°fH', '°dH']
    >>> accepted_units("nitrate")[:2]
    ['mg/L as N', 'mg/L as NO3']
    """
    if analyte_code not in ANALYTES:
        raise OutsideValidRange("analyte", analyte_code, source="the engine's table of analytes")
    return list(unit_forms.forms(ANALYTES[analyte_code]))
