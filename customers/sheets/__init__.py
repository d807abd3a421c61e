"""Tables that come in as files: CSV and XLSX read the same way; cells written so that no spreadsheet runs them."""

from customers.sheets.cells import plain_cell, plain_number, safe_cell
from customers.sheets.reading import read_table
from customers.sheets.table import USUAL, Limits, Row, SheetRefused, Table
from customers.sheets.writing import write_csv

__all__ = [
    "USUAL",
    "Limits",
    "Row",
    "SheetRefused",
    "Table",
    "plain_cell",
    "plain_number",
    "read_table",
    "safe_cell",
    "write_csv",
]
