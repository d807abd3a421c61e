"""Headers, cookies, templates without inline code, and words nobody may say."""

from __future__ import annotations

import re
from http.cookies import Morsel
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client, override_settings
from django.urls import reverse

ROOT = Path(settings.BASE_DIR)
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
#: Mail readers and papers have no stylesheet to ask for.
STYLED = ("emails", "documents")
INLINE = re.compile(
    r"""\bstyle\s*=|<style\b|<script(?![^>]*\bsrc=)|\son[a-z]+\s*=\s*["']|javascript:""", re.IGNORECASE
)
CLAIMS = re.compile(
    r"\b(is|are|be|water)\s+(perfectly |completely |now )?safe\b|\bsafe (to drink|water|drinking)\b", re.IGNORECASE
)
SPOKEN = (*(ROOT / "templates").rglob("*.*"), *(ROOT / "sizing" / "figures").rglob("*.toml"))
CODE = [path for room in ("customers", "sizing", "service") for path in (ROOT / room).rglob("*.py")]


def test_no_template_holds_inline_code() -> None:
    assert len(TEMPLATES) > 80
    found = [
        f"{path.relative_to(ROOT)}: {match[0]}"
        for path in TEMPLATES
        if path.relative_to(ROOT / "templates").parts[0] not in STYLED
        for match in INLINE.finditer(path.read_text())
    ]
    assert not found


@pytest.mark.parametrize(
    "text",
    ['<p style="x">', "<script>go()</script>", '<a onclick="x">', "<style>p{}</style>", '<a href="javascript:1">'],
)
def test_the_scan_sees_what_it_looks_for(text: str) -> None:
    assert INLINE.search(text)


def test_nothing_says_that_water_is_safe() -> None:
    """No test proves a water fit to drink, so no page, paper, mail or message says so."""
    found = [
        f"{path.relative_to(ROOT)}: {match[0]}"
        for path in (*SPOKEN, *CODE)
        for match in CLAIMS.finditer(path.read_text(errors="ignore"))
        if "not " not in path.read_text(errors="ignore")[max(0, match.start() - 30) : match.start()]
    ]
    assert not found


@pytest.mark.parametrize(
    ("name", "client", "code"),
    [
        ("account_login", "client", 200),
        ("account_request_login_code", "client", 200),
        ("today", "client", 302),
        ("today", "office_client", 200),
        ("staff", "office_client", 403),
        ("health", "client", 200),
        ("field-today", "technician_client", 200),
        ("api-households", "office_client", 200),
    ],
)
def test_every_answer_carries_the_policy(
    request: pytest.FixtureRequest, db: None, name: str, client: str, code: int
) -> None:
    browser: Any = Client() if client == "client" else request.getfixturevalue(client)
    answer = browser.get(reverse(name))
    assert answer.status_code == code
    policy = dict(part.split(" ", 1) for part in answer.headers["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["X-Frame-Options"] == "DENY"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert answer.headers["Permissions-Policy"]


def test_an_unknown_address_carries_the_policy_too(db: None) -> None:
    answer = Client().get("/nowhere/at/all/")
    assert answer.status_code == 404
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]


def _cookie(secure: bool, user: Any) -> Morsel[str]:
    with override_settings(SESSION_COOKIE_SECURE=secure):
        client = Client()
        client.post(reverse("account_login"), {"login": user.email, "password": "tarn-and-heather-2026"})
    found: Morsel[str] = client.cookies[settings.SESSION_COOKIE_NAME]
    return found


def test_the_session_cookie_is_closed(office: Any) -> None:
    cookie = _cookie(True, office.user)
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert cookie["secure"]
    assert int(cookie["max-age"]) <= 12 * 3600
    assert not _cookie(False, office.user)["secure"]


def test_posting_without_the_token_is_refused(office: Any, site: Any, clock: Any) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(office.user, backend="allauth.account.auth_backends.AuthenticationBackend")
    answer = client.post(reverse("household-access", args=[site.public_id]), {"email": "new@home.example"})
    assert answer.status_code == 403
    assert not site.access.exists()
