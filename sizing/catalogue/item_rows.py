"""A row of the file of items read into a product: what it says over what the item is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from customers.sheets import plain_number
from sizing.catalogue.changes import written
from sizing.catalogue.checking import ItemRefused
from sizing.catalogue.columns import PART, RATINGS
from sizing.engine.design import LifeKind, LifeRule, Product, StageKind, WearPart
from sizing.engine.errors import UnreadableValue
from sizing.engine.stages.ratings import RatingField
from sizing.engine.stages.registry import SCHEMAS
from sizing.engine.stages.typed import typed_rating

_NUMBER_AND_UNIT = re.compile(r"(?P<number>[+-]?[\d.,'’\u00a0\u202f ]*\d)(?P<rest>\D.*)?", re.DOTALL)
_YES = RatingField("yes", "", "flag")
_NEW_PART: dict[str, str] = {"price": "0", "minutes": "20", "by_customer": "no"}
_NEW_ITEM: dict[str, str] = {"size_label": "", "install_hours": "1", "certified_for": ""}
_PLAIN = ("name", *_NEW_ITEM)


@dataclass(frozen=True)
class RowReader:
    """Reads rows of one file, which writes its fractions with ``decimal``."""

    decimal: str = "."

    def product(self, cells: Mapping[str, str], before: Product | None, was_active: bool) -> tuple[Product, bool]:
        """The product a row makes, and whether it is offered. ``cells`` holds the columns the file has.

        Raises ``ItemRefused`` or the rating field's own refusal, each naming the column.
        """
        kind = self._kind(cells, before)
        if before is None:
            missing = next((name for name in ("name", "price") if not cells.get(name)), None)
            if missing:
                raise ItemRefused(missing, "", "a value: the item is new")
            told = {name: cells.get(name) or default for name, default in _NEW_ITEM.items()} | {"name": cells["name"]}
        else:
            told = _plain_cells(before) | {name: cells[name] for name in _PLAIN if name in cells}
        product = Product(
            code=cells["code"],
            kind=kind,
            name=told["name"],
            ratings=self._ratings(kind, cells, before),
            price=self._money("price", cells["price"]) if before is None or "price" in cells else before.price,
            install_hours=self._number("install_hours", told["install_hours"]),
            size_label=told["size_label"],
            certified_for=tuple(re.split(r"[\s,;]+", told["certified_for"])) if told["certified_for"] else (),
            wear=self._wear(cells, before),
        )
        offered = cells.get("offered") or ("yes" if before is None else "")
        return product, self._yes("offered", offered) if offered else was_active

    def _kind(self, cells: Mapping[str, str], before: Product | None) -> StageKind:
        word = cells.get("kind", "").strip().lower().replace(" ", "_")
        if not word and before is not None:
            return before.kind
        try:
            kind = StageKind(word)
        except ValueError:
            raise ItemRefused("kind", word, "one of " + ", ".join(StageKind)) from None
        if before is not None and kind is not before.kind:
            raise ItemRefused("kind", word, f"{before.kind.value}: an item keeps its kind")
        return kind

    def _ratings(self, kind: StageKind, cells: Mapping[str, str], before: Product | None) -> dict[str, Any]:
        ratings = dict(before.ratings) if before else {}
        own = {field.name: field for field in SCHEMAS[kind]}
        for name in RATINGS:
            text = cells.get(name)
            if text is None:
                continue
            if name not in own:
                if text:
                    raise ItemRefused(name, text, f"an empty cell: no rating of a {kind.value.replace('_', ' ')}")
                continue
            if not text:
                ratings.pop(name, None)
            elif before is None or text != written(before.ratings.get(name)):
                ratings[name] = self._rating(own[name], text)
        return ratings

    def _rating(self, field: RatingField, text: str) -> Any:
        if field.choices or field.quantity == "flag":
            return typed_rating(field, text)
        found = _NUMBER_AND_UNIT.fullmatch(text)
        if found is None:
            raise UnreadableValue(field.name, text, f"a number, {field.accepted}")
        return typed_rating(field, self._pointed(field.name, found["number"]) + (found["rest"] or ""))

    def _wear(self, cells: Mapping[str, str], before: Product | None) -> tuple[WearPart, ...]:
        parts = list(before.wear) if before else []
        numbers = sorted({int(found[1]) for name in cells if (found := re.match(r"part(\d+)_", name))})
        kept: list[WearPart] = parts[numbers[-1] :] if numbers else parts
        read = []
        for number in numbers:
            where = f"part{number}_"
            told = {name: cells[where + name] for name in PART if where + name in cells}
            old = parts[number - 1] if number <= len(parts) else None
            if "code" in told and not any(told.values()):
                continue
            if old is None and not any(told.values()):
                continue
            read.append(self._part(where, told, old))
        return (*read, *kept)

    def _part(self, where: str, told: Mapping[str, str], old: WearPart | None) -> WearPart:
        was = _part_cells(old) if old else dict(_NEW_PART)
        cells = {name: told.get(name, was.get(name, "")) for name in PART}
        for name, value in _NEW_PART.items():
            cells[name] = cells[name] or value
        for name in ("code", "name", "life", "amount"):
            if not cells[name]:
                raise ItemRefused(where + name, "", "a value: the part has others")
        try:
            life = LifeKind(cells["life"])
        except ValueError:
            raise ItemRefused(where + "life", cells["life"], "one of " + ", ".join(LifeKind)) from None
        cap = self._same_or_number(where + "cap_months", cells["cap_months"], was, "cap_months")
        rule = LifeRule(life, self._same_or_number(where + "amount", cells["amount"], was, "amount") or 0.0, cap)
        return WearPart(
            code=cells["code"],
            name=cells["name"],
            life=rule if old is None else LifeRule(rule.kind, rule.amount, rule.cap_months, old.life.source),
            specification=cells["specification"],
            price=self._money(where + "price", cells["price"]),
            minutes=self._same_or_number(where + "minutes", cells["minutes"], was, "minutes") or 0.0,
            by_customer=self._yes(where + "by_customer", cells["by_customer"]),
        )

    def _same_or_number(self, column: str, text: str, was: Mapping[str, str], name: str) -> float | None:
        if not text:
            return None
        return float(text) if text == was.get(name) else self._number(column, text)

    def _number(self, column: str, text: str) -> float:
        return float(self._pointed(column, text))

    def _money(self, column: str, text: str) -> Decimal:
        return Decimal(self._pointed(column, text)).normalize() + Decimal("0.00")

    def _pointed(self, column: str, text: str) -> str:
        try:
            return plain_number(text, self.decimal)
        except ValueError:
            sure = f"a number with a decimal {'comma' if self.decimal == ',' else 'point'} and no doubt about it"
            raise ItemRefused(column, text, sure) from None

    def _yes(self, column: str, text: str) -> bool:
        try:
            return bool(typed_rating(_YES, text))
        except UnreadableValue:
            raise ItemRefused(column, text, "yes or no") from None


def _plain_cells(product: Product) -> dict[str, str]:
    return {
        "name": product.name,
        "size_label": product.size_label,
        "install_hours": written(float(product.install_hours)),
        "certified_for": " ".join(product.certified_for),
    }


def _part_cells(part: WearPart) -> dict[str, str]:
    return {
        "code": part.code,
        "name": part.name,
        "specification": part.specification,
        "price": f"{part.price:.2f}",
        "life": part.life.kind.value,
        "amount": written(float(part.life.amount)),
        "cap_months": written(part.life.cap_months),
        "minutes": written(float(part.minutes)),
        "by_customer": written(part.by_customer),
    }
