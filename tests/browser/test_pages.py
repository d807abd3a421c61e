"""Every page, empty, filled and refused: nothing for axe, no sideways push, no complaint, reached by keys alone.

Pages are those a person can reach by links, one of each shape; a page is loaded once and looked at in every size.
"""

from __future__ import annotations

import gzip
import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import VIEWPORTS, Demo, assert_fits, axe_findings, listen, manage, sign_in_as
from tests.browser.crawl import reachable, shape

#: Each role with the sizes it works on.
WORKPLACES = {
    "owner": ("desk",),
    "office": ("desk", "tablet", "phone"),
    "technician": ("tablet", "phone"),
    "customer": ("desk", "tablet", "phone"),
}
#: Heaviest page allowed by role, in kB as the container sends it: page, styles, scripts, fonts, pictures.
HEAVIEST = {"office": 300, "technician": 300, "customer": 150}
#: What a refused form must be among, so that the check of error states cannot pass by finding none.
REFUSED = {
    "office": {"/office/households/new/", "/office/households/*/water-test/", "/office/households/*/symptoms/"},
    "customer": {"/home/quotes/*/", "/home/*/ask/"},
}
EMPTY_DEALER = """
from customers.dealers.models import Dealer
from customers.people.actions import add_staff
from customers.tenancy.unscoped import across_dealers
with across_dealers():
    dealer, made = Dealer.objects.get_or_create(slug="lull-water", defaults={
        "name": "Lull Water", "postal_address": "1 Lull Lane", "phone": "555 0199", "email": "post@lull.example",
        "file_prefix": "LW"})
    if made:
        for role in ("owner", "technician"):
            add_staff(dealer=dealer, email=f"{role}@lull.example", name=f"{role.title()} Lull", role=role)
"""
SESSION = """
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from customers.people.models import User
user = User.objects.get(email=EMAIL)
session = SessionStore()
session[SESSION_KEY] = str(user.pk)
session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
session[HASH_SESSION_KEY] = user.get_session_auth_hash()
session.save()
print(session.session_key)
"""
#: Unfolds the page's own form, empties what is typed or ticked and puts a value no field takes into its numbers.
SPOIL = """form => { form.closest("details")?.setAttribute("open", ""); for (const field of form.elements) {
  if (["hidden", "submit", "button"].includes(field.type)) continue;
  if (["checkbox", "radio"].includes(field.type)) field.checked = false;
  else if (field.tagName === "SELECT") field.selectedIndex = -1;
  else if (field.inputMode === "decimal" || field.inputMode === "numeric") field.value = "-9999999";
  else field.value = "";
} }"""
#: Forms the browser itself refuses when empty have no error state of ours.
FORM = "main form[method=post][novalidate]:has(input:not([type=hidden]), textarea, select)"
WEIGHT = """() => [...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")]
  .map(entry => [entry.name, entry.encodedBodySize])"""


def look(page: Page, sizes: tuple[str, ...]) -> list[str]:
    """What axe and the ruler have to say about the page as it is, in each size, and about its title."""
    found = [] if page.title().strip() else [f"{page.url}: no title"]
    for size in sizes:
        page.set_viewport_size(VIEWPORTS[size])
        found += [f"{size}: {line}" for line in axe_findings(page)]
        try:
            assert_fits(page)
        except AssertionError as wide:
            found.append(f"{size}: {wide}")
    return found


def looked_at(page: Page, paths: list[str], sizes: tuple[str, ...]) -> list[str]:
    """What there is to say about every page of a list, the browser's own complaints among it."""
    complaints = listen(page)
    for path in paths:
        page.goto(path)
        complaints += look(page, sizes)
    return complaints


@pytest.fixture
def page_of(demo: Demo, new_context: Callable[..., BrowserContext]) -> Callable[..., Page]:
    """A page at the front of somebody's own part of the product."""

    def begin(role: str, **options: Any) -> Page:
        context = new_context(viewport=VIEWPORTS["desk"], **options)
        if role != "nobody":
            sign_in_as(role, demo, context)
        page = context.new_page()
        page.goto("/", wait_until="networkidle")  # leaving sooner would break off what it still fetches: its icon
        return page

    return begin


@pytest.fixture(scope="session")
def found_paths() -> dict[str, list[str]]:
    """What each role can reach, found once."""
    return {}


@pytest.fixture
def paths_of(page_of: Callable[..., Page], found_paths: dict[str, list[str]]) -> Callable[[str], list[str]]:
    """The paths a role can reach by links, one of each shape."""

    def find(role: str) -> list[str]:
        if role not in found_paths:
            found_paths[role] = reachable(page_of(role), "/")
        return found_paths[role]

    return find


@pytest.mark.parametrize("role", WORKPLACES)
def test_every_page_of_a_role_at_every_size_it_works_on(role, page_of, paths_of):
    paths = paths_of(role)
    assert len(paths) > 1
    assert looked_at(page_of(role), paths, WORKPLACES[role]) == []


def test_every_page_before_signing_in(page_of, paths_of):
    assert looked_at(page_of("nobody"), paths_of("nobody"), tuple(VIEWPORTS)) == []


@pytest.mark.parametrize("role", ["owner", "technician"])
def test_the_pages_of_a_dealer_who_has_nothing_yet(role, demo, new_context):
    manage(demo.var, "shell", "-v", "0", "-c", EMPTY_DEALER)
    said = manage(demo.var, "shell", "-v", "0", "-c", f"EMAIL = '{role}@lull.example'\n{SESSION}")
    context = new_context(viewport=VIEWPORTS["desk"])
    context.add_cookies([{"name": "sessionid", "value": said.strip().splitlines()[-1], "url": demo.url}])
    page = context.new_page()
    page.goto("/")
    assert looked_at(page, reachable(page, "/"), ("desk", "phone")) == []


@pytest.mark.parametrize("role", REFUSED)
def test_a_refused_form_says_so_first_and_takes_the_focus(role, page_of, paths_of):
    page = page_of(role)
    complaints, refused = [], set()
    for path in paths_of(role):
        page.goto(path)
        form = page.locator(FORM)
        if not form.count():
            continue
        form.first.evaluate(SPOIL)
        with page.expect_navigation():
            form.first.locator("button[type=submit]").first.click()
        summary = page.locator("[data-error-summary]")
        if not summary.count():
            continue  # a form that may be sent empty
        refused.add(shape(path))
        expect(summary.first).to_be_focused()
        if not page.title().startswith("Error:"):
            complaints.append(f"{path}: refused under the title {page.title()!r}")
        complaints += look(page, ("desk", "phone"))
    assert complaints == []
    assert REFUSED[role] <= refused


@pytest.mark.parametrize(("role", "path"), [("office", "/office/settings/"), ("office", "/office/nowhere/"),
                                            ("customer", "/office/"), ("nobody", "/home/link/none/")])  # fmt: skip
def test_a_page_that_cannot_be_shown(role, path, page_of):
    page = page_of(role)
    answer = page.goto(path)
    assert answer is not None
    assert answer.status in (403, 404)
    assert look(page, tuple(VIEWPORTS)) == []
    assert page.get_by_role("heading", level=1).count() == 1
    assert page.get_by_role("main").get_by_role("link").count() >= 1


@pytest.mark.parametrize("theme", ["dark", "outdoor"])
def test_pages_hold_at_night_and_in_the_sun(theme, page_of, paths_of):
    page = page_of("office")
    complaints = []
    for path in paths_of("office")[:10]:
        page.goto(path)
        page.evaluate("theme => document.documentElement.dataset.theme = theme", theme)
        complaints += look(page, ("desk",))
    assert complaints == []


@pytest.mark.parametrize(("role", "pattern"), [
    ("office", r"/office/households/[^/]{36}/$"), ("office", r"/office/households/[^/]+/water-test/$"),
    ("technician", r"/field/jobs/[^/]+/$"), ("customer", r"/home/quotes/"), ("nobody", r"/account/login/$"),
])  # fmt: skip
def test_by_keys_alone(role, pattern, page_of, paths_of):
    page = page_of(role)
    page.goto(next(path for path in paths_of(role) if re.search(pattern, path)))
    page.keyboard.press("Tab")
    skip = page.locator(".skip")
    expect(skip).to_be_focused()
    box = skip.bounding_box()
    assert box is not None
    assert box["y"] >= 0
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()
    wanted = page.locator("#main .btn:visible").first
    for _step in range(120):
        page.keyboard.press("Tab")
        outline = page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none", page.evaluate("() => document.activeElement.outerHTML.slice(0, 200)")
        if wanted.evaluate("e => e === document.activeElement"):
            break
    expect(wanted).to_be_focused()


def weight(page: Page, packed: dict[str, int]) -> int:
    """Bytes of a page with all it loads. The demo sends styles and scripts as they are written; the container
    sends them packed, so that is what counts here."""
    total = 0
    for name, size in page.evaluate(WEIGHT):
        if re.search(r"\.(css|js)$", name):
            if name not in packed:
                packed[name] = len(gzip.compress(page.request.get(name).body()))
            total += packed[name]
        else:
            total += size
    return total


def test_what_the_pages_weigh(page_of, paths_of, capsys):
    rows, packed = [], {}
    for role in ("office", "technician", "customer"):
        page = page_of(role)
        devtools = page.context.new_cdp_session(page)
        devtools.send("Network.enable")
        devtools.send("Network.setCacheDisabled", {"cacheDisabled": True})  # what is kept counts nothing otherwise
        for path in paths_of(role):
            page.goto(path, wait_until="load")
            rows.append((role, shape(path), weight(page, packed) / 1000))
    with capsys.disabled():
        print()
        for role, path, sent in sorted(rows, key=lambda row: -row[2]):
            print(f"{sent:7.0f} kB  {role:10}  {path}")
    too_heavy = [row for row in rows if row[2] > HEAVIEST[row[0]]]
    assert too_heavy == []
