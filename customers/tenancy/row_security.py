"""The third wall, in PostgreSQL itself: row policies and composite foreign keys, made from the models.

Applied after every ``migrate`` (see the command of that name), so a new table cannot be forgotten; on
SQLite there is nothing to do. Every statement may run again without harm.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from zlib import crc32

from django.apps import apps
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper

from customers.tenancy.models import TenantModel

# Unset, empty (what a finished SET LOCAL leaves) and garbage all become NULL: no row, no error.
DEALER = "dealer_id = substring(current_setting('app.dealer', true) from '^[0-9]{1,18}$')::bigint"
OWN_USER = "user_id = substring(current_setting('app.user', true) from '^[0-9]{1,18}$')::bigint"


def tenant_models() -> list[type[TenantModel]]:
    """Every table that belongs to dealers, by table name."""
    found = [model for model in apps.get_models() if issubclass(model, TenantModel)]
    return sorted(found, key=lambda model: model._meta.db_table)


def tenant_links(model: type[TenantModel]) -> Iterator[models.ForeignKey[Any, Any]]:
    """Foreign keys of ``model`` that point at another dealer-owned table."""
    for field in model._meta.get_fields():
        if (
            isinstance(field, models.ForeignKey)
            and isinstance(field.related_model, type)
            and issubclass(field.related_model, TenantModel)
        ):
            yield field


def statements(model: type[TenantModel]) -> Iterator[str]:
    """SQL that walls one table in."""
    table = model._meta.db_table
    yield f'ALTER TABLE "{table}" ENABLE ROW LEVEL SECURITY'
    yield f'ALTER TABLE "{table}" FORCE ROW LEVEL SECURITY'
    yield f'DROP POLICY IF EXISTS dealer_rows ON "{table}"'
    yield f'CREATE POLICY dealer_rows ON "{table}" USING ({DEALER}) WITH CHECK ({DEALER})'
    if model.readable_by_own_user:
        yield f'DROP POLICY IF EXISTS own_user_rows ON "{table}"'
        yield f'CREATE POLICY own_user_rows ON "{table}" FOR SELECT USING ({OWN_USER})'
    yield _unless_constraint(table, f"{table}_dealer_key", "UNIQUE (dealer_id, id)")


def link_statements(model: type[TenantModel]) -> Iterator[str]:
    """SQL of the composite keys: a row can only point at rows of its own dealer."""
    table = model._meta.db_table
    for field in tenant_links(model):
        target = field.related_model._meta.db_table
        rule = (
            f'FOREIGN KEY (dealer_id, "{field.column}") REFERENCES "{target}" (dealer_id, id) '
            "DEFERRABLE INITIALLY DEFERRED"
        )
        yield _unless_constraint(table, _short(f"{table}_{field.column}_dealer"), rule)


def _short(name: str) -> str:
    """A constraint name PostgreSQL keeps whole (63 bytes)."""
    return name if len(name) <= 60 else f"{name[:40]}_{crc32(name.encode()) % 10**8:08d}"


def _unless_constraint(table: str, name: str, rule: str) -> str:
    return (
        f"DO $$ BEGIN IF NOT EXISTS (SELECT 1 FROM pg_constraint WHERE conname = '{name}') THEN "
        f'ALTER TABLE "{table}" ADD CONSTRAINT "{name}" {rule}; END IF; END $$'
    )


def secure(connection: BaseDatabaseWrapper) -> int:
    """Wall in every dealer-owned table of this database; returns how many (0 unless PostgreSQL)."""
    if connection.vendor != "postgresql":
        return 0
    walled = tenant_models()
    with connection.cursor() as cursor:
        for model in walled:
            for statement in statements(model):
                cursor.execute(statement)
        for model in walled:
            for statement in link_statements(model):
                cursor.execute(statement)
    return len(walled)
