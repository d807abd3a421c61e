"""What the catalogue's pages show: rows found and priced, ratings in the reader's units, drawn kinds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from django.utils.translation import gettext as _

from customers.entry.fields import plain
from sizing.catalogue.kinds import NAMES, PLACES
from sizing.catalogue.models import CatalogueItem, ListPrice
from sizing.catalogue.queries import coming_prices, found_items, items, prices_on
from sizing.drawing.listed import glyph_svg
from sizing.drawing.values import PathStage
from sizing.engine.design import LifeKind, Product, StageKind, WearPart
from sizing.engine.display import show
from sizing.engine.stages.registry import SCHEMAS
from sizing.engine.stages.typed import shown_rating, unit_shown
from sizing.engine.water import ANALYTES


@dataclass(frozen=True)
class ShelfRow:
    """One item as the list shows it."""

    item: CatalogueItem
    price: Decimal
    hours: str
    claims: str
    coming: ListPrice | None


@dataclass(frozen=True)
class Shelf:
    """The list: groups by kind, what it was narrowed by, and the address of the same narrowing."""

    groups: tuple[tuple[str, str, tuple[ShelfRow, ...]], ...]
    count: int
    words: str
    kind: str
    own: bool
    retired: bool
    kinds: tuple[tuple[str, str], ...]
    query: str
    lists: bool

    @property
    def narrowed(self) -> bool:
        """Whether anything is left out on purpose."""
        return bool(self.words or self.kind or self.own or self.retired)


def narrowing(asked: Mapping[str, str]) -> dict[str, Any]:
    """What a query narrows the list by, for ``found_items``."""
    kind = asked.get("kind", "")
    return {
        "words": asked.get("q", "").strip()[:80],
        "kind": kind if kind in NAMES else "",
        "own": bool(asked.get("own")),
        "retired": bool(asked.get("retired")),
    }


def shelf_of(asked: Mapping[str, str], today: date) -> Shelf:
    """The list as asked for."""
    wanted = narrowing(asked)
    rows = sorted(found_items(**wanted), key=lambda row: PLACES[row.kind])
    prices = prices_on(today)
    coming = coming_prices(today)
    shown = [
        ShelfRow(
            item=row,
            price=prices[row.pk].price if row.pk in prices else row.price,
            hours=plain(row.install_hours),
            claims=claims_words(row.certified_for),
            coming=coming.get(row.pk),
        )
        for row in rows
    ]
    groups = tuple(
        (NAMES[kind], pictured(StageKind(kind)), tuple(found))
        for kind, found in groupby(shown, key=lambda row: row.item.kind)
    )
    have = set(items().order_by().values_list("kind", flat=True).distinct())
    sent = {
        "q": wanted["words"],
        "kind": wanted["kind"],
        "own": wanted["own"] and "1",
        "retired": wanted["retired"] and "1",
    }
    return Shelf(
        groups=groups,
        count=len(rows),
        words=wanted["words"],
        kind=wanted["kind"],
        own=wanted["own"],
        retired=wanted["retired"],
        kinds=tuple((code, name) for code, name in NAMES.items() if code in have),
        query=urlencode({name: value for name, value in sent.items() if value}),
        lists=bool(coming),
    )


def claims_words(codes: list[str] | tuple[str, ...]) -> str:
    """Contaminants by name."""
    return ", ".join(ANALYTES[code].name.split(",")[0].lower() if code in ANALYTES else code for code in codes)


def pictured(kind: StageKind, form: str = "") -> str:
    """The glyph of a kind, as the water path draws it; its name must stand beside it."""
    return glyph_svg(PathStage(1, kind, NAMES[kind.value], form=form))


def facts_of(product: Product, system: str) -> list[tuple[str, str]]:
    """The ratings as label and value, in the reader's units."""
    return list(_facts(product, system))


def _facts(product: Product, system: str) -> Iterator[tuple[str, str]]:
    for field in SCHEMAS[product.kind]:
        value = product.ratings.get(field.name)
        if value is None:
            continue
        if isinstance(value, bool):
            yield _(field.label), _("yes") if value else _("no")
        elif isinstance(value, str):
            yield _(field.label), value.replace("_", " ")
        else:
            number = plain(float(shown_rating(field, value, system)), 3)
            yield _(field.label), f"{number}\u00a0{unit_shown(field, system)}".strip()


def life_words(part: WearPart, system: str) -> str:
    """How long a part lasts."""
    amount = part.life.amount
    months = _("1 month") if amount == 1 else _("%(n)s months") % {"n": plain(amount)}
    words = {
        LifeKind.CALENDAR: months,
        LifeKind.OPERATING: _("%(months)s in operation") % {"months": months},
        LifeKind.OPENING: _("each opening, %(months)s at most") % {"months": months},
        LifeKind.CONDITION: _("as found, looked at after %(months)s") % {"months": months},
        LifeKind.LITRES: show(amount, "volume", system, 0),
    }[part.life.kind]
    if part.life.cap_months:
        words += ", " + _("%(n)s months at the longest") % {"n": plain(part.life.cap_months)}
    return words
