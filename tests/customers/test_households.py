"""Households: who sees which, search, season, saving all or nothing, sign-in links used once."""

from __future__ import annotations

import uuid
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.http import Http404

from customers.dealers.actions import DealerRefused, create_dealer
from customers.dealers.queries import today_at
from customers.households.actions import (
    AccessRefused,
    HouseholdRefused,
    LinkUsedUp,
    consume_sign_in_link,
    create_household,
    give_access,
    look_at_link,
    make_sign_in_link,
    take_access,
    update_household,
)
from customers.households.models import Customer, SignInLink, Site
from customers.households.queries import months_open, open_on, search_sites, season_of, site_for, sites_for, units_of
from customers.people.actors import Actor
from tests import factories

WHO = {"name": "Tamsin Okoro", "phone": "555 0123"}
WHERE = {"name": "Alder Point", "source": "lake", "people_usual": 2, "people_peak": 6}


def test_a_household_gets_the_next_file_number(office_actor: Actor, now: datetime) -> None:
    made = [
        create_household(
            actor=office_actor, now=now, customer=WHO, site={**WHERE, "name": name}, fixtures={"shower": 1}
        )
        for name in ("Alder Point", "Birch Cove")
    ]
    assert [site.file_number for site in made] == ["TI-0001", "TI-0002"]
    assert made[0].fixtures.get().count == 1
    assert made[0].log.get().who == office_actor.name


@pytest.mark.parametrize(
    ("site", "fixtures", "field", "named"),
    [
        ({"people_usual": -2}, {}, "people_usual", "0.5"),
        ({"cut_in_kpa": 9000.0}, {}, "cut_in_kpa", "700"),
        ({"source": "cloud"}, {}, "source", "cloud"),
        ({"opens_month": 2, "opens_day": 31, "closes_month": 9, "closes_day": 1}, {}, "opens_day", "31"),
        ({}, {"shower": -1}, "shower", "-1"),
        ({}, {"fountain": 1}, "fountain", "fountain"),
    ],
)
def test_nothing_is_kept_of_a_refused_household(
    office_actor: Actor, now: datetime, site: dict[str, Any], fixtures: dict[str, int], field: str, named: str
) -> None:
    with pytest.raises(HouseholdRefused) as refused, transaction.atomic():
        create_household(actor=office_actor, now=now, customer=WHO, site={**WHERE, **site}, fixtures=fixtures)
    assert named in " ".join(refused.value.message_dict[field])
    assert not Site.objects.exists()
    assert not Customer.objects.exists()


def test_the_database_refuses_a_half_season_and_a_switch_upside_down(dealer: Any) -> None:
    for wrong, name in (
        ({"opens_month": 5}, "site_season_whole_or_none"),
        ({"cut_in_kpa": 400.0, "cut_out_kpa": 300.0}, "site_cut_out_above_cut_in"),
        ({"people_usual": 5, "people_peak": 2}, "site_people_peak_at_least_usual"),
    ):
        with pytest.raises(IntegrityError, match=name), transaction.atomic():
            factories.SiteFactory(dealer=dealer, **wrong)


def test_a_change_is_logged_by_field_and_no_change_is_not(office_actor: Actor, site: Any, now: datetime) -> None:
    same = dict(site.fixtures.values_list("code", "count"))
    update_household(actor=office_actor, now=now, household=site, customer={}, site={}, fixtures=same)
    assert not site.log.exists()
    update_household(
        actor=office_actor, now=now, household=site, customer={"phone": "555 0199"}, site={}, fixtures={"shower": 2}
    )
    assert site.log.get().what == "household file changed: phone, fixtures"
    assert dict(site.fixtures.values_list("code", "count")) == {"shower": 2}


def test_who_sees_which_household(
    site: Any, office_actor: Actor, technician_actor: Actor, customer_actor: Actor, other_site: Any
) -> None:
    second = factories.SiteFactory(dealer=site.dealer)
    assert set(sites_for(office_actor)) == {site, second}
    assert set(sites_for(technician_actor)) == set()
    factories.CrewFactory(job=factories.JobFactory(site=second), staff=technician_actor.staff)
    assert set(sites_for(technician_actor)) == {second}
    assert set(sites_for(customer_actor)) == {site}
    for stranger in (other_site.public_id, uuid.uuid4(), "rubbish"):
        with pytest.raises(Http404):
            site_for(office_actor, stranger)
    with pytest.raises(Http404):
        site_for(customer_actor, second.public_id)


@pytest.mark.parametrize(
    "typed",
    ["alder", "ALDER po", "okoro", "cormorant 14", "5550123", "555 0123", "0777", "SN-88", "0147", "okoro alder"],
)
def test_search_finds_by_name_road_phone_serial_and_file(office_actor: Actor, dealer: Any, typed: str) -> None:
    owner = factories.CustomerFactory(
        dealer=dealer, name="Tamsin Okoro", phone="(555) 01-23", second_phone="555-0777"
    )
    wanted = factories.SiteFactory(
        dealer=dealer, customer=owner, name="Alder Point", road="14 Cormorant Lane", file_number="TI-0147"
    )
    factories.StageFactory(site=wanted, serial="SN-88120")
    factories.StageFactory(site=wanted, serial="SN-88121")
    blank = factories.CustomerFactory(dealer=dealer, name="Jo Brand", phone="555 9999")
    factories.SiteFactory(dealer=dealer, customer=blank, name="Far Cove", road="2 Mill Road", file_number="TI-9")
    assert search_sites(office_actor, typed) == [wanted]


def test_search_puts_names_that_begin_so_first(office_actor: Actor, dealer: Any) -> None:
    for name in ("Old Alder Farm", "Alder Point"):
        factories.SiteFactory(dealer=dealer, name=name)
    assert [site.name for site in search_sites(office_actor, "alder")] == ["Alder Point", "Old Alder Farm"]
    assert search_sites(office_actor, "alder brook") == []


def test_season_and_units(dealer: Any, site: Any) -> None:
    cabin = factories.SeasonalSiteFactory(dealer=dealer, units="us")
    assert months_open(cabin) == (5, 6, 7, 8, 9, 10)
    assert season_of(cabin).months_open == months_open(cabin)
    assert months_open(site) == tuple(range(1, 13))
    assert (units_of(cabin), units_of(site)) == ("us", "metric")
    winter = factories.SiteFactory(dealer=dealer, opens_month=11, opens_day=15, closes_month=2, closes_day=1)
    assert months_open(winter) == (1, 2, 11, 12)
    assert [open_on(winter, date(2026, m, d)) for m, d in ((11, 14), (11, 15), (1, 9), (2, 2))] == [
        False,
        True,
        True,
        False,
    ]


def test_a_link_works_once(site: Any, office_actor: Actor, now: datetime) -> None:
    user = give_access(site=site, email=" Tamsin@Home.example ", actor=office_actor, now=now)
    token = make_sign_in_link(site=site, user=user, now=now, leads_to="/home/")
    assert token not in str(list(SignInLink.objects.values()))
    assert look_at_link(token=token, now=now).user == user
    assert look_at_link(token=token, now=now).used_at is None
    assert consume_sign_in_link(token=token, now=now).leads_to == "/home/"
    with pytest.raises(LinkUsedUp):
        consume_sign_in_link(token=token, now=now)


def test_links_end_with_time_and_with_access(site: Any, office_actor: Actor, now: datetime) -> None:
    user = give_access(site=site, email="tamsin@home.example", actor=office_actor, now=now)
    token = make_sign_in_link(site=site, user=user, now=now)
    with pytest.raises(LinkUsedUp):
        consume_sign_in_link(token=token, now=now + timedelta(days=15))
    take_access(site=site, user=user, actor=office_actor, now=now)
    for bad in (token, "rubbish", "", f"{uuid.uuid4().hex}.x"):
        with pytest.raises(LinkUsedUp):
            consume_sign_in_link(token=bad, now=now)


def test_access_is_refused_for_staff_and_for_what_is_no_address(
    site: Any, office_actor: Actor, now: datetime
) -> None:
    for address in (office_actor.user.email, "nobody"):
        with pytest.raises(AccessRefused, match=address):
            give_access(site=site, email=address, actor=office_actor, now=now)


def test_a_dealer_and_its_day(db: None, now: datetime) -> None:
    values = {"postal_address": "1 Slip", "phone": "555 0100", "email": "post@tern.example"}
    dealer = create_dealer(name="Tern Island Water", time_zone="America/Vancouver", **values)
    assert (dealer.slug, dealer.file_prefix) == ("tern-island-water", "TI")
    assert today_at(dealer, now.replace(hour=3)) == date(2026, 6, 8)
    with pytest.raises(DealerRefused, match="Nowhere"):
        create_dealer(name="Moss Fell", time_zone="Nowhere/Place", **values)
