"""What may be done to a line: sizes by the rating the kind is sold by, places by the order of the trade."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.engine.design import Product, StageKind
from sizing.engine.stages.starter import load_starter
from sizing.proposals.line import (
    MOST_STAGES,
    Edit,
    LineRefused,
    Unit,
    edited,
    next_size,
    place_for,
    size_of,
    sort_of,
)

CATALOGUE = {product.code: product for product in load_starter()}
BY_KIND = {kind: [p for p in CATALOGUE.values() if p.kind is kind] for kind in StageKind}
codes = st.sampled_from(sorted(CATALOGUE))


def uv(code: str, flow: float, supply: str = "mains", price: str = "900") -> Product:
    ratings = {"uv_class": "A", "rated_dose": 40.0, "rated_flow_l_min": flow, "supply": supply}
    return Product(code, StageKind.UV, f"UV {flow:g}", ratings, Decimal(price))


def test_the_next_size_up_is_the_nearest_of_the_same_sort() -> None:
    """By hand: of 30 L/min on mains, 42 on mains comes before 36 on 12 V, and 80 is not the next."""
    here = uv("a", 30)
    others = [uv("b", 36, "12v"), uv("c", 80), uv("d", 42), uv("e", 20), here]
    assert next_size(here, others, up=True).code == "d"  # type: ignore[union-attr]
    assert next_size(here, others, up=False).code == "e"  # type: ignore[union-attr]
    assert next_size(uv("z", 80), others, up=True) is None


def test_where_the_sort_ends_the_most_alike_of_another_is_next() -> None:
    assert next_size(uv("a", 30), [uv("b", 36, "12v")], up=True).code == "b"  # type: ignore[union-attr]


@given(codes)
def test_up_and_down_lead_back(code: str) -> None:
    """Where the next up is of the same sort, the next down from there is no smaller than where one began."""
    product = CATALOGUE[code]
    up = next_size(product, CATALOGUE.values(), up=True)
    if up is None:
        return
    assert size_of(up) > size_of(product)
    assert up.kind is product.kind
    if sort_of(up) == sort_of(product):
        down = next_size(up, CATALOGUE.values(), up=False)
        assert down is not None
        assert size_of(product) <= size_of(down) < size_of(up)


@pytest.mark.parametrize("kind", list(StageKind))
def test_every_kind_of_the_starter_has_a_size(kind: StageKind) -> None:
    assert BY_KIND[kind]
    assert all(size_of(product) > 0 for product in BY_KIND[kind])


def first(kind: StageKind, **ratings: Any) -> Product:
    return next(p for p in BY_KIND[kind] if all(p.ratings.get(k) == v for k, v in ratings.items()))


def test_a_stage_is_added_where_the_trade_puts_it() -> None:
    """Order of the trade, common practice: softener, then fine sediment, UV last on the main line, RO at its tap."""
    softener, ro, lamp = (first(kind) for kind in (StageKind.SOFTENER, StageKind.RO, StageKind.UV))
    fine = next(p for p in BY_KIND[StageKind.SEDIMENT] if p.ratings["micron"] <= 5)
    line: list[Product] = []
    for product in (ro, lamp, softener, fine):
        line.insert(place_for(product, line), product)
    assert [p.kind for p in line] == [StageKind.SOFTENER, StageKind.SEDIMENT, StageKind.UV, StageKind.RO]


def units(*products: Product) -> tuple[Unit, ...]:
    return tuple(Unit(product.code) for product in products)


def test_edits_one_by_one() -> None:
    a, b = BY_KIND[StageKind.SOFTENER][:2]
    lamp, ro = first(StageKind.UV), first(StageKind.RO)
    bed = first(StageKind.BACKWASH)
    line = units(bed, a, lamp, ro)

    def do(what: str, place: int = 0, code: str = "") -> list[Unit]:
        return list(edited(line, Edit(what, place, code), CATALOGUE).units)

    assert do("swap", 1, b.code) == [*units(bed, b, lamp, ro)]
    assert do("remove", 1) == [*units(bed, lamp, ro)]
    assert do("later", 0) == [*units(a, bed, lamp, ro)]
    assert do("earlier", 1) == [*units(a, bed, lamp, ro)]
    assert do("two", 0) == [Unit(bed.code, 2), *units(a, lamp, ro)]
    assert edited(line, Edit("later", 0), CATALOGUE).place == 1
    assert edited(line, Edit("remove", 3), CATALOGUE).place == 2


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (Edit("remove", 9), "accepted is 1 to 4"),
        (Edit("later", 2), "drinking tap"),
        (Edit("earlier", 3), "drinking tap"),
        (Edit("earlier", 0), "first stage already"),
        (Edit("two", 2), "cannot stand in pairs"),
        (Edit("one", 0), "once already"),
        (Edit("swap", 0, "nothing-such"), "accepted is the code of one in the catalogue"),
        (Edit("add", 0, "nothing-such"), "accepted is the code of one in the catalogue"),
        (Edit("polish", 0), "accepted is larger, smaller"),
    ],
)
def test_what_cannot_be_done_says_what_could(edit: Edit, words: str) -> None:
    line = units(first(StageKind.BACKWASH), first(StageKind.SOFTENER), first(StageKind.UV), first(StageKind.RO))
    with pytest.raises(LineRefused, match=words):
        edited(line, edit, CATALOGUE)


def test_another_kind_is_no_swap_and_a_line_ends_somewhere() -> None:
    lamp, softener = first(StageKind.UV), first(StageKind.SOFTENER)
    with pytest.raises(LineRefused, match="not of the kind"):
        edited(units(lamp), Edit("swap", 0, softener.code), CATALOGUE)
    with pytest.raises(LineRefused, match=f"at most {MOST_STAGES}"):
        edited(units(*[softener] * MOST_STAGES), Edit("add", 0, lamp.code), CATALOGUE)
    largest = max(BY_KIND[StageKind.RO], key=size_of)
    with pytest.raises(LineRefused, match="largest of its kind"):
        edited(units(largest), Edit("larger", 0), {largest.code: replace(largest)})


@given(
    st.lists(codes, max_size=8), st.sampled_from(["larger", "smaller", "earlier", "later", "remove", "add"]), codes
)
def test_no_edit_changes_anything_but_what_was_asked(line: list[str], do: str, code: str) -> None:
    before = tuple(Unit(one) for one in line)
    try:
        after = edited(before, Edit(do, 0, code), CATALOGUE)
    except LineRefused:
        return
    assert abs(len(after.units) - len(before)) == (do in ("add", "remove"))
    assert -1 <= after.place < len(after.units)
    rest = sorted(unit.code for unit in after.units)
    if do in ("earlier", "later"):
        assert rest == sorted(line)
    elif do == "add":
        assert rest == sorted([*line, code])
