"""What tests stand on: two dealers, people of every role, a fixed day, and clients signed in.

``dealer`` keeps its scope active for the whole test, so that rows can be read plainly. ``other_dealer`` does
not: read its rows inside ``dealer_scope(other_dealer)``.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as project_settings
from django.core.cache import cache
from django.test import Client, override_settings
from django.utils import timezone
from django_scopes import scope

from customers.people.actors import Actor, actor_of_user
from customers.tenancy.scope import tell_database
from service.celery import app
from tests import factories


@pytest.fixture(scope="session")
def kept_files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where files of the test run go."""
    return tmp_path_factory.mktemp("files")


@pytest.fixture(scope="session", autouse=True)
def _state_apart() -> Iterator[None]:
    """Keep off the state of a demo on the same machine: cache and queue in memory, a folder for static files."""
    app.conf.update(broker_url="memory://", broker_transport_options={})
    Path(project_settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)
    with override_settings(CACHES={"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}):
        yield


@pytest.fixture(autouse=True)
def _empty_cache(_state_apart: None) -> None:
    """Start without the attempts another test left in the rate limits."""
    cache.clear()


@pytest.fixture(autouse=True)
def calm_settings(settings: Any, kept_files: Path) -> None:
    """No second factor, a quick password hash, files in a temporary folder."""
    settings.SECOND_FACTOR = "optional"
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    storage = {**settings.STORAGES["default"], "OPTIONS": {"location": str(kept_files)}}
    settings.STORAGES = {**settings.STORAGES, "default": storage}


@pytest.fixture
def today() -> date:
    """The day of the tests: Tuesday 9 June 2026."""
    return factories.TODAY


@pytest.fixture
def now() -> datetime:
    """The moment of the tests: 10 in the morning at the dealer's, on ``today``."""
    return factories.NOW


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch, now: datetime) -> datetime:
    """Views read ``now`` from the wall clock's place."""
    monkeypatch.setattr(timezone, "now", lambda: now)
    return now


@pytest.fixture
def dealer(db: None) -> Iterator[Any]:
    """A dealer whose scope is active during the test."""
    row = factories.DealerFactory(slug="tern-island", name="Tern Island Water")
    with scope(dealer=row.pk):
        tell_database(dealer=row.pk)
        yield row


@pytest.fixture
def other_dealer(db: None) -> Any:
    """Another dealer, of whom ``dealer`` must never see anything."""
    return factories.DealerFactory(slug="moss-fell", name="Moss Fell Wells", file_prefix="MF", units="us")


@pytest.fixture
def site(dealer: Any) -> Any:
    """A household of ``dealer``: year-round, drilled well, metric."""
    return factories.SiteFactory(dealer=dealer, name="Alder Point")


@pytest.fixture
def other_site(other_dealer: Any) -> Any:
    """A household of ``other_dealer``."""
    return factories.SiteFactory(dealer=other_dealer, name="Secret Tarn")


def _staff(dealer: Any, role: str) -> Any:
    return factories.StaffFactory(dealer=dealer, role=role, name=f"{role.capitalize()} Person")


@pytest.fixture
def owner(dealer: Any) -> Any:
    """The owner's staff row."""
    return _staff(dealer, "owner")


@pytest.fixture
def office(dealer: Any) -> Any:
    """An office person's staff row."""
    return _staff(dealer, "office")


@pytest.fixture
def technician(dealer: Any) -> Any:
    """A technician's staff row; give them a job to let them see a household."""
    return _staff(dealer, "technician")


@pytest.fixture
def customer_access(site: Any) -> Any:
    """The sign-in of the household ``site``."""
    return factories.AccessFactory(site=site)


def actor_of(row: Any) -> Actor:
    """The actor of a staff or household-access row."""
    actor = actor_of_user(row.user)
    assert actor is not None
    return actor


@pytest.fixture
def office_actor(office: Any) -> Actor:
    """The office person, acting."""
    return actor_of(office)


@pytest.fixture
def technician_actor(technician: Any) -> Actor:
    """The technician, acting."""
    return actor_of(technician)


@pytest.fixture
def customer_actor(customer_access: Any) -> Actor:
    """The household's own person, acting."""
    return actor_of(customer_access)


def signed_in(user: Any) -> Client:
    """A client signed in as ``user``."""
    client = Client()
    client.force_login(user, backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


@pytest.fixture
def owner_client(owner: Any, clock: datetime) -> Client:
    """Signed in as the owner."""
    return signed_in(owner.user)


@pytest.fixture
def office_client(office: Any, clock: datetime) -> Client:
    """Signed in as office."""
    return signed_in(office.user)


@pytest.fixture
def technician_client(technician: Any, clock: datetime) -> Client:
    """Signed in as a technician."""
    return signed_in(technician.user)


@pytest.fixture
def customer_client(customer_access: Any, clock: datetime) -> Client:
    """Signed in as the household's own person."""
    return signed_in(customer_access.user)


@pytest.fixture
def other_office_client(other_dealer: Any, clock: datetime) -> Client:
    """Signed in as office of the other dealer."""
    return signed_in(_staff(other_dealer, "office").user)
