"""Files of items: out and in again the same, every row told, taken over whole or not at all, and undone."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from customers.sheets import SheetRefused, read_table, write_csv
from sizing.catalogue.actions import change_item
from sizing.catalogue.adapters import product_of
from sizing.catalogue.columns import export, template
from sizing.catalogue.file_actions import FileRefused, forget_file, read_file, take_file, undo_file
from sizing.catalogue.models import CatalogueFile, CatalogueItem
from sizing.catalogue.price_actions import set_price
from sizing.catalogue.queries import items, last_taken, price_of
from sizing.catalogue.reading import Verdict, read_items
from sizing.engine.design import StageKind
from sizing.engine.stages.starter import load_starter
from tests import factories
from tests.sizing.catalogue.made import WHO, shelf


@pytest.fixture
def shelved(dealer):
    return shelf(dealer)


def exported(today, decimal=".", rows=None):
    return write_csv(*export(list(rows if rows is not None else items()), today), decimal=decimal)


def read(dealer, data, today, now, name="list.csv"):
    return read_file(dealer=dealer, data=data, name=name, actor_name=WHO, now=now, today=today)


def take(file, today, now):
    return take_file(file=file, actor_name=WHO, now=now, today=today)


def csv(*lines):
    return "\n".join(lines).encode()


def verdicts(data, today):
    return [(row.code, row.verdict, row.message) for row in read_items(data, "list.csv", today)[1]]


def changed(data, today):
    (row,) = read_items(data, "list.csv", today)[1]
    assert row.verdict is Verdict.CHANGED, row
    return [(c["field"], c["old"], c["new"]) for c in row.changes]


@pytest.mark.parametrize("decimal", [".", ","])
def test_the_whole_starter_catalogue_goes_out_and_comes_in_the_same(dealer, today, decimal):
    shelf(dealer, codes={product.code for product in load_starter()})
    data = exported(today, decimal)
    table, rows = read_items(data, "all.csv", today)
    assert len(rows) == items().count() > 290
    assert {row.verdict for row in rows} == {Verdict.SAME}, [row for row in rows if row.verdict != "same"][:3]
    assert table.decimal == decimal


def test_into_an_empty_catalogue_the_file_makes_the_same_items(dealer, today, now, shelved):
    before = {code: product_of(item) for code, item in shelved.items()}
    data = exported(today)
    CatalogueItem.objects.all().delete()
    take(read(dealer, data, today, now), today, now)
    after = {item.code: product_of(item) for item in items()}
    assert after == before
    assert all(item.own for item in items())


def test_every_row_is_told(shelved, today):
    data = csv(
        "code,kind,name,price,flow_l_min,loss_kpa,pipe,width_m",
        "restrict-30,restrictor,,49.00,30,35,1,0.1",
        "restrict-34,restrictor,Restrictor 34,51,34,35,1,0.1",
        "restrict-99,restrictor,Restrictor 99,51,-99,35,1,0.1",
        "uv-a-42,restrictor,,1,,,,",
        "jacket-120,,Insulating jacket for a 120 L (32 gal) tank,183.56,,,,",
    )
    assert [(code, str(verdict)) for code, verdict, _why in verdicts(data, today)] == [
        ("restrict-30", "refused"),
        ("restrict-34", "new"),
        ("restrict-99", "refused"),
        ("uv-a-42", "refused"),
        ("jacket-120", "same"),
    ]
    told = {code: why for code, _verdict, why in verdicts(data, today)}
    assert "name is ''" in told["restrict-30"]
    assert "flow_l_min is -99" in told["restrict-99"]
    assert "an item keeps its kind" in told["uv-a-42"]


def test_columns_that_are_not_there_change_nothing(shelved, today):
    assert changed(csv("code,price", "uv-a-42,1075.50"), today) == [("price", "1060.00", "1075.50")]
    assert changed(csv("code,part1_price", "uv-a-42,120"), today) == [("part1_price", "113.20", "120.00")]
    assert changed(csv("code,offered", "uv-a-42,no"), today) == [("offered", "yes", "no")]


def test_units_in_cells_and_decimal_commas(shelved, today):
    assert changed(csv("code,rated_flow_l_min", "uv-a-42,8 US gpm"), today) == [
        ("rated_flow_l_min", "42", "30.283294272")
    ]
    assert changed(csv("code;rated_flow_l_min;price", "uv-a-42;40,5 L/min;1.075,50"), today) == [
        ("price", "1060.00", "1075.50"),
        ("rated_flow_l_min", "42", "40.5"),
    ]


@pytest.mark.parametrize(
    ("heading", "cell", "words"),
    [
        ("price", '"1,075"', "accepted is a number with a decimal point and no doubt about it"),
        ("price", "dear", "price is 'dear'"),
        ("price", "-5", "price is '-5.00', accepted is an amount from 0"),
        ("price", "1.005", "at most two decimals"),
        ("rated_flow_l_min", "8 furlongs", "rated_flow_l_min: cannot read '8 furlongs'"),
        ("rated_dose", "400", "rated_dose is 400.0, accepted is at least 0 and at most 95"),
        ("uv_class", "C", "one of A, B"),
        ("micron", "5", "micron is '5', accepted is an empty cell: no rating of a uv"),
        ("rated_uvt", "", "rated_uvt: cannot read ''"),
        ("offered", "perhaps", "offered is 'perhaps', accepted is yes or no"),
        ("certified_for", "lead", "none for a uv"),
        ("part1_life", "moons", "part1_life is 'moons', accepted is one of calendar"),
        ("part1_specification", "", "what to buy"),
        ("part6_price", "5", "part6_code is ''"),
    ],
)
def test_a_refused_row_names_field_value_and_what_would_do(shelved, today, heading, cell, words):
    ((_code, verdict, why),) = verdicts(csv(f"code,{heading}", f"uv-a-42,{cell}"), today)
    assert verdict is Verdict.REFUSED
    assert words in why


def test_a_code_twice_is_refused_twice(shelved, today):
    found = verdicts(csv("code,price", "uv-a-42,1", "uv-a-42,2", ",3"), today)
    assert [verdict for _code, verdict, _why in found] == [Verdict.REFUSED] * 3
    assert "in 2 rows" in found[0][2]
    assert "code is empty" in found[2][2]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (csv("name,price", "x,1"), "“code” among them"),
        (csv("code,colour", "x,blue"), "heading: cannot read 'colour'"),
        (csv("code,price,price", "x,1,2"), "each heading once"),
        (csv("code,,price", "x,1,2"), "a heading over every filled column"),
        (b"", "an empty file"),
    ],
)
def test_a_file_that_cannot_be_read_as_a_whole(shelved, today, data, words):
    with pytest.raises(SheetRefused) as refusal:
        read_items(data, "list.csv", today)
    assert words in str(refusal.value)


def test_one_refused_row_holds_back_the_whole_file(dealer, shelved, today, now):
    data = csv("code,price", "uv-a-42,1100", "soft-42,cheap")
    file = read(dealer, data, today, now)
    with pytest.raises(FileRefused, match="1 rows are refused, first row 3"):
        take(file, today, now)
    assert price_of(shelved["uv-a-42"], today).price == Decimal("1060.00")


def test_taken_over_and_undone(dealer, shelved, today, now):
    before = {code: product_of(item) for code, item in shelved.items()}
    data = csv("code,kind,name,price,flow_l_min,loss_kpa,pipe,width_m",
               "restrict-34,restrictor,Restrictor 34,51,34,35,1,0.1",
               "uv-a-42,,A new name,1100,,20,,0.22")  # fmt: skip
    file = take(read(dealer, data, today, now), today, now)
    assert items().get(code="restrict-34").own
    assert items().get(code="uv-a-42").name == "A new name"
    assert last_taken() == file
    with pytest.raises(FileRefused, match="taken over already"):
        take(file, today, now)
    assert undo_file(file=file, actor_name=WHO, now=now, today=today) == 0
    assert {item.code: product_of(item) for item in items()} == before
    assert last_taken() is None
    with pytest.raises(FileRefused, match="not the newest"):
        undo_file(file=file, actor_name=WHO, now=now, today=today)


def test_undoing_retires_what_a_quote_names_by_now(dealer, shelved, site, today, now):
    data = csv("code,kind,name,price,flow_l_min,loss_kpa,pipe,width_m", "restrict-34,restrictor,R,51,34,35,1,0.1")
    file = take(read(dealer, data, today, now), today, now)
    new = items().get(code="restrict-34")
    factories.QuoteLineFactory(quote=factories.QuoteFactory(site=site), position=1, item=new)
    assert undo_file(file=file, actor_name=WHO, now=now, today=today) == 1
    new.refresh_from_db()
    assert not new.active


def test_nothing_is_undone_where_an_item_was_changed_since(dealer, shelved, today, now):
    file = take(read(dealer, csv("code,price", "uv-a-42,1100", "soft-42,1200"), today, now), today, now)
    set_price(
        item=items().get(code="soft-42"), price=Decimal(1), parts={}, on=today, today=today, actor_name=WHO, now=now
    )
    with pytest.raises(FileRefused, match="changed since the file was taken over: soft-42; nothing was written"):
        undo_file(file=file, actor_name=WHO, now=now, today=today)
    assert price_of(items().get(code="uv-a-42"), today).price == Decimal(1100)


def test_nothing_is_taken_over_where_an_item_was_changed_since_reading(dealer, shelved, today, now):
    file = read(dealer, csv("code,price", "uv-a-42,1100", "soft-42,1200"), today, now)
    item = items().get(code="soft-42")
    from dataclasses import replace

    change_item(
        item=item, product=replace(product_of(item), name="New"), active=True, actor_name=WHO, now=now, today=today
    )
    with pytest.raises(FileRefused, match="changed since the file was read: soft-42"):
        take(file, today, now)
    assert price_of(items().get(code="uv-a-42"), today).price == Decimal("1060.00")


def test_under_a_price_list_the_file_shows_and_sets_the_prices_of_the_day(dealer, shelved, today, now):
    later = date(2027, 1, 10)
    set_price(
        item=shelved["uv-a-42"],
        price=Decimal(1100),
        parts={},
        on=date(2027, 1, 1),
        today=today,
        actor_name=WHO,
        now=now,
    )
    assert ("uv-a-42", "1100.00") in {(row[0], row[4]) for row in export(list(items()), later)[1]}
    file = take(read(dealer, csv("code,price", "uv-a-42,1111"), later, now), later, now)
    assert price_of(items().get(code="uv-a-42"), later).price == Decimal(1111)
    assert price_of(items().get(code="uv-a-42"), later - timedelta(days=1)).price == Decimal(1100)
    undo_file(file=file, actor_name=WHO, now=now, today=later)
    assert price_of(items().get(code="uv-a-42"), later).price == Decimal(1100)


def test_reading_again_forgets_what_was_only_looked_at(dealer, shelved, today, now):
    first = read(dealer, csv("code,price", "uv-a-42,1100"), today, now)
    read(dealer, csv("code,price", "uv-a-42,1200"), today, now)
    assert not CatalogueFile.objects.filter(pk=first.pk).exists()
    taken = take(CatalogueFile.objects.get(), today, now)
    with pytest.raises(FileRefused, match="undo it instead"):
        forget_file(file=taken)


def test_a_name_that_would_run_in_a_spreadsheet_is_kept_from_it(dealer, shelved, today, now):
    item = shelved["uv-a-42"]
    from dataclasses import replace

    product = replace(product_of(item), name="=HYPERLINK(1)", size_label="-2 +3", certified_for=())
    change_item(item=item, product=product, active=True, actor_name=WHO, now=now, today=today)
    data = exported(today)
    assert b"'=HYPERLINK(1)" in data
    assert b",=HYPERLINK" not in data
    assert {row.verdict for row in read_items(data, "list.csv", today)[1]} == {Verdict.SAME}


@pytest.mark.parametrize("kind", StageKind)
def test_a_template_of_each_kind_has_its_ratings(kind):
    headings, rows = template(kind)
    assert rows == []
    assert read_table(write_csv(headings, [["x"] * len(headings)])).headers == headings


def test_one_kind_alone_has_its_columns_alone(shelved, today):
    headings, _rows = export(list(items().filter(kind="jacket")), today)
    assert "uv_class" not in headings
    assert "thickness_m" in headings
    assert "part1_name" in headings
    assert "part2_name" not in headings
