"""Load the invented dealers, once."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from service.demo.load import load, loaded


class Command(BaseCommand):
    """``manage.py load_demo``: nothing happens where the demo's dealers are there already."""

    help = "Load the invented scenario of two dealers (once)."

    def handle(self, *args: Any, **options: Any) -> None:
        """Load, saying each household."""
        if loaded():
            self.stdout.write("The demo's dealers are there already.")
            return
        say = self.stdout.write if options["verbosity"] > 1 else (lambda text: None)
        count = load(timezone.localdate(), say)
        self.stdout.write(f"Loaded two invented dealers with {count} households.")
