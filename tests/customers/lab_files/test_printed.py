"""Any number in any dress: written as laboratories write it, read back as it was meant, or refused; never another."""

from __future__ import annotations

from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from customers.lab_files.columns import Layout, guess
from customers.lab_files.days import NotADay, order_of, read_day
from customers.lab_files.lines import State
from customers.lab_files.reading import read_file
from customers.sheets import read_table
from tests.customers.lab_files.build import csv

NO3 = 14.007 + 3 * 15.999
CACO3 = 40.078 + 12.011 + 3 * 15.999
GPG = 64.79891 / 3.785411784
#: Ways to write a result of a test: name, unit, and what one of it is in canonical units (from atomic weights).
DRESSES = [
    ("Iron", "iron", "mg/L", 1.0),
    ("Fe (ug/L)", "iron", "", 1e-3),
    ("Lead", "lead", "µg/L", 1e-3),
    ("Lead, total", "lead", "ppb", 1e-3),
    ("Arsenic [mg/L]", "arsenic", "mg/L", 1.0),
    ("Nitrate (as N)", "nitrate", "mg/L", 1.0),
    ("Nitrate-N", "nitrate", "ug/L", 1e-3),
    ("NO3", "nitrate", "mg/L as NO3", 14.007 / NO3),
    ("Nitrate as NO3", "nitrate", "ppm", 14.007 / NO3),
    ("Hardness", "hardness", "gpg", GPG),
    ("Total Hardness as CaCO3", "hardness", "mg/L", 1.0),
    ("Calcium (as CaCO3)", "calcium", "mg/L", 40.078 / CACO3),
    ("Calcium", "calcium", "mg/L", 1.0),
    ("Conductivity", "conductivity", "mS/cm", 1000.0),
    ("Sodium", "sodium", "", None),
    ("Nitrate", "nitrate", "mg/L", None),
    ("Lead", "lead", "", None),
    ("Manganese, dissolved", "manganese", "mg/L", None),
    ("Sulphate as S", "sulphate", "mg/L", None),
]


@st.composite
def numbers(draw: st.DrawFn) -> tuple[str, float, bool]:
    """A number as printed, as meant, and whether it could be meant otherwise."""
    places = draw(st.integers(0, 4))
    value = draw(st.integers(1, 40_000_000)) / 10**places
    text = f"{value:.{places}f}"
    whole, _point, tail = text.partition(".")
    style = draw(st.sampled_from(["plain", "comma", "grouped", "power"]))
    if style == "comma" and tail:
        return f"{whole},{tail}", value, len(tail) == 3 and whole != "0" and len(whole) <= 3
    if style == "grouped" and len(whole) > 3:
        grouped = f"{int(whole):,}"
        return f"{grouped}.{tail}" if tail else grouped, value, not tail and grouped.count(",") == 1
    if style == "power":
        return f"{value:.6e}", float(f"{value:.6e}"), False
    return text, value, False


@settings(max_examples=400, deadline=None)
@given(
    dress=st.sampled_from(DRESSES),
    number=numbers(),
    sign=st.sampled_from(["", "<", "< ", ">"]),
    beside=st.booleans(),
)
def test_what_is_taken_is_what_was_meant(
    dress: tuple[str, str, str, float | None], number: tuple[str, float, bool], sign: str, beside: bool
) -> None:
    name, analyte, unit, factor = dress
    text, meant, open_one = number
    printed = f"{sign}{text} {unit}" if beside and unit else f"{sign}{text}"
    column = "" if beside else unit
    head = ("Sample ID", "Date Sampled", "Analyte", "Result", "Units")
    _file, data = csv(head, ("4711", "2026-06-02", name, printed, column))
    table = read_table(data, "x.csv")
    read = read_file(table, guess(table, Layout()))
    (line,) = read.lines
    if line.state is not State.TAKEN:
        assert line.message
        return
    assert factor is not None, f"{name} {unit}: must be asked about"
    assert not open_one, f"{printed}: could be two numbers"
    assert line.analyte == analyte
    assert line.reported is not None
    assert line.reported.canonical is not None
    assert abs(line.reported.canonical - meant * factor) <= 1e-4 * meant * factor
    wanted = {"<": "below", ">": "above"}.get(sign.strip(), "equal")
    assert line.reported.qualifier == wanted


@settings(max_examples=300, deadline=None)
@given(
    days=st.lists(st.dates(date(2001, 1, 1), date(2030, 12, 31)), min_size=1, max_size=6),
    style=st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%Y-%m-%d", "%d %b %Y", "%b %d, %Y", "%d.%m.%Y", "%d-%b-%y"]),
)
def test_a_day_is_read_as_written_or_asked_about(days: list[date], style: str) -> None:
    texts = [day.strftime(style) for day in days]
    order = order_of(texts)
    for day, text in zip(days, texts, strict=True):
        try:
            assert read_day(text, order.order) == day
        except NotADay:
            assert order.open
            assert not order.order
