"""PostgreSQL, Redis and a real worker, as ``.ci/with-services`` provides them."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import pytest
import redis
from django.db import connection

ROOT = Path(__file__).resolve().parents[2]


def pytest_collection_modifyitems(items):
    """A suite that quietly runs on SQLite would prove nothing, so it does not run at all."""
    for name, scheme in (("DATABASE_URL", "postgres"), ("REDIS_URL", "redis")):
        if items and not os.environ.get(name, "").startswith(scheme):
            pytest.exit(f"{name} is not a {scheme} address; run this suite by: make stack", returncode=2)


@pytest.fixture
def app_role(db):
    """Everything in the test's transaction is done as the role the service runs as; its end ends that."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL ROLE app_rt")


@pytest.fixture
def queue():
    """An empty Redis database; the one after the first, so that nothing else reads it."""
    url = urlsplit(os.environ["REDIS_URL"])
    address = urlunsplit(url._replace(path="/1"))
    client = redis.Redis.from_url(address)
    client.flushdb()
    yield address
    client.flushdb()
    client.close()


@pytest.fixture
def start_worker(queue, tmp_path, transactional_db):
    """Return a function that starts a real worker on the test database; all are ended afterwards."""
    celery = [sys.executable, "-m", "celery"]
    options = ["--concurrency", "1", "--loglevel", "info", "--without-gossip"]
    started: list[subprocess.Popen[bytes]] = []

    def start(application: str = "service.celery", **environment: str) -> subprocess.Popen[bytes]:
        number = len(started)
        base = urlsplit(os.environ["DATABASE_URL"])
        database = urlunsplit(base._replace(path="/" + connection.settings_dict["NAME"]))
        log = tmp_path / f"worker-{number}.log"
        with log.open("wb") as output:
            worker = subprocess.Popen(
                [*celery, "-A", application, "worker", *options, "--hostname", f"worker-{number}@test"],
                cwd=ROOT,
                env=os.environ
                | {"DATABASE_URL": database, "REDIS_URL": queue, "TARNHOUSE_VAR": str(tmp_path / "var")}
                | environment,
                stdout=output,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        started.append(worker)
        assert wait_for(lambda: b" ready." in log.read_bytes(), 30), log.read_text()
        return worker

    yield start
    for worker in started:
        kill_group(worker)


def kill_group(worker: subprocess.Popen[bytes]) -> None:
    """End a worker and its children at once, as a power cut would."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(worker.pid, signal.SIGKILL)
    worker.wait()


def wait_for(true, seconds: float) -> bool:
    """Wait until ``true()`` holds; whether it did in time."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():
            return True
        time.sleep(0.05)
    return False
