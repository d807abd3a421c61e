"""The caller's own page: opened once from a mailed link, for one enquiry alone, nothing lost on the way."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from customers.enquiries.actions import close_enquiry
from customers.enquiries.devices import begin_device
from customers.enquiries.keeping import Sayer
from customers.enquiries.links import make_link, revoke_links
from customers.enquiries.models import Enquiry, EnquiryLink
from customers.enquiries.queries import answers_of
from customers.tenancy.scope import dealer_scope
from service.reminders.models import Message
from service.reminders.sending import send_claimed
from sizing.diagnoses.reasoning import reason
from tests import factories
from tests.conftest import signed_in
from tests.customers.uploads import PLACE, located

STEPS = ["you", "water", "people", "first", "about", "more", "next", "try", "photos", "words", "send"]


@pytest.fixture
def enquiry(dealer: Any) -> Any:
    return factories.EnquiryFactory(dealer=dealer, name="", phone="", place="", source="", note="")


@pytest.fixture
def token(enquiry: Any, now: Any, clock: Any) -> str:
    return make_link(enquiry=enquiry, by=Sayer("Maren Vik"), now=now, address="odd@home.example")[1]


def landing(token: str) -> str:
    return reverse("asked-link", args=[token])


def at(slug: str) -> str:
    return reverse("asked-step", args=[slug])


def told(response: Any) -> str:
    """Text of a page without its tags."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


@pytest.fixture
def caller(token: str) -> Client:
    """A phone that has opened the page."""
    client = Client()
    client.post(landing(token))
    return client


def test_looking_changes_nothing_and_the_button_opens_it_once(token: str, enquiry: Any) -> None:
    scanner = Client()
    for _n in range(3):
        page = scanner.get(landing(token))
        assert page.status_code == 200
        assert page.headers["Referrer-Policy"] == "strict-origin"
        assert page.headers["Cache-Control"] == "no-store"
    assert scanner.head(landing(token)).status_code == 200
    assert EnquiryLink.objects.get().used_at is None
    assert scanner.get(reverse("asked")).status_code == 404
    phone = Client()
    before = phone.session.session_key
    opened = phone.post(landing(token))
    assert opened.headers["Location"] == reverse("asked")
    assert token not in opened.headers["Location"]
    assert phone.session.session_key != before
    assert phone.get(at("you")).status_code == 200
    assert token not in phone.get(at("you")).content.decode()
    other = Client().post(landing(token))
    assert other.status_code == 404
    assert "The link was used already" in told(other)


def test_who_opens_the_used_link_again_on_the_same_phone_goes_on(caller: Client, token: str) -> None:
    again = caller.get(landing(token))
    assert again.headers["Location"] == reverse("asked")


def test_the_whole_way_with_buttons_alone(caller: Client, enquiry: Any, office_actor: Any) -> None:
    """Every step is a form; nothing here needs a script."""
    sent: dict[str, dict[str, Any]] = {
        "you": {"name": "Odd Lunde", "phone": "555 0177", "place": "red house"},
        "water": {"source": "drilled_well", "a-p-barrier": "no"},
        "people": {"a-p-infants": "no"},
        "first": {"shown": ["o-fuel_smell", "o-foam"]},
        "about": {"areas": "1", "about": ["smell", "solids"]},
        "smell": {"shown": ["o-egg_hot", "o-egg_cold"], "a-o-egg_hot": "yes"},
        "solids": {"shown": ["o-white_scale"], "a-o-white_scale": "yes"},
        "photos": {"photo": SimpleUploadedFile("a.jpg", located(6)), "words": "the kettle"},
        "words": {"told": "since the new heater"},
    }
    assert caller.get(reverse("asked")).headers["Location"] == at("you")
    seen, slug = [], "you"
    while slug != "sent":
        seen.append(slug)
        page = caller.get(at(slug))
        assert page.status_code == 200
        answers = dict(sent.get(slug, {}))
        if slug in ("more", "next", "try"):
            names = re.findall(r'name="(a-o-[a-z_]+)" value="yes"', page.content.decode())
            assert names or slug != "more"
            answers |= dict.fromkeys(names, "no")
        slug = caller.post(at(slug), answers).headers["Location"].rstrip("/").rsplit("/", 1)[1]
    assert seen == [*STEPS[:5], "smell", "solids", *STEPS[5:]]
    enquiry.refresh_from_db()
    assert (enquiry.state, enquiry.came_by, enquiry.name, enquiry.source) == (
        "arrived",
        "link",
        "Odd Lunde",
        "drilled_well",
    )
    stand = answers_of(enquiry)
    assert {"egg_hot", "white_scale"} <= {code for code, answer in stand.observations.items() if answer == "yes"}
    assert sum(answer == "no" for answer in stand.observations.values()) >= 4
    assert stand.facts == {"barrier": "no", "infants": "no"}
    assert all(row.by_caller and row.said_by for row in enquiry.answers.all())
    photo = enquiry.photos.get()
    assert (photo.words, photo.by_caller) == ("the kettle", True)
    with photo.file.open() as held:
        assert PLACE not in held.read()
    done = told(caller.get(at("sent")))
    assert "We ring 555 0177" in done
    assert "What happens next" in done


def test_going_back_keeps_what_was_given_and_shows_the_same_questions(caller: Client, enquiry: Any) -> None:
    caller.post(at("water"), {"source": "lake"})
    caller.post(at("about"), {"areas": "1", "about": ["colour"]})
    caller.post(at("colour"), {"shown": "o-tea_clear", "a-o-tea_clear": "yes"})
    first = re.findall(r'name="(a-o-[a-z_]+)" value="yes"', caller.get(at("more")).content.decode())
    assert 1 < len(first) <= 4
    back = caller.post(at("more"), {first[0]: "yes", "back": "1"})
    assert back.headers["Location"] == at("colour")
    again = caller.get(at("more")).content.decode()
    assert re.findall(r'name="(a-o-[a-z_]+)" value="yes"', again) == first
    assert re.search(rf'name="{first[0]}" value="yes"[^>]* checked', again)
    assert re.search(r'value="yes" id="o-tea_clear"[^>]* checked', caller.get(at("colour")).content.decode())


def test_each_answer_is_kept_as_it_is_given(caller: Client, enquiry: Any) -> None:
    kept = caller.post(at("colour"), {"keep": "1", "a-o-tea_clear": "yes"})
    assert kept.status_code == 302  # colour is not one of this caller's steps yet
    caller.post(at("about"), {"areas": "1", "about": "colour"})
    assert caller.post(at("colour"), {"keep": "1", "a-o-tea_clear": "yes"}).status_code == 204
    assert answers_of(enquiry).observations == {"tea_clear": "yes"}
    assert caller.post(at("colour"), {"keep": "1", "off": "o-tea_clear"}).status_code == 204
    assert not answers_of(enquiry)
    assert caller.post(at("you"), {"keep": "1", "name": "x" * 121}).status_code == 422


def test_a_thing_nobody_can_name_is_asked_about_by_what_is_seen_on_it(caller: Client, enquiry: Any) -> None:
    """The same flow: what is seen at a glance, then what tells look-alikes apart, and no question about the water."""
    caller.post(at("water"), {"source": "drilled_well"})
    caller.post(at("about"), {"areas": "1", "about": ["device"]})
    page = caller.get(at("device"))
    assert page.content.decode().count('<svg class="wp sketch"') >= 15
    assert "open nothing" in told(page)
    slug, way = "device", []
    said = {"shown": ["f-tall_tank", "f-salt"], "a-f-tall_tank": "yes", "a-f-salt": "yes", "a-f-control_head": "yes"}
    while slug in ("device", "closer", "still"):
        way.append(slug)
        shown = caller.get(at(slug)).content.decode()
        names = re.findall(r'name="(a-f-[a-z_]+)" value="yes" id="f-[a-z_]+-yes"', shown)
        assert len(names) <= 4
        assert "Tested:" not in shown  # a caller looks, and measures nothing
        said |= dict.fromkeys(names, "no")
        slug = caller.post(at(slug), said).headers["Location"].rstrip("/").rsplit("/", 1)[1]
        said = {}
    assert way == ["device", "closer", "still"]
    assert slug == "photos"
    assert "every pipe, hose and cable" in told(caller.get(at("photos")))
    features = answers_of(enquiry).features()
    assert features["salt"] == "yes"
    assert list(features.values()).count("no") >= 4
    assert "Is there salt in a tank or box?" in told(caller.get(at("send")))
    assert reason(enquiry).identifications[1].devices[0].stage_kind == "softener"  # a tall tank, a timer head, salt


def test_a_thing_beside_a_complaint_leaves_the_questions_about_the_water(caller: Client) -> None:
    caller.post(at("water"), {"source": "drilled_well"})
    away = caller.post(at("about"), {"areas": "1", "about": ["smell", "device"]})
    assert away.headers["Location"] == at("smell")
    caller.post(at("smell"), {"shown": ["o-egg_hot"], "a-o-egg_hot": "yes"})
    assert caller.post(at("still"), {}).headers["Location"] == at("more")
    assert 'name="a-o-' in caller.get(at("more")).content.decode()


def test_a_hazard_is_said_first_on_every_step(caller: Client) -> None:
    caller.post(at("first"), {"shown": "o-fuel_smell", "a-o-fuel_smell": "yes"})
    for slug in ("you", "about", "photos", "send"):
        html = caller.get(at(slug)).content.decode()
        assert "Stop using this water, and call us" in html
        assert html.index("Stop using this water") < html.index("<main")
        assert 'href="tel:5550100"' in html
    caller.post(at("send"))
    assert "Stop using this water" in told(caller.get(at("sent")))


def test_open_water_without_a_word_of_a_barrier_is_said_at_once(caller: Client) -> None:
    assert "Do not drink" not in told(caller.get(at("water")))
    page = caller.post(at("water"), {"source": "lake"}, follow=True)
    assert "Do not drink this water for now" in told(page)


def test_only_what_a_step_asks_is_taken(caller: Client, enquiry: Any) -> None:
    caller.post(
        at("you"),
        {"name": "Odd", "email": "thief@home.example", "note": "x", "told": "y", "source": "lake", "state": "closed"},
    )
    enquiry.refresh_from_db()
    assert (enquiry.name, enquiry.email, enquiry.source) == ("Odd", "odd@home.example", "")
    assert (enquiry.note, enquiry.told) == ("", "")
    wrong = caller.post(at("water"), {"source": "sea"})
    assert wrong.status_code == 422
    assert "“sea” chosen" in told(wrong)
    assert caller.get(at("nonsense")).status_code == 404
    assert caller.post(at("smell"), {"a-o-grit": "yes"}).headers["Location"] == at("about")
    assert not answers_of(enquiry)


def test_a_photograph_that_is_none_is_named_and_loses_nothing(caller: Client, enquiry: Any) -> None:
    page = caller.post(at("photos"), {"photo": SimpleUploadedFile("a.heic", b"\x00\x00\x00\x18ftypheic" + b"0" * 99)})
    assert page.status_code == 422
    assert "kind HEIC" in told(page)
    assert page.content.decode().index("data-error-summary") < page.content.decode().index("<h1>")
    good = SimpleUploadedFile("a.jpg", located())
    assert caller.post(at("photos"), {"photo": good, "stay": "1"}).headers["Location"] == at("photos")
    photo = enquiry.photos.get()
    shown = caller.get(reverse("asked-photo", args=[photo.public_id]), {"small": ""})
    assert shown.headers["Content-Type"] == "image/jpeg"
    assert shown.headers["X-Content-Type-Options"] == "nosniff"
    theirs = factories.EnquiryPhotoFactory(enquiry=factories.EnquiryFactory(dealer=enquiry.dealer))
    assert caller.get(reverse("asked-photo", args=[theirs.public_id])).status_code == 404
    office = factories.EnquiryPhotoFactory(enquiry=enquiry)
    for name in ("asked-photo", "asked-photo-remove"):
        ask = caller.get if name == "asked-photo" else caller.post
        assert ask(reverse(name, args=[office.public_id])).status_code == 404
    assert str(office.public_id) not in caller.get(at("photos")).content.decode()
    caller.post(reverse("asked-photo-remove", args=[photo.public_id]))
    assert list(enquiry.photos.all()) == [office]


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        ("close", "We have closed this enquiry"),
        ("stop", "replaced by a newer one, or stopped"),
        ("age", "The link is too old"),
    ],
)
def test_a_page_that_no_longer_opens_says_why_and_how_to_reach_the_dealer(
    caller: Client, token: str, enquiry: Any, office_actor: Any, now: Any, spoil: str, words: str
) -> None:
    if spoil == "close":
        close_enquiry(enquiry=enquiry, actor=office_actor, now=now, reason="sold")
    elif spoil == "stop":
        revoke_links(enquiry=enquiry, actor_name="Maren", now=now)
    else:
        EnquiryLink.objects.update(expires_at=now, used_at=None)
    for page in (caller.get(at("you")), caller.post(at("you"), {"name": "late"}), Client().get(landing(token))):
        assert page.status_code == 404
        assert words in told(page)
        assert "555 0100" in told(page)
        assert "office@tern-island.example" in told(page)
    enquiry.refresh_from_db()
    assert enquiry.name == ""


def test_a_spent_link_mails_a_new_one_to_its_own_address_only(caller: Client, token: str, enquiry: Any) -> None:
    page = Client().get(landing(token))
    assert "Mail a new link to o…@home.example" in told(page)
    assert "odd@home.example" not in page.content.decode()
    done = Client().post(landing(token), {"again": "1"})
    assert "A new link is on its way" in told(done)
    message = Message.objects.get(rule="questions")
    assert (message.to_address, message.enquiry) == ("odd@home.example", enquiry)
    fresh = re.search(r"/link/([0-9a-f]{32}\.[\w-]+)/", message.body)
    assert fresh is not None
    assert Client().get(landing(fresh[1])).status_code == 200
    for _n in range(3):
        last = Client().post(landing(token), {"again": "1"})
    assert last.status_code == 429
    assert Message.objects.filter(rule="questions").count() == 3


def test_a_fresh_link_cannot_be_asked_for_again(token: str) -> None:
    answer = Client().post(landing(token), {"again": "1"})
    assert answer.headers["Location"] == landing(token)
    assert not Message.objects.exists()


@pytest.mark.parametrize("token", ["nobody", "0" * 32 + ".abc", "x" * 3000])
def test_a_link_that_is_none_of_ours(db: None, token: str) -> None:
    for answer in (
        Client().get(landing(token)),
        Client().post(landing(token)),
        Client().post(landing(token), {"again": 1}),
    ):
        assert answer.status_code == 404
        assert "opens from the link in our mail" in told(answer)


def test_one_session_opens_one_enquiry(caller: Client, enquiry: Any, dealer: Any) -> None:
    other = factories.EnquiryFactory(dealer=dealer, name="Liv Moe")
    caller.post(at("you"), {"name": "Odd"})
    other.refresh_from_db()
    assert other.name == "Liv Moe"
    assert "Liv Moe" not in caller.get(at("you")).content.decode()
    for name in ("today", "enquiry-list", "portal-home"):
        assert caller.get(reverse(name)).status_code == 302


def test_a_page_of_another_dealer_opens_beside_a_sign_in(
    office_client: Any, office: Any, other_dealer: Any, now: Any
) -> None:
    """Staff of one dealer may be somebody else's caller: each page shows its own dealer's rows."""
    with dealer_scope(other_dealer):
        theirs = factories.EnquiryFactory(dealer=other_dealer, name="Secret Caller")
        _link, token = make_link(enquiry=theirs, by=Sayer("x"), now=now, address="a@b.example")
    expiry = office_client.session.get_expiry_age()
    office_client.post(landing(token))
    assert "Secret Caller" in office_client.get(at("you")).content.decode()
    assert "Secret Caller" not in office_client.get(reverse("enquiry-list")).content.decode()
    assert office_client.session.get_expiry_age() <= expiry
    assert signed_in(office.user).get(at("you")).status_code == 404


def test_too_many_at_once_wait(caller: Client, token: str) -> None:
    for _n in range(150):
        last = caller.post(at("you"), {"keep": "1", "name": "Odd"})
    assert last.status_code == 204
    assert caller.post(at("you"), {"keep": "1", "name": "Odd"}).status_code == 429
    stranger = Client()
    answers = [stranger.get(landing("nobody")).status_code for _n in range(41)]
    assert answers[-1] == 429
    assert "Too much at once" in told(stranger.get(landing("nobody")))


def test_the_page_ends_with_the_link(caller: Client, enquiry: Any, now: Any, monkeypatch: Any) -> None:
    monkeypatch.setattr("django.utils.timezone.now", lambda: now + timedelta(days=13, hours=23))
    assert caller.get(at("you")).status_code == 200
    monkeypatch.setattr("django.utils.timezone.now", lambda: now + timedelta(days=14))
    assert caller.get(at("you")).status_code == 404


def test_no_token_stays_in_a_sent_message(token: str, enquiry: Any, now: Any) -> None:
    Client().post(landing(token))
    Client().post(landing(token), {"again": "1"})
    Message.objects.update(state="claimed", attempts=1)
    kept = send_claimed(message=Message.objects.get(), now=now)
    assert kept.state == "sent"
    assert enquiry.dealer.public_id.hex not in kept.body + kept.body_html


def test_words_of_the_caller_are_escaped(caller: Client, enquiry: Any) -> None:
    Enquiry.objects.update(name='"><script>x()</script>', told="</textarea><script>y()", note="qzown remark")
    for slug in ("you", "words", "send"):
        assert "<script>x()" not in caller.get(at(slug)).content.decode()
        assert "<script>y()" not in caller.get(at(slug)).content.decode()
        assert "qzown remark" not in caller.get(at(slug)).content.decode()


@pytest.mark.parametrize("slug", STEPS)
def test_a_step_costs_few_queries(caller: Client, django_assert_max_num_queries: Any, slug: str) -> None:
    caller.post(at("water"), {"source": "lake"})
    caller.get(at(slug))
    with django_assert_max_num_queries(14):
        assert caller.get(at(slug)).status_code == 200


def test_devices_of_the_office_are_not_renamed_from_the_callers_page(caller: Client, enquiry: Any, now: Any) -> None:
    begin_device(enquiry=enquiry, by=Sayer("Maren Vik"), now=now)
    caller.post(at("you"), {"called-2": "a joke", "name": "Odd Lunde"})
    assert [row.called for row in enquiry.devices.all()] == ["", ""]
