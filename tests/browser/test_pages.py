"""Every page a person can reach: no broken link, nothing for axe to find, nothing complained of, no sideways push."""

from __future__ import annotations

import pytest

from tests.browser.conftest import VIEWPORTS, assert_fits, axe_findings, listen, sign_in_as
from tests.browser.crawl import reachable

#: Each role with the sizes it works on.
WORKPLACES = {
    "owner": ("desk",),
    "office": ("desk", "tablet", "phone"),
    "technician": ("tablet", "phone"),
    "customer": ("desk", "phone"),
}


def complaints_of(page, paths) -> list[str]:
    """What the browser, axe and the ruler have to say about each page at the size the window has."""
    complaints = listen(page)
    for path in paths:
        page.goto(path)
        complaints += axe_findings(page)
        try:
            assert_fits(page)
        except AssertionError as wide:
            complaints.append(str(wide))
    return complaints


@pytest.mark.parametrize("role", WORKPLACES)
def test_every_page_of_a_role_at_every_size_it_works_on(role, demo, new_context):
    context = new_context(viewport=VIEWPORTS["desk"])
    sign_in_as(role, demo, context)
    page = context.new_page()
    page.goto("/")
    paths = reachable(page, "/")
    assert len(paths) > 1
    complaints = []
    for size in WORKPLACES[role]:
        page.set_viewport_size(VIEWPORTS[size])
        complaints += [f"{size}: {line}" for line in complaints_of(page, paths)]
    assert complaints == []


@pytest.mark.parametrize("size", VIEWPORTS)
def test_every_page_before_signing_in(size, demo, new_context):
    page = new_context(viewport=VIEWPORTS[size]).new_page()
    page.goto("/")
    assert complaints_of(page, reachable(page, "/")) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_hold_in_light_and_dark(scheme, demo, new_context):
    context = new_context(viewport=VIEWPORTS["desk"], color_scheme=scheme)
    sign_in_as("office", demo, context)
    page = context.new_page()
    page.goto("/")
    assert complaints_of(page, reachable(page, "/", most=12)) == []
