"""CSV as it comes: encodings, separators, decimal marks, and files that are no CSV."""

import pytest

from customers.sheets import Limits, SheetRefused, read_table

PLAIN = "code,name,price\nr-1,Crépine 5 µm,12.50\nr-2,Sieve,3\n"


def cells(data, **asked):
    return [row.cells for row in read_table(data, "list.csv", **asked).rows]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_encodings_give_the_same_table(encoding):
    table = read_table(PLAIN.encode(encoding))
    assert table.headers == ("code", "name", "price")
    assert [row.cells for row in table.rows] == [("r-1", "Crépine 5 µm", "12.50"), ("r-2", "Sieve", "3")]
    assert table.encoding == encoding.removesuffix("-sig")


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_separators_are_found(delimiter):
    table = read_table(PLAIN.replace(",", delimiter).encode())
    assert table.delimiter == delimiter
    assert table.rows[0].cells == ("r-1", "Crépine 5 µm", "12.50")


def test_semicolons_with_decimal_commas():
    table = read_table(b"code;a;b;c\nr-1;1,5;2,25;3,0\nr-2;0,5;0,25;<0,005\n")
    assert (table.delimiter, table.decimal) == (";", ",")
    assert table.rows[0].cells == ("r-1", "1,5", "2,25", "3,0")


def test_semicolons_with_decimal_points_stay_points():
    assert read_table(b"code;a\nr-1;1.5\nr-2;2\n").decimal == "."


def test_thousands_and_units_still_tell_the_decimal_mark():
    assert read_table(b"code;flow;price\nr-1;40,5 L/min;1.075,50\n").decimal == ","
    assert read_table(b"code;flow;price\nr-1;40.5 L/min;1,075.50\n").decimal == "."


def test_a_separator_inside_quotes_is_text():
    assert cells(b'code,name\nr-1,"one, two; three"\n') == [("r-1", "one, two; three")]


def test_a_line_naming_the_separator_is_no_row():
    table = read_table(b"sep=;\r\ncode;name\r\nr-1;a,b,c\r\n")
    assert table.headers == ("code", "name")
    assert (table.header_row, table.rows[0].number) == (2, 3)


def test_lines_above_the_headings_are_kept_apart():
    table = read_table(b"Northern Laboratory,,\nPrinted 3 May,,\n\nsample,analyte,result\nA-1,iron,0.3\n")
    assert table.headers == ("sample", "analyte", "result")
    assert (table.header_row, table.rows[0].number) == (4, 5)
    assert [row.cells[0] for row in table.above] == ["Northern Laboratory", "Printed 3 May"]


def test_short_rows_are_filled_and_wide_rows_carry_a_problem():
    table = read_table(b"code,a,b\nr-1,1\nr-2,1,5,0\nr-3,1,2\n")
    assert table.rows[0].cells == ("r-1", "1", "")
    assert "4 cells under 3 headings" in table.rows[1].problem
    assert not table.rows[2].problem


def test_repeated_headings_are_told():
    assert read_table(b"code,price,price\nr,1,2\n").repeated_headers() == ("price",)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "an empty file"),
        (b"\n\n ,,\n", "no rows"),
        (b"a,b\n1,\x00\n", "bytes that are no text"),
        (b"a,b\n\x81,2\n", "row 2, letters: cannot read 'byte 0x81'"),
        (b"\xef\xbb\xbfa,b\n\xff,2\n", "byte 0xff"),
        (b'a,b\n"open,2\n', "quotes"),
        (b"%PDF-1.7", "a PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest", "an old or locked workbook"),
        (b"PK\x03\x04broken", "XLSX"),
    ],
)
def test_what_cannot_be_read_is_named(data, words):
    with pytest.raises(SheetRefused) as refused:
        read_table(data, "list.csv")
    assert words in str(refused.value)
    assert "accepted is" in str(refused.value)


def test_caps():
    small = Limits(size=100, rows=2, columns=3, cell=5)
    with pytest.raises(SheetRefused, match=r"at most 0\.0001 MB"):
        read_table(b"a,b\n" + b"1,2\n" * 40, limits=small)
    with pytest.raises(SheetRefused, match="more than 2"):
        read_table(b"a,b\nx,2\nx,2\nx,2\n", limits=small)
    with pytest.raises(SheetRefused, match="row 2, columns: cannot read '4 columns'"):
        read_table(b"a,b\nx,2,3,4\n", limits=small)
    (row,) = read_table(b"a,b\nx,sixsix\n", limits=small).rows
    assert "a cell of 6 letters" in row.problem
    assert read_table(b"a,b\nx,2\nx,2\n", limits=small).rows[1].cells == ("x", "2")
