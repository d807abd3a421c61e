from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from service.installs.actions import (
    InstallRefused,
    commission,
    install_from_quote,
    lay_up,
    note_serial,
    prove,
    put_in_service,
    renew_part,
)
from service.installs.models import FittedPart, Install, InstalledStage, PartRenewal
from tests import factories
from tests.service.factories_service import accepted_quote, commissioned


def test_accepted_quote_becomes_stages_with_parts(site: Any, now: Any) -> None:
    install = install_from_quote(quote=accepted_quote(site), now=now)
    stages = list(install.stages.all())
    assert [s.kind for s in stages] == ["sediment", "uv", "ro"]
    assert {s.state for s in stages} == {"fitted"}
    assert stages[0].planned["product"]["code"] == "sed-20"
    assert [p.code for p in stages[1].parts.all()] == ["lamp", "sleeve"]
    assert FittedPart.objects.exclude(next_due_on=None).count() == 0


def test_install_is_made_once(site: Any, now: Any) -> None:
    quote = accepted_quote(site)
    first = install_from_quote(quote=quote, now=now)
    assert install_from_quote(quote=quote, now=now) == first
    assert Install.objects.count() == 1
    assert InstalledStage.objects.count() == 3


@pytest.mark.parametrize("state", ["issued", "declined", "lapsed", "replaced"])
def test_only_an_accepted_quote_is_installed(site: Any, now: Any, state: str) -> None:
    with pytest.raises(InstallRefused, match="only an accepted quote"):
        install_from_quote(quote=accepted_quote(site, state=state), now=now)
    assert Install.objects.count() == 0


def test_an_option_left_out_is_not_installed(site: Any, now: Any) -> None:
    quote = accepted_quote(site)
    quote.lines.filter(stage_number=3).update(optional=True, chosen=False)
    assert [s.kind for s in install_from_quote(quote=quote, now=now).stages.all()] == ["sediment", "uv"]


def test_commissioning_starts_every_life(site: Any, today: date) -> None:
    install = commissioned(site, on=today)
    assert install.commissioned_on == today
    assert install.proven_on is None
    due = dict(FittedPart.objects.values_list("code", "next_due_on"))
    # By hand from 9 June 2026, a place used all year: 12 months, 12 months, 6 months, 36 months.
    assert due == {
        "cartridge": date(2027, 6, 9),
        "lamp": date(2027, 6, 9),
        "sleeve": date(2026, 12, 9),
        "membrane": date(2029, 6, 9),
    }


def test_a_cabin_open_half_the_year_gets_two_seasons_from_a_lamp(dealer: Any) -> None:
    """Job rule (common practice): twelve months of operation make two seasons of six months."""
    site = factories.SeasonalSiteFactory(dealer=dealer)
    commissioned(site, on=date(2026, 5, 19))
    due = dict(FittedPart.objects.values_list("code", "next_due_on"))
    assert due["lamp"] == date(2028, 5, 19)
    assert due["cartridge"] == date(2027, 5, 19)
    assert due["sleeve"] == date(2027, 5, 19)  # its look of 19 November waits for the opening


def test_commissioning_twice_changes_nothing(site: Any, today: date, now: Any) -> None:
    install = commissioned(site, on=today)
    before = list(FittedPart.objects.values("pk", "renewed_on", "next_due_on"))
    commission(install=install, on=today, actor_name="Birgit Holm", now=now)
    assert list(FittedPart.objects.values("pk", "renewed_on", "next_due_on")) == before
    assert site.log.count() == 1
    with pytest.raises(InstallRefused, match="was commissioned on"):
        commission(install=install, on=today + timedelta(days=1), actor_name="B", now=now)


def test_a_new_install_retires_the_old_one_at_commissioning(site: Any, today: date, now: Any) -> None:
    old = commissioned(site, on=date(2020, 3, 1))
    new = install_from_quote(quote=accepted_quote(site), now=now)
    assert {s.state for s in old.stages.all()} == {"in_service"}
    assert [s.position for s in new.stages.all()] == [4, 5, 6]
    commission(install=new, on=today, actor_name="Birgit Holm", now=now)
    assert {s.state for s in old.stages.all()} == {"retired"}
    assert [s.position for s in new.stages.all()] == [1, 2, 3]


def test_proof_needs_a_sample_after_commissioning(site: Any, today: date, now: Any) -> None:
    waiting = install_from_quote(quote=accepted_quote(site), now=now)
    with pytest.raises(InstallRefused, match="not commissioned"):
        prove(install=waiting, on=today)
    commission(install=waiting, on=today, actor_name="B", now=now)
    with pytest.raises(InstallRefused, match="before commissioning"):
        prove(install=waiting, on=today - timedelta(days=1))
    assert prove(install=waiting, on=today + timedelta(days=4)).proven_on == today + timedelta(days=4)
    assert prove(install=waiting, on=today + timedelta(days=9)).proven_on == today + timedelta(days=4)


def test_renewing_counts_from_the_day_and_is_kept_once(site: Any, today: date) -> None:
    commissioned(site, on=date(2025, 6, 1))
    lamp = FittedPart.objects.get(code="lamp")
    renew_part(part=lamp, on=today, actor_name="Birgit Holm", note="new lamp")
    renew_part(part=lamp, on=today, actor_name="Birgit Holm")
    lamp.refresh_from_db()
    assert (lamp.renewed_on, lamp.next_due_on) == (today, date(2027, 6, 9))
    assert PartRenewal.objects.count() == 1
    renew_part(part=lamp, on=date(2026, 1, 1), actor_name="Birgit Holm")
    lamp.refresh_from_db()
    assert lamp.renewed_on == today


def test_laying_up_and_opening_again(site: Any, today: date, now: Any) -> None:
    commissioned(site, on=today)
    assert lay_up(site=site, actor_name="B", now=now) == 3
    assert lay_up(site=site, actor_name="B", now=now) == 0
    assert {s.state for s in site.stages.all()} == {"laid_up"}
    assert put_in_service(site=site, actor_name="B", now=now) == 3
    assert {s.state for s in site.stages.all()} == {"in_service"}


def test_a_serial_number_is_not_empty(site: Any, today: date) -> None:
    commissioned(site, on=today)
    stage = site.stages.get(kind="uv")
    with pytest.raises(InstallRefused, match="as it stands on the plate"):
        note_serial(stage=stage, serial="  ")
    assert note_serial(stage=stage, serial=" UV-88 ").serial == "UV-88"
