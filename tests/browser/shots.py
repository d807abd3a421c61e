"""A picture of every page in the sizes it is used on, under ``var/shots``: ``make shots``."""

from __future__ import annotations

import re

import pytest
from django.conf import settings

from tests.browser.conftest import VIEWPORTS, sign_in_as
from tests.browser.crawl import reachable, shape


@pytest.mark.parametrize("role", ["nobody", "owner", "office", "technician", "customer"])
def test_take_pictures(role, demo, new_context):
    context = new_context(viewport=VIEWPORTS["desk"])
    if role != "nobody":
        sign_in_as(role, demo, context)
    page = context.new_page()
    page.goto("/")
    folder = settings.VAR / "shots" / role
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.png"):
        old.unlink()
    for path in reachable(page, "/"):
        name = re.sub(r"[^a-z0-9]+", "-", shape(path).replace("*", "x").lower()).strip("-") or "front"
        page.goto(path)
        for size, viewport in VIEWPORTS.items():
            page.set_viewport_size(viewport)
            page.screenshot(path=folder / f"{name}.{size}.png", full_page=True)
    assert list(folder.glob("*.png"))
