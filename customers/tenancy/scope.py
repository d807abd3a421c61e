"""Entering a dealer's scope, in Python and in the database.

The scope lives in ``django_scopes`` (a context variable) and, on PostgreSQL, in the transaction's
``app.dealer`` setting that the row-security policies read.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection, transaction
from django_scopes import get_scope, scope
from django_scopes.exceptions import ScopeError

__all__ = ["ScopeError", "current_dealer_id", "dealer_scope", "tell_database"]


def current_dealer_id() -> int | None:
    """The dealer whose scope is active, ``None`` outside any (or with several)."""
    value = get_scope().get("dealer")
    if value is None or isinstance(value, list | tuple):
        return None
    return int(getattr(value, "pk", value))


def tell_database(**settings: Any) -> dict[str, str]:
    """Set ``app.<name>`` for this transaction on PostgreSQL; returns the values they had before.

    One round trip a setting, on the driver's own cursor: the wall costs every page the same, and budgets of
    queries count what a page asks.
    """
    if connection.vendor != "postgresql":
        return {}
    before: dict[str, str] = {}
    connection.ensure_connection()
    with connection.wrap_database_errors, connection.connection.cursor() as cursor:
        for name, value in settings.items():
            text = "" if value is None else str(value)
            cursor.execute(
                "SELECT was.value, set_config(%s, %s, true) FROM (SELECT current_setting(%s, true) AS value) AS was",
                [f"app.{name}", text, f"app.{name}"],
            )
            before[name] = cursor.fetchone()[0] or ""
    return before


@contextmanager
def dealer_scope(dealer: Any) -> Iterator[None]:
    """Run the block inside ``dealer``'s scope, in one transaction; restores the outer scope after.

    ``dealer`` is a Dealer or its primary key. A nested block for another dealer restores the
    database's setting itself, since a released savepoint would keep it.
    """
    pk = int(getattr(dealer, "pk", dealer))
    with transaction.atomic(), scope(dealer=pk):
        before = tell_database(dealer=pk)
        try:
            yield
        finally:
            if before and not connection.needs_rollback:
                tell_database(**before)
