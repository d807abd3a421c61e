"""A laboratory's file taken in: whole or not, with all that follows; taken back while nothing rests on it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from customers.households.models import Site
from customers.lab_files.actions import LabFileRefused, answer_lab_file, drop_lab_file, keep_lab_file
from customers.lab_files.models import LabFile
from customers.lab_files.preview import preview_of
from customers.people.actors import Actor
from customers.samplings.actions import mark_drawn
from customers.samplings.models import Sampling
from customers.water_tests.models import DrinkNotice, WaterTest
from service.milestones.lab_files import rests_on, take_back_lab_file, take_in_lab_file
from tests import factories

HEAD = "Sample ID,Date Sampled,Sampling Point,Analyte,Result,Units\r\n"
DRAWN = "2026-06-09"


@pytest.fixture
def sampling(site: Site, now: datetime) -> Sampling:
    """A sampling of raw water drawn an hour ago: microbes and iron."""
    row = factories.SamplingFactory(site=site, number=12)
    mark_drawn(sampling=row, times={1: now - timedelta(hours=1)}, drawer="Ansel", actor_name="Ansel", now=now)
    return row


def kept(sampling: Sampling, now: datetime, *rows: str, name: str = "results.csv") -> LabFile:
    return keep_lab_file(
        laboratory=sampling.laboratory,
        filename=name,
        data=(HEAD + "".join(f"{row}\r\n" for row in rows)).encode(),
        actor_name="Maren",
        now=now,
    )


def whole(number: str = "S-0012-1", coliform: str = "absent", day: str = DRAWN) -> tuple[str, ...]:
    return (
        f"{number},{day},tank,Total Coliforms,{coliform},",
        f"{number},{day},tank,E. coli,absent,",
        f"{number},{day},tank,Iron,400,ug/L",
    )


def test_a_file_finds_its_draw_and_closes_the_sampling(
    sampling: Sampling, office_actor: Actor, now: datetime
) -> None:
    lab_file = kept(sampling, now, *whole("s 0012 1"))
    (test,) = take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
    assert (test.site, test.place, test.sampled_on) == (sampling.site, "raw", date(2026, 6, 9))
    assert test.laboratory == sampling.laboratory.name
    iron = test.results.get(analyte="iron")
    assert (iron.text, iron.unit_text, iron.value) == ("400", "ug/L", 0.4)
    sampling.refresh_from_db()
    assert sampling.state == "answered"
    assert lab_file.tests.get().sample == "s 0012 1"
    sampling.laboratory.refresh_from_db()
    assert sampling.laboratory.layout["columns"]["sample id"] == "sample"


def test_a_file_is_taken_in_once(sampling: Sampling, office_actor: Actor, now: datetime) -> None:
    lab_file = kept(sampling, now, *whole())
    take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
    for act in (
        lambda: take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now),
        lambda: answer_lab_file(lab_file=lab_file, answers={}),
        lambda: drop_lab_file(lab_file=lab_file),
    ):
        with pytest.raises(LabFileRefused, match="no longer open"):
            act()
    assert WaterTest.objects.count() == 1


def test_one_bad_sample_keeps_the_good_one_out(sampling: Sampling, office_actor: Actor, now: datetime) -> None:
    lab_file = kept(sampling, now, *whole(), "S-0099-1,2026-06-09,tank,Iron,0.2,mg/L")
    with pytest.raises(LabFileRefused, match="say which household"):
        take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
    assert not WaterTest.objects.exists()
    lab_file.refresh_from_db()
    sampling.refresh_from_db()
    assert (lab_file.state, sampling.state) == ("waiting", "drawn")


def test_the_day_of_the_draw_and_of_the_file_must_agree(
    sampling: Sampling, office_actor: Actor, now: datetime
) -> None:
    lab_file = kept(sampling, now, *whole(day="2026-06-05"))
    with pytest.raises(LabFileRefused, match="was drawn on 2026-06-09; the file says 2026-06-05"):
        take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)


def test_a_find_opens_the_notice_and_holds_the_file(sampling: Sampling, office_actor: Actor, now: datetime) -> None:
    lab_file = kept(sampling, now, *whole(coliform="present"))
    take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
    assert DrinkNotice.objects.get().because == lab_file.tests.get().test
    assert any("do-not-drink notice" in text for text in rests_on(lab_file))
    with pytest.raises(LabFileRefused, match="cannot be taken back"):
        take_back_lab_file(lab_file=lab_file, actor_name="Maren", now=now)
    assert WaterTest.objects.count() == 1


def test_a_file_comes_back_whole_and_its_sampling_waits_again(
    sampling: Sampling, office_actor: Actor, now: datetime
) -> None:
    lab_file = kept(sampling, now, *whole())
    take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
    take_back_lab_file(lab_file=lab_file, actor_name="Maren", now=now)
    sampling.refresh_from_db()
    assert (lab_file.state, sampling.state) == ("taken_back", "drawn")
    assert not WaterTest.objects.exists()
    assert sampling.site.log.first().what.startswith("water test of 2026-06-09 taken back")
    with pytest.raises(LabFileRefused):
        take_back_lab_file(lab_file=lab_file, actor_name="Maren", now=now)
    again = kept(sampling, now, *whole(), name="again.csv")  # the same bytes may come once more then
    take_in_lab_file(lab_file=again, actor=office_actor, now=now)
    assert WaterTest.objects.count() == 1


@pytest.mark.parametrize("what", ["design", "paper", "proof", "clear sample"])
def test_what_rests_on_a_file_holds_it(
    sampling: Sampling, office_actor: Actor, now: datetime, today: date, what: str
) -> None:
    site = sampling.site
    lab_file = kept(sampling, now, *whole())
    take_in_lab_file(lab_file=lab_file, actor=office_actor, now=now)
    later = now + timedelta(hours=1)
    if what == "design":
        factories.ProposalFactory(site=site, made_at=later)
    elif what == "paper":
        factories.PaperFactory(site=site, kind="water_report", made_at=later)
    elif what == "proof":
        factories.InstallFactory(site=site, commissioned_on=today, proven_on=today)
    else:
        cause = factories.WaterTestFactory(site=site, sampled_on=today - timedelta(days=9))
        factories.DrinkNoticeFactory(site=site, because=cause, remedy_on=today - timedelta(days=5), clear_samples=1)
    held = rests_on(lab_file)
    assert len(held) == 1
    with pytest.raises(LabFileRefused, match="cannot be taken back"):
        take_back_lab_file(lab_file=lab_file, actor_name="Maren", now=now)


def test_a_test_already_on_file_is_asked_about(sampling: Sampling, now: datetime, today: date) -> None:
    factories.WaterTestFactory(site=sampling.site, sampled_on=today, report_number="NL-1", results={"iron": 0.4})
    preview = preview_of(kept(sampling, now, *whole()), Site.objects.all(), today)
    assert not preview.ready
    assert "is on file already (NL-1)" in preview.samples[0].doubts[0].text


def test_a_household_of_another_dealer_is_not_found(
    sampling: Sampling, other_site: Any, now: datetime, today: date
) -> None:
    lab_file = kept(sampling, now, "4711,2026-06-09,tank,Iron,0.4,mg/L")
    answer_lab_file(
        lab_file=lab_file, answers={"samples": {"4711": {"site": other_site.file_number, "place": "raw"}}}
    )
    (view,) = preview_of(lab_file, Site.objects.all(), today).samples
    if other_site.file_number != sampling.site.file_number:
        assert view.match.site is None
        assert any("is no household's file number" in text for text in view.problems)
