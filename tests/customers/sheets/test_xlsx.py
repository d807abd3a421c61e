"""Workbooks as they come, and as somebody who means harm would make them."""

import io
import re
import struct
import zipfile
from datetime import date, datetime

import pytest
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from customers.sheets import Limits, SheetRefused, read_table


def saved(book):
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def workbook(*rows):
    book = Workbook()
    for row in rows:
        book.active.append(row)
    return book


def edited(data, part, change):
    """The package with one of its parts rewritten."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            text = old.read(name)
            new.writestr(name, change(text.decode()).encode() if name == part else text)
    return out.getvalue()


SHEET = "xl/worksheets/sheet1.xml"


def test_numbers_dates_shares_and_words():
    book = workbook(
        ["analyte", "result", "drawn", "share"],
        ["iron", 0.1 + 0.2, datetime(2026, 5, 31), 0.85],
        ["lead", "<0.005", date(2026, 6, 1), True],
    )
    book.active["D2"].number_format = "0%"
    table = read_table(saved(book), "results.xlsx")
    assert table.headers == ("analyte", "result", "drawn", "share")
    assert [row.cells for row in table.rows] == [
        ("iron", "0.3", "2026-05-31", "85%"),
        ("lead", "<0.005", "2026-06-01", "yes"),
    ]
    assert [row.number for row in table.rows] == [2, 3]


@pytest.mark.parametrize("value", [12, 0.0001, 0.000012, 123456789012, -0.5, 1e-9])
def test_numbers_keep_their_value(value):
    (row,) = read_table(saved(workbook(["a", "b"], ["x", value]))).rows
    assert float(row.cells[1]) == value


def test_dates_of_the_1904_calendar():
    # ECMA-376 part 1, 18.17.4.1: with date1904 day 0 is 1 January 1904 (from memory); openpyxl writes such a book.
    book = Workbook()
    book.epoch = CALENDAR_MAC_1904
    book.active.append(["analyte", "drawn"])
    book.active.append(["iron", datetime(2026, 5, 31)])
    data = saved(book)
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        assert "date1904" in package.read("xl/workbook.xml").decode()
        stored = re.search(r'r="B2"[^>]*><v>(\d+)', package.read(SHEET).decode())
    assert int(stored[1]) == (date(2026, 5, 31) - date(1904, 1, 1)).days
    assert read_table(data).rows[0].cells == ("iron", "2026-05-31")


def test_the_first_shown_sheet_that_holds_something_or_the_one_named():
    book = Workbook()
    book.active.title = "Empty"
    hidden = book.create_sheet("Hidden")
    hidden.sheet_state = "hidden"
    hidden.append(["wrong"])
    for name in ("Results", "More"):
        book.create_sheet(name).append(["analyte", name])
    data = saved(book)
    table = read_table(data)
    assert (table.sheet, table.sheets) == ("Results", ("Empty", "Results", "More"))
    assert read_table(data, sheet="More").headers == ("analyte", "More")
    with pytest.raises(SheetRefused, match="one of Empty, Results, More"):
        read_table(data, sheet="Hidden")


def test_a_formula_without_its_result_is_a_problem_of_its_row():
    (row, good) = read_table(saved(workbook(["a", "b"], ["x", "=1+1"], ["y", 2]))).rows
    assert "cell B: a formula without its result" in row.problem
    assert not good.problem


def test_a_formula_with_its_result_gives_the_result():
    data = edited(
        saved(workbook(["a", "b"], ["x", "=1+1"])), SHEET, lambda text: re.sub(r"<v ?/>|<v></v>", "<v>2</v>", text)
    )
    (row,) = read_table(data).rows
    assert (row.cells, row.problem) == (("x", "2"), "")


def test_an_error_value_is_a_problem():
    (row,) = read_table(saved(workbook(["a", "b"], ["x", "#N/A"]))).rows
    assert "#N/A instead of a value" in row.problem


def test_rows_far_down_do_not_drag_a_million_empty_ones():
    book = workbook(["a", "b"], ["x", 1])
    book.active.cell(row=900, column=1, value="y")
    book.active.cell(row=1_048_576, column=1, value="z")
    assert [row.number for row in read_table(saved(book)).rows] == [2, 900]


def test_a_size_the_sheet_only_claims_is_not_believed():
    data = edited(saved(workbook(["a", "b"], ["x", 1])), SHEET, lambda text: text.replace("A1:B2", "A1:XFD1048576"))
    table = read_table(data)
    assert (table.headers, len(table.rows)) == (("a", "b"), 1)


def test_too_many_columns_and_rows():
    wide, far, long = workbook(["a"] * 201), workbook(["a", "b"], ["x", 1]), workbook(*[["a", 1]] * 6)
    far.active.cell(row=2, column=16_384, value="far")
    for book, words in ((wide, "at most 200 columns"), (far, "a row that reaches column XFD")):
        with pytest.raises(SheetRefused, match=words):
            read_table(saved(book))
    with pytest.raises(SheetRefused, match="more than 3"):
        read_table(saved(long), limits=Limits(rows=3))


def test_a_bomb_is_refused_before_it_is_unpacked():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("xl/workbook.xml", "<workbook/>")
        package.writestr(SHEET, b"0" * 50_000_000)
    assert len(out.getvalue()) < 100_000
    with pytest.raises(SheetRefused, match="50 MB in 2 parts when unpacked"):
        read_table(out.getvalue())


def test_a_bomb_that_lies_about_its_size_stops_at_what_it_said():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("xl/workbook.xml", b" " * 50_000_000)
    data = bytearray(out.getvalue())
    at = data.index(b"PK\x01\x02") + 24  # the uncompressed size in the central directory
    data[at : at + 4] = struct.pack("<I", 1000)
    with pytest.raises(SheetRefused):
        read_table(bytes(data))


def test_entities_that_swell_are_refused():
    laughs = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    data = edited(
        saved(workbook(["a", "b"], ["x", "y"])),
        SHEET,
        lambda text: laughs + re.sub(r"^<\?xml[^>]*\?>", "", text).replace("<v>", "<v>&b;", 1),
    )
    with pytest.raises(SheetRefused):
        read_table(data)


def test_files_that_are_no_workbook():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        package.writestr("letter.txt", "hello")
    with pytest.raises(SheetRefused, match="a zip file that is no XLSX workbook"):
        read_table(out.getvalue())
    whole = saved(workbook(["a"], [1]))
    with pytest.raises(SheetRefused, match="file"):
        read_table(whole[: len(whole) // 2])


def test_what_would_run_comes_back_as_text():
    (row,) = read_table(saved(workbook(["a", "b"], ["x", "'=1+1"]))).rows
    assert row.cells == ("x", "=1+1")
