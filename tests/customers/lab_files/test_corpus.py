"""Every file of the corpus, from upload to stored rows: right as the laboratory means it, or refused with its reason.

None may be silently wrong: whatever is stored must be in the truth written beside the file, value for value.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest

from customers.households.models import Site
from customers.lab_files.actions import LabFileRefused, answer_lab_file, keep_lab_file
from customers.lab_files.columns import layout_from
from customers.lab_files.models import LabFile
from customers.lab_files.preview import Preview, preview_of
from customers.laboratories.models import Laboratory
from customers.people.actors import Actor
from customers.water_tests.models import Result, WaterTest
from customers.water_tests.queries import read_again
from service.milestones.lab_files import take_in_lab_file
from tests import factories
from tests.customers.lab_files.build import Case
from tests.customers.lab_files.corpus import CASES


@pytest.fixture
def laboratory(dealer: Any) -> Laboratory:
    return Laboratory.objects.create(dealer=dealer, name="Northreach Laboratory")


def looked_at(lab_file: LabFile, today: date) -> Preview:
    return preview_of(lab_file, Site.objects.all(), today)


def settle(lab_file: LabFile, case: Case, site: Site, today: date, *, answered: bool) -> Preview:
    """Say of each sample which household it is of; with ``answered`` all that the case answers besides."""
    first = looked_at(lab_file, today)
    layout = first.layout.stored()
    if answered and case.answers:
        begun = layout_from(case.answers) if "sheet" in case.answers else layout_from({**layout, **case.answers})
        lab_file.answers = {"layout": begun.stored()}
        first = replace(looked_at(lab_file, today))
        layout = first.layout.stored()
    samples: dict[str, dict[str, Any]] = {}
    for view in first.samples:
        told: dict[str, Any] = {"site": site.file_number, "place": "raw", "leave": view.read.name in case.drop}
        if case.day:
            told["day"] = case.day
        samples[view.read.name] = told
    answers = {"layout": layout, "left": list(case.left) if answered else [], "samples": samples}
    answer_lab_file(lab_file=lab_file, answers=answers)
    again = looked_at(lab_file, today)
    if answered and case.sure:
        for view in again.samples:
            samples[view.read.name]["sure"] = [doubt.key for doubt in view.doubts]
        answers["sure"] = [doubt.key for doubt in again.doubts]
        answer_lab_file(lab_file=lab_file, answers=answers)
        again = looked_at(lab_file, today)
    return again


def told_by(preview: Preview) -> str:
    return " | ".join([preview.refused, *(text for _anchor, text in preview.problems)])


def upload(case: Case, laboratory: Laboratory, now: datetime) -> tuple[LabFile | None, str]:
    """The file kept, or why it was refused at the door."""
    filename, data = case.make()
    try:
        row = keep_lab_file(laboratory=laboratory, filename=filename, data=data, actor_name="Maren", now=now)
    except LabFileRefused as refused:
        return None, str(refused)
    return row, ""


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_a_file_is_right_or_refused(
    case: Case, site: Site, laboratory: Laboratory, office_actor: Actor, now: datetime, today: date
) -> None:
    lab_file, door = upload(case, laboratory, now)
    if lab_file is None:
        assert case.refused, door
        assert not case.says, "refused at the door, where it should be read and asked about"
        assert case.refused in door
        assert not LabFile.objects.exists()
        return
    first = settle(lab_file, case, site, today, answered=False)
    for sentence in case.says:
        assert sentence in told_by(first)
    assert first.ready is (not case.says)
    last = settle(lab_file, case, site, today, answered=True)
    shown = " | ".join(f"{line.message}{'; '.join(line.steps)}" for view in last.samples for line in view.read.lines)
    for step in case.shows:
        assert step in shown
    if case.refused:
        assert case.refused in told_by(last)
        with pytest.raises(LabFileRefused):
            take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
        assert not WaterTest.objects.exists()
        lab_file.refresh_from_db()
        assert lab_file.state == "waiting"
        return
    assert last.ready, told_by(last)
    take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
    stored = {
        row.sample: {result.analyte: result for result in row.test.results.all()}
        for row in lab_file.tests.select_related("test")
    }
    assert {sample: set(rows) for sample, rows in stored.items()} == {s: set(rows) for s, rows in case.truth.items()}
    for sample, rows in case.truth.items():
        for analyte, (qualifier, value) in rows.items():
            result: Result = stored[sample][analyte]
            assert result.qualifier == qualifier, (sample, analyte)
            assert result.value == (None if value is None else pytest.approx(value, rel=1e-4)), (sample, analyte)
            assert read_again(result).canonical == result.value, "the text as stored must read back as it is"


def test_the_corpus_is_wide_enough() -> None:
    assert len(CASES) >= 60
    assert len({case.name for case in CASES}) == len(CASES)
    taken = [case for case in CASES if case.truth]
    refused = [case for case in CASES if case.refused]
    assert len(taken) + len(refused) == len(CASES)
    assert min(len(taken), len(refused)) >= 25


def test_what_was_agreed_of_a_file_is_proposed_for_the_next(
    site: Site, laboratory: Laboratory, office_actor: Actor, now: datetime, today: date
) -> None:
    case = next(case for case in CASES if case.name == "nitrate without its basis is asked")
    filename, data = case.make()
    lab_file = keep_lab_file(laboratory=laboratory, filename=filename, data=data, actor_name="Maren", now=now)
    settle(lab_file, case, site, today, answered=True)
    take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
    laboratory.refresh_from_db()
    second = data.replace(b"4711", b"4799")
    again = keep_lab_file(laboratory=laboratory, filename=filename, data=second, actor_name="Maren", now=now)
    assert settle(again, replace(case, answers={}), site, today, answered=False).samples[0].read.refused == ()


def test_the_same_bytes_are_refused_twice(laboratory: Laboratory, now: datetime) -> None:
    filename, data = CASES[0].make()
    keep_lab_file(laboratory=laboratory, filename=filename, data=data, actor_name="Maren", now=now)
    with pytest.raises(LabFileRefused, match="these very bytes"):
        keep_lab_file(laboratory=laboratory, filename="other.csv", data=data, actor_name="Maren", now=now)


def test_a_name_cannot_lead_elsewhere(laboratory: Laboratory, now: datetime) -> None:
    _filename, data = CASES[0].make()
    row = keep_lab_file(laboratory=laboratory, filename="../../x\\a<b>.csv", data=data, actor_name="M", now=now)
    assert row.name == "ab.csv"
    assert factories.TODAY
    assert str(row.public_id) in row.file.name
