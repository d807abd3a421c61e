"""``manage.py serve_demo``: the whole product on this machine, with nothing else installed."""

from __future__ import annotations

import fcntl
import os
import socket
import sys
import urllib.error
import urllib.request
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from customers.dealers.models import Dealer
from service.supervisor import Program, Supervisor, log_tail

HOST = "127.0.0.1"
#: Longest time the web process may take to answer its first request.
READY_SECONDS = 60.0


class Command(BaseCommand):
    """Prepare the database, load the invented dealers once, then serve until told to stop."""

    help = "Serve web, worker and beat together on 127.0.0.1 and PORT (8000 when not set)."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take no port: the addresses in letters and pages come from the same PORT in the environment."""
        parser.add_argument(
            "--no-data", action="store_true", help="leave an empty database empty: do not load the dealers"
        )

    def handle(self, *args: Any, no_data: bool = False, **options: Any) -> None:
        """Run the demo; ends with status 0 when it was asked to stop and nobody had to be killed."""
        port = wanted_port(os.environ.get("PORT", "8000"))
        with only_one(settings.VAR / "demo.lock", f"port {port}"):
            must_be_free(port)
            try:
                self._prepare(no_data)
            except KeyboardInterrupt:
                raise CommandError("stopped while preparing; nothing half-loaded was kept", returncode=130) from None
            supervisor = Supervisor(programs(port), self._say, environment(port))
            supervisor.start()
            try:
                self._serve(supervisor, port)
            finally:
                gentle = supervisor.stop()
                self._say("stopped" if gentle else "stopped, not every process by itself")
            if not gentle:
                sys.exit(1)

    def _prepare(self, no_data: bool) -> None:
        self._say("preparing the database")
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
        call_command("migrate", interactive=False, verbosity=0)
        if Dealer.objects.exists():
            self._say("keeping the data of the last run (make demo-reset forgets it)")
        elif not no_data:
            self._say("loading the invented dealers")
            # All of it or none: a half-told story would be kept for ever as "the data of the last run".
            with transaction.atomic():
                call_command("load_demo")

    def _serve(self, supervisor: Supervisor, port: int) -> None:
        self._say("starting web, worker and beat")
        if supervisor.watch(until=lambda: answers(port), seconds=READY_SECONDS):
            self._say(f"\nTarnhouse answers on http://{HOST}:{port}/")
            if "show_logins" in get_commands():
                call_command("show_logins")
            self._say(f"state and logs: {settings.VAR}\nCtrl-C stops everything; the data stays.")
            supervisor.watch()
            self._say("\nstopping (a few seconds)")
        elif not supervisor.stopping:
            web = programs(port)[0]
            raise CommandError(
                f"the web process did not answer within {READY_SECONDS:g} s; the end of {web.log}:\n"
                + log_tail(web.log)
            )

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def wanted_port(text: str) -> int:
    """Return the port named in the environment.

    :raises CommandError: when it is not a whole number from 1 to 65535.
    """
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 65535:
        raise CommandError(f"PORT: {text!r} is not a port; give a whole number from 1 to 65535, as PORT=8001")
    return int(text)


def must_be_free(port: int) -> None:
    """Refuse to start beside another program on the same port.

    :raises CommandError: naming the port and the way to choose another.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as error:
            raise CommandError(
                f"port {port} on {HOST} cannot be used ({error.strerror}); "
                f"stop what uses it or choose another, as in: make demo PORT={port + 1}"
            ) from error


@contextmanager
def only_one(path: Path, note: str) -> Iterator[None]:
    """Hold the state folder for one demo at a time; the hold ends with the process, however it ends.

    :param path: the lock file.
    :param note: what the next one is told about the holder.
    :raises CommandError: when another process holds it.
    """
    with path.open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            file.seek(0)
            raise CommandError(
                f"a demo already runs on the state in {path.parent} ({file.read().strip()}); "
                "stop it first, or set TARNHOUSE_VAR to another folder"
            ) from error
        file.truncate(0)
        file.write(f"process {os.getpid()}, {note}\n")
        file.flush()
        yield


def environment(port: int) -> dict[str, str]:
    """Return what the children see: this environment, the port, and a second factor that is offered only.

    They may keep compiled modules even where the environment forbids it: each start is a second quicker.
    """
    inherited = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {"SECOND_FACTOR": "optional"} | inherited | {"PORT": str(port)}


def programs(port: int) -> list[Program]:
    """Return the three processes of the service, as they run elsewhere but for their number."""
    logs = settings.VAR / "log"
    gunicorn = [sys.executable, "-m", "gunicorn", "service.wsgi:application", "--no-control-socket"]
    patient = ["--timeout", "120", "--access-logfile", "-"]
    quiet = ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    celery = [sys.executable, "-m", "celery", "-A", "service.celery"]
    return [
        Program(
            "web",
            [*gunicorn, "--bind", f"{HOST}:{port}", "--workers", "2", "--preload", *patient],
            logs / "web.log",
        ),
        Program(
            "worker",
            [*celery, "worker", "--pool", "solo", "--loglevel", "info", *quiet],
            logs / "worker.log",
        ),
        Program("beat", [*celery, "beat", "--loglevel", "info", "--pidfile="], logs / "beat.log"),
    ]


def answers(port: int) -> bool:
    """Whether the web process answers, with anything but a failure of its own."""
    try:
        with urllib.request.urlopen(f"http://{HOST}:{port}/health/", timeout=5) as response:
            return bool(response.status < 500)
    except urllib.error.HTTPError as error:
        return error.code < 500
    except OSError:
        return False
