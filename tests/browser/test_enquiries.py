"""Taking an enquiry down by keys alone, and the caller's own page on a phone: with a script and without."""

from __future__ import annotations

import re
from io import BytesIO
from statistics import median

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser.conftest import VIEWPORTS, listen, manage
from tests.browser.test_pages import look, weight

SIZES = tuple(VIEWPORTS)
MAIL_A_PAGE = """
from django.utils import timezone
from customers.dealers.models import Dealer
from customers.enquiries.actions import start_enquiry
from customers.enquiries.keeping import Sayer
from customers.enquiries.links import make_link
from customers.people.actors import actor_of_user
from customers.people.models import Staff
from customers.tenancy.scope import dealer_scope
dealer, now = Dealer.objects.order_by("pk").first(), timezone.now()
with dealer_scope(dealer):
    actor = actor_of_user(Staff.objects.filter(role="office", active=True).first().user)
    enquiry = start_enquiry(actor=actor, now=now, details={"name": "Odd Lunde"})
    print(make_link(enquiry=enquiry, by=Sayer("a test"), now=now, address="odd@home.example")[1])
"""
#: From a key pressed to the panel it changes, as the page itself sees it.
TIMED = """() => { window.took = []; let began = 0;
  addEventListener("keydown", () => { began = performance.now(); }, true);
  document.body.addEventListener("htmx:afterSettle",
    () => requestAnimationFrame(() => took.push(performance.now() - began)));
}"""


@pytest.fixture
def mailed(demo) -> str:
    """The path of a page of questions just mailed."""
    return f"/home/asked/link/{manage(demo.var, 'shell', '-v', '0', '-c', MAIL_A_PAGE).strip().splitlines()[-1]}/"


def begun(page: Page) -> None:
    """A new enquiry at the desk."""
    page.goto("/office/enquiries/")
    page.get_by_role("button", name="New enquiry").click()
    expect(page).to_have_url(re.compile(r"/office/enquiries/[0-9a-f-]{36}/$"))


def kept(page: Page) -> None:
    """What was just done has reached the server."""
    expect(page.locator("#saved")).to_have_text(re.compile(r"^saved \d\d:\d\d:\d\d$"))
    page.wait_for_load_state("networkidle")


def test_an_enquiry_is_taken_down_by_keys_alone(office_page, capsys):
    page = office_page
    begun(page)
    page.evaluate(TIMED)
    page.locator("#name").focus()
    page.keyboard.type("Odd Lunde")
    page.keyboard.press("Tab")
    kept(page)
    page.locator("#source-none").focus()
    page.keyboard.press("3")
    expect(page.locator("#source-lake")).to_be_checked()
    kept(page)
    expect(page.locator("#source-lake")).to_be_focused()
    page.locator("#filter-tiles").focus()
    page.keyboard.type("tea")
    expect(page.locator("#t-o-white_scale")).to_be_hidden()
    page.keyboard.press("Enter")
    expect(page.locator("#o-tea_clear")).to_be_checked()
    expect(page.locator("#causes")).to_contain_text("Plant matter dissolved in the water")
    expect(page.locator("#stops")).to_contain_text("no barrier is known")
    expect(page.locator("#filter-tiles")).to_be_focused()
    page.locator("#question").focus()
    for key in ("1", "2", "3", "2"):
        asked = page.locator("#question .asked").inner_text()
        page.keyboard.press(key)
        expect(page.locator("#question .asked")).not_to_have_text(asked)
        expect(page.locator("#question")).to_be_focused()
    page.reload()
    expect(page.locator("#name")).to_have_value("Odd Lunde")
    expect(page.locator("#o-tea_clear")).to_be_checked()
    assert page.locator("#reasoning .tri input:checked").count() == 4
    page.evaluate(TIMED)
    page.locator("#question").focus()
    for _n in range(5):
        asked = page.locator("#question .asked").inner_text()
        page.keyboard.press("2")
        expect(page.locator("#question .asked")).not_to_have_text(asked)
    with capsys.disabled():
        took = page.evaluate("() => took")
        print(f"\n    key to screen: median {median(took):.0f} ms, most {max(took):.0f} ms over {len(took)}")


def test_the_intake_page_holds_in_every_size_with_everything_open(office_page):
    page = office_page
    begun(page)
    for box in ("#o-fuel_smell", "#o-white_scale"):
        page.locator(box).check()
    page.locator("#d-features-1 > summary").click()
    page.locator("#f-salt").check()
    page.locator("#source-drilled_well").check()
    kept(page)
    page.locator("#email").fill("odd@")
    page.keyboard.press("Tab")
    expect(page.locator("#email-error")).to_contain_text("accepted is an address")
    page.locator("#d-more > summary").click()
    page.locator("#o-salty").check()
    kept(page)
    expect(page.locator("#d-more")).to_have_attribute("open", "")
    page.evaluate("for (const part of document.querySelectorAll('details')) part.open = true")
    assert look(page, SIZES) == []
    page.evaluate("document.documentElement.dataset.theme = 'dark'")
    assert look(page, ("desk",)) == []


def test_answers_reach_the_server_in_the_order_they_were_given(office_page):
    page = office_page
    begun(page)
    page.evaluate("""() => { for (const code of ["grit", "milky", "salty", "musty", "fishy"])
      document.getElementById(`o-${code}`).click(); document.getElementById("o-milky").click(); }""")
    page.wait_for_load_state("networkidle")
    kept(page)
    page.reload()
    ticked = page.locator("#tiles input:checked").evaluate_all("all => all.map(one => one.id).sort()")
    assert ticked == ["o-fishy", "o-grit", "o-musty", "o-salty"]


def photograph() -> bytes:
    """A small picture of brown water."""
    out = BytesIO()
    Image.new("RGB", (640, 480), (150, 98, 40)).save(out, "JPEG")
    return out.getvalue()


def fill(page: Page, scripted: bool) -> list[str]:
    """Walk the caller's page from its first step to the last; returns the steps and what is wrong on them."""
    found: list[str] = []
    answers = {
        "you": lambda: page.locator("#phone").fill("555 0177"),
        "water": lambda: page.locator("#source-lake").check(),
        "people": lambda: page.locator("#p-infants-yes").check(),
        "about": lambda: (page.locator("#about-colour").check(), page.locator("#about-device").check()),
        "colour": lambda: page.locator("#o-tea_clear").check(),
        "device": lambda: (page.locator("#f-tall_tank").check(), page.locator("#f-salt").check()),
        "closer": lambda: page.locator(".three input[value=no]").first.check(),
        "more": lambda: page.locator(".three input[value=no]").first.check(),
        "photos": lambda: page.locator("#photo").set_input_files(
            {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": photograph()}
        ),
        "words": lambda: page.locator("#told").fill("since the thaw"),
    }
    while not page.url.endswith("/sent/"):
        page.wait_for_load_state()
        slug = page.url.rstrip("/").rsplit("/", 1)[1]
        found.append(slug)
        answers.get(slug, lambda: None)()
        if scripted:
            found += look(page, ("phone", "desk"))
        page.get_by_role("button", name="Send it" if slug == "send" else "Next").click()
    return found


STEPS = [
    *("you", "water", "people", "first", "about", "colour", "device", "closer", "still"),
    *("more", "next", "try", "photos", "words", "send"),
]


def test_a_caller_answers_on_a_phone(mailed, demo, new_context, capsys):
    context = new_context(viewport=VIEWPORTS["phone"])
    page = context.new_page()
    complaints = listen(page)
    devtools = context.new_cdp_session(page)
    devtools.send("Network.enable")
    devtools.send("Network.setCacheDisabled", {"cacheDisabled": True})
    page.goto(mailed)
    assert look(page, ("phone",)) == []
    page.get_by_role("button", name="Begin").click()
    expect(page).to_have_url(re.compile(r"/home/asked/you/$"))
    page.locator("#name").fill("Odd Lunde of the slip")
    page.keyboard.press("Tab")
    expect(page.locator("#kept")).to_have_text("kept")
    page.reload()
    expect(page.locator("#name")).to_have_value("Odd Lunde of the slip")
    assert fill(page, scripted=True) == STEPS
    expect(page.get_by_role("heading", level=1)).to_have_text("We have it. Thank you.")
    expect(page.locator(".notice")).to_contain_text("Do not drink this water for now")
    weights, packed = {}, {}
    for slug in [*STEPS, "sent"]:
        page.goto(f"/home/asked/{slug}/", wait_until="load")
        weights[slug] = weight(page, packed) / 1000
    with capsys.disabled():
        print(f"\n    caller's page: heaviest step {max(weights.values()):.0f} kB ({max(weights, key=weights.get)})")
    assert max(weights.values()) < 150
    assert complaints == []
    other = new_context(viewport=VIEWPORTS["phone"]).new_page()
    other.goto(mailed)
    expect(other.get_by_role("main")).to_contain_text("The link was used already")
    assert look(other, ("phone",)) == []


def test_a_caller_answers_without_a_script(mailed, new_context):
    page = new_context(viewport=VIEWPORTS["phone"], java_script_enabled=False).new_page()
    page.goto(mailed)
    page.get_by_role("button", name="Begin").click()
    assert fill(page, scripted=False) == STEPS
    page.goto("/home/asked/photos/")
    assert page.locator(".photos img").count() == 1
    page.get_by_role("button", name="Take out").click()
    assert page.locator(".photos img").count() == 0


def test_an_enquiry_is_taken_down_without_a_script(demo, new_context):
    context = new_context(viewport=VIEWPORTS["desk"], java_script_enabled=False)
    context.add_cookies([{"name": "sessionid", "value": demo.session_of("office"), "url": demo.url}])
    page = context.new_page()
    begun(page)
    page.locator("#name").fill("Odd Lunde")
    page.locator("#source-lake").check()
    page.locator("#o-tea_clear").check()
    page.get_by_role("button", name="Save everything").click()
    expect(page.locator("#causes")).to_contain_text("Plant matter dissolved in the water")
    asked = page.locator("#question .asked").inner_text()
    page.locator("#o-musty").check()
    page.locator("#question .answers button").nth(1).click()
    expect(page.locator("#question .asked")).not_to_have_text(asked)
    expect(page.locator("#o-musty")).to_be_checked()
    expect(page.locator("#name")).to_have_value("Odd Lunde")
