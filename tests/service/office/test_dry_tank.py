"""A pressure tank that must not sweat: the room's air in the file, the wish at the bench, a jacket in each train."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from service.office.views_design import wishes_form
from sizing.catalogue.adapters import item_from
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import StageKind
from sizing.engine.stages.starter import load_starter
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import read_raw
from sizing.proposals.goals import wishes_again
from sizing.proposals.queries import question_of
from tests import factories
from tests.sizing.designed import measured, stocked

pytestmark = pytest.mark.django_db

# Air of 24 degC and 75 % has its dew point at 19 degC (computed), far above the well water: the bare tank sweats.
DAMP = {"room_c": 24.0, "room_humidity": 75.0, "tank_diameter_m": 0.41, "tank_height_m": 1.2}


def with_jackets(dealer: Any) -> None:
    stocked(dealer)
    CatalogueItem.objects.bulk_create(
        [item_from(dealer, product) for product in load_starter() if product.kind is StageKind.JACKET]
    )


@pytest.mark.parametrize("wanted", [True, False])
def test_a_tank_that_must_stay_dry_gets_a_jacket_that_fits_it(dealer: Any, wanted: bool) -> None:
    with_jackets(dealer)
    site = measured(dealer, water={"total_coliform": "absent"}, **DAMP)
    raw = read_raw(site)
    shown = wishes_form(site, raw, None)
    told = {name: field.initial for name, field in shown.fields.items() if field.initial not in (None, False)}
    form = wishes_form(site, raw, None, {**told, **({"dry_tank": "on"} if wanted else {})})
    assert form.is_valid(), form.errors
    proposal = make_design(site=site, actor_name="Maren Vik", now=factories.NOW, wishes=form.wishes(), raw=raw)
    kept = question_of(proposal)
    assert kept.goals.dry_tank is wanted
    assert wishes_again(kept, raw.water, jurisdiction=dealer.jurisdiction).dry_tank is wanted
    assert proposal.trains.exists()
    for train in proposal.trains.all():
        jackets = [stage for stage in train.stages.all() if stage.kind == StageKind.JACKET]
        assert len(jackets) == int(wanted)
        assert all("120 L" in stage.item.name for stage in jackets)


def test_the_wish_is_offered_only_where_the_air_is_known(dealer: Any) -> None:
    site = measured(dealer, **{**DAMP, "room_humidity": None})
    assert "dry_tank" not in wishes_form(site, read_raw(site), None).fields


def test_the_room_is_typed_in_the_units_of_the_household(office_client: Client, dealer: Any) -> None:
    site = measured(dealer, units="us", **DAMP)
    page = office_client.get(reverse("household-edit", args=[site.public_id])).content.decode()
    assert 'value="75' in page.split('name="room_c"')[1][:60]  # 24 degC
    assert "Humidity of that air" in page
