"""The demo as a whole: it starts from nothing, keeps its data, and leaves no process behind."""

from __future__ import annotations

import os
import re
import signal
import sqlite3
import urllib.request
from contextlib import closing
from pathlib import Path

import pytest

from tests.browser.conftest import manage, start_demo, stop_demo

COUNT = """
from customers.households.models import Site
from customers.tenancy.unscoped import across_dealers
with across_dealers(): print(Site.objects.count())
"""


def family(pid: int) -> dict[int, int]:
    """A process and all it started, with the ticks at which each began (so that a number used again is no match).

    Read from the kernel's table: servers that rename themselves write over their own environment.
    """
    table: dict[int, tuple[int, int]] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rpartition(")")[2].split()
            except (FileNotFoundError, ProcessLookupError):
                continue
            if fields[0] != "Z":
                table[int(entry.name)] = (int(fields[1]), int(fields[19]))
    found = {pid: table[pid][1]} if pid in table else {}
    grown = True
    while grown:
        children = {
            child: began for child, (parent, began) in table.items() if parent in found and child not in found
        }
        found |= children
        grown = bool(children)
    return found


def alive(members: dict[int, int]) -> list[int]:
    """Which of them still run."""
    return [pid for pid, began in members.items() if family(pid).get(pid) == began]


def test_it_starts_from_nothing_says_where_it_is_and_answers(demo):
    said = "\n".join(demo.said)
    assert f"Tarnhouse answers on {demo.url}/" in said
    assert str(demo.var) in said
    with urllib.request.urlopen(demo.url + "/", timeout=10) as response:
        assert response.status == 200
    assert (demo.var / "db.sqlite3").is_file()
    assert (demo.var / "secret-key").stat().st_mode & 0o077 == 0


def test_it_prints_who_can_sign_in(demo):
    said = "\n".join(demo.said)
    addresses = set(re.findall(r"[\w.+-]+@[\w.-]+", said))
    assert addresses
    assert {address for address in addresses if not address.endswith(".example")} == set()


@pytest.fixture
def copied_state(demo, tmp_path):
    """The state of the running demo, copied: the next one need not load the dealers again."""
    files = (demo.var / "db.sqlite3", tmp_path / "db.sqlite3")
    with closing(sqlite3.connect(files[0])) as source, closing(sqlite3.connect(files[1])) as copy:
        source.backup(copy)
    return tmp_path


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_cleanly_and_the_data_stays(copied_state, number):
    households = int(manage(copied_state, "shell", "-v", "0", "-c", COUNT).split()[-1])
    assert households > 0
    running = start_demo(copied_state)
    assert "keeping the data of the last run" in "\n".join(running.said)
    members = family(running.process.pid)
    status = stop_demo(running, number)
    assert len(members) >= 4  # itself, web, worker, beat
    assert status == 0
    assert alive(members) == []
    assert int(manage(copied_state, "shell", "-v", "0", "-c", COUNT).split()[-1]) == households


def test_reset_forgets_the_data(copied_state):
    manage(copied_state, "reset_demo")
    assert not (copied_state / "db.sqlite3").exists()


def test_a_process_that_dies_comes_back_and_the_demo_says_so(tmp_path):
    running = start_demo(tmp_path, "--no-data")
    try:
        members = family(running.process.pid)
        lines = {pid: Path(f"/proc/{pid}/cmdline").read_bytes() for pid in members}
        worker = [pid for pid, line in lines.items() if b"celery" in line and b"worker" in line]
        os.kill(worker[0], signal.SIGKILL)
        assert running.process.stdout is not None
        for line in running.process.stdout:
            running.said.append(line.rstrip("\n"))
            if "worker started again" in line:
                break
    finally:
        status = stop_demo(running)
    assert status == 0
    assert any("worker ended by itself (status -9)" in line for line in running.said)
    assert alive(members) == []
