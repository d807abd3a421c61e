"""Cells that a spreadsheet must not run, and numbers that must stay numbers."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from customers.sheets import plain_cell, plain_number, read_table, safe_cell, write_csv
from customers.sheets.cells import RUNS

# The signs a spreadsheet takes for the start of a formula: OWASP, "CSV Injection" (from memory), full-width too.
DANGEROUS = (
    "=1+1",
    "+SUM(A1)",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "=cmd|' /C calc'!A0",
    "＝1+1",
    "  =1+1",
    "-",
    "+",
)


@pytest.mark.parametrize("text", DANGEROUS)
def test_what_would_run_is_kept_from_running_and_comes_back(text):
    written = safe_cell(text)
    assert written == "'" + text
    assert plain_cell(written) == text


@pytest.mark.parametrize(
    "text", ["-0.5", "+3", "-1,5", "-1e-3", "<0.005", ">200", "8 US gpm", "10 x 54 in", "", "ND"]
)
def test_numbers_and_limits_stay_as_they_are(text):
    assert safe_cell(text) == text
    assert plain_cell(text) == text


@pytest.mark.parametrize("text", ["'tis", "'", "''", "'=1", "'-0.5"])
def test_an_apostrophe_of_the_text_itself_comes_back(text):
    assert plain_cell(safe_cell(text)) == text


@given(st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=30))
def test_any_text_round_trips_and_nothing_written_starts_a_formula(text):
    written = safe_cell(text)
    assert plain_cell(written) == text
    bare = written.lstrip(" \u00a0")
    assert not bare.startswith(RUNS) or float(written.replace(",", ".")) is not None


VISIBLE = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), max_size=20).map(str.strip)


@given(st.lists(st.tuples(VISIBLE.filter(bool), VISIBLE, VISIBLE.filter(bool)), min_size=1, max_size=8))
def test_a_written_table_reads_back_cell_by_cell(rows):
    table = read_table(write_csv(("code", "name", "note"), rows), header_row=1)
    assert [row.cells for row in table.rows] == rows
    assert not any(row.problem for row in table.rows)


def test_the_standard_reader_sees_the_same_cells():
    data = write_csv(("a", "b"), [('say "no"', "two\nlines"), ("x;y", "1,5")])
    assert list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))) == [
        ["a", "b"], ['say "no"', "two\nlines"], ["x;y", "1,5"],
    ]  # fmt: skip


def test_semicolons_and_decimal_commas_for_desks_that_use_them():
    data = write_csv(("a", "b"), [("-0.5", "<0.005"), ("12.25", "=1")], decimal=",")
    assert data.decode("utf-8-sig") == "a;b\r\n-0,5;<0.005\r\n12,25;'=1\r\n"
    table = read_table(data)
    assert (table.delimiter, table.decimal) == (";", ",")
    assert [[plain_number(row.cells[0], ",")] for row in table.rows] == [["-0.5"], ["12.25"]]


@pytest.mark.parametrize(
    ("text", "decimal", "number"),
    [
        ("12", ".", "12"),
        ("-0.5", ".", "-0.5"),
        ("1,5", ",", "1.5"),
        ("1.234,5", ",", "1234.5"),
        ("1,234.5", ".", "1234.5"),
        ("1,234,567", ".", "1234567"),
        ("1 234", ".", "1234"),
        ("1\u202f234,5", ",", "1234.5"),
        ("1'234.50", ".", "1234.50"),
        ("\u22123", ".", "-3"),
        ("2e-3", ".", "2e-3"),
    ],
)
def test_numbers_as_desks_write_them(text, decimal, number):
    assert plain_number(text, decimal) == number


@pytest.mark.parametrize(
    ("text", "decimal"),
    [("1,234", "."), ("1.234", ","), ("1,5", "."), ("", "."), ("nan", "."), ("12 L", "."), ("1,23,4", ".")],
)
def test_what_could_be_two_numbers_or_none_is_refused(text, decimal):
    with pytest.raises(ValueError, match=r".*"):
        plain_number(text, decimal)
