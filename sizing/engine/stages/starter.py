"""Reading catalogue files (TOML) into engine products; no database."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from sizing.engine.design import LifeKind, LifeRule, Product, StageKind, WearPart
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.stages.registry import validate_ratings

STARTER = Path(__file__).resolve().parents[2] / "catalogue" / "starter"


def load_starter(source: Path | str | bytes = STARTER) -> tuple[Product, ...]:
    """The products of a catalogue file or of every file in a folder, ratings validated, in file order.

    Units: canonical; ``source`` is a folder (files by name), a file, or a file's bytes. Range: TOML of
    ``[[product]]`` rows. Raises: ``UnreadableValue`` or ``OutsideValidRange`` naming the product and the field,
    also for a code that stands twice; ``tomllib.TOMLDecodeError`` for a file that is no TOML. Source: the
    shipped files are invented: generic items, invented prices.

    >>> any(product.kind is StageKind.UV for product in load_starter())
    True
    """
    products = tuple(_product(row) for text in _texts(source) for row in tomllib.loads(text).get("product", ()))
    seen: set[str] = set()
    for product in products:
        if product.code in seen:
            raise UnreadableValue("code", product.code, "a code used once")
        seen.add(product.code)
    return products


def _texts(source: Path | str | bytes) -> Iterator[str]:
    if isinstance(source, bytes):
        yield source.decode()
        return
    path = Path(source)
    for file in sorted(path.glob("*.toml")) if path.is_dir() else (path,):
        yield file.read_text(encoding="utf-8")


def _product(row: dict[str, Any]) -> Product:
    code = str(row.get("code", ""))
    try:
        kind = StageKind(_text(row, "kind"))
    except ValueError:
        raise UnreadableValue(f"{code}: kind", str(row.get("kind")), "one of " + ", ".join(StageKind)) from None
    try:
        ratings = validate_ratings(kind, row.get("ratings", {}))
    except UnreadableValue as bad:
        raise UnreadableValue(f"{code}: {bad.field}", bad.text, bad.accepted) from bad
    except OutsideValidRange as bad:
        raise OutsideValidRange(
            f"{code}: {bad.parameter}",
            bad.value,
            low=bad.low,
            high=bad.high,
            unit=bad.unit,
            source=bad.source,
            low_open=bad.low_open,
        ) from bad
    return Product(
        code=_text(row, "code"),
        kind=kind,
        name=_text(row, "name"),
        ratings=ratings,
        price=_money(row, "price", code),
        install_hours=float(row.get("install_hours", 1.0)),
        size_label=str(row.get("size_label", "")),
        certified_for=tuple(row.get("certified_for", ())),
        wear=tuple(_wear(part, code) for part in row.get("wear", ())),
    )


def _wear(row: dict[str, Any], product: str) -> WearPart:
    try:
        kind = LifeKind(str(row.get("life", "")))
    except ValueError:
        accepted = "one of " + ", ".join(LifeKind)
        raise UnreadableValue(f"{product}: life", str(row.get("life")), accepted) from None
    amount = float(row.get("amount", 0.0))
    if amount <= 0:
        raise OutsideValidRange(f"{product}: amount of {row.get('code')}", amount, low=0.0, low_open=True)
    cap = row.get("cap_months")
    return WearPart(
        code=_text(row, "code"),
        name=_text(row, "name"),
        life=LifeRule(kind, amount, None if cap is None else float(cap)),
        specification=str(row.get("specification", "")),
        price=_money(row, "price", product),
        minutes=float(row.get("minutes", 20.0)),
        by_customer=bool(row.get("by_customer", False)),
    )


def _text(row: dict[str, Any], name: str) -> str:
    value = str(row.get(name, "")).strip()
    if not value:
        raise UnreadableValue(name, "", "a word")
    return value


def _money(row: dict[str, Any], name: str, product: str) -> Decimal:
    text = row.get(name, "0")
    try:
        amount = Decimal(text) if isinstance(text, str) else None
    except InvalidOperation:
        amount = None
    if amount is None or not amount.is_finite() or amount < 0:
        raise UnreadableValue(f"{product}: {name}", str(text), 'an amount such as "129.00", 0 or more')
    return amount
