"""The intake page: each answer kept as it is given, what follows from it shown beside, hazards first."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from customers.enquiries.models import Enquiry, EnquiryLink
from customers.enquiries.queries import answers_of
from customers.households.models import Site
from service.reminders.models import Message
from tests import factories
from tests.customers.uploads import saved

LIST_QUERIES = 9
UPDATE_QUERIES = 30
TODAY_QUERIES = 20
HTMX = {"HX-Request": "true"}


@pytest.fixture
def enquiry(dealer: Any) -> Any:
    return factories.EnquiryFactory(dealer=dealer, name="Odd Lunde")


def page_of(enquiry: Any) -> str:
    return reverse("enquiry", args=[enquiry.public_id])


def told(response: Any) -> str:
    """Text of a page without its tags."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def say(client: Any, enquiry: Any, **sent: Any) -> Any:
    """One answer, as the page's script sends it."""
    return client.post(page_of(enquiry), sent, headers=HTMX)


def test_beginning_one_writes_on_post_alone_and_once(office_client: Any, dealer: Any) -> None:
    assert office_client.get(reverse("enquiry-new")).status_code == 405
    token = str(uuid.uuid4())
    pages = [office_client.post(reverse("enquiry-new"), {"form_token": token}) for _n in range(2)]
    made = Enquiry.objects.get()
    assert [page.headers["Location"] for page in pages] == [page_of(made)] * 2
    assert "Begin once more" in told(office_client.post(reverse("enquiry-new"), {"form_token": "x"}, follow=True))
    assert Enquiry.objects.count() == 1


def test_an_answer_brings_the_ranking_and_the_next_question(office_client: Any, enquiry: Any) -> None:
    part = say(office_client, enquiry, **{"a-o-white_scale": "yes"})
    text = told(part)
    assert part.status_code == 200
    assert "<html" not in part.content.decode()
    assert "Calcium and magnesium (hard water)" in text
    assert "about 9 in 10" in text or "nearly sure" in text
    assert "Ask next" in text
    assert "saved 10:00:00" in text
    assert answers_of(enquiry).observations == {"white_scale": "yes"}


def test_the_next_question_is_answered_by_its_button(office_client: Any, enquiry: Any) -> None:
    first = say(office_client, enquiry, **{"a-o-white_scale": "yes"}).content.decode()
    asked = re.findall(r'class="btn main" type="submit" name="([^"]+)" value="yes"', first)
    assert len(asked) == 1
    second = say(office_client, enquiry, **{asked[0]: "yes"}).content.decode()
    assert asked[0] not in re.findall(r'<button[^>]+name="([^"]+)"', second)
    assert f'name="{asked[0]}"' in second  # among what was answered, to be changed there


def test_a_hazard_leads_whatever_ranks_first(office_client: Any, enquiry: Any) -> None:
    say(office_client, enquiry, **{"a-o-white_scale": "yes"})
    part = say(office_client, enquiry, **{"a-p-infants": "yes"}).content.decode()
    stops = part[part.index('id="stops"') :]
    assert "nitrate is not tested" in stops
    page = office_client.get(page_of(enquiry)).content.decode()
    assert page.index("nitrate is not tested") < page.index("Who rings") < page.index("hard water")


def test_hazards_are_said_before_the_source_is_known(office_client: Any, dealer: Any) -> None:
    enquiry = factories.EnquiryFactory(dealer=dealer, source="")
    text = told(say(office_client, enquiry, **{"a-o-fuel_smell": "yes"}))
    assert "Fuel or solvent may be in the water" in text
    assert "refer, do not size" in text
    assert "Where does the water come from?" in text
    assert "What it may be" not in text
    assert "no barrier" not in text


def test_a_box_unticked_takes_its_yes_back_and_never_a_no(office_client: Any, enquiry: Any) -> None:
    say(office_client, enquiry, **{"a-o-grit": "yes"})
    say(office_client, enquiry, **{"a-o-milky": "no"})
    say(office_client, enquiry, off="o-grit")
    say(office_client, enquiry, off="o-milky")
    assert answers_of(enquiry).observations == {"milky": "no"}
    assert enquiry.answers.get(code="grit").ended_by == "Office Person"


def test_a_complaint_answered_as_a_question_shows_in_its_box(office_client: Any, enquiry: Any) -> None:
    part = say(office_client, enquiry, **{"a-o-egg_cold": "no"}).content.decode()
    tile = re.search(r'<label class="tile denied" id="t-o-egg_cold"[^>]*hx-swap-oob="true"', part)
    assert tile is not None
    assert "answered no" in part


def test_a_bad_detail_is_named_beside_its_field_and_keeps_the_rest(office_client: Any, enquiry: Any) -> None:
    part = say(office_client, enquiry, email="odd@").content.decode()
    assert re.search(r'id="email-error" hx-swap-oob="true">“odd@” typed; accepted is', part)
    enquiry.refresh_from_db()
    assert enquiry.email == "odd@home.example"


def test_without_a_script_the_whole_page_is_sent_at_once(office_client: Any, enquiry: Any) -> None:
    sent = {
        "name": "Odd Lunde",
        "phone": "555 0188",
        "email": "",
        "place": "red house",
        "source": "lake",
        "note": "brown since May",
        "shown": ["o-tea_clear", "o-grit", "f-salt"],
        "a-o-tea_clear": "yes",
        "a-p-infants": "no",
        "a-p-barrier": "",
        "a-f-salt": "yes",
    }
    page = office_client.post(page_of(enquiry), sent, follow=True)
    assert page.status_code == 200
    assert "Plant matter dissolved in the water" in told(page)
    enquiry.refresh_from_db()
    assert (enquiry.phone, enquiry.source, enquiry.note) == ("555 0188", "lake", "brown since May")
    stand = answers_of(enquiry)
    assert stand.observations == {"tea_clear": "yes"}
    assert stand.features() == {"salt": "yes"}
    assert stand.facts == {"infants": "no"}
    office_client.post(page_of(enquiry), {**sent, "a-o-tea_clear": "", "a-o-grit": "yes"})
    assert answers_of(enquiry).observations == {"grit": "yes"}


def test_a_refused_page_says_so_first_and_keeps_what_was_typed(office_client: Any, enquiry: Any) -> None:
    page = office_client.post(page_of(enquiry), {"name": "Odd", "email": "odd@", "a-o-grit": "yes"})
    html = page.content.decode()
    assert page.status_code == 422
    assert "<title>Error:" in html
    assert html.index("data-error-summary") < html.index("Who rings")
    assert 'value="odd@"' in html
    assert not answers_of(enquiry)


def test_an_unknown_device_is_told_apart(office_client: Any, enquiry: Any) -> None:
    for code in ("tall_tank", "control_head", "salt"):
        part = say(office_client, enquiry, **{f"a-f-{code}": "yes"})
    text = told(part)
    assert "The device" in text
    assert "Softener" in text
    assert "Mistaken for" in text
    assert "Photograph" in text
    assert "Read on it" in text


@pytest.mark.parametrize("count", [1, 20])
def test_the_list_costs_the_same_for_one_and_twenty(
    office_client: Any, dealer: Any, django_assert_num_queries: Any, count: int
) -> None:
    for _n in range(count):
        factories.EnquiryAnswerFactory(enquiry=factories.EnquiryFactory(dealer=dealer), code="white_scale")
    with django_assert_num_queries(LIST_QUERIES):
        text = told(office_client.get(reverse("enquiry-list")))
    assert text.count("hard water") == count


@pytest.mark.parametrize("count", [1, 30])
def test_an_update_costs_the_same_however_much_was_said(
    office_client: Any, enquiry: Any, site: Any, django_assert_max_num_queries: Any, count: int
) -> None:
    Enquiry.objects.filter(pk=enquiry.pk).update(site=site)
    codes = ["first_draw", "after_rain", "autumn", "melt", "old_steel", "one_tap"]
    for n in range(min(count, len(codes))):
        factories.EnquiryAnswerFactory(enquiry=enquiry, code=codes[n])
    for _n in range(count):
        factories.WaterTestFactory(site=site, results={"iron": 4.0, "ph": 7.0})
    with django_assert_max_num_queries(UPDATE_QUERIES):
        part = say(office_client, enquiry, **{"a-o-clear_then_orange": "yes"})
    assert "Iron, total 4 mg/L: measured" in told(part)


def test_the_list_says_hazard_state_and_who(office_client: Any, dealer: Any, now: Any) -> None:
    bad = factories.EnquiryFactory(dealer=dealer, name="Liv Moe", state="arrived", came_by="link", arrived_at=now)
    factories.EnquiryAnswerFactory(enquiry=bad, code="fuel_smell")
    factories.EnquiryFactory(dealer=dealer, name="Gone", state="closed", closed_at=now, closed_reason="x")
    text = told(office_client.get(reverse("enquiry-list")))
    for words in ("Liv Moe", "Fuel or solvent may be in the water", "came in, not read yet", "by the mailed page"):
        assert words in text
    assert "Gone" not in text
    assert "Gone" in told(office_client.get(reverse("enquiry-list"), {"state": "closed"}))


def test_finding_its_household_and_putting_it_there(office_client: Any, enquiry: Any, site: Any) -> None:
    factories.EnquiryAnswerFactory(enquiry=enquiry, code="tea_clear")
    address = reverse("enquiry-attach", args=[enquiry.public_id])
    part = office_client.get(address, {"q": "alder"}, headers=HTMX).content.decode()
    assert "<html" not in part
    assert str(site.public_id) in part
    assert "No household matches" in told(office_client.get(address, {"q": "zzz"}))
    page = office_client.post(address, {"site": str(site.public_id)}, follow=True)
    assert "It is in the file of Alder Point now" in told(page)
    assert site.observations.get().code == "tea_clear"


def test_the_household_form_holds_what_the_caller_told(office_client: Any, enquiry: Any) -> None:
    factories.EnquiryAnswerFactory(enquiry=enquiry, kind="fact", code="pregnancy")
    factories.EnquiryAnswerFactory(enquiry=enquiry, kind="fact", code="seasonal")
    address = reverse("enquiry-household", args=[enquiry.public_id])
    html = office_client.get(address).content.decode()
    for value in ("Odd Lunde", "555 0177", "odd@home.example", "red house past the slip"):
        assert f'value="{value}"' in html
    assert re.search(r'<option value="drilled_well" selected', html)
    assert re.search(r'name="infants_or_pregnancy"[^>]*checked', html)
    assert re.search(r'value="season"[^>]*checked', html)
    sent = {
        "customer_name": "Odd Lunde",
        "name": "Red House",
        "source": "drilled_well",
        "access_by": "road",
        "pump_type": "unknown",
        "pipe_size": "3/4",
        "pipe_material": "copper",
        "power": "mains",
        "occupancy": "year",
        "worst_fixture": "shower",
        "people_usual": "2",
        "people_peak": "4",
        "water_temperature_c": "8",
        "pipe_run_m": "20",
        "worst_fixture_height_m": "3",
        "worst_fixture_min_kpa": "140",
    }
    done = office_client.post(address, sent)
    assert done.status_code == 302, told(done)
    made = Site.objects.get()
    assert made.enquiries.get() == enquiry
    assert done.headers["Location"] == reverse("household", args=[made.public_id])


def test_mailing_the_page_of_questions(office_client: Any, enquiry: Any) -> None:
    address = reverse("enquiry-mail", args=[enquiry.public_id])
    assert "accepted is an address" in told(office_client.post(address, {"email": "odd"}, follow=True))
    page = office_client.post(address, {"email": "odd@home.example"}, follow=True)
    assert "The questions go to odd@home.example" in told(page)
    message, link = Message.objects.get(), EnquiryLink.objects.get()
    assert (message.enquiry, message.site, message.rule, message.state) == (enquiry, None, "questions", "queued")
    token = re.search(r"/link/([0-9a-f]{32}\.[\w-]+)/", message.body)
    assert token is not None
    assert token[1] not in link.token_hash
    assert "do not drink it" in message.body
    assert enquiry.label in told(office_client.get(reverse("messages")))
    stopped = office_client.post(reverse("enquiry-stop", args=[enquiry.public_id]), follow=True)
    assert "The mailed page is stopped" in told(stopped)


def test_photographs_are_kept_shown_and_taken_out(office_client: Any, enquiry: Any) -> None:
    address = reverse("enquiry-photo-add", args=[enquiry.public_id])
    for upload, words in ((None, "no file chosen"), (SimpleUploadedFile("a.jpg", b"<svg/>"), "no picture")):
        page = office_client.post(address, {"photo": upload} if upload else {}, follow=True)
        assert words in told(page)
    sent = SimpleUploadedFile("../a.svg", saved("JPEG"), content_type="image/svg+xml")
    office_client.post(address, {"photo": sent, "words": "<b>bath</b>"})
    photo = enquiry.photos.get()
    answer = office_client.get(reverse("enquiry-photo", args=[photo.public_id]))
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Disposition"] == f'inline; filename="photo-{photo.public_id.hex[:8]}.jpg"'
    assert answer.content[:3] == b"\xff\xd8\xff"
    save = office_client.get(reverse("enquiry-photo", args=[photo.public_id]), {"save": "1"})
    assert save.headers["Content-Disposition"].startswith("attachment")
    assert "&lt;b&gt;bath&lt;/b&gt;" in office_client.get(page_of(enquiry)).content.decode()
    office_client.post(reverse("enquiry-photo-remove", args=[photo.public_id]))
    assert not enquiry.photos.exists()


def test_closing_and_the_cause(office_client: Any, enquiry: Any) -> None:
    close = reverse("enquiry-close", args=[enquiry.public_id])
    assert "accepted is a reason" in told(office_client.post(close, {"reason": " "}, follow=True))
    text = told(office_client.post(close, {"reason": "sold the place"}, follow=True))
    assert "sold the place" in text
    assert "Nothing is asked of a closed enquiry" in text
    part = say(office_client, enquiry, **{"a-o-grit": "yes"})
    assert "is closed; open it again" in told(part)
    cause = reverse("enquiry-cause", args=[enquiry.public_id])
    assert "no cause of the tables" in told(office_client.post(cause, {"cause": "magic"}, follow=True))
    text = told(office_client.post(cause, {"cause": "tannin", "note": "TOC 9"}, follow=True))
    assert "TOC 9" in text
    enquiry.refresh_from_db()
    assert enquiry.confirmed_cause == "tannin"
    assert "Open again" in told(office_client.post(close, {"again": "1"}, follow=True))


def test_what_came_in_waits_until_somebody_takes_it(office_client: Any, enquiry: Any, now: Any) -> None:
    Enquiry.objects.update(state="arrived", arrived_at=now)
    assert "waits for your call" in told(office_client.get(page_of(enquiry)))
    text = told(office_client.post(reverse("enquiry-in-hand", args=[enquiry.public_id]), follow=True))
    assert "In hand" in text
    assert "waits for your call" not in text


def test_words_of_the_caller_are_shown_escaped(office_client: Any, enquiry: Any) -> None:
    Enquiry.objects.update(name="<script>go()</script>", note="</textarea><script>", place='"><img src=x>')
    html = office_client.get(page_of(enquiry)).content.decode()
    for live in ("<script>go()", "</textarea><script>", "<img src=x>"):
        assert live not in html


@pytest.mark.parametrize("count", [1, 12])
def test_today_says_what_came_in_hazards_first(
    office_client: Any, dealer: Any, now: Any, django_assert_num_queries: Any, count: int
) -> None:
    for n in range(count):
        row = factories.EnquiryFactory(
            dealer=dealer, name=f"Caller {n}", state="arrived", came_by="link", arrived_at=now - timedelta(hours=n)
        )
        factories.EnquiryAnswerFactory(enquiry=row, code="white_scale")
    bad = factories.EnquiryFactory(dealer=dealer, name="Liv Moe", state="arrived", arrived_at=now)
    factories.EnquiryAnswerFactory(enquiry=bad, code="fuel_smell")
    half = factories.EnquiryFactory(dealer=dealer, name="Odd", changed_at=now - timedelta(hours=2))
    factories.EnquiryFactory(dealer=dealer, name="Just now", changed_at=now)
    factories.EnquiryFactory(dealer=dealer, name="Silent", state="awaited", changed_at=now - timedelta(days=6))
    with django_assert_num_queries(TODAY_QUERIES):
        page = office_client.get(reverse("today"))
    text = told(page)
    assert "Enquiries to read" in text
    assert text.index("Fuel or solvent may be in the water") < text.index("hard water")
    assert text.index("Liv Moe") < text.index("Caller")
    assert "Read and call back" in text
    assert "Finish it" in text
    assert half.label in text
    assert "Ring them" in text
    assert "Just now" not in text


def test_a_household_rings_and_its_file_is_known_from_the_start(office_client: Any, site: Any) -> None:
    file = reverse("household", args=[site.public_id])
    html = office_client.get(file).content.decode()
    assert f'name="site" value="{site.public_id}"' in html
    sent = {"form_token": str(uuid.uuid4()), "site": str(site.public_id)}
    pages = [office_client.post(reverse("enquiry-new"), sent) for _n in range(2)]
    made = Enquiry.objects.get()
    assert pages[1].headers["Location"] == page_of(made)
    assert (made.site, made.name, made.source, made.state) == (site, site.customer.name, "drilled_well", "in_hand")
    say(office_client, made, **{"a-o-white_scale": "yes"})
    assert site.observations.get().code == "white_scale"
    assert made.label in told(office_client.get(file))
    page = office_client.get(page_of(made)).content.decode()
    book = re.search(r'href="([^"]+sampling/[^"]*)"', page)
    assert book is not None
    form = office_client.get(book[1].replace("&amp;", "&"))
    assert form.status_code == 200
    assert re.search(r'value="hardness"[^>]* checked', form.content.decode()) or "hardness" in book[1]


def test_a_household_of_another_dealer_cannot_be_named(office_client: Any, other_site: Any) -> None:
    assert office_client.post(reverse("enquiry-new"), {"site": str(other_site.public_id)}).status_code == 404
    assert not Enquiry.objects.exists()


def test_a_second_device_is_told_apart_beside_the_first(office_client: Any, enquiry: Any) -> None:
    for code in ("tall_tank", "control_head", "salt"):
        say(office_client, enquiry, **{f"a-f-{code}": "yes"})
    address = reverse("enquiry", args=[enquiry.public_id])
    done = office_client.post(address, {"another": "1", "name": "Odd Lunde"})
    assert done.headers["Location"] == f"{address}#h-dev"
    enquiry.refresh_from_db()
    assert enquiry.name == "Odd Lunde"
    say(office_client, enquiry, **{"called-2": "the steel tube"})
    for code in ("steel_cylinder", "end_nuts", "cord"):
        part = say(office_client, enquiry, **{f"a-f2-{code}": "yes"})
    text = told(part)
    assert "Device 1" in text
    assert "Device 2: the steel tube" in text
    first, second = text.split("Device 2: the steel tube")
    assert "Softener" in first
    assert "UV" in second
    html = office_client.get(address).content.decode()
    assert html.count("What they call it") == 2
    assert html.count('name="a-f2-cord"') >= 1
    say(office_client, enquiry, off="f2-cord")
    assert "cord" not in answers_of(enquiry).features(2)
    wrong = office_client.post(address, {"a-f5-cord": "yes"})
    assert wrong.status_code == 422
    assert "has no device 5" in wrong.content.decode()
