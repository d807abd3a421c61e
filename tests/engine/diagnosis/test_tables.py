"""The tables hang together: every name exists, every cause can be told from its rivals, nothing is promised."""

import itertools
import re

import numpy as np
import pytest

from sizing.engine import figures
from sizing.engine.design import SourceType, StageKind
from sizing.engine.diagnosis import load_tables
from sizing.engine.diagnosis_load import column
from sizing.engine.diagnosis_model import lens_of
from sizing.engine.diagnosis_rules import SEVERITIES, WORD, checked_line
from sizing.engine.diagnosis_tables import FACTS, OTHER
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.water import ANALYTES
from sizing.engine.worksheet import STATUSES

TABLES = load_tables()
DOCUMENTS = [name for name in figures.documents() if name.startswith(("diagnosis-", "device"))]


def test_every_complaint_people_can_tick_has_its_causes_and_its_question():
    ticked = [row[0] for row in figures.figure("symptoms", "symptoms").value]
    assert len(ticked) >= 34
    assert set(TABLES.shares) == set(ticked)
    assert all(TABLES.observations[code].ask.endswith("?") for code in ticked)


@pytest.mark.parametrize("complaint", sorted(TABLES.shares))
def test_the_shares_of_a_complaint_are_shares(complaint):
    rows = TABLES.shares[complaint]
    assert len({one.cause for one in rows}) == len(rows)
    for place in range(4):
        total = sum(one.weights[place] for one in rows)
        assert 0.5 <= total <= 1.0 + 1e-9, (complaint, place)
    for one in rows:
        assert one.cause in TABLES.causes
        assert one.status in STATUSES
        assert bool(one.source) or one.status != "published", one


def test_every_cause_makes_some_complaint_and_names_only_what_exists():
    used = {one.cause for rows in TABLES.shares.values() for one in rows}
    assert used == set(TABLES.causes)
    plain = {code for code, one in TABLES.observations.items() if not one.complaint}
    for cause in TABLES.causes.values():
        assert set(cause.signs) <= plain, cause.code
        assert set(cause.presents) <= set(TABLES.shares), cause.code
        for analyte, profile in cause.results.items():
            assert profile in TABLES.measures[analyte].profiles, (cause.code, analyte, profile)
        assert min(len(cause.words), len(cause.plain), len(cause.confirm)) > 4, cause.code


def test_every_question_is_asked_by_some_cause_or_some_rule():
    asked = {code for cause in TABLES.causes.values() for code in cause.signs}
    ruled = {
        code
        for rule in TABLES.rules
        for line in rule.when
        for word in line
        if (found := WORD.fullmatch(word)) and found["kind"] in ("yes", "no")
        for code in found["code"].split(",")
    }
    assert {code for code, one in TABLES.observations.items() if not one.complaint} <= asked | ruled
    assert ruled <= set(TABLES.observations)


def test_rules_name_only_what_exists():
    known = {"fact": set(FACTS), "open": set(TABLES.shares), "cause": set(TABLES.causes)}
    for rule in TABLES.rules:
        assert rule.kind in ("interlock", "contradiction")
        assert (rule.severity in SEVERITIES) == (rule.kind == "interlock")
        assert bool(rule.do) == (rule.kind == "interlock")
        for line in rule.when:
            for word in line:
                found = WORD.fullmatch(word)
                if found["kind"] in known:
                    assert set(found["code"].split(",")) <= known[found["kind"]], (rule.code, word)


@pytest.mark.parametrize(
    "word", ["yes", "maybe:x", "result:iron", "result:gold>1", "source:moon", "yes:x>1", "cause:x"]
)
def test_a_rule_that_cannot_be_read_is_refused(word):
    with pytest.raises(UnreadableValue):
        checked_line([word])


@pytest.mark.parametrize("value", [1.2, -0.1, [0.1, 0.2], [0.1, 0.2, 0.3, 1.4]])
def test_what_is_no_share_is_refused(value):
    with pytest.raises(OutsideValidRange):
        column(value)


def test_packages_ask_for_analytes_the_engine_knows_and_can_judge():
    for one in TABLES.packages.values():
        assert set(one.analytes) <= set(ANALYTES) & set(TABLES.measures), one.code
        assert one.cost > 0
        assert one.days >= 0.0


LENSES = [
    (source, complaint) for source in ("drilled_well", "dug_well", "lake", "spring") for complaint in TABLES.shares
]


@pytest.mark.parametrize(("source", "complaint"), LENSES)
def test_any_two_causes_of_a_complaint_can_be_told_apart(source, complaint):
    """Some answer, result or laboratory finding is at least three times as likely under one as under the other."""
    lens = lens_of(TABLES, SourceType(source), complaint)
    tables = [np.stack([lens.yes, 1.0 - lens.yes]).reshape(-1, len(lens.causes)), *lens.classes.values()]
    seen = np.concatenate(tables)
    for one, two in itertools.combinations(range(len(lens.causes) - 1), 2):
        best = (seen[:, one] / seen[:, two]).max(), (seen[:, two] / seen[:, one]).max()
        assert max(best) >= 3.0, (lens.causes[one], lens.causes[two], best)


@pytest.mark.parametrize(("source", "complaint"), LENSES)
def test_the_complaint_alone_gives_back_the_table(source, complaint):
    lens = lens_of(TABLES, SourceType(source), complaint)
    place = TABLES.columns[source]
    table = {one.cause: one.weights[place] for one in TABLES.shares[complaint] if one.weights[place] > 0.0}
    told = dict(zip(lens.causes, lens.prior.tolist(), strict=True))
    other = told.pop(OTHER)
    assert other >= TABLES.practice.something_else - 1e-12
    assert told == pytest.approx(
        {cause: weight * (1 - other) / sum(table.values()) for cause, weight in table.items()}
    )


def _texts():
    for name in DOCUMENTS:
        for key, row in figures.rows(name).items():
            for field, value in row.items():
                for text in value if isinstance(value, list) else [value]:
                    if isinstance(text, str):
                        yield f"{name}.{key}.{field}", text


def test_no_word_of_the_tables_promises_anything():
    found = [
        place
        for place, text in _texts()
        if re.search(r"\bsafe(ly)?\b|guarantee|harmless\b(?! by itself)", text, re.I)
    ]
    allowed = {
        "diagnosis-causes.iron_bacteria.health",
        "diagnosis-causes.sulphur_bacteria.health",
    }  # "before calling it"
    assert set(found) <= allowed


def test_every_document_says_that_its_numbers_are_judgement():
    for name in DOCUMENTS:
        assert "judgement" in (figures.FOLDER / f"{name}.toml").read_text() or name == "diagnosis-rules", name


def test_devices_name_stages_features_and_rivals_that_exist():
    for device in TABLES.devices.values():
        assert device.stage_kind is None or StageKind(device.stage_kind)
        assert set(device.features) <= set(TABLES.features), device.code
        assert set(device.look_alikes) <= set(TABLES.devices) - {device.code}, device.code
        assert min(len(device.tell_apart), len(device.photograph), len(device.confirm)) > 4, device.code
        assert device.stage_kind is None or device.unknowns, device.code
    named = {feature for device in TABLES.devices.values() for feature in device.features}
    assert named == set(TABLES.features)
