"""Passwords, second factor, mailed codes and links, signing out."""

from __future__ import annotations

import base64
import re
import time
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings as project
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from customers.households.models import SignInLink
from customers.households.sign_in import LINK_LIFE, make_sign_in_link, take_access
from customers.people.actions import add_staff
from tests import factories
from tests.conftest import signed_in
from tests.people.second import totp

#: Policies under which a page's address is never told, only its host or nothing (W3C Referrer Policy).
NO_TOKEN = ("no-referrer", "strict-origin", "origin")
SESSION = project.SESSION_COOKIE_NAME


@pytest.fixture
def strict(settings: Any) -> None:
    """As in the field: a second factor for owner and office."""
    settings.SECOND_FACTOR = "required"


def sign_in(client: Client, user: Any, password: str = factories.PASSWORD) -> Any:
    return client.post(reverse("account_login"), {"login": user.email, "password": password})


def inside(client: Client) -> bool:
    """Whether anybody is signed in."""
    return "_auth_user_id" in client.session


def test_the_second_factor_here_follows_its_standard() -> None:
    """RFC 6238, appendix B: SHA-1, secret "12345678901234567890", eight digits."""
    secret = base64.b32encode(b"12345678901234567890").decode()
    for at, code in ((59, "94287082"), (1111111109, "07081804"), (2000000000, "69279037")):
        assert totp(secret, at, digits=8) == code


@pytest.mark.parametrize("role", ["owner", "office"])
def test_the_desk_without_a_factor_reaches_only_its_set_up(strict: None, dealer: Any, role: str) -> None:
    row, client = factories.StaffFactory(dealer=dealer, role=role), Client()
    sign_in(client, row.user)
    assert inside(client)
    set_up = reverse("mfa_activate_totp")
    for name in ("today", "household-list", "quote-list", "field-today", "home", "api-households", "settings"):
        page = client.get(reverse(name))
        assert (page.status_code, page.headers["Location"]) == (302, set_up), name
    assert set_up_page(client).status_code == 200


def set_up_page(client: Client) -> Any:
    """The page with the secret; the password is asked for once more before it."""
    address = reverse("mfa_activate_totp")
    asked = client.get(address)
    assert asked.headers["Location"].startswith(reverse("account_reauthenticate"))
    client.post(asked.headers["Location"], {"password": factories.PASSWORD})
    return client.get(address)


def test_the_desk_signs_in_with_password_and_factor(strict: None, dealer: Any) -> None:
    row, client = factories.StaffFactory(dealer=dealer, role="owner"), Client()
    sign_in(client, row.user)
    page = set_up_page(client)
    secret = page.context["form"].secret
    done = client.post(reverse("mfa_activate_totp"), {"code": totp(secret, time.time())})
    assert done.status_code == 302
    assert client.get(reverse("today")).status_code == 200
    again = Client()
    half = sign_in(again, row.user)
    assert half.headers["Location"] == reverse("mfa_authenticate")
    assert not inside(again)
    assert again.get(reverse("today")).headers["Location"].startswith(reverse("account_login"))
    assert again.post(reverse("mfa_authenticate"), {"code": "000000"}).status_code == 200
    assert not inside(again)
    later = time.time() + 30  # a code is good once; the next one is tried
    again.post(reverse("mfa_authenticate"), {"code": totp(secret, later)})
    assert inside(again)
    assert again.get(reverse("today")).status_code == 200


def test_a_technician_needs_no_second_factor(strict: None, technician: Any) -> None:
    client = Client()
    sign_in(client, technician.user)
    assert client.get(reverse("field-today")).status_code == 200


def test_the_session_gets_a_new_key_and_signing_out_ends_it(office: Any) -> None:
    client = Client()
    client.get(reverse("account_login"))
    session = client.session
    session["left_here"] = "before"
    session.save()
    client.cookies[SESSION] = before = session.session_key
    sign_in(client, office.user)
    after = client.cookies[SESSION].value
    assert inside(client)
    assert after != before
    assert client.get(reverse("account_logout")).status_code == 200
    assert inside(client)
    client.post(reverse("account_logout"))
    assert not inside(client)
    stolen = Client()
    stolen.cookies[SESSION] = after
    assert stolen.get(reverse("today")).status_code == 302


def test_guessing_is_slowed_down(office: Any) -> None:
    client = Client()
    for _n in range(5):
        sign_in(client, office.user, "not-the-password-at-all")
    page = sign_in(client, office.user)
    assert not inside(client)
    assert "Too many failed login attempts" in page.content.decode()


def _without_address(html: str, email: str) -> str:
    html = re.sub(r'name="csrfmiddlewaretoken" value="[^"]+"', "", html)
    return html.replace(email, "")


@pytest.mark.parametrize(
    ("name", "field"),
    [("account_login", "login"), ("account_reset_password", "email"), ("account_request_login_code", "email")],
)
def test_an_unknown_address_reads_like_a_known_one(technician: Any, name: str, field: str) -> None:
    told = []
    for email in (technician.user.email, "nobody@mail.example"):
        page = Client().post(reverse(name), {field: email, "password": "not-the-password-at-all"}, follow=True)
        told.append((page.status_code, page.redirect_chain, _without_address(page.content.decode(), email)))
    assert told[0] == told[1]


def _code_from(message: Any) -> str:
    found = re.search(r"^[A-Z0-9-]{6,}$", message.body, re.MULTILINE)
    assert found, message.body
    return found[0]


def ask_for_code(user: Any) -> tuple[Client, str]:
    client = Client()
    client.post(reverse("account_request_login_code"), {"email": user.email})
    (message,) = mail.outbox
    assert message.to == [user.email]
    assert "safe" not in message.body.lower()
    return client, _code_from(message)


def test_a_household_signs_in_with_a_mailed_code(customer_access: Any) -> None:
    client, code = ask_for_code(customer_access.user)
    assert mail.outbox[0].subject == "Your sign-in code"
    assert "ten minutes" in mail.outbox[0].body
    assert "testserver" not in mail.outbox[0].body
    assert client.post(reverse("account_confirm_login_code"), {"code": "WRONG1"}).status_code == 200
    assert not inside(client)
    page = client.post(reverse("account_confirm_login_code"), {"code": code}, follow=True)
    assert page.redirect_chain[-1][0] == reverse("portal-site", args=[customer_access.site.public_id])


def test_three_wrong_codes_end_it(customer_access: Any) -> None:
    client, code = ask_for_code(customer_access.user)
    for _n in range(3):
        client.post(reverse("account_confirm_login_code"), {"code": "WRONG1"})
    client.post(reverse("account_confirm_login_code"), {"code": code})
    assert not inside(client)


def test_a_code_is_good_for_ten_minutes(customer_access: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    client, code = ask_for_code(customer_access.user)
    start = time.time()
    monkeypatch.setattr(time, "time", lambda: start + 601)
    client.post(reverse("account_confirm_login_code"), {"code": code})
    assert not inside(client)


def test_no_code_stands_for_the_desks_password(office: Any, technician: Any) -> None:
    client = Client()
    client.post(reverse("account_request_login_code"), {"email": office.user.email})
    (message,) = mail.outbox
    assert message.subject == "Somebody asked to sign in with this address"
    assert not re.search(r"^[A-Z0-9-]{6,}$", message.body, re.MULTILINE)
    mail.outbox.clear()
    client, code = ask_for_code(technician.user)
    client.post(reverse("account_confirm_login_code"), {"code": code})
    assert inside(client)


def test_a_new_password_is_set_by_mail(office: Any) -> None:
    client = Client()
    client.post(reverse("account_reset_password"), {"email": office.user.email})
    (message,) = mail.outbox
    assert message.subject == "Set a new password"
    path = re.search(r"http://testserver(/\S+)", message.body)
    assert path
    form = client.get(path[1], follow=True)
    address = form.redirect_chain[-1][0]
    assert path[1] != address  # the key leaves the address bar
    for weak in ("tarn", "yfdbufnjh10305070"):
        assert client.post(address, {"password1": weak, "password2": weak}).status_code == 200
    client.post(address, {"password1": "heron-over-the-bay-61", "password2": "heron-over-the-bay-61"})
    assert sign_in(Client(), office.user, "heron-over-the-bay-61").status_code == 302
    used = Client().get(path[1], follow=True)
    assert "password1" not in used.content.decode()


@pytest.fixture
def link(customer_access: Any, clock: Any) -> str:
    """The address of a fresh sign-in link that leads to the papers."""
    site = customer_access.site
    leads_to = reverse("portal-papers", args=[site.public_id])
    token = make_sign_in_link(site=site, user=customer_access.user, now=clock, leads_to=leads_to)
    return reverse("portal-link", args=[token])


def test_opening_a_link_consumes_nothing_and_posting_once_signs_in(link: str, customer_access: Any) -> None:
    scanner = Client()
    for _n in range(3):
        page = scanner.get(link)
        assert page.status_code == 200
        assert not inside(scanner)
    assert page.headers["Referrer-Policy"] in NO_TOKEN
    assert page.headers["Cache-Control"] == "no-store"
    reader = Client()
    landed = reader.post(link)
    assert landed.headers["Location"] == reverse("portal-papers", args=[customer_access.site.public_id])
    assert landed.headers["Referrer-Policy"] in NO_TOKEN
    assert inside(reader)
    for late in (Client(), reader):
        assert late.get(link).status_code == 404
        assert late.post(link).status_code == 404


def test_only_a_hash_of_the_token_is_kept(link: str) -> None:
    row = SignInLink.objects.get()
    token = link.split("/link/")[1].strip("/")
    assert token not in str(vars(row))
    assert len(row.token_hash) == 64


def test_a_link_gives_a_new_session_key(link: str) -> None:
    client = Client()
    client.get(reverse("account_login"))
    session = client.session
    session["left_here"] = "before"
    session.save()
    client.cookies[SESSION] = before = session.session_key
    client.post(link)
    assert client.cookies[SESSION].value != before


def test_an_old_link_is_refused(link: str, clock: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: clock + LINK_LIFE + timedelta(seconds=1))
    assert Client().get(link).status_code == 404
    assert Client().post(link).status_code == 404


def test_ended_access_ends_links_and_sessions(link: str, customer_access: Any, office_actor: Any, now: Any) -> None:
    client = signed_in(customer_access.user)
    home = reverse("portal-site", args=[customer_access.site.public_id])
    assert client.get(home).status_code == 200
    take_access(site=customer_access.site, user=customer_access.user, actor=office_actor, now=now)
    assert Client().post(link).status_code == 404
    assert client.get(home).status_code == 403


def test_a_link_never_opens_the_desk(link: str, customer_access: Any, dealer: Any) -> None:
    """Somebody of a household becomes office: a link mailed before does not stand for password and factor."""
    add_staff(dealer=dealer, email=customer_access.user.email, name="Tamsin", role="office")
    client = Client()
    assert client.post(link).status_code == 404
    assert not inside(client)


def test_a_token_that_is_none_is_refused_plainly(db: None) -> None:
    for token in ("x", "x.y", "0" * 32 + ".abc", "ü"):
        assert Client().get(reverse("portal-link", args=[token])).status_code == 404
