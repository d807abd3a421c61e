"""Who may open what: every address, every method, every kind of person; and nobody outside sees a word."""

from __future__ import annotations

import logging
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from service.documents.render import Pdf
from tests import factories
from tests.house.access_rows import ACCOUNT, NONE, PEOPLE, ROWS, Person, Row, asked, expected
from tests.house.canaries import HOUSE, OFFICE, world

SAFE = ("GET", "HEAD")
RARE = ("HEAD", "POST", "PUT", "PATCH", "DELETE")
WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE")
OWN_BOOKKEEPING = ("django_session", "account_emailaddress")


def _walk(patterns: list[Any]) -> Iterator[tuple[str, Any]]:
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from _walk(pattern.url_patterns)
        elif isinstance(pattern, URLPattern):
            yield str(pattern.name), pattern.callback


ROUTES = dict(_walk(get_resolver().url_patterns))


def test_every_route_has_a_row_and_a_rule() -> None:
    assert ROUTES.keys() == ROWS.keys()
    ruled = {name for name, view in ROUTES.items() if getattr(view, "access", None)}
    assert ROUTES.keys() - ruled == ACCOUNT.keys()


@pytest.fixture
def scene(db: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """The marked world and its people, on the day of the tests; papers are not drawn."""
    monkeypatch.setattr(timezone, "now", lambda: factories.NOW)
    logging.disable(logging.CRITICAL)
    monkeypatch.setattr("service.documents.actions.render_pdf", lambda html: Pdf(b"%PDF-1.4", 1))
    yield world()
    logging.disable(logging.NOTSET)


@contextmanager
def undone() -> Iterator[None]:
    """Whatever is written inside is taken back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def _address(name: str, row: Row, there: Any) -> str:
    def find(what: str) -> Any:
        return "nobody" if what == "token" else getattr(there, what).public_id

    return reverse(name, kwargs=row.kwargs(find))


def _ask(client: Client, method: str, address: str) -> tuple[Any, bytes]:
    """The answer, and everything in it as bytes."""
    sent = {"content_type": "application/json", "data": "{}"} if address.startswith("/api/") else {}
    if method in SAFE:
        sent = {}
    answer = getattr(client, method.lower())(address, **sent)
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return answer, body + repr(sorted(answer.headers.items())).encode()


def _outcome(answer: Any) -> str:
    code = answer.status_code
    if code == 401 or (code == 302 and answer.headers["Location"].startswith(reverse("account_login"))):
        return "sign in"
    if code in (403, 404):
        return str(code)
    return "allowed" if code < 500 and code != 400 else f"broken: {code}"


def _wrong(row: Row, method: str, wanted: str, answer: Any) -> str:
    """What is wrong with an answer, or nothing."""
    got = _outcome(answer)
    if wanted == "door":
        return got if got.startswith("broken") else ""
    if wanted == "open":
        fine = answer.status_code in (row.status or 200, 302, 405)
        return "" if fine else f"open, {answer.status_code}"
    if wanted in ("allowed", "404") and method not in row.answered:
        return "" if answer.status_code == 405 else f"{answer.status_code}, wanted 405"
    if got == wanted == "allowed" and answer.status_code == 405:
        return "405, wanted to be answered"
    return "" if got == wanted else f"{got}, wanted {wanted}"


def test_each_person_gets_what_the_table_says(scene: Any) -> None:
    """What the address answers, always; of all other methods one in turn, by half of the people in turn."""
    there, clients = scene
    faults, leaks, seen = [], [], dict.fromkeys(clients, 0)
    for turn, (name, row) in enumerate(ROWS.items()):
        address, access = _address(name, row, there), getattr(ROUTES[name], "access", None)
        for nth, person in enumerate(asked(access, turn)):
            rare = RARE[turn % len(RARE) : turn % len(RARE) + 1] if (turn + nth) % 2 else ()
            for method in dict.fromkeys(("GET", *row.methods, *rare)):
                with undone():
                    answer, everything = _ask(clients[person.name], method, address)
                wanted = expected(row, access, person, safe=method in SAFE)
                if fault := _wrong(row, method, wanted, answer):
                    faults.append(f"{method} {name} as {person.name}: {fault}")
                if leak := _leak(person, everything):
                    leaks.append(f"{method} {name} as {person.name}: {leak}")
                seen[person.name] += HOUSE.encode() in everything
    assert not faults
    assert not leaks
    assert seen["owner"] + seen["office"] > 60
    assert seen["customer"] > 8
    assert seen["technician"] > 20


def _leak(person: Person, everything: bytes) -> str:
    if not person.outside:
        return ""
    marks = [HOUSE] if person.ours else [HOUSE, OFFICE]
    return ", ".join(mark for mark in marks if mark.encode() in everything)


def test_a_strangers_row_and_a_missing_one_look_the_same(scene: Any) -> None:
    there, clients = scene
    unlike, compared = [], 0
    for name, row in ROWS.items():
        access = getattr(ROUTES[name], "access", None)
        if row.of == NONE or access is None:
            continue
        foreign = _address(name, row, there)
        missing = reverse(name, kwargs=row.kwargs(lambda _what: uuid.uuid4()))
        for person in PEOPLE:
            for method in row.methods:
                if expected(row, access, person, safe=method == "GET") != "404":
                    continue
                with undone():
                    (one, first), (two, second) = (_ask(clients[person.name], method, a) for a in (foreign, missing))
                compared += 1
                if one.status_code != 404 or two.status_code != 404 or first != second:
                    unlike.append(f"{method} {name} as {person.name}: {one.status_code} {two.status_code}")
    assert not unlike
    assert compared > 150


def test_reading_changes_nothing(scene: Any) -> None:
    """Opening a page writes nothing but the session and the sign-in's own copy of one's address."""
    there, clients = scene
    written: list[str] = []
    for name, row in ROWS.items():
        address = _address(name, row, there)
        for who in ("owner", "technician", "customer"):

            def watch(
                execute: Any, sql: str, params: Any, many: bool, context: Any, at: str = f"{name} as {who}"
            ) -> Any:
                if sql.lstrip().startswith(WRITES) and not any(table in sql for table in OWN_BOOKKEEPING):
                    written.append(f"{at}: {sql[:80]}")
                return execute(sql, params, many, context)

            with undone(), connection.execute_wrapper(watch):
                _ask(clients[who], "GET", address)
    assert not written
