"""What comes too often waits; what is too large is not read."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from service.throttle import within


def test_so_many_in_a_window_and_no_more() -> None:
    assert [within("a", most=2, seconds=60) for _n in range(4)] == [True, True, False, False]
    assert within("b", most=2, seconds=60)
    cache.clear()  # the window has closed
    assert within("a", most=2, seconds=60)


def test_a_body_too_large_is_refused_by_its_length_alone(db: None, settings: Any) -> None:
    settings.MOST_BODY_BYTES = 1000
    client = Client()
    answer = client.post(reverse("account_login"), {"login": "x" * 2000})
    assert answer.status_code == 413
    assert b"accepted are at most 1000" in answer.content
    assert client.post(reverse("account_login"), {"login": "x"}).status_code == 200


@pytest.mark.parametrize("length", ["", "many"])
def test_a_length_that_is_none_is_not_trusted(db: None, length: str) -> None:
    answer = Client().get(reverse("health"), CONTENT_LENGTH=length)
    assert answer.status_code == 200
