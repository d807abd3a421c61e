"""How many households a worker designs again in a second: real workers, a database and a queue of their own.

``HOUSEHOLDS=10000 make bench`` measures the full size; without it a few are measured and 10,000 reckoned from them.
Beside ``.ci/with-services`` it runs on PostgreSQL and Redis, else on SQLite and the folder queue. ``WORKERS`` lists
how many work side by side. Printed, never asserted.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HOUSEHOLDS = int(os.environ.get("HOUSEHOLDS", "200"))
WORKERS = [int(n) for n in os.environ.get("WORKERS", "1,2").split(",")]
FULL = 10_000
PATIENCE = 6 * 3600.0


class World:
    """The dealer with its households, on a database of its own."""

    def __init__(self, var: Path) -> None:
        self.var = var
        self.environment = {**os.environ, "TARNHOUSE_VAR": str(var), "SECOND_FACTOR": "optional"}

    def run(self, *arguments: str) -> str:
        """What a step of the world prints last."""
        step = [sys.executable, "-m", "tests.benchmarks.redesign_world", *arguments]
        done = subprocess.run(step, cwd=ROOT, env=self.environment, check=False, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        return done.stdout.strip().splitlines()[-1] if done.stdout.strip() else ""

    def log(self, processes: int) -> Path:
        """What that worker says."""
        return self.var / f"worker-{processes}.log"

    def worker(self, processes: int) -> subprocess.Popen[bytes]:
        """A worker with so many processes, ready."""
        celery = [sys.executable, "-m", "celery", "-A", "service.celery", "worker", "--loglevel", "info"]
        log = self.log(processes)
        with log.open("wb") as output:
            worker = subprocess.Popen(
                [*celery, "--concurrency", str(processes), "--without-gossip"],
                cwd=ROOT,
                env=self.environment,
                stdout=output,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        while b" ready." not in log.read_bytes():
            assert worker.poll() is None, log.read_text()
            time.sleep(0.2)
        return worker


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    """The households, made once for all measures."""
    made = World(tmp_path_factory.mktemp("round"))
    migrate = [sys.executable, "manage.py", "migrate", "-v", "0"]
    subprocess.run(migrate, cwd=ROOT, env=made.environment, check=True)
    made.run("fill", str(HOUSEHOLDS))
    return made


def _told_in(log: Path) -> int:
    """How many households the worker's turns say they told."""
    turns = re.findall(rb"redesign_households\[[^]]+\] succeeded in [\d.]+s: (\d+)", log.read_bytes())
    return sum(int(n) for n in turns)


@pytest.mark.parametrize("workers", WORKERS)
def test_households_designed_again(workers: int, world: World, capsys: pytest.CaptureFixture[str]) -> None:
    world.run("begin")
    world.run("wake", str(workers))
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    worker = world.worker(workers)
    try:
        end = time.monotonic() + PATIENCE
        while _told_in(world.log(workers)) < HOUSEHOLDS and time.monotonic() < end:
            time.sleep(0.5)
    finally:
        worker.terminate()
        with contextlib.suppress(subprocess.TimeoutExpired):
            worker.wait(30)
        with contextlib.suppress(ProcessLookupError):
            os.killpg(worker.pid, signal.SIGKILL)
        worker.wait()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    told = json.loads(world.run("told"))
    assert told["done"] == HOUSEHOLDS
    rate = (told["done"] - 1) / max(told["seconds"], 1e-9)
    said = [
        f"{HOUSEHOLDS} households, workers {workers}: {rate:.1f} a second, {rate / workers:.1f} a worker",
        f"{1000 * processor / HOUSEHOLDS:.0f} ms of processor each, start included",
        f"search {1000 * told['search']:.0f} ms by the clock",
        f"{FULL:,} in {FULL / rate / 60:.0f} minutes",
        str(told["outcomes"]),
    ]
    with capsys.disabled():
        print("\n" + "; ".join(said))
