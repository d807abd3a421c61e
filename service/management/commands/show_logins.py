"""Print the demo's log-ins."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from service.demo.load import logins


class Command(BaseCommand):
    """``manage.py show_logins``."""

    help = "Print the log-ins of the demo's invented people."

    def handle(self, *args: Any, **options: Any) -> None:
        """One line each."""
        dealer = ""
        for row in logins():
            if row.dealer != dealer:
                dealer = row.dealer
                self.stdout.write(f"\n{dealer}")
            self.stdout.write(f"  {row.role:<11} {row.email:<36} {row.password}")
        self.stdout.write("")
