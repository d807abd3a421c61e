"""Comparing answers that are lists or words as well as numbers."""

import json

from sizing.engine.figures import figure
from tests.engine.worked_examples.rows import Row, agrees


def printed_figure(inputs):
    """A figure of ``sizing/figures``, followed down the path ``at``."""
    value = figure(inputs["document"], inputs["figure"]).value
    for step in inputs.get("at", ()):
        value = value[step]
    return value


def compare(row: Row, got) -> None:
    """Assert that ``got`` agrees with the row: a number within its tolerance, a list item by item, words exactly."""
    if row.expected[:1] == "[":
        wanted = json.loads(row.expected)
        assert list(got) == wanted, f"{row.id}: {got}, printed {wanted}"
        return
    try:
        float(row.expected)
    except ValueError:
        if row.expected.lower() in ("true", "false"):
            assert bool(got) is (row.expected.lower() == "true"), f"{row.id}: {got}"
        else:
            assert str(got) == row.expected.strip('"'), f"{row.id}: {got}, printed {row.expected}"
        return
    agrees(row, float(got))


def answer(row: Row, checks) -> None:
    """Work a row out by its check and compare."""
    compare(row, printed_figure(row.inputs) if row.check == "printed_figure" else checks[row.check](row.inputs))
