"""Stages that were there before the dealer came: on file with their unknowns, counted on once looked at."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse

from customers.enquiries.models import Enquiry
from customers.water_tests.notices import has_barrier
from service.installs.actions import InstallRefused
from service.installs.found import check_found_stage, record_found_stage, usual_successor
from service.installs.models import InstalledStage
from service.installs.water_path import path_of_site
from service.jobs.actions import plan_job
from service.upkeep.queries import overdue_parts
from sizing.engine.design import StageKind
from sizing.engine.diagnosis_load import load_tables
from sizing.engine.found import found_parts, unknown_words
from sizing.engine.stages.starter import load_starter
from tests import factories
from tests.service.office.test_office_enquiries import told

BEFORE = date(2025, 6, 1)


def found(site: Any, now: Any, **changes: Any) -> InstalledStage:
    seen: dict[str, Any] = {
        "kind": "uv",
        "name": "Old UV tube",
        "found_on": factories.TODAY,
        "unknowns": ["rated_flow", "lamp_hours"],
    }
    return record_found_stage(site=site, actor_name="Maren Vik", now=now, **{**seen, **changes})


def test_lives_are_those_the_trade_sells_by() -> None:
    """Each life of a part of unknown make is one the starter catalogue has for its kind (common practice)."""
    sold: dict[tuple[str, str], set[tuple[str, float]]] = {}
    for product in load_starter():
        for part in product.wear:
            key = (product.kind.value, part.code)
            sold.setdefault(key, set()).add((part.life.kind.value, part.life.amount))
    for kind in StageKind:
        for form in ("", "cartridge"):
            for part in found_parts(kind, form):
                assert (part.life.kind.value, part.life.amount) in sold[kind.value, part.code], (kind, part.code)
                assert "make not known" in part.life.source


def test_every_unknown_of_a_device_has_words() -> None:
    for device in load_tables().devices.values():
        assert not [words for words in unknown_words(device.unknowns) if "_" in words]


def test_it_is_fitted_and_nothing_counts_on_it(site: Any, now: Any) -> None:
    stage = found(site, now, renewed={"lamp": BEFORE}, serial=" 77-A ")
    assert (stage.state, stage.install, stage.serial, stage.position) == ("fitted", None, "77-A", 1)
    assert stage.unknowns == ["rated flow", "hours on the lamp"]
    assert not has_barrier(site)
    parts = {part.code: (part.renewed_on, part.next_due_on, part.specification) for part in stage.parts.all()}
    assert parts["lamp"] == (BEFORE, None, "not read off yet")
    assert parts["sleeve"][0] is None
    assert not overdue_parts(factories.TODAY + timedelta(days=900)).exists()
    (drawn,) = path_of_site(site, factories.TODAY).stages
    assert drawn.state.value == "unproven"
    assert "found at the place: Old UV tube; not known: rated flow" in site.log.get().what


def test_one_form_records_one_stage(site: Any, now: Any) -> None:
    token = uuid.uuid4()
    assert found(site, now, form_token=token) == found(site, now, form_token=token)
    assert site.stages.count() == 1


def test_it_takes_its_place_ahead_of_another(site: Any, now: Any) -> None:
    uv = factories.StageFactory(site=site, position=1, kind="uv")
    tap = factories.StageFactory(site=site, position=2, kind="ro", at="tap")
    assert usual_successor(site, StageKind.SOFTENER) == uv
    assert usual_successor(site, StageKind.UV) is None
    softener = found(site, now, kind="softener", name="Softener", before=uv)
    assert list(site.stages.order_by("position")) == [softener, uv, tap]
    last = found(site, now, kind="restrictor", name="Restrictor")
    assert last.position == 4


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": "teapot"}, "kind is teapot, accepted is sediment"),
        ({"name": "  "}, "name is empty"),
        ({"at": "roof"}, "at is roof, accepted is main, tap"),
        (
            {"found_on": factories.TODAY + timedelta(days=1)},
            "found on is 2026-06-10, accepted is a day from 1970-01-01",
        ),
        ({"renewed": {"wick": BEFORE}}, "part is wick, accepted is lamp"),
        ({"renewed": {"lamp": date(2030, 1, 1)}}, "lamp is 2030-01-01"),
    ],
)
def test_a_refusal_keeps_nothing(site: Any, now: Any, changes: dict[str, Any], words: str) -> None:
    with pytest.raises(InstallRefused, match=words):
        found(site, now, **changes)
    assert not site.stages.exists()


def test_a_stage_of_another_place_is_no_place_to_stand_before(site: Any, now: Any, dealer: Any) -> None:
    elsewhere = factories.StageFactory(site=factories.SiteFactory(dealer=dealer))
    with pytest.raises(InstallRefused, match="does not stand at this place"):
        found(site, now, before=elsewhere)


def test_life_starts_from_what_is_known(site: Any, now: Any) -> None:
    """A lamp of twelve operating months in a year-round house, last renewed 1 June 2025, was due 1 June 2026; a
    sleeve nobody knows of is looked at half a year from the day it was seen; rings of unknown age have no day."""
    stage = found(site, now, renewed={"lamp": BEFORE})
    check_found_stage(
        stage=stage, on=factories.TODAY, actor_name="Birgit", now=now, still_unknown=["rated flow", "made up"]
    )
    stage.refresh_from_db()
    assert (stage.state, stage.unknowns) == ("in_service", ["rated flow"])
    due = dict(stage.parts.values_list("code", "next_due_on"))
    assert due == {"lamp": date(2026, 6, 1), "sleeve": date(2026, 12, 9), "sleeve_rings": None}
    assert [part.code for part in overdue_parts(factories.TODAY)] == ["lamp"]


def test_a_barrier_counts_once_nothing_about_it_is_unknown(site: Any, now: Any) -> None:
    stage = found(site, now)
    check_found_stage(stage=stage, on=factories.TODAY, actor_name="B", now=now, still_unknown=["hours on the lamp"])
    assert not has_barrier(site)
    check_found_stage(stage=stage, on=factories.TODAY, actor_name="B", now=now)
    assert has_barrier(site)


def test_only_a_found_stage_is_looked_at(site: Any, now: Any) -> None:
    own = factories.StageFactory(site=site)
    with pytest.raises(InstallRefused, match="no stage that was found"):
        check_found_stage(stage=own, on=factories.TODAY, actor_name="B", now=now)
    stage = found(site, now)
    with pytest.raises(InstallRefused, match="checked on is 2026-06-08, accepted is a day from 2026-06-09"):
        check_found_stage(stage=stage, on=factories.TODAY - timedelta(days=1), actor_name="B", now=now)


def test_the_next_visit_reads_off_what_is_not_known(site: Any, now: Any) -> None:
    found(site, now)
    job = plan_job(site=site, kind="service", what="Yearly service", actor_name="Maren", now=now)
    line = job.tasks.get(code="read_off")
    assert "rated flow, hours on the lamp, age of: UV lamp" in line.text
    assert not line.required


def test_from_the_enquiry_to_the_file_by_its_pages(office_client: Any, site: Any) -> None:
    enquiry = factories.EnquiryFactory(dealer=site.dealer)
    address = reverse("enquiry-device", args=[enquiry.public_id, "uv_no_sensor"])
    assert "put the enquiry into one first" in told(office_client.get(address, follow=True))
    Enquiry.objects.update(site=site)
    assert office_client.get(reverse("enquiry-device", args=[enquiry.public_id, "teapot"])).status_code == 404
    assert office_client.get(reverse("enquiry-device", args=[enquiry.public_id, "pressure_tank"])).status_code == 404
    page = office_client.get(address)
    assert "rated flow, hours on the lamp, class" in told(page)
    bad = office_client.post(address, {"name": "", "at": "main", "found_on": "2027-01-01", "renewed_lamp": "soon"})
    assert bad.status_code == 422
    for words in ("nothing typed", "2027-01-01 is to come", "“soon” typed"):
        assert words in told(bad)
    sent = {"name": "UV tube", "at": "main", "before": "", "found_on": "2026-06-01", "renewed_lamp": "2025-06-01"}
    done = office_client.post(address, sent, follow=True)
    text = told(done)
    assert "UV tube is on file as found" in text
    assert "not known : rated flow" in text or "not known: rated flow" in text
    stage = site.stages.get()
    enquiry.refresh_from_db()
    assert (enquiry.devices.get().taken_for, stage.kind) == ("uv_no_sensor", "uv")
    check = reverse("found-stage", args=[stage.public_id])
    assert check in done.content.decode()
    office_client.post(check, {"on": "2026-06-08", "still": ["class"]})
    stage.refresh_from_db()
    assert (stage.state, stage.unknowns) == ("in_service", ["class"])
    assert "age not known" in told(office_client.get(reverse("household", args=[site.public_id])))
