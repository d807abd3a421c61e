"""Whether an item can be: its code, money, ratings, claims and wearing parts, each refusal naming its field."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from sizing.engine.design import LifeKind, Product, StageKind, WearPart
from sizing.engine.errors import EngineError
from sizing.engine.stages.practice_figures import HEALTH
from sizing.engine.stages.registry import stage_for, validate_ratings

CODE = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
CODE_WORDS = "small letters, digits and hyphens, at most 40, a letter or digit first"
MOST_PRICE = Decimal("9999999.99")
MOST_HOURS = 200.0
MOST_PARTS = 8
MOST_LITRES, MOST_MONTHS, MOST_MINUTES = 10_000_000.0, 600.0, 2_000.0
#: Kinds that lower nothing a person drinks have no claim to state.
NO_CLAIMS = frozenset(
    {
        StageKind.RESTRICTOR, StageKind.BOOSTER, StageKind.REDUCER, StageKind.JACKET, StageKind.SCREEN,
        StageKind.RETENTION, StageKind.CHLORINE, StageKind.SODA_ASH, StageKind.UV,
    }
)  # fmt: skip


class ItemRefused(ValueError):
    """An item that cannot be; ``field`` is the column, as the file names it."""

    def __init__(self, field: str, value: object, accepted: str) -> None:
        self.field, self.value, self.accepted = field, value, accepted
        super().__init__(f"{field} is {str(value)!r}, accepted is {accepted}")


def claims_of(kind: StageKind) -> tuple[str, ...]:
    """The contaminants a product of a kind can be certified for."""
    return () if kind in NO_CLAIMS else HEALTH


def check_product(product: Product) -> Product:
    """The product with its ratings normalised. Raises ``ItemRefused``, or the rating schema's own refusal."""
    if not CODE.fullmatch(product.code):
        raise ItemRefused("code", product.code, CODE_WORDS)
    _text("name", product.name, 120, needed=True)
    _text("size_label", product.size_label, 60)
    _money("price", product.price)
    _number("install_hours", product.install_hours, MOST_HOURS, "h")
    for claim in product.certified_for:
        if claim not in claims_of(product.kind):
            accepted = ", ".join(claims_of(product.kind)) or f"none for a {product.kind.value.replace('_', ' ')}"
            raise ItemRefused("certified_for", claim, accepted)
    if len(product.wear) > MOST_PARTS:
        raise ItemRefused("wearing parts", len(product.wear), f"at most {MOST_PARTS}")
    codes = [part.code for part in product.wear]
    for number, part in enumerate(product.wear, start=1):
        _part(f"part{number}", part)
        if codes.count(part.code) > 1:
            raise ItemRefused(f"part{number}_code", part.code, "a code used once in the item")
    checked = replace(product, ratings=validate_ratings(product.kind, product.ratings))
    stage_for(checked)
    return checked


def refusals(product: Product) -> Iterator[str]:
    """Why the product cannot be, in words; nothing where it can."""
    try:
        check_product(product)
    except (ItemRefused, EngineError) as refused:
        yield str(refused)


def _part(where: str, part: WearPart) -> None:
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,29}", part.code):
        raise ItemRefused(f"{where}_code", part.code, "small letters, digits and _, at most 30, a letter first")
    _text(f"{where}_name", part.name, 80, needed=True)
    _text(f"{where}_specification", part.specification, 160, needed=part.price > 0)
    _money(f"{where}_price", part.price)
    most = MOST_LITRES if part.life.kind is LifeKind.LITRES else MOST_MONTHS
    unit = "L" if part.life.kind is LifeKind.LITRES else "months"
    _number(f"{where}_amount", part.life.amount, most, unit, above=True)
    if part.life.cap_months is not None:
        _number(f"{where}_cap_months", part.life.cap_months, MOST_MONTHS, "months", above=True)
    _number(f"{where}_minutes", part.minutes, MOST_MINUTES, "min")


def _text(field: str, text: str, most: int, *, needed: bool = False) -> None:
    if needed and not text.strip():
        why = "what to buy, for a part that has a price" if field.endswith("_specification") else "some words"
        raise ItemRefused(field, text, why)
    if len(text) > most or any(ord(letter) < 32 for letter in text):
        raise ItemRefused(field, text[:60], f"one line of at most {most} letters")


def _money(field: str, amount: Decimal) -> None:
    if not amount.is_finite() or amount < 0 or amount > MOST_PRICE or amount != amount.quantize(Decimal("0.01")):
        raise ItemRefused(field, amount, f"an amount from 0 to {MOST_PRICE:,} with at most two decimals")


def _number(field: str, value: float, most: float, unit: str, *, above: bool = False) -> None:
    if not (0 < value <= most or (value == 0 and not above)):
        low = "more than 0" if above else "at least 0"
        raise ItemRefused(field, f"{value:g}", f"{low} and at most {most:g} {unit}")
