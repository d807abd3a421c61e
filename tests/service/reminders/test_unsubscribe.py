from __future__ import annotations

from typing import Any

from django.test import Client
from django.urls import reverse

from service.reminders.models import Suppression
from service.reminders.writing import unsubscribe_token


def page(dealer: Any) -> str:
    """The page behind the link of a message to Tamsin."""
    return reverse("unsubscribe", args=[unsubscribe_token(dealer, "tamsin@home.example")])


def test_opening_the_link_changes_nothing(dealer: Any, clock: Any) -> None:
    response = Client().get(page(dealer))
    assert response.status_code == 200
    assert b"tamsin@home.example" in response.content
    assert response.headers["Referrer-Policy"] == "no-referrer"
    assert Suppression.objects.count() == 0


def test_one_click_without_cookie_or_csrf_token(dealer: Any, clock: Any) -> None:
    client = Client(enforce_csrf_checks=True)
    for _ in range(2):
        response = client.post(page(dealer), {"List-Unsubscribe": "One-Click"})
        assert response.status_code == 200
    assert list(Suppression.objects.values_list("address", flat=True)) == ["tamsin@home.example"]


def test_a_link_not_made_here_finds_nothing(dealer: Any, clock: Any) -> None:
    response = Client().post(reverse("unsubscribe", args=["made-up:token"]))
    assert response.status_code == 404
    assert Suppression.objects.count() == 0
