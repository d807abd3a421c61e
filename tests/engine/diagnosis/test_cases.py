"""Published guidance: a complaint as people tell it, and the cause the guidance names for it.

Each row of ``cases.csv`` says where it was read and how: "read" (the page itself, or the copy named), "secondary"
(quoted elsewhere), "common practice".
"""

import csv
from pathlib import Path

import pytest

from sizing.engine.design import SourceType
from sizing.engine.diagnosis import Evidence, diagnose, load_tables
from sizing.engine.water import Water

with (Path(__file__).parent / "cases.csv").open() as handle:
    CASES = list(csv.DictReader(handle))


def evidence_of(row, source):
    answers = {}
    for part in row["answers"].split("+"):
        answer, _, code = part.rpartition(":")
        answers[code] = answer or "yes"
    results = dict(part.split("=") for part in row["results"].split(";") if part)
    water = Water({code: float(value) for code, value in results.items()}) if results else None
    return Evidence(SourceType(source), answers, water)


PAIRS = [(row, source) for row in CASES for source in row["sources"].split()]


@pytest.mark.parametrize(("row", "source"), PAIRS, ids=[f"{row['case']}-{source}" for row, source in PAIRS])
def test_the_cause_the_guidance_names_leads(row, source):
    told = diagnose(evidence_of(row, source), load_tables())
    first = row["answers"].split("+")[0]
    leading = next(one for one in told.complaints if one.code == first).causes
    assert next(iter(leading)) == row["leading"], {code: round(share, 3) for code, share in leading.items()}


@pytest.mark.parametrize(("row", "source"), PAIRS, ids=[f"{row['case']}-{source}" for row, source in PAIRS])
def test_the_test_the_guidance_names_is_among_the_first_of_its_kind(row, source):
    told = diagnose(evidence_of(row, source), load_tables())
    for code in row["among_next"].split():
        kind = next(step.kind for step in told.steps if step.code == code)
        alike = [step.code for step in told.steps if step.kind == kind]
        assert code in alike[:3], (kind, alike[:6])


def test_every_case_says_where_it_was_read():
    assert len(CASES) >= 40
    assert {row["how_read"] for row in CASES} == {"read", "secondary", "common practice"}
    assert all(row["read_in"] for row in CASES)
    assert len({row["case"] for row in CASES}) == len(CASES)
