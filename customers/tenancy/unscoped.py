"""The only way across dealers. Import-linter names the few modules that may use it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django_scopes import scopes_disabled

from customers.tenancy.scope import tell_database


@contextmanager
def across_dealers() -> Iterator[None]:
    """Drop the Python scope for the block. On PostgreSQL the row policies still hold."""
    with scopes_disabled():
        yield


@contextmanager
def as_user(user_id: int) -> Iterator[None]:
    """Read the rows that say what ``user_id`` belongs to, before any dealer is known.

    Their policies let a row through when ``app.user`` is its user.
    """
    with scopes_disabled():
        before = tell_database(user=user_id)
        try:
            yield
        finally:
            if before:
                tell_database(**before)
