"""A line of products being worked on: what may be done to it, and which product is the next size. No database."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sizing.engine.design import Product, StageKind, Train
from sizing.engine.stages.registry import SCHEMAS, stage_for
from sizing.engine.train_order import SLOTS, TAP, order_faults, slots_for
from sizing.engine.train_search import SIDE_BY_SIDE

MOST_STAGES = 16
#: The rating that says how large a product is: the first of these that its kind has.
SIZED_BY = (
    "media_l", "volume_l", "rated_l_d", "flow_l_min", "tank_diameter_m", "dirt_g", "feed_ml_min", "feed_l_d",
    "set_kpa", "rated_flow_l_min",
)  # fmt: skip
#: Ratings other than choices and flags that make a product another sort rather than another size.
SORTS = ("micron", "rated_dose")


class LineRefused(ValueError):
    """What was asked cannot be done to this line; says what, and what could be."""


@dataclass(frozen=True)
class Unit:
    """A place in the line: a product by its code, and how many of it stand side by side."""

    code: str
    count: int = 1


@dataclass(frozen=True)
class Edit:
    """One thing to do to a line. ``place`` counts from 0; ``code`` names a product where one is put in."""

    do: str
    place: int = 0
    code: str = ""


@dataclass(frozen=True)
class Edited:
    """The line after an edit, where the hand is now (-1 = nowhere), and what was done, in words."""

    units: tuple[Unit, ...]
    place: int
    words: str


def units_of(train: Train) -> tuple[Unit, ...]:
    """The line of a designed train."""
    return tuple(Unit(stage.product.code, stage.count) for stage in train.stages)


def at_tap(product: Product) -> bool:
    """Whether it stands at the drinking tap."""
    return any(slot.at == TAP and product.kind in slot.kinds for slot in SLOTS)


def size_of(product: Product) -> float:
    """How large it is, by the rating its kind is sized by."""
    name = next((name for name in SIZED_BY if product.ratings.get(name) is not None), "")
    return float(product.ratings[name]) if name else 0.0


def sort_of(product: Product) -> dict[str, object]:
    """What makes it this sort and not another: its choices, flags and finenesses, apart from its size."""
    return {
        field.name: product.ratings.get(field.name, field.default)
        for field in SCHEMAS[product.kind]
        if field.choices or field.quantity == "flag" or field.name in SORTS
    }


def next_size(product: Product, others: Iterable[Product], *, up: bool) -> Product | None:
    """The next size up (or down): of those larger the most alike, then the least larger, then the cheapest."""
    mine, sort = size_of(product), sort_of(product)

    def unlike(other: Product) -> int:
        theirs = sort_of(other)
        return sum(theirs[name] != value for name, value in sort.items())

    def step(other: Product) -> float:
        return size_of(other) - mine if up else mine - size_of(other)

    found = [other for other in others if other.kind is product.kind and step(other) > 0]
    return min(found, key=lambda other: (unlike(other), step(other), other.price, other.code), default=None)


def place_for(product: Product, listed: Sequence[Product]) -> int:
    """Where a product belongs in a line: that breaks the fewest rules of order, by its slot among equals."""
    stages = [stage_for(other) for other in listed]
    stage = stage_for(product)
    slot = slots_for(stage)[-1]
    by_slot = sum(slots_for(other)[-1] <= slot for other in stages)
    main = sum(not at_tap(other) for other in listed)
    places = range(main, len(listed) + 1) if at_tap(product) else range(main + 1)

    def broken(place: int) -> int:
        return len(order_faults([*stages[:place], stage, *stages[place:]]))

    return min(places, key=lambda place: (broken(place), abs(place - by_slot), place))


def edited(units: Sequence[Unit], edit: Edit, products: Mapping[str, Product]) -> Edited:
    """The line after one edit. ``products`` holds every product that may stand in it, by code.

    Raises ``LineRefused`` for a place that is not there, a product not in the catalogue, a next size that does not
    exist, a move past the end, two side by side of what cannot be, or more than 16 stages.
    """
    line = list(units)
    if edit.do == "add":
        return _added(line, _product(edit.code, products), products)
    if not 0 <= edit.place < len(line):
        raise LineRefused(f"stage is {edit.place + 1}, accepted is 1 to {len(line)}")
    unit = line[edit.place]
    product = _product(unit.code, products)
    if edit.do == "remove":
        del line[edit.place]
        return Edited(tuple(line), min(edit.place, len(line) - 1), f"removed {product.name}")
    if edit.do in ("earlier", "later"):
        return _moved(line, edit.place, -1 if edit.do == "earlier" else 1, products)
    if edit.do in ("one", "two"):
        return _paired(line, edit.place, product, 1 if edit.do == "one" else 2)
    if edit.do in ("larger", "smaller"):
        other = next_size(product, products.values(), up=edit.do == "larger")
        if other is None:
            raise LineRefused(f"{product.name} is the {'largest' if edit.do == 'larger' else 'smallest'} of its kind")
    elif edit.do == "swap":
        other = _product(edit.code, products)
        if other.kind is not product.kind:
            raise LineRefused(f"{other.name} is not of the kind of {product.name}; add it as a stage of its own")
    else:
        raise LineRefused(
            f"what to do is {edit.do!r}, accepted is larger, smaller, earlier, later, one, two, swap, add or remove"
        )
    line[edit.place] = Unit(other.code, unit.count)
    return Edited(tuple(line), edit.place, f"{product.name} swapped for {other.name}")


def _product(code: str, products: Mapping[str, Product]) -> Product:
    if code not in products:
        raise LineRefused(f"product is {code!r}, accepted is the code of one in the catalogue")
    return products[code]


def _added(line: list[Unit], product: Product, products: Mapping[str, Product]) -> Edited:
    if len(line) >= MOST_STAGES:
        raise LineRefused(f"the line has {len(line)} stages, accepted are at most {MOST_STAGES}; remove one first")
    place = place_for(product, [_product(unit.code, products) for unit in line])
    line.insert(place, Unit(product.code))
    return Edited(tuple(line), place, f"added {product.name}")


def _moved(line: list[Unit], place: int, step: int, products: Mapping[str, Product]) -> Edited:
    product, to = _product(line[place].code, products), place + step
    if not 0 <= to < len(line):
        raise LineRefused(f"{product.name} is the {'first' if step < 0 else 'last'} stage already")
    if at_tap(product) != at_tap(_product(line[to].code, products)):
        raise LineRefused("what stands at the drinking tap comes after the main line and stays there")
    line[place], line[to] = line[to], line[place]
    return Edited(tuple(line), to, f"moved {product.name} {'earlier' if step < 0 else 'later'}")


def _paired(line: list[Unit], place: int, product: Product, count: int) -> Edited:
    if count == 2 and not may_be_paired(product):
        raise LineRefused(f"{product.name} cannot stand in pairs; two side by side are for beds that backwash")
    if line[place].count == count:
        raise LineRefused(f"{product.name} stands there {'once' if count == 1 else 'twice'} already")
    line[place] = Unit(product.code, count)
    words = f"a second {product.name} side by side" if count == 2 else f"one {product.name} instead of two"
    return Edited(tuple(line), place, words)


def may_be_paired(product: Product) -> bool:
    """Whether two of it may stand side by side, backwashed one after the other."""
    return product.kind in SIDE_BY_SIDE


def kind_words(kind: StageKind | str) -> str:
    """The kind as a person would type it: "soda ash", "tap carbon"."""
    return str(getattr(kind, "value", kind)).replace("_", " ")
