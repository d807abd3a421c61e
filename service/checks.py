"""System checks of this product (``manage.py check --deploy --database default``)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connections
from django.db.migrations.executor import MigrationExecutor

from customers.tenancy.audit import role_findings, table_findings


@register(Tags.database)
def walls_stand(app_configs: Any, databases: Sequence[str] | None, **kwargs: Any) -> list[CheckMessage]:
    """Row security on every dealer-owned table, and a role that can do no more than it should.

    While migrations wait, tables and keys are missing that those migrations make: then only that is said.
    """
    found: list[CheckMessage] = []
    for alias in databases or ():
        connection = connections[alias]
        if connection.vendor != "postgresql" or not connection.introspection.table_names():
            continue
        executor = MigrationExecutor(connection)
        if waiting := executor.migration_plan(executor.loader.graph.leaf_nodes()):
            said = f"{len(waiting)} migrations are not applied; the walls are judged once they are"
            found.append(Warning(said, hint="manage.py migrate", id="tarnhouse.W001"))
            continue
        found += [Error(text, id="tarnhouse.E001") for text in table_findings(connection)]
        if not settings.DEBUG and settings.CHECK_ROLE:
            found += [Error(text, id="tarnhouse.E002") for text in role_findings(connection)]
    return found
