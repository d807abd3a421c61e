"""Django's ``migrate``, then the row-security wall, so that no table is left outside it."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandError
from django.core.management.commands.migrate import Command as MigrateCommand
from django.db import connections

from customers.tenancy.audit import table_findings
from customers.tenancy.row_security import secure


class Command(MigrateCommand):
    """Migrate, wall in, and see that the walls stand."""

    def handle(self, *args: Any, **options: Any) -> None:
        """Run both; a partial or faked migration leaves the wall as it is."""
        super().handle(*args, **options)
        partial = options.get("app_label") or options.get("plan") or options.get("check_unapplied")
        if not partial:
            connection = connections[options["database"]]
            secure(connection)
            if connection.vendor == "postgresql" and (holes := table_findings(connection)):
                raise CommandError("the walls between dealers do not stand: " + "; ".join(holes))
