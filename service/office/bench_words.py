"""The engine's sentences in the reader's units, and short names for what the bench has little room for."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from service.documents.words import typeset
from sizing.engine.design import Margin, StageKind
from sizing.engine.display import NO_BREAK, to_display
from sizing.engine.water import ANALYTES

#: Kinds of stage inside a sentence, where the name of the product would be too long.
KIND_WORDS: dict[StageKind, Promise] = {
    StageKind.SEDIMENT: gettext_lazy("sediment cartridge"),
    StageKind.BACKWASH: gettext_lazy("backwashing filter"),
    StageKind.NEUTRALISER: gettext_lazy("neutraliser"),
    StageKind.AIROX: gettext_lazy("air-charged filter"),
    StageKind.SOFTENER: gettext_lazy("softener"),
    StageKind.ORGANICS: gettext_lazy("organics unit"),
    StageKind.CARBON: gettext_lazy("carbon"),
    StageKind.RESTRICTOR: gettext_lazy("flow restrictor"),
    StageKind.UV: gettext_lazy("UV"),
    StageKind.RO: gettext_lazy("reverse osmosis"),
    StageKind.SCREEN: gettext_lazy("screen"),
    StageKind.SODA_ASH: gettext_lazy("soda ash feed"),
    StageKind.CATALYTIC: gettext_lazy("catalytic filter"),
    StageKind.PERMANGANATE: gettext_lazy("permanganate filter"),
    StageKind.CHLORINE: gettext_lazy("chlorine feed"),
    StageKind.RETENTION: gettext_lazy("contact tank"),
    StageKind.NITRATE: gettext_lazy("nitrate unit"),
    StageKind.ULTRAFILTER: gettext_lazy("ultrafilter"),
    StageKind.TAP_CARBON: gettext_lazy("carbon at a tap"),
    StageKind.BOOSTER: gettext_lazy("booster pump"),
    StageKind.REDUCER: gettext_lazy("pressure reducer"),
    StageKind.JACKET: gettext_lazy("tank jacket"),
}
MARGIN_WORDS: dict[str, Promise] = {
    "backwash": gettext_lazy("Backwash flow"),
    "uv_dose": gettext_lazy("UV dose, pump flat out"),
    "barrier": gettext_lazy("UV dose, pump flat out"),
    "wall": gettext_lazy("Wall used"),
    "softener_days": gettext_lazy("Days between salt runs"),
    "softener_iron_with_oxygen": gettext_lazy("Iron into softener"),
}
#: Units of the engine's sentences that a reader may want otherwise, with the quantity they are shown as.
SAID = {
    "L/min": "flow",
    "L/d": "daily",
    "kPa": "pressure",
    "degC": "temperature",
    "L": "volume",
    "m": "length",
    "kg": "mass",
    "mg/L as CaCO3": "hardness",
}
_FIGURE = r"(\d+(?:\.\d+)?(?:e[+-]?\d+)?)"
_NUMBER = re.compile(
    rf"(?<![\w.,/-])(?:{_FIGURE} to )?{_FIGURE} ("
    + "|".join(re.escape(unit) for unit in sorted(SAID, key=len, reverse=True))
    + r")(?![\w/²])"
)


@lru_cache(maxsize=64)
def _splitter(names: frozenset[str]) -> re.Pattern[str] | None:
    """Cuts a sentence at names of products, so that what a product is called stays as it is called."""
    if not names:
        return None
    return re.compile("(" + "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True)) + ")")


@dataclass(frozen=True)
class Reader:
    """Reads the engine's sentences to somebody who thinks in one system of units; ``names`` stay untouched."""

    system: str
    names: frozenset[str] = field(default_factory=frozenset)

    def say(self, text: str) -> str:
        """The sentence in the reader's units, set as papers set it."""
        cut = _splitter(self.names)
        if self.system == "metric" or cut is None:
            return typeset(text if self.system == "metric" else self._converted(text, _hard(text)))
        parts, hard = cut.split(text), _hard(text)
        return typeset("".join(part if k % 2 else self._converted(part, hard) for k, part in enumerate(parts)))

    def _converted(self, text: str, hard: bool) -> str:

        def number(found: re.Match[str]) -> str:
            quantity = SAID[found[3]]
            if quantity == "hardness" and not hard:
                return found[0]
            value, unit = to_display(float(found[2]), quantity, self.system)
            first = to_display(float(found[1]), quantity, self.system)[0] if found[1] else None
            span = "" if first is None else f"{figure(first)} to "
            return f"{span}{figure(value)}{NO_BREAK}{unit}"

        return _NUMBER.sub(number, text)

    def sentence(self, text: str) -> str:
        """The same with a capital first letter."""
        said = self.say(text)
        return said[:1].upper() + said[1:]


def _hard(text: str) -> bool:
    """Whether a sentence speaks of hardness, so that its mg/L as CaCO3 are grains a gallon to some."""
    return "hardness" in text.lower() and "alkalinity" not in text.lower()


def reader_of(system: str, names: Iterable[str]) -> Reader:
    """A reader who leaves these names of products as they are."""
    return Reader(system, frozenset(names))


def figure(value: float) -> str:
    """A number to three figures, without an exponent."""
    if abs(value) >= 100:
        return f"{value:.0f}"
    return f"{value:.3g}" if abs(value) >= 0.001 else "0"


def short_label(margin: Margin, worst: str) -> str:
    """What a margin is about, in a few words: "Iron into softener", "Upstairs shower at peak"."""
    if margin.code == "worst_fixture":
        return _("%(fixture)s at peak") % {"fixture": worst[:1].upper() + worst[1:]}
    if margin.code in MARGIN_WORDS:
        return str(MARGIN_WORDS[margin.code])
    start, _sep, rest = margin.code.partition("_")
    if start != "feed":
        return margin.label
    kind = next((kind for kind in KIND_WORDS if rest.startswith(f"{kind.value}_")), None)
    if kind is None:
        return margin.label
    analyte = ANALYTES.get(rest.removeprefix(f"{kind.value}_"))
    name = _("UVT") if analyte is None or analyte.name.startswith("UV ") else analyte.name.split(",")[0]
    return _("%(analyte)s into %(stage)s") % {"analyte": name, "stage": KIND_WORDS[kind]}
