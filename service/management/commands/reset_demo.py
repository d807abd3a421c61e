"""``manage.py reset_demo``: forget the demo's data, and nothing else."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from service.management.commands.serve_demo import only_one

#: What the product keeps in its state folder. Anything else found there is somebody else's and stays.
KEPT = (
    "db.sqlite3",
    "db.sqlite3-wal",
    "db.sqlite3-shm",
    "queue",
    "mail",
    "files",
    "cache",
    "log",
    "static",
    "beat-schedule",
    "beat-schedule.db",
    "beat-schedule.dat",
    "beat-schedule.dir",
    "beat-schedule.bak",
    "secret-key",
)


class Command(BaseCommand):
    """Remove the database, queue, mail, files, cache and logs of the demo."""

    help = "Forget the demo's data. Refuses while the demo runs, and for any database but its own SQLite file."
    requires_system_checks = ()

    def handle(self, *args: Any, **options: Any) -> None:
        """Remove what is there and say what was removed.

        :raises CommandError: when the demo runs or the data is not in the demo's own file.
        """
        database = settings.DATABASES["default"]
        own = settings.VAR / "db.sqlite3"
        if not database["ENGINE"].endswith("sqlite3") or Path(database["NAME"]).resolve() != own:
            raise CommandError(
                f"DATABASE_URL: {database['NAME']!s} is not the demo's own file {own}; "
                "this command removes only that one, so nothing was removed"
            )
        with only_one(settings.VAR / "demo.lock", "forgetting its data"):
            removed = [name for name in KEPT if remove(settings.VAR / name)]
        self.stdout.write(f"removed from {settings.VAR}: {', '.join(removed) or 'nothing, it was empty'}")


def remove(path: Path) -> bool:
    """Remove a file, or a folder with all it holds; ``False`` when there was none."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    elif path.exists() or path.is_symlink():
        path.unlink()
    else:
        return False
    return True
