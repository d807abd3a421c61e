"""Designing many again from the desk: begun once, watched while it goes, told in the order that wants a look."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from sizing.redesigns.models import Redesign, RedesignRow, RowState
from tests import factories
from tests.sizing.designed import design, measured, stocked


@pytest.fixture
def woken(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, list[int]]]:
    """Calls to the queue."""
    calls: list[tuple[str, list[int]]] = []
    monkeypatch.setattr("service.office.views_redesigns.app.send_task", lambda name, args: calls.append((name, args)))
    return calls


def text_of(response: Any) -> str:
    return response.content.decode()


def test_a_round_begins_for_the_picked_or_for_all(
    office_client: Client, dealer: Any, clock: Any, woken: list[Any], django_capture_on_commit_callbacks: Any
) -> None:
    stocked(dealer)
    sites = [measured(dealer, name=name) for name in ("Ash", "Birch")]
    for site in sites:
        design(site)
    page = text_of(office_client.get(reverse("redesigns")))
    assert "Ash" in page
    assert "Every household with a design: 2" in page
    with django_capture_on_commit_callbacks(execute=True):
        answer = office_client.post(reverse("redesigns"), {"why": "chosen", "site": [sites[0].public_id, "rubbish"]})
    run = Redesign.objects.get()
    assert answer.headers["Location"] == reverse("redesign", args=[run.public_id])
    assert [row.site.name for row in run.rows.select_related("site")] == ["Ash"]
    assert woken == [("service.tasks.redesign_households", [dealer.pk])]
    again = office_client.post(reverse("redesigns"), {"why": "all"}, follow=True)
    assert "under way" in text_of(again)
    watched = text_of(office_client.get(reverse("redesign", args=[run.public_id])))
    assert "0 of 1 households are done" in watched
    assert 'hx-trigger="every 2s"' in watched
    office_client.post(reverse("redesign-stop", args=[run.public_id]))
    stopped = text_of(office_client.get(reverse("redesign", args=[run.public_id])))
    assert "1 left out" in stopped
    assert "hx-trigger" not in stopped.partition('id="round"')[2]
    assert not RedesignRow.objects.filter(state=RowState.WAITING).exists()


def test_nothing_picked_is_said(office_client: Client, dealer: Any, woken: list[Any]) -> None:
    answer = office_client.post(reverse("redesigns"), {"why": "chosen"}, follow=True)
    assert "no household would be taken" in text_of(answer)
    assert not woken


def test_what_wants_a_look_comes_first_and_leads_on(office_client: Client, dealer: Any) -> None:
    run = factories.RedesignFactory(dealer=dealer, total=3)
    for name, outcome in (("Ash", "same"), ("Birch", "train"), ("Cedar", "nothing")):
        site = factories.SiteFactory(dealer=dealer, name=name)
        proposal = factories.ProposalFactory(site=site)
        factories.RedesignRowFactory(run=run, site=site, proposal=proposal, outcome=outcome, words="the drain")
    url = reverse("redesign", args=[run.public_id])
    text = text_of(office_client.get(url))
    assert text.index("Cedar") < text.index("Birch") < text.index("Ash")
    assert "the drain" in text
    assert text.count("Keep and compare") == 2
    only = text_of(office_client.get(url + "?outcome=train"))
    assert "Birch" in only
    assert "Cedar" not in only
    part = text_of(office_client.get(url, headers={"HX-Request": "true"}))
    assert "<html" not in part
    assert 'id="round"' in part


def test_lists_ask_as_often_with_one_row_as_with_thirty(office_client: Client, dealer: Any) -> None:
    run = factories.RedesignFactory(dealer=dealer, total=30)
    urls = [reverse("redesigns"), reverse("redesign", args=[run.public_id])]
    counted = []
    for many in (1, 29):
        for _n in range(many):
            factories.RedesignRowFactory(run=run, site=factories.SiteFactory(dealer=dealer))
        counts = []
        for url in urls:
            office_client.get(url)
            with CaptureQueriesContext(connection) as asked:
                office_client.get(url)
            counts.append(len(asked))
        counted.append(counts)
    assert counted[0] == counted[1]
    assert max(counted[1]) <= 14
