"""Making papers at the desk: what is offered, pressed twice, strangers, labels with their code."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from service.documents.labels import labels_of
from service.documents.models import Paper
from service.documents.offers import NotOffered, make_offered, offers_of
from service.installs.queries import standing_stages
from tests.documents.drafted import every_draft


def test_every_offer_can_be_made_and_its_versions_count(site: Any, now: Any, today: date, office_actor: Any) -> None:
    every_draft(site, now, today)
    offers = offers_of(site, today)
    kinds = {offer.kind.value for offer in offers}
    standing = {"install_sheet", "worksheet", "opening", "closing", "labels", "water_report", "notice"}
    assert kinds == standing | {"sampling_sheet", "custody"}
    offer = next(offer for offer in offers if offer.kind.value == "labels")
    asked = {"site": site, "kind": "labels", "about": str(offer.about), "actor": office_actor, "today": today}
    first = make_offered(now=now, **asked)
    again = make_offered(now=now, **asked)
    assert (first.pk, first.version, first.for_customer) == (again.pk, 1, False)
    later = make_offered(now=now.replace(year=now.year + 1), **asked)
    assert later.version == 2


def test_a_paper_of_nothing_is_refused(site: Any, now: Any, today: date, office_actor: Any) -> None:
    with pytest.raises(NotOffered, match="paper is 'labels' of 'x', accepted is one of water_report"):
        make_offered(site=site, kind="labels", about="x", actor=office_actor, now=now, today=today)
    assert not Paper.objects.exists()


def test_the_list_offers_makes_and_shows(office_client: Any, site: Any, now: Any, today: date) -> None:
    every_draft(site, now, today)
    page = reverse("household-papers", args=[site.public_id])
    html = office_client.get(page).content.decode()
    assert html.count('name="kind"') == len(offers_of(site, today))
    made = office_client.post(
        reverse("paper-make", args=[site.public_id]), {"kind": "water_report", "about": str(site.public_id)}
    )
    assert made.headers["Location"] == page
    paper = Paper.objects.get(kind="water_report")
    shown = office_client.get(page).content.decode()
    assert reverse("paper", args=[paper.public_id]) in shown
    refused = office_client.post(reverse("paper-make", args=[site.public_id]), {"kind": "poem"}, follow=True)
    assert "accepted is one of" in refused.content.decode()


def test_strangers_and_lesser_roles(other_office_client: Any, technician_client: Any, site: Any) -> None:
    for name in ("household-papers", "paper-make"):
        address = reverse(name, args=[site.public_id])
        ask = other_office_client.get if name == "household-papers" else other_office_client.post
        assert ask(address).status_code == 404
    assert technician_client.post(reverse("paper-make", args=[site.public_id])).status_code == 403


def test_labels_lead_to_the_file(site: Any, now: Any, today: date, settings: Any) -> None:
    settings.PUBLIC_URL = "https://water.example"
    every_draft(site, now, today)
    labels = labels_of(site, standing_stages(site))
    assert [label.number for label in labels] == [1, 2, 3]
    assert all(re.match(r"<svg[^>]*><title>Code that opens", label.code) for label in labels)
    assert {bool(label.note) for label in labels} == {True, False}
